"""What must hold for any record of a guide with all that the second edition asks."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from simengine.scoring import score
from simengine.scoring.as_json import card_as_json
from simengine.scoring.as_text import card_as_text
from simengine.scoring.needed import needed_to_confirm
from tests.scoring.case import session

KEY = """
- {expect: {any: [call, swap]}, from: birth, ideal: 40 s, latest: 90 s}
- {expect: swap, from: {state: low}, ideal: 20 s, each: true, ahead: counts}
- {expect: agree, from: birth, ideal: 40 s, until: [high], importance: essential}
- {expect: read_gauge, from: birth, ideal: 60 s, latest: 90 s, settings: {gauge: as shown}}
- {expect: hat, from: {state: low}, ideal: 40 s, ahead: early}
- {expect: {know: rate}, from: {state: low}, ideal: 20 s, latest: 40 s, each: true}
- {expect: {know: rate, told: true}, from: birth, ideal: 40 s}
- {expect: {set: oxygen, change: lower}, from: birth, ideal: 40 s, latest: 80 s}
- {expect: fill, from: birth, ideal: 90 s, dose: 10 mL/kg, over: 5 to 10 min, importance: essential}
- respond: give
  whenever: {observed: {rate: below 60 /min}, so_far: {of: {doing: pump}, at least: 5 s}}
  lasting: 10 s
  ideal: 20 s
  latest: 60 s
  dose: {vein: 20 mcg/kg, bone: 20 mcg/kg}
- {respond: {know: rate}, whenever: {observed: {colour: pale}}, lasting: 5 s, ideal: 20 s}
- {repeat: {know: rate, told: true}, every: 20 s, grace: 5 s}
- {keep: {settings: {oxygen: at most 50 %}}}
- {order: [look, {any: [call, swap]}, give]}
- {avoid: give, while: {observed: {rate: at least 60 /min}}}
- {avoid: {settings: {oxygen: above 50 %}, unless_changed: {oxygen: lower}}, lasting: 20 s}
"""

_SECONDS = st.integers(min_value=0, max_value=200)
_WHAT = st.sampled_from(
    [
        "start pump pressure=30 oxygen=60",
        "start pump",
        "stop pump",
        "start press",
        "stop press",
        "done call role=one",
        "done swap",
        "done agree",
        "done agree how=said",
        "done hat",
        "done look how=ordered",
        "done call how=attempted",
        "done give how=ordered amount=20_mcg/kg route=vein",
        "done look spoken=120",
        "done look spoken=below_60",
        "done read_out spoken=50",
        "done sample",
        "start probe",
        "stop probe",
        "set pressure=50",
        "done read_gauge gauge=155",
        "done read_gauge gauge=110",
        "done read_gauge",
        "set oxygen=40",
        "set oxygen=70",
        "done give amount=20_mcg/kg route=vein",
        "done give amount=200_mcg/kg route=bone",
        "done give",
        "done fill volume=9_mL route=vein",
        "done fill volume=9_mL route=vein over=4_min",
        "done halt",
        "cue call",
        "state low",
        "state high",
        "state idle",
        "state ready rule",
        "birth",
        "confirmed",
    ]
)
RECORDS = st.lists(st.tuples(_SECONDS, _WHAT), max_size=25).map(
    lambda lines: "\n".join(f"{at} {what}" for at, what in sorted(lines, key=lambda line: line[0]))
)


@given(RECORDS)
def test_any_record_is_scored_and_told(record: str) -> None:
    ran = session(KEY, record, protocol="small-unsafe", purpose="summative")
    scored = score(ran, redraws=3)
    for item in (*scored.items, *scored.unsafe):
        assert item.credit is None or 0.0 <= item.credit <= 1.0
        assert item.sentence
        assert item.applied == (item.credit is not None)
        for occasion in item.occasions:
            assert occasion.sentence
            # what is in neither sum has no credit, and everything else has one
            left_out = occasion.verdict == "not reached" or (
                occasion.verdict == "not recorded" and occasion.done_ms is None
            )
            assert (occasion.credit is None) == left_out
    assert scored.total is None or 0.0 <= scored.total <= 1.0
    # all deductions together take at most 30 %
    assert sum(deduction.amount for deduction in scored.deductions) <= 0.30 + 1e-9
    assert card_as_text(ran, scored)
    assert card_as_json(scored)["edition"] == 2
    needed_to_confirm(ran)


@given(RECORDS)
def test_words_change_no_figure(record: str) -> None:
    ran = session(KEY, record, protocol="small-unsafe")
    worded, bare = score(ran, redraws=0), score(ran, redraws=0, words=False)
    assert [(item.id, item.credit, item.verdict) for item in worded.items] == [
        (item.id, item.credit, item.verdict) for item in bare.items
    ]
    assert [item.id for item in worded.unsafe] == [item.id for item in bare.unsafe]
    assert worded.total == bare.total
