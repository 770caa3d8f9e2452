"""What a practice check found, and its sheet: what is compared, told, and never said."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import orjson
import pytest

from simengine.practice_check.answers import Answer, answers, none_found
from simengine.practice_check.draw_sheet import sheet_pdf
from simengine.practice_check.sheet import Sheet, sheet_of, sheet_report
from simengine.problems import InputError
from simengine.report.blocks import texts
from simengine.scenario.cot_check import CotCheck
from simengine.scenario.loading import check_file, load_cot_check
from simengine.scenario.read_scenario import read_infant
from tests.pdfua.judge import pdfua_failures


@cache
def check(protocol: str = "common-practice", weeks: str = "39 wk") -> CotCheck:
    return load_cot_check(protocol, read_infant(weeks, "3.4 kg"))


def found(**form: str) -> dict[str, Answer]:
    problems: list[str] = []
    given = answers(
        check(), {name.replace("__", "."): value for name, value in form.items()}, problems
    )
    assert problems == []
    return {answer.row: answer for answer in given}


@pytest.mark.parametrize(
    ("read", "unit", "off"),
    [
        # Common practice, no source: 100 mmHg is reached and not exceeded, about 80 for a small
        # baby. NIST SP 811 (from memory): 1 mmHg is 133.3224 Pa, so 13 kPa is 97.5 mmHg and
        # 20 kPa 150 mmHg; 1 psi is 6894.757 Pa, so 3 psi is 155 mmHg.
        ("90", "mmHg", False),
        ("13", "kPa", False),
        ("20", "kPa", True),
        ("3", "psi", True),
        ("0", "mmHg", True),
        ("100", "mmHg", False),
    ],
)
def test_suction_is_compared_in_the_unit_of_its_dial_with_its_limit_and_its_floor(
    read: str, unit: str, off: bool
) -> None:
    dial = {"read.suction.suction_pressure": read, "unit.suction.suction_pressure": unit}
    suction = found(**dial, **{"row.suction": "right"})["suction"]
    assert suction.readings[0].off is off
    assert suction.standing == ("wrong" if off else "right")
    assert suction.readings[0].words == f"{read} {unit}"
    assert (f"{read} {unit}" in suction.found) is off


def test_a_cylinder_is_read_as_its_gauge_stands_in_bar_or_psi() -> None:
    """Three quarters of 230 bar is 172.5 bar, by hand; 1 bar is 14.5 psi (NIST SP 811: M)."""
    for read, unit, off in (("180", "bar", False), ("100", "bar", True), ("2610", "psi", False)):
        dial = {
            "read.oxygen_cylinder.oxygen_gauge": read,
            "unit.oxygen_cylinder.oxygen_gauge": unit,
        }
        assert found(**dial)["oxygen_cylinder"].readings[0].off is off, (read, unit)


def test_the_figures_follow_the_protocol_and_the_baby() -> None:
    """Common practice, no source: 30 cmH2O at 34 weeks or more, else 25."""
    wanted = {
        weeks: next(
            row.dials[0].wanted for row in check(weeks=weeks).rows if row.row.name == "pressures"
        )
        for weeks in ("39 wk", "29 wk")
    }
    assert [str(getattr(setting, "text", "")) for setting in wanted.values()] == [
        "30 cmH2O",
        "25 cmH2O",
    ]


def test_the_protocol_says_the_list_and_its_order(tmp_path: Path) -> None:
    text = (
        "format: 1\nid: short\ntitle: Short\nedition: '1'\nsource: Invented\nstatus: unsigned\n"
        "extends: common-practice\ncot_check: [bag, suction]\n"
    )
    file = tmp_path / "short.yaml"
    file.write_text(text, encoding="utf-8")
    infant = read_infant("39 wk", "3.4 kg")
    assert [row.row.name for row in load_cot_check(file, infant).rows] == ["bag", "suction"]
    assert check_file(file) == []
    file.write_text(text.replace("bag, suction", "bag, sucktion"), encoding="utf-8")
    (problem,) = check_file(file)
    assert "sucktion" in problem.found
    assert "suction" in problem.hint
    with pytest.raises(InputError, match="sucktion"):
        load_cot_check(file, infant)


def test_a_figure_that_cannot_be_read_is_told_and_not_taken() -> None:
    problems: list[str] = []
    answers(check(), {"read.relief.relief_limit": "forty"}, problems)
    assert len(problems) == 1
    assert "Pressure relief" in problems[0]


def test_what_is_found_says_which_thing_what_and_what_it_should_be() -> None:
    rows = found(
        **{
            "row.bag": "away",
            "fault.drugs.adrenaline_other_strength": "yes",
            "note.drugs": "two of them",
            "read.relief.relief_limit": "60",
        }
    )
    assert rows["bag"].found == "Self-inflating bag: not there"
    assert rows["drugs"].found.endswith("; two of them")
    assert rows["drugs"].kind == "drugs"
    assert "60 cmH2O, should be 30 to 40 cmH2O" in rows["relief"].found
    assert rows["oximeter"].found == ""


def none_found_in(**form: str) -> str:
    return none_found(tuple(found(**form).values()))


def test_that_nothing_wrong_was_found_is_told_only_of_what_was_looked_at() -> None:
    rows = [row.row.name for row in check().rows]
    all_right = {f"row.{name}": "right" for name in rows}
    assert none_found_in() == "Nothing was looked at, so nothing is known about this cot."
    in_part = none_found_in(**{"row.bag": "right"})
    assert in_part.startswith(
        f"Nothing wrong was found in the 1 of {len(rows)} that were looked at."
    )
    assert f"all {len(rows)} were looked at" in none_found_in(**all_right)


def test_what_was_read_was_looked_at_and_words_about_what_is_wrong_say_so() -> None:
    read = found(**{"read.suction.suction_pressure": "90"})["suction"]
    assert read.standing == "right"
    noted = found(**{"note.masks": "sticky"})["masks"]
    assert noted.standing == "wrong"
    assert noted.found == "Masks: sticky"
    assert found()["masks"].standing == ""


def sheet(**form: str) -> Sheet:
    listed = check()
    return Sheet(
        unit="Larkmoor",
        cot="birth room 2",
        when="2026-03-01T03:10:00+00:00",
        infant="a baby of 39 weeks, 3.4 kg",
        protocol="Common practice, edition 1",
        source="Common practice, no published source.",
        caution=listed.caution,
        notices=("No local clinician has signed this protocol.",),
        answers=tuple(found(**form).values()),
    )


SHEETS = [{}, {"row.bag": "away", "row.masks": "right", "read.relief.relief_limit": "60"}]


@pytest.mark.parametrize("form", SHEETS, ids=["nothing looked at", "with findings"])
def test_the_sheet_is_accessible_by_an_independent_judge(
    form: dict[str, str], tmp_path: Path
) -> None:
    # ISO 14289-1 (PDF/UA-1) as veraPDF's own rules read it
    file = tmp_path / "sheet.pdf"
    file.write_bytes(sheet_pdf(sheet(**form)))
    assert pdfua_failures(file) == []


@pytest.mark.parametrize("form", SHEETS, ids=["nothing looked at", "with findings"])
def test_the_sheet_says_what_it_is_and_never_that_a_cot_may_be_used(form: dict[str, str]) -> None:
    report = sheet_report(sheet(**form))
    assert report.title == "Practice check, not the unit's equipment record"
    whole = " ".join(texts(report)).lower()
    assert "safe" not in whole.replace("safety", "")
    assert "ready" not in whole
    assert "score" not in whole
    assert report.caution


def test_the_sheet_says_so_where_nothing_was_looked_at_and_names_the_list_it_went_to() -> None:
    empty = " ".join(texts(sheet_report(sheet())))
    assert "Nothing was looked at, so nothing is known about this cot." in empty
    assert "Nothing wrong" not in empty
    with_findings = sheet(**SHEETS[1])
    assert "list of threats of Larkmoor" in " ".join(texts(sheet_report(with_findings)))
    of_none = " ".join(texts(sheet_report(replace(with_findings, unit=""))))
    assert "list of threats without a unit" in of_none


def test_a_sheet_travels_as_json() -> None:
    filled = sheet(**SHEETS[1])
    assert sheet_of(orjson.loads(orjson.dumps(filled.as_values()))) == filled
