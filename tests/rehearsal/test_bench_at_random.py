"""Hands that do anything to a cot: it answers, and stands as its log says."""

from __future__ import annotations

from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from simengine.rehearsal.bench.bench_model import DIALS
from simengine.rehearsal.bench.stand import closed_up
from simengine.rehearsal.cot import Bench, Handle, NotWorkedError, cot_of, drifted
from simengine.session.live import LiveSession
from tests import shipped
from tests.amount import examples
from tests.rehearsal.worked_cot import WorkedCot, bench_for


@cache
def bench(name: str) -> Bench:
    return bench_for(shipped.scenario(name))


def chosen(handle: Handle, share: float) -> float | str | bool | None:
    """Something that a control takes, by a share of what there is."""
    if handle.kind == "press":
        return None
    if handle.kind == "hold":
        return share < 0.7
    if handle.kind == "switch":
        return handle.words[min(int(share * len(handle.words)), len(handle.words) - 1)]
    assert handle.scale is not None
    if handle.kind == "turn":
        return (round(20 * share) - 10) * handle.scale.step
    span = handle.scale.most - handle.scale.least
    return handle.scale.least + round(share * span / handle.scale.step) * handle.scale.step


touches = st.lists(st.tuples(st.integers(0, 999), st.floats(0.0, 1.0)), max_size=25)
# Half of what is touched is gas and pressures, where one thing moves another.
gas = st.lists(st.tuples(st.sampled_from(range(5)), st.floats(0.0, 1.0)), max_size=25)
_GAS = (
    ("flow", "gas_flow"),
    ("relief", "relief_limit"),
    ("pressures", "peak_pressure"),
    ("pressures", "end_pressure"),
    ("t_piece", "cap"),
)


@examples(40)
@given(name=st.sampled_from(["cot-term", "cot-after-use"]), anything=touches, pressures=gas)
def test_whatever_is_touched_the_log_alone_says_how_the_cot_stands(  # type: ignore[no-untyped-def]
    name, anything, pressures
) -> None:
    hands = WorkedCot(bench(name))
    every = [(part.name, each.name) for part in hands.parts.values() for each in part.handles]
    hands.do("t_piece", "outlet", True)
    for number, share in (*anything, *pressures):
        part, control = every[number % len(every)] if number > 4 else _GAS[number]
        handle = next(each for each in hands.parts[part].handles if each.name == control)
        try:
            hands.do(part, control, chosen(handle, share))
        except NotWorkedError as refused:
            raise AssertionError(f"{part}, {control}: {refused}") from refused
        cot = hands.cot
        made = closed_up(cot.bench, cot.places, cot.flow)
        assert 0.0 <= made.end <= made.peak <= made.relief
        if cot.flow > 0.0 and cot.gas_kept == 1.0:
            for dial in DIALS:
                setting = cot.bench.file.t_piece.setting_of(dial)
                assert abs(made.of(dial) - cot.number(setting)) <= 0.5 + 1e-9, dial
        for each in hands.parts:
            assert hands.look(each).words
    again = LiveSession(hands.bench.scenario, hands.live.events, chained=False)
    resumed = cot_of(hands.bench, again.fold, hands.held)
    assert resumed.places == hands.cot.places
    assert (resumed.values, resumed.faults) == (hands.cot.values, hands.cot.faults)
    assert not drifted(resumed)
