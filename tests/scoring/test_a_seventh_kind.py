"""A seventh kind is its own files and one line in one list: nothing else has to know of it.

The kind is made up (``alternate``). Put into a copy of the program as the guide says, it is checked
and scored there. Here it goes through all else that the program does with an item: both ways of
marking, the debrief, teams, cohort and console.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import orjson
import pytest

from simengine.cohort.from_card import from_json, result_of
from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import whole_of
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.what_if import what_ifs
from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.pilot.findings import find
from simengine.pilot.run_pilot import FAULTLESS, pilot, session_of
from simengine.pilot.skills import load_skills
from simengine.report.html import render_html
from simengine.resources import scenarios_dir
from simengine.scenario import check_file, load_scenario
from simengine.scenario.key import Item
from simengine.scenario.kinds import CLASSES
from simengine.scenario.model import Scenario
from simengine.scoring import score
from simengine.scoring.as_text import card_as_text
from simengine.scoring.kept_card import card_bytes, card_from
from simengine.scoring.kinds import item_asked
from simengine.scoring.needed import needed_to_confirm
from simengine.session import opening
from simengine.session.live import LiveSession
from simengine.setup_pack.equipment_asked import actions_of, settings_asked
from tests.scoring import alternate, case
from tests.scoring.alternate import added

ROOT = Path(__file__).parents[2]
TURNS = "- {alternate: [press, pump]}"
IN_TURNS = "alternate: [chest_compressions, mask_ventilation]"


@pytest.fixture(autouse=True)
def seventh_kind(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    added(monkeypatch, tmp_path)
    yield
    monkeypatch.undo()
    alternate.forget()


def with_turns() -> str:
    """The text of a shipped scenario with an item of the seventh kind as its first."""
    text = (scenarios_dir() / "term-not-breathing.yaml").read_text("utf-8")
    return text.replace("\nkey:\n", f"\nkey:\n  - {{{IN_TURNS}, objective: respond}}\n", 1)


def shipped_with_turns(folder: Path) -> Scenario:
    file = folder / "turns.yaml"
    file.write_text(with_turns(), "utf-8")
    return load_scenario(file)


def test_it_is_read_with_an_id_and_a_title_of_its_own() -> None:
    item = case.scenario(TURNS).key[0]
    assert (item.kind, item.id, item.title) == ("alternate", "alternate:press", "Press and Pump")
    assert item.actions == ("press", "pump")


def test_what_is_wrong_with_one_is_told_by_its_own_reader_and_check(tmp_path: Path) -> None:
    file = tmp_path / "turns.yaml"
    file.write_text(with_turns().replace(IN_TURNS, "alternate: [mask_ventilation]"), "utf-8")
    assert [problem.code for problem in check_file(file) if problem.level == "error"] == [
        "two-actions"
    ]
    twice = "alternate: [mask_ventilation, mask_ventilation]"
    file.write_text(with_turns().replace(IN_TURNS, twice), "utf-8")
    assert "duplicate-name" in [problem.code for problem in check_file(file)]
    both = "alternate: [mask_ventilation, dry], order: [dry, mask_ventilation]"
    file.write_text(with_turns().replace(IN_TURNS, both), "utf-8")
    assert "item-kind" in [problem.code for problem in check_file(file) if problem.level == "error"]


@pytest.mark.parametrize(
    ("record", "credit", "verdict"),
    [
        (
            "10 start press\n20 stop press\n30 start pump\n40 stop pump\n50 start press",
            1,
            "in order",
        ),
        ("10 start press\n20 stop press\n30 start press\n40 stop press", 0, "out of order"),
        ("10 start press\n20 stop press\n30 start press\n40 start pump", 0.5, "partly"),
        ("10 start press", None, "not reached"),
    ],
)
def test_it_is_scored_by_its_own_rule(record: str, credit: float | None, verdict: str) -> None:
    scored = case.item(TURNS, record)
    assert (scored.credit, scored.verdict, scored.kind) == (credit, verdict, "alternate")


def test_its_redraws_are_marked_one_by_one() -> None:
    record = "10 start press\n14 stop press\n15 start pump\n21 stop pump\n22 start press"
    card = case.card(TURNS, record, redraws=50)
    assert card.interval is not None
    assert card.items[0].too_close


def test_a_card_that_holds_one_is_told_and_kept() -> None:
    record = "10 start press\n20 stop press\n30 start pump"
    session = case.session(TURNS, record)
    card = score(session, redraws=0)
    assert card.items[0].sentence == "They were done 2 times."
    assert "Press and Pump" in card_as_text(session, card)
    assert card_from(card_bytes(card)) == card
    assert needed_to_confirm(session) == ()


def test_the_debrief_says_what_it_asks_and_what_came_of_it(tmp_path: Path) -> None:
    ran = shipped_with_turns(tmp_path)
    first, second = (ran.vocabulary.actions[name].label for name in ran.key[0].actions)
    assert item_asked(ran, ran.key[0]) == f"{first} and {second} in turns."
    session = session_of(ran, load_skills(), 0, FAULTLESS, 0)
    card = score(session, redraws=20)
    page = debrief_page(session, card, scene_of(session, card), what_if=what_ifs(session, card))
    page_text = render_html(whole_of(page), {"session": b"<svg/>"})
    assert f"{first} and {second} in turns." in page_text


def test_teams_play_a_scenario_with_one_and_a_cohort_counts_it(tmp_path: Path) -> None:
    ran, skills = shipped_with_turns(tmp_path), load_skills()
    item = ran.key[0].id
    findings = find(ran, skills, pilot(ran, skills, runs=1, seed=0), runs=1, seed=0)
    assert item in [marked.id for marked in findings.items]
    session = session_of(ran, skills, 0, FAULTLESS, 0)
    result = result_of(session, score(session, redraws=0), unit=None)
    assert result.items[0].kind == "alternate"
    assert from_json(orjson.loads(orjson.dumps(result))) == result


def test_set_up_and_console_take_one(tmp_path: Path) -> None:
    ran = shipped_with_turns(tmp_path)
    assert {"chest_compressions", "mask_ventilation"} <= actions_of(ran)
    assert settings_asked(ran)
    live = LiveSession(ran)
    data = opening(ran, session_id="s", purpose="formative")
    live.record("opened", data, noted_ms=0, by="p", wall="2026-01-31T10:00:00.000Z")
    live.advance(1_000)
    view = console_of(Scene(live.fold, 1_000, 0), screens=0)
    assert ran.key[0].id not in [expected.item for expected in view.expected]


def test_two_files_and_one_line_in_a_list_are_all_that_a_copy_of_the_program_needs(
    tmp_path: Path,
) -> None:
    copy = alternate.added_to_a_copy(tmp_path / "copy")
    file, log = tmp_path / "turns.yaml", tmp_path / "turns.session.jsonl"
    file.write_text(with_turns(), "utf-8")
    ran = subprocess.run(
        [sys.executable, "-c", IN_THE_COPY, str(file), str(log)],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": str(copy)},
        check=True,
        capture_output=True,
        text=True,
    )
    printed = orjson.loads(ran.stdout)
    assert printed["program"] == str(copy / "simengine")
    assert printed["problems"] == []
    assert set(printed["kinds"]) == {*CLASSES}
    assert printed["marked by"] == {
        kind: f"simengine.scoring.kinds.{kind}" for kind in printed["kinds"]
    }
    assert printed["at once"] == sorted({*CLASSES} - {"alternate"})
    item = printed["item"]
    assert item["kind"] == "alternate"
    assert item["verdict"] == "in order"
    assert re.fullmatch(r"They were done [0-9]+ times\.", item["sentence"])


IN_THE_COPY = """
import sys
from pathlib import Path

import orjson

import simengine
from docs import write_formats
write_formats.main()  # the schemas anew

from simengine.pilot.run_pilot import FAULTLESS, session_of
from simengine.pilot.skills import load_skills
from simengine.scenario import check_file, load_scenario
from simengine.scenario.kinds import CLASSES
from simengine.scoring import score
from simengine.scoring.as_json import card_as_json
from simengine.scoring.at_once import mark_at_once
from simengine.scoring.kinds import KINDS

file = Path(sys.argv[1])
scenario = load_scenario(file)
session = session_of(scenario, load_skills(), 0, FAULTLESS, 0)
card = card_as_json(score(session, redraws=50))
print(orjson.dumps({
    "program": str(Path(simengine.__file__).parent),
    "problems": [problem.code for problem in check_file(file)],
    "kinds": list(CLASSES),
    "marked by": {owner.kind: type(kind).__module__ for owner, kind in KINDS.items()},
    "at once": sorted(owner.kind for owner in {**mark_at_once.OPENED, **mark_at_once.MARKED}),
    "item": card["items"][0],
}).decode())
"""


def test_the_guide_shows_what_was_done_to_the_copy() -> None:
    guide = (ROOT / "docs" / "adding-a-kind.md").read_text("utf-8")
    shown = guide.partition("```diff\n")[2].partition("```")[0].splitlines()
    written = [line[1:] for line in shown if line.startswith("+") and not line.startswith("+++")]
    sentences = Path(alternate.__file__).with_name("sentences.yaml").read_text("utf-8")
    lines = [alternate.IMPORT.rstrip(), alternate.LINE.rstrip(), *sentences.splitlines()]
    assert sorted(written) == sorted(lines)
    for name in ("what_it_is.py", "how_it_is_marked.py"):
        assert f"tests/scoring/alternate/{name}" in guide


def test_the_guide_names_what_an_item_answers_for_itself() -> None:
    guide = (ROOT / "docs" / "adding-a-kind.md").read_text("utf-8")
    answers = guide.partition("## What everybody else asks")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([a-z_]+)`", answers))
    own = {name for name, part in vars(Item).items() if isinstance(part, property)}
    assert named - {"credited"} <= own
