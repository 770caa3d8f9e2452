"""The file of the bench: what is wrong with one is told with its line and what is allowed."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.rehearsal.cot import bench_of, load_bench
from simengine.resources import scenarios_dir
from simengine.scenario import check_file
from tests import shipped


def bench_file() -> Path:
    return scenarios_dir() / "equipment" / "bench" / "newborn.yaml"


def complaint(tmp_path: Path, old: str, new: str) -> str:
    """What is said of the shipped file with one text in the place of another."""
    text = bench_file().read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / "newborn.yaml"
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as wrong:
        load_bench(file, shipped.scenario("cot-term"))
    (problem,) = wrong.value.problems
    assert problem.line > 1
    return str(problem).removeprefix(f"{file}:{problem.line}:{problem.column}: ")


SET_UP = "t_piece › set_ups › "


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "uses: bench-set-at-5",
            "uses: bench-set-at-6",
            "t_piece › uses: expected a set-up of this file, found 'bench-set-at-6' (did you mean "
            "'bench-set-at-5'?)",
        ),
        (
            "like: bench-set-at-5\n      end:",
            "like: as-people-set-it\n      end:",
            SET_UP + "manikin-ventilated › like: expected a set-up that stands above it, found "
            "'as-people-set-it' (there are: bench-set-at-5)",
        ),
        (
            "raised_to: 15 L/min, then: 20 cmH2O",
            "raised_to: 15 L/min",
            SET_UP + "bench-set-at-5 › end: expected 'raised_to' and 'then' together, found one of "
            "them",
        ),
        (
            "raised_to: 15 L/min, then: 20 cmH2O",
            "raised_to: 15 L/min, then: 2 cmH2O",
            SET_UP + "bench-set-at-5 › end: expected a pressure that more flow does not lower, "
            "found 5 cmH2O, then 2 cmH2O",
        ),
        (
            "end: {turned_to: 5 cmH2O, at: 5 L/min, shows: 5 cmH2O",
            "end: {turned_to: 0 cmH2O, at: 5 L/min, shows: 5 cmH2O",
            SET_UP + "bench-set-at-5 › end: expected pressures above 0 cmH2O, at a flow above "
            "0 L/min, found 0 or less",
        ),
        (
            "face_leak: 10 %",
            "face_leak: 10",
            "t_piece › face_leak: expected a number with its unit (%), found '10' (write '10 %')",
        ),
        (
            "mean: 31 s",
            "mean: fast",
            "blender › arrives[1] › mean: expected a time such as 20 s, found 'fast'",
        ),
        *(
            (
                "flow: 5 L/min, mean: 36 s",
                nothing,
                "blender › arrives: expected delays above 0 s, at flows above 0 L/min, found 0 or "
                "less",
            )
            for nothing in ("flow: 0 L/min, mean: 36 s", "flow: 5 L/min, mean: 0 s")
        ),
        (
            "flow: 8 L/min, mean",
            "flow: 12 L/min, mean",
            "blender › arrives: expected delays by flow, the smallest flow first, each once, found "
            "5 L/min, 12 L/min, 10 L/min",
        ),
        (
            "    psi: {most: 6 psi",
            "    bar: {most: 6 bar",
            "suction › gauges › bar: expected a unit in which it is read, found 'bar' (there are: "
            "mmHg, kPa, psi)",
        ),
        (
            "  no_hat: {",
            "  no_hats: {",
            "faults › no_hats: expected a fault of the cot 'newborn', found 'no_hats' (did you "
            "mean 'no_hat'?)",
        ),
        (
            "{hats: There is no hat",
            "{hat: There is no hat",
            "faults › no_hat › looks › hat: expected a line of 'linen', found 'hat' (did you mean "
            "'hats'?)",
        ),
        (
            "{turns: oxygen}",
            "{turns: oxigen}",
            "parts › blender › controls › oxygen › turns: expected a setting of the vocabulary or "
            "its cot, found 'oxigen' (did you mean 'oxygen'?)",
        ),
        (
            "stands at {oxygen}.",
            "stands at {oxigen}.",
            "parts › blender › looks › dial: expected a setting or an action in braces, or "
            "{needle}, found '{oxigen}' (did you mean 'oxygen'?)",
        ),
        (
            "stands at {oxygen}.",
            "stands at {oxygen.",
            "parts › blender › looks › dial: expected each brace closed again, found 'The blender "
            "stands at {oxygen.'",
        ),
        (
            "{runs: suction_running",
            "{runs: check_suction",
            "parts › suction › controls › suction_running › runs: expected an action that lasts, "
            "found 'check_suction'",
        ),
        (
            "{turns: light}}",
            "{turns: light, does: start_clock}}",
            "parts › light › controls › light: expected a control, found a map",
        ),
    ],
)
def test_what_is_wrong_is_told_where_it_stands(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    assert complaint(tmp_path, old, new) == words


def test_a_row_that_is_left_out_is_missed(tmp_path: Path) -> None:
    text = bench_file().read_text(encoding="utf-8")
    file = tmp_path / "newborn.yaml"
    row = text[text.index("  stethoscope:\n") : text.index("# What each fault does")]
    file.write_text(text.replace(row, ""), encoding="utf-8")
    with pytest.raises(InputError) as wrong:
        load_bench(file, shipped.scenario("cot-term"))
    assert "parts: expected each row of the cot 'newborn', found not all of them (missing: " in str(
        wrong.value
    )


def test_the_shipped_file_is_right_and_checked_as_what_it_is() -> None:
    assert check_file(bench_file()) == []


def test_a_file_of_the_reader_s_own_comes_before_the_shipped_one(tmp_path: Path) -> None:
    own = tmp_path / "equipment" / "bench" / "newborn.yaml"
    own.parent.mkdir(parents=True)
    text = bench_file().read_text(encoding="utf-8")
    uses = "  uses: bench-set-at-5\n"
    another = f"{uses}  uses_in: {{cot-term: manikin-ventilated}}\n"
    own.write_text(text.replace(uses, another), encoding="utf-8")
    named = bench_of(shipped.scenario("cot-term"), [tmp_path])
    not_named = bench_of(shipped.scenario("cot-preterm"), [tmp_path])
    assert named is not None
    assert not_named is not None
    assert (named.set_up.name, not_named.set_up.name) == ("manikin-ventilated", "bench-set-at-5")


def test_every_figure_says_where_it_is_from() -> None:
    text = bench_file().read_text(encoding="utf-8")
    for source in (
        *("Hawkes 2009", "Schilleman 2011", "PMID 23717652", "Follett (2015)"),
        *("ADC F398", "teaching choice", "common practice, no source"),
    ):
        assert source in text
