"""`simengine standard`: a dry run first, then a scenario with its standard."""

import json
import re
import shutil
from pathlib import Path

import pytest

from simengine.cli.main import main
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.key import Avoid

GRADED = "session,judge,global,score\n" + "".join(
    f"{number},{'AB'[number % 2]},{grade},{score}\n"
    for number, (grade, score) in enumerate(
        zip((1, 2, 2, 3, 3, 4, 4, 5), (40, 50, 54, 60, 66, 70, 74, 86), strict=True)
    )
)


@pytest.fixture
def cot(tmp_path: Path) -> Path:
    return Path(shutil.copy(scenarios_dir() / "cot-term.yaml", tmp_path))


@pytest.fixture
def graded(tmp_path: Path) -> Path:
    file = tmp_path / "graded.csv"
    file.write_text(GRADED, encoding="utf-8")
    return file


def arguments(cot: Path, judged: Path, method: str, *more: str) -> list[str]:
    return ["standard", str(cot), str(judged), "--method", method, "--date", "2026-03-31", *more]


def test_a_dry_run_shows_the_change_and_makes_none(
    cot: Path, graded: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = cot.read_bytes()
    assert main(arguments(cot, graded, "borderline")) == 0
    out, err = capsys.readouterr()
    assert "pass total 51.5 %, standard error 1.21 %" in out
    assert "score = 29.5 % + 11.0 % x grade" in out
    assert re.search(r"^-  pass: \d+ %$", out, re.MULTILINE)
    assert re.search(r"^\+  pass: 51\.5 %$", out, re.MULTILINE)
    assert "Few sessions" in out
    assert "Nothing was written" in err
    assert cot.read_bytes() == before


def test_written_it_is_the_scenarios_standard(
    cot: Path, graded: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    panel = "Two consultants, one midwife"
    assert main(arguments(cot, graded, "borderline", "--panel", panel, "--write", "--json")) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["cut"] == pytest.approx(0.515)
    assert "new version of the scenario" in err
    scoring = load_scenario(cot).scoring
    assert scoring.pass_mark == pytest.approx(0.515)
    assert scoring.standard is not None
    assert scoring.standard.panel == panel
    assert scoring.is_set, "no longer a demonstration"
    assert scoring.standard.date == "2026-03-31"
    assert scoring.standard.error == pytest.approx(0.0121)
    assert sorted(path.name for path in cot.parent.iterdir()) == ["cot-term.yaml", "graded.csv"]


def test_a_link_to_a_scenario_stays_one(
    cot: Path, graded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    link = tmp_path / "link.yaml"
    link.symlink_to(cot)
    assert main(arguments(link, graded, "borderline", "--write")) == 0
    assert link.is_symlink()
    assert load_scenario(cot).scoring.pass_mark == pytest.approx(0.515)
    assert "Written" in capsys.readouterr().err


def test_a_panel_judges_the_items_of_the_guide_by_their_weight(
    cot: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scenario = load_scenario(cot)
    items = [item for item in scenario.key if not isinstance(item, Avoid)]
    judged = tmp_path / "judged.csv"
    rows = [
        f"{judge};{item.id};{90 if item.importance == 'essential' else chance}"
        for judge, chance in (("A", 40), ("B", 50), ("C", 60), ("D", 50), ("E", 50))
        for item in items
    ]
    judged.write_text("judge;item;chance\n" + "\n".join(rows), encoding="utf-8")
    assert main(arguments(cot, judged, "angoff", "--json")) == 0
    printed = json.loads(capsys.readouterr().out)
    weights = scenario.scoring.weights
    whole = sum(weights[item.importance] for item in items)
    essential = sum(weights[item.importance] for item in items if item.importance == "essential")
    assert printed["cut"] == pytest.approx((0.9 * essential + 0.5 * (whole - essential)) / whole)
    assert (printed["judges"], printed["items"], printed["few"], printed["written"]) == (
        5,
        len(items),
        False,
        False,
    )


def test_judgements_that_give_no_standard_end_with_a_sentence(
    cot: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    judged = tmp_path / "flat.csv"
    judged.write_text("global,score\n3,60\n3,50\n3,40\n", encoding="utf-8")
    before = cot.read_bytes()
    assert main(arguments(cot, judged, "borderline", "--write")) == 1
    err = capsys.readouterr().err
    assert "flat.csv: expected judgements that give a standard" in err
    assert "every session has the same grade" in err
    judged.write_text("judge,item,chance\nA,nothing,50\n", encoding="utf-8")
    assert main(arguments(cot, judged, "angoff", "--write")) == 1
    assert "flat.csv:2:2: item: " in capsys.readouterr().err
    assert cot.read_bytes() == before


def test_a_wrong_day_or_method_is_wrong_usage(cot: Path, graded: Path) -> None:
    for more in (["--method", "guess"], ["--method", "angoff", "--date", "31.3.2026"]):
        with pytest.raises(SystemExit) as ended:
            main(["standard", str(cot), str(graded), *more])
        assert ended.value.code == 2
