"""A standard is written into a scenario's text, and nothing else is changed."""

from pathlib import Path

import pytest

from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.set_standard import NewStandard, with_standard

NEW = NewStandard("73.33 %", "Angoff, 3 judges", "Three midwives' panel", "2026-03-31", "4.41 %")
HEAD = "format: 1\nid: a\n"


@pytest.mark.parametrize("file", sorted(scenarios_dir().glob("*.yaml")), ids=lambda path: path.stem)
def test_every_shipped_scenario_takes_a_standard_and_keeps_its_comments(
    file: Path, tmp_path: Path
) -> None:
    before = file.read_text(encoding="utf-8")
    after = with_standard(before, NEW)
    assert after is not None
    comments = [line for line in before.splitlines() if line.lstrip().startswith("#")]
    assert [line for line in after.splitlines() if line.lstrip().startswith("#")] == comments
    copy = tmp_path / file.name
    copy.write_text(after, encoding="utf-8")
    scoring = load_scenario(copy).scoring
    assert scoring.pass_mark == pytest.approx(0.7333)
    assert scoring.standard is not None
    assert scoring.standard.panel == "Three midwives' panel"
    assert scoring.standard.error == pytest.approx(0.0441)
    assert with_standard(after, NEW) == after  # written twice, it is the same


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (
            "scoring:\n  pass: 75 %  # ours\n  standard:\n    method: Old\n    panel: >-\n"
            "      Two\n      lines\n    date: 2025-01-01  # then\n  # the end\nreferences: {}\n",
            "scoring:\n  pass: 73.33 %  # ours\n  standard:\n    method: 'Angoff, 3 judges'\n"
            "    panel: 'Three midwives'' panel'\n    error: 4.41 %\n"
            "    date: 2026-03-31  # then\n  # the end\nreferences: {}\n",
        ),
        (
            "scoring:\n  pass: 75 %\n  standard:\n    demonstration: true  # not ours\n"
            "    method: Old\n    panel: None\n    date: 2025-01-01\n",
            "scoring:\n  pass: 73.33 %\n  standard:  # not ours\n    method: 'Angoff, 3 judges'\n"
            "    panel: 'Three midwives'' panel'\n    error: 4.41 %\n    date: 2026-03-31\n",
        ),
        (
            "scoring:\n  pass: 75 %\n  standard:\n    method: Old\n    panel: None\n"
            "    date: 2025-01-01\n    demonstration: true\n  essential_floor: 50 %\n",
            "scoring:\n  pass: 73.33 %\n  standard:\n    method: 'Angoff, 3 judges'\n"
            "    panel: 'Three midwives'' panel'\n    error: 4.41 %\n    date: 2026-03-31\n"
            "  essential_floor: 50 %\n",
        ),
        (
            "scoring: {pass: 75 %, essential_floor: 50 %}  # short\n",
            "scoring: {standard: {method: 'Angoff, 3 judges', panel: 'Three midwives'' panel', "
            "date: 2026-03-31, error: 4.41 %}, pass: 73.33 %, essential_floor: 50 %}  # short\n",
        ),
        (
            "scoring: {}\n",
            "scoring: {pass: 73.33 %, standard: {method: 'Angoff, 3 judges', "
            "panel: 'Three midwives'' panel', date: 2026-03-31, error: 4.41 %}}\n",
        ),
        (
            "scoring:\n  essential_floor: 50 %\n",
            "scoring:\n  pass: 73.33 %\n  standard:\n    method: 'Angoff, 3 judges'\n"
            "    panel: 'Three midwives'' panel'\n    date: 2026-03-31\n    error: 4.41 %\n"
            "  essential_floor: 50 %\n",
        ),
        (
            "scoring:\nreferences: {}\n",
            "scoring:\n  pass: 73.33 %\n  standard:\n    method: 'Angoff, 3 judges'\n"
            "    panel: 'Three midwives'' panel'\n    date: 2026-03-31\n    error: 4.41 %\n"
            "references: {}\n",
        ),
        (
            "references: {}\n",
            "references: {}\n\nscoring:\n  pass: 73.33 %\n  standard:\n"
            "    method: 'Angoff, 3 judges'\n    panel: 'Three midwives'' panel'\n"
            "    date: 2026-03-31\n    error: 4.41 %\n",
        ),
    ],
    ids=[
        "lines",
        "shown first",
        "shown last",
        "brackets",
        "empty brackets",
        "other lines",
        "nothing",
        "no scoring",
    ],
)
def test_each_layout_keeps_its_own_style(before: str, after: str) -> None:
    assert with_standard(HEAD + before, NEW) == HEAD + after


def test_line_ends_of_another_system_stay() -> None:
    before = (HEAD + "scoring:\n  essential_floor: 50 %\n").replace("\n", "\r\n")
    after = with_standard(before, NEW)
    assert after is not None
    assert after.count("\n") == after.count("\r\n")


@pytest.mark.parametrize("text", ["", "- a\n", "a: [", "{format: 1, id: a}\n"])
def test_what_can_t_be_edited_safely_is_left_alone(text: str) -> None:
    assert with_standard(text, NEW) is None
