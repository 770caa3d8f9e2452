"""What came of a play beside what must come of it.

Rules of this file:

- Every expectation is one line: what was expected, what came, and whether that is met.
- A step that was never done, or that the session refused, is such a line too: then the play is not
  what its author thinks.
- Shares are told in per cent, to a tenth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from simengine.plays.play_model import ItemExpected, Names, ShownExpected
from simengine.plays.run_play import Performed
from simengine.quantities import Range, format_quantity
from simengine.quantities.formatting import percent
from simengine.scenario.conditions import Observed
from simengine.scenario.place import Place
from simengine.scenario.words import wanted_words
from simengine.scoring import ScoreCard, score
from simengine.session.readings import true_value
from simengine.session.record import Session
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth


@dataclass(frozen=True, slots=True)
class Line:
    """One expectation: ``what`` it is about, in words; ``place``: where it stands in the file."""

    what: str
    expected: str
    came: str
    met: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Result:
    """A play that was played and scored: its lines in the order of the file."""

    performed: Performed
    card: ScoreCard
    lines: tuple[Line, ...]

    @property
    def met(self) -> bool:
        """Whether all came as it must."""
        return all(line.met for line in self.lines)


def result_of(performed: Performed) -> Result:
    """Score what was played and hold it against what must come. Times are not redrawn."""
    card = score(performed.session, redraws=0)
    return Result(performed, card, tuple(_lines(performed, card)))


def entered(performed: Performed) -> tuple[str, ...]:
    """Return the states entered, in order."""
    return tuple(stay.state for stay in performed.session.stays)


def unsafe(card: ScoreCard) -> tuple[str, ...]:
    """Return the ids of what was unsafe in any baby, and of what else stops a pass, each once."""
    stops = [deduction.id for deduction in card.deductions if deduction.stops_pass]
    return tuple(dict.fromkeys([*(item.id for item in card.unsafe), *stops]))


def findings(performed: Performed, card: ScoreCard) -> tuple[str, ...]:
    """Return the codes of what the record asks somebody to look at, each once."""
    codes = [finding.code for finding in performed.session.findings]
    return tuple(dict.fromkeys([*codes, *(finding.code for finding in card.found)]))


def share(value: float | None) -> str:
    """Tell a fraction of 1, to a tenth of a per cent."""
    return percent(value, 1, none="none")


def _lines(performed: Performed, card: ScoreCard) -> Iterator[Line]:
    play = performed.play
    yield from _steps(performed)
    expected = play.expected
    if expected.states is not None:
        yield _in_order("states", expected.states, entered(performed))
    if expected.total is not None:
        wanted, place = expected.total
        yield Line("total", wanted.text, share(card.total), _within(card.total, wanted), place)
    if expected.outcome is not None:
        word, place = expected.outcome
        came = card.outcome or "none"
        why = f" ({' '.join(card.reasons)})" if card.reasons and came != word else ""
        yield Line("outcome", word, came + why, came == word, place)
    for item in expected.items:
        yield from _item(item, card)
    for shown in expected.shows:
        yield _shown(shown, performed.session)
    if expected.unsafe is not None:
        yield _as_a_set("unsafe", expected.unsafe, unsafe(card))
    if expected.findings is not None:
        yield _as_a_set("findings", expected.findings, findings(performed, card))


def _steps(performed: Performed) -> Iterator[Line]:
    for step, why in performed.never_done:
        yield Line("step", "a step that comes to be done", why, False, step.place)


def _item(expected: ItemExpected, card: ScoreCard) -> Iterator[Line]:
    item = next((result for result in card.items if result.id == expected.id), None)
    what = f"items › {expected.id}"
    if item is None:
        yield Line(what, "a key item", "none of this id", False, expected.place)
        return
    if expected.verdict is not None:
        met = item.verdict == expected.verdict
        came = item.verdict if met else f"{item.verdict}: {item.sentence}"
        yield Line(what, expected.verdict, came, met, expected.place)
    if expected.credit is not None:
        wanted = expected.credit
        came = share(item.credit)
        yield Line(what, wanted.text, came, _within(item.credit, wanted), expected.place)


def _shown(expected: ShownExpected, session: Session) -> Line:
    observation, wanted = expected.observation, expected.wanted
    end = session.end_ms
    value = true_value(observation.name, session.curves, session.words, end)
    condition = Observed(observation.name, wanted)
    met = bool(truth(condition, timeline_of(session), end, end + 1))
    unit = observation.unit or ""
    came = "nothing" if value is None else value
    shown = came if isinstance(came, str) else format_quantity(came, unit)
    words = wanted_words(wanted, observation.unit)
    return Line(f"shows › {observation.name}", words, shown, met, expected.place)


def _within(value: float | None, wanted: Range) -> bool:
    return value is not None and wanted.contains(value * 100)


def _in_order(what: str, expected: Names, came: Sequence[str]) -> Line:
    return Line(
        what, _list(expected.names), _list(came), expected.names == tuple(came), expected.place
    )


def _as_a_set(what: str, expected: Names, came: Sequence[str]) -> Line:
    return Line(
        what, _list(expected.names), _list(came), set(expected.names) == set(came), expected.place
    )


def _list(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def problems_of(result: Result) -> None:
    """Note in the file's book each expectation that was not met."""
    for line in result.lines:
        if not line.met:
            line.place.say(line.expected, "not-as-expected", found=line.came)
