"""A plausible session of the shipped term scenario, written by hand, and a card for it.

Invented throughout. States are facts of the log here, as in any log. The card is not the
scorer's: it is made so that every verdict, every kind of mark and every empty part comes by.
"""

from __future__ import annotations

from itertools import cycle
from typing import Any

from simengine.scenario.key import Avoid, Expect, Respond
from simengine.scoring.card import (
    Compared,
    Deduction,
    Evidence,
    ItemScore,
    OccasionScore,
    Part,
    ScoreCard,
    Verdict,
)
from simengine.scoring.guide import phase_of
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.session.record import Session
from tests import shipped

BIRTH_MS = 60_000
CODES = {"leader": ["q7xd"], "airway": ["m2kf"], "circulation": ["w9tb"]}

ARRIVES = {
    "oxygen": {
        "found": {"value": 21, "unit": "%"},
        "flow": "gas_flow",
        "flow_found": {"value": 8, "unit": "L/min"},
        "delays": [
            {"at": {"value": 5, "unit": "L/min"}, "ms": 40_000},
            {"at": {"value": 10, "unit": "L/min"}, "ms": 25_000},
        ],
    }
}
"""How oxygen comes to the baby of a rehearsal, invented."""

# (seconds on the team's clock, kind, data); the role of an action is its own.
_STORY: list[tuple[float, str, dict[str, Any]]] = [
    (-45, "action", {"action": "name_roles", "phase": "done", "role": "leader"}),
    (-30, "action", {"action": "call_for_help", "phase": "done", "role": "leader"}),
    (0, "event", {"name": "birth"}),
    (0, "state", {"state": "limp", "cause": "rule", "rule": 0}),
    (21, "action", {"action": "dry", "phase": "done", "role": "airway"}),
    (34, "action", {"action": "assess_breathing", "phase": "done", "role": "leader"}),
    (38, "action", {"action": "head_neutral", "phase": "done", "role": "airway"}),
    (
        47,
        "action",
        {
            "action": "listen_to_heart",
            "phase": "done",
            "role": "circulation",
            "spoken": {"heart_rate": {"value": 70, "unit": "/min"}},
        },
    ),
    (
        66,
        "action",
        {
            "action": "mask_ventilation",
            "phase": "start",
            "role": "airway",
            "settings": {
                "oxygen": {"value": 21, "unit": "%"},
                "peak_pressure": {"value": 30, "unit": "cmH2O"},
            },
        },
    ),
    (71, "state", {"state": "chest_still", "cause": "rule", "rule": 0}),
    (80, "action", {"action": "oximeter", "phase": "start", "role": "circulation"}),
    (84, "information", {"text": "The chest is not moving."}),
    (95, "cue", {"text": "What is the chest doing?", "prompts": "watch_chest"}),
    (103, "action", {"action": "reseat_mask", "phase": "done", "role": "airway"}),
    (110, "set", {"setting": "peak_pressure", "value": 35, "unit": "cmH2O", "role": "airway"}),
    (116, "state", {"state": "chest_rising", "cause": "rule", "rule": 0}),
    (
        140,
        "action",
        {
            "action": "listen_to_heart",
            "phase": "done",
            "role": "circulation",
            "spoken": {"heart_rate": {"value": 50, "unit": "/min"}},
        },
    ),
    (152, "action", {"action": "chest_compressions", "phase": "start", "role": "circulation"}),
    (155, "set", {"setting": "oxygen", "value": 100, "unit": "%", "role": "airway"}),
    (157, "state", {"state": "compressing", "cause": "rule", "rule": 0}),
    (202, "state", {"state": "recovering", "cause": "rule", "rule": 0}),
    (215, "action", {"action": "chest_compressions", "phase": "stop", "role": "circulation"}),
    (250, "set", {"setting": "oxygen", "value": 60, "unit": "%", "role": "airway"}),
    (262, "action", {"action": "talk_with_parent", "phase": "done", "role": "leader"}),
    (281, "set", {"setting": "oxygen", "value": 30, "unit": "%", "role": "airway"}),
    (300, "state", {"state": "settled", "cause": "rule", "rule": 0}),
    (320, "action", {"action": "deep_suction", "phase": "done", "role": "airway"}),
    (330, "action", {"action": "mask_ventilation", "phase": "stop", "role": "airway"}),
    (420, "state", {"state": "handed_over", "cause": "rule", "rule": 1}),
    (435, "closed", {"why": "finished"}),
]


def events(
    *,
    purpose: str = "formative",
    confirmed: bool = False,
    day: int = 3,
    team: Any = None,
    arrives: Any = None,
) -> list[Event]:
    """Return the log's events; ``day`` of March 2026 is when it was held.

    ``arrives``: how what is turned comes to the baby, as an opening says it.
    """
    scenario = shipped.scenario("term-not-breathing")
    opened = {
        "session": f"3f0c9d52-7a41-4e0b-9a55-0000000000{day:02d}",
        "scenario": {
            "id": scenario.id,
            "version": scenario.version,
            "digest": scenario.digest,
        },
        "protocol": {"id": scenario.protocol.id, "digest": scenario.protocol.digest},
        "program": "simengine 0.1.0",
        "team": CODES if team is None else team,
        "purpose": purpose,
        **({"arrives": arrives} if arrives is not None else {}),
    }
    story: list[tuple[int, str, dict[str, Any]]] = [
        (0, "opened", opened),
        (0, "state", {"state": "waiting", "cause": "start"}),
        *((BIRTH_MS + round(1000 * at), kind, data) for at, kind, data in _STORY),
    ]
    if confirmed:
        story.append((BIRTH_MS + 440_000, "confirmed", {}))
    return [
        Event(
            seq=seq,
            id=f"00000000-0000-4000-8000-{seq:012d}",
            at_ms=at_ms,
            noted_ms=at_ms,
            wall=f"2026-03-{day:02d}T09:{at_ms // 60_000:02d}:{at_ms // 1000 % 60:02d}Z",
            kind=kind,  # type: ignore[arg-type]
            by="r4" if kind not in ("state", "closed") else "engine",
            data=data,
        )
        for seq, (at_ms, kind, data) in enumerate(story)
    ]


def session(**choices: Any) -> Session:
    """Return the session, folded."""
    return fold(shipped.scenario("term-not-breathing"), events(**choices))


_VERDICTS: tuple[Verdict, ...] = (
    "on time",
    "on time",
    "late",
    "on time",
    "missed",
    "too late",
    "early",
    "setting off",
    "not recorded",
    "attempted",
    "not reached",
)
_CREDIT = {"on time": 1.0, "late": 0.6, "setting off": 0.5}


def card(of: Session, *, purpose: str = "formative") -> ScoreCard:
    """Return a card in which verdicts take turns."""
    turn = cycle(_VERDICTS)
    items = []
    deductions = []
    performances = list(of.record.performances)
    for number, item in enumerate(of.scenario.key):
        if isinstance(item, Avoid):
            if "suction" in item.title.lower():
                words = "Recorded at 5:20."
                findings = (Evidence(None, BIRTH_MS + 320_000, words),)
                deductions.append(Deduction(item.id, item.title, 1, item.deduct, False, findings))
            continue
        verdict: Verdict
        occasions: tuple[OccasionScore, ...] = ()
        if isinstance(item, Expect | Respond):
            verdict = next(turn)
            done = performances[number % len(performances)]
            missed = verdict in ("missed", "not reached")
            opened = BIRTH_MS + 5_000 * number
            reached = verdict != "not reached"
            occasions = (
                OccasionScore(
                    opened_ms=opened,
                    done_ms=None if missed else done.start_ms,
                    delay_ms=None if missed else done.start_ms - opened,
                    time_credit=None if not reached else _CREDIT.get(verdict, 0.0),
                    settings_credit=None if not reached else 1.0,
                    credit=None if not reached else _CREDIT.get(verdict, 0.0),
                    verdict=verdict,
                    role=item.role,
                    with_cue=number == 3,
                    settings=(
                        Compared(
                            "oxygen",
                            "Oxygen",
                            "30 %",
                            "21 %",
                            0.0,
                            tenfold="about ten times" if number == 8 else "",
                        ),
                    )
                    if verdict == "setting off"
                    else (),
                    evidence=() if missed else (Evidence(done.event_id, done.start_ms, "Done."),),
                ),
            )
        else:
            verdict = ("partly", "kept", "in order", "out of order")[number % 4]
        credit = None if verdict == "not reached" else _CREDIT.get(verdict, 0.3)
        items.append(
            ItemScore(
                id=item.id,
                kind="expect",
                title=item.title,
                importance=item.importance,
                weight=of.scenario.scoring.weights.get(item.importance, 2.0),
                applied=credit is not None,
                credit=credit,
                verdict=verdict,
                role=item.role or ("leader" if number % 2 else "airway"),
                objective=item.objective,
                with_cue=number == 3,
                sentence=f"{item.title} was recorded in this invented session.",
                why=item.why,
                reference=item.reference,
                occasions=occasions,
                phase=phase_of(item, of.scenario),
                flip=0.2 if number == 4 else 0.01,
            )
        )
    part = Part(0.72, 9, 18.0)
    return ScoreCard(
        total=0.724,
        outcome="not yet achieved" if purpose == "summative" else None,
        reasons=("An essential item is below half of its credit.",)
        if purpose == "summative"
        else (),
        interval=(0.69, 0.77),
        items=tuple(items),
        deductions=tuple(deductions),
        phases=dict.fromkeys(of.scenario.vocabulary.phases, part),
        objectives=dict.fromkeys(of.scenario.objectives, part),
        roles={"leader": part, "airway": Part(None, 0, 0.0), "team": Part(0.5, 3, 6.0)},
    )
