"""What was unsafe in any baby is asked about too, where it is a setting, an amount or too soon.

Figures are those of the protocol under which the plays stand (``tests/plays/table``).
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.what_if import answer_to
from simengine.debrief.what_if_page import what_if_page
from simengine.plays import Result
from simengine.plays.results import unsafe
from simengine.report.blocks import texts
from simengine.scoring import score
from tests.plays import variants
from tests.plays.variants import TERM, Steps

HARM = "would have brought nothing about any sooner. The harm that it spares a baby is not in the"
COMPRESSIONS = str(TERM["compressions"])
FULL = "{at: 30 s, start: mask_ventilation, settings: {oxygen: 100 %, peak_pressure: 25 cmH2O}}"
FAR_TOO_MUCH = (
    "{at: 130 s, do: adrenaline, dose: {amount: 600 mcg, route: umbilical_vein, "
    "strength: 0.1 mg/mL, flush: 3 mL}}"
)


def high(pressure: int, seconds: int) -> Steps:
    return {
        "up": f"{{at: 50 s, set: {{peak_pressure: {pressure} cmH2O}}}}",
        "down": f"{{at: {50 + seconds} s, set: {{peak_pressure: 30 cmH2O}}}}",
    }


@pytest.fixture
def played(tmp_path: Path) -> partial[Result]:
    return partial(variants.played, tmp_path)


@pytest.mark.parametrize(
    ("scenario", "steps", "item", "asked"),
    [
        ("term", high(62, 8), "pressure_far_above", "kept peak pressure (PIP) at 40 cmH2O"),
        ("term", high(45, 15), "pressure_above_highest", "kept peak pressure (PIP) at 40 cmH2O"),
        (
            "term",
            {"suck": "{at: 25 s, do: suction, settings: {suction_pressure: 200 mmHg}}"},
            "strong_suction",
            "kept suction at 100 mmHg",
        ),
        ("preterm", {"ventilation": FULL}, "too_much_oxygen", "turned oxygen down to 30 % at 2:07"),
        (
            "term",
            {"adrenaline": FAR_TOO_MUCH},
            "far_too_much",
            "done this with a dose of 30 mcg/kg",
        ),
        (
            "term",
            {
                "compressions": COMPRESSIONS.replace("67 s", "15 s"),
                "stop": "{at: {state: recovering, after: 5 s}, stop: chest_compressions}",
            },
            "compressions_before_breaths",
            "waited until 0:55",
        ),
    ],
)
def test_what_was_unsafe_is_run_again_at_what_is_advised_and_is_then_no_more(
    played: partial[Result], scenario: str, steps: Steps, item: str, asked: str
) -> None:
    result = played(f"table-{scenario}", steps)
    session, card = result.performed.session, result.card
    marked = next(mark for mark in card.unsafe if mark.id == f"never:{item}")
    answer = answer_to(session, marked)
    assert answer is not None
    assert answer.wanted.question == asked
    assert answer.other is not None
    assert marked.id not in unsafe(score(answer.other, redraws=0))
    assert HARM in answer.words
    page = texts(what_if_page(session, card).report.blocks)
    assert page[0] == "Unsafe in any baby"
    assert f"{marked.title}: what if we had {asked}?" in page
    debrief = debrief_page(session, card, scene_of(session, card), ask_at="debrief/what-if")
    asks = [point.ask.text for point in debrief.work_on.points if point.ask is not None]
    assert f"What if we had {asked}?" in asks
    own = what_if_page(session, card, marked.id, trainee=None).report
    assert texts(own.blocks)[-1] == "What if a step had gone as aimed for?"
    assert marked.why in texts(own.blocks)


def test_of_what_was_begun_too_soon_and_stopped_before_its_time_nothing_is_asked(
    played: partial[Result],
) -> None:
    result = played(
        "table-well",
        {
            "heart": None,
            "late": "{at: 90 s, do: listen_to_heart}",
            "compressions": "{at: 70 s, start: chest_compressions}",
            "stop": "{at: 80 s, stop: chest_compressions}",
        },
    )
    (marked,) = result.card.unsafe
    assert answer_to(result.performed.session, marked) is None


def test_compressions_kept_on_are_not_asked_about_since_how_they_would_end_is_the_babys_answer(
    played: partial[Result],
) -> None:
    result = played("table-term", {"stop": None, "ecg": "{at: 60 s, start: ecg}"})
    (marked,) = result.card.unsafe
    assert answer_to(result.performed.session, marked) is None
