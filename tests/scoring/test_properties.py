"""What must hold for any record."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from simengine.scoring import score
from simengine.scoring.occasion import time_credit
from simengine.session import fold
from tests.scoring.case import SESSION, card, events, scenario

KEY = """
- {expect: pump, from: birth, ideal: 40 s, latest: 90 s, settings: {pressure: 28 to 32 cmH2O}}
- {expect: call, from: birth, not_before: 10 s, ideal: 40 s, latest: 90 s}
- {expect: call, from: {state: low}, ideal: 20 s, latest: 40 s, each: true}
- {expect: {set: pressure, change: higher}, from: birth, ideal: 40 s, latest: 80 s}
- {expect: {mend: leak}, ideal: 40 s, latest: 100 s}
- respond: call
  whenever: {observed: {rate: below 60 /min}}
  lasting: 10 s
  ideal: 10 s
  latest: 40 s
- {repeat: look, every: 20 s, grace: 5 s}
- {keep: {settings: {pressure: at most 35 cmH2O}}, share: 80 %}
- {order: [look, call, swap]}
- {avoid: swap, at_most: 8 %}
- {avoid: {settings: {pressure: above 35 cmH2O}}, lasting: 5 s}
"""

_SECONDS = st.integers(min_value=0, max_value=200)
_WHAT = st.sampled_from(
    [
        "start pump pressure=30",
        "start pump",
        "stop pump",
        "done call role=one",
        "done call how=said",
        "done look",
        "done swap",
        "start probe",
        "stop probe",
        "set pressure=40",
        "set pressure=30",
        "set oxygen=40",
        "cue call",
        "state low",
        "state idle",
        "birth",
        "fault leak found",
    ]
)
RECORDS = st.lists(st.tuples(_SECONDS, _WHAT), max_size=25).map(
    lambda lines: "\n".join(f"{at} {what}" for at, what in sorted(lines, key=lambda line: line[0]))
)


@given(RECORDS)
def test_credits_and_totals_lie_between_nothing_and_all(record: str) -> None:
    scored = card(KEY, record, redraws=3)
    for item in scored.items:
        assert item.credit is None or 0.0 <= item.credit <= 1.0
        assert item.sentence
        assert item.applied == (item.credit is not None)
        for occasion in item.occasions:
            assert occasion.credit is None or 0.0 <= occasion.credit <= 1.0
    assert scored.total is None or 0.0 <= scored.total <= 1.0
    if scored.interval is not None:
        assert 0.0 <= scored.interval[0] <= scored.interval[1] <= 1.0


@given(
    st.integers(-100, 300),
    st.integers(0, 50),
    st.integers(0, 150),
    st.integers(0, 150),
    st.sampled_from([None, -30, 0, 20]),
)
def test_sooner_never_earns_less(
    delay: int, sooner: int, ideal: int, more: int, not_before: int | None
) -> None:
    """After ``not_before``, and with ``not_before`` not above ``ideal``, as the loader asks."""
    if not_before is not None and not_before > ideal:
        not_before = ideal
    earlier = delay - sooner
    if earlier < (not_before or 0):
        return
    latest = ideal + more
    assert time_credit(earlier, ideal, latest, not_before) >= time_credit(
        delay, ideal, latest, not_before
    )


@given(st.integers(0, 150), st.integers(0, 150))
def test_a_call_made_sooner_never_earns_less(one: int, other: int) -> None:
    key = "- {expect: call, from: birth, ideal: 40 s, latest: 90 s}"
    sooner, later = sorted((one, other))
    end = "400 closed finished"
    earned = [
        card(key, f"0 birth\n{at} done call\n{end}").items[0].credit for at in (sooner, later)
    ]
    assert (earned[0] or 0.0) >= (earned[1] or 0.0)


@given(RECORDS, st.randoms(use_true_random=False))
def test_the_order_of_lines_never_matters_beyond_their_time_and_seq(
    record: str, chance: object
) -> None:
    """The same entries, written down in another order, each with its time.

    States are facts of the engine, and the clock's event is the first one noted: they keep their
    places. Times are made distinct, since at one ms ``seq`` does matter.
    """
    lines = [
        f"{line.split()[0]}.{number:03d} {line.split(maxsplit=1)[1]}"
        for number, line in enumerate(record.splitlines())
    ]
    people = [line for line in lines if not any(word in line for word in ("state", "birth"))]
    facts = [line for line in lines if line not in people]
    shuffled = list(people)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    end = "400 closed finished"

    # all that people did is written down at 300 s, in both logs, so that nothing is known sooner
    def log(order: list[str]) -> str:
        return "\n".join([*facts, *(f"{line} noted=300" for line in order), end])

    key = KEY[: KEY.index("- respond")] + KEY[KEY.index("- {repeat") :]
    first, two = card(key, log(people)), card(key, log(shuffled))
    assert first.total == two.total
    assert [item.verdict for item in first.items] == [item.verdict for item in two.items]
    assert [item.sentence for item in first.items] == [item.sentence for item in two.items]


@given(RECORDS, _SECONDS, _WHAT.filter(lambda what: not what.startswith(("state", "birth"))))
def test_withdrawing_an_added_entry_restores_the_score(record: str, at: int, added: str) -> None:
    ran = scenario(KEY)
    end = "400 closed finished"
    before = events(ran, f"{record}\n{end}", "formative", SESSION)
    lines = len([line for line in record.splitlines() if line])
    longer = events(
        ran,
        f"{record}\n{at} {added} noted=300\n{end}\n400 withdraw {lines + 1}",
        "formative",
        SESSION,
    )
    restored = score(fold(ran, before), redraws=0)
    two = score(fold(ran, longer), redraws=0)
    # entries after the added one have another id and place; what they earn is the same
    strip = [
        [
            replace(
                marked,
                evidence=(),
                occasions=tuple(replace(occasion, evidence=()) for occasion in marked.occasions),
            )
            for marked in card_.items
        ]
        for card_ in (restored, two)
    ]
    assert strip[0] == strip[1]
    assert restored.total == two.total


@given(RECORDS)
def test_scoring_is_a_pure_function(record: str) -> None:
    assert card(KEY, record, redraws=5) == card(KEY, record, redraws=5)
