"""``expect``: something is asked within a window from an anchor.

Rules of this file:

- The item applies once its anchor has happened, at *a*; with ``each`` every time that it does.
- An occasion closes at the first entry of a state of ``until`` at or after *a* (after it, where
  the anchor is itself a state), when the stay of ``during`` that *a* lies in is left, or with the
  session. If nothing was done by then and that was before *a* + ``ideal``, it is not reached.
- A state in which the team calls its work done, entered by rule, closes it too, and wins over
  ``until``: what was not done by then is missed.
- ``during`` asks that *a* lies in one of its stays; a person's event at the very ms of an entry
  lies in the stay that is left.
- With ``must_reach`` an anchor that never happens earns 0.
- A performance that is an anchor is one in a way that counts (done, simulated).
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.quantities import format_duration
from simengine.scenario.key import AskedAction, Expect
from simengine.scenario.model import Scenario
from simengine.scoring.kinds.window import WindowKind
from simengine.scoring.mark import Marked
from simengine.scoring.occasion import FIRST, LAST, Occasion
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.scoring.what_is_asked import asked_thing, window_asked, with_what
from simengine.session.record import Interval

Anchors = Sequence[tuple[int, float, int | None]]
"""Each time that an anchor happened: (instant, place within its ms, own run). The own run is the
``seq`` of the anchor itself, where the same action is asked again."""


class ExpectKind(WindowKind[Expect]):
    """``expect``."""

    def lay(self, plan: ItemPlan) -> None:
        super().lay(plan)
        item = self.item(plan)
        plan.not_before = item.not_before_ms or 0
        plan.takes_found = item.as_found_counts
        if item.until:
            plan.closing = tuple(
                [stay.entry_ms for stay in plan.session.stays if stay.state in item.until]
            )

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        fixed = self.item(plan).anchor.kind in ("start", "state")
        return fixed and bool(plan.actions) and done.isdisjoint(plan.actions)

    def occasions(self, resample: Resample, plan: ItemPlan) -> list[Occasion]:
        item = self.item(plan)
        end = resample.plan.end
        declared = resample.plan.declared
        if item.anchor.kind == "clock" and not (item.during or item.until or declared):
            zero = resample.clock
            if zero is None or zero > end:
                return []
            return [Occasion(plan, 0, zero, resample.plan.clock_seq, end, "end")]
        at_entry = item.anchor.kind == "state"
        out: list[Occasion] = []
        since = 0
        for at, order, own in _anchors(resample, item):
            if at > end:
                break
            close, closes_for = end, "end"
            if item.during:
                stay = next((stay for stay in plan.during if _lies_in(at, stay, item)), None)
                if stay is None:
                    continue
                if stay[1] < close:
                    close, closes_for = stay[1], "until"
            if plan.closing:
                entry = _first_entry(plan.closing, at, at_entry=at_entry)
                if entry is not None and entry < close:
                    close, closes_for = entry, "until"
            if declared:
                entry = _first_entry([entry for entry, _ in declared], at, at_entry=at_entry)
                if entry is not None and entry <= close:
                    close, closes_for = entry, "declared"
            out.append(
                Occasion(
                    plan,
                    len(out),
                    at,
                    order,
                    close,
                    closes_for,
                    own=own,
                    at_entry=at_entry,
                    since=since,
                )
            )
            since = at
            if not item.each:
                break
        return out

    def settle(self, resample: Resample, marked: Marked) -> None:
        super().settle(resample, marked)
        if not marked.occasions and self.item(marked.plan).must_reach:
            marked.credit, marked.verdict, marked.why = 0.0, "missed", "never came"

    def asks(self, item: Expect, scenario: Scenario) -> str:
        thing = asked_thing(scenario, item.asked)
        return f"{thing} {window_asked(scenario, item)}{with_what(scenario, item)}"

    def window_words(self, words: VerdictSentences, occasion: Occasion) -> str:
        item, match = self.item(occasion.plan), occasion.match
        thing, ideal = words.thing_asked(occasion), occasion.at + item.ideal_ms
        if match is not None and match.early and item.not_before_ms is not None:
            since = words.clock(occasion.at + item.not_before_ms)
            return words.say("asks_not_before", thing=thing, since=since, by=words.clock(ideal))
        zero, from_start = words.zero or 0, _from_start(words, item)
        if (zero and from_start) or (item.anchor.kind == "clock" and ideal < zero):
            return words.say("asks_by", thing=thing, by=words.clock(ideal))
        within = format_duration(item.ideal_ms)
        if item.anchor.kind == "clock":
            place = words.event.startswith("at ")
            return words.say(
                "asks_after_arrival" if place else "asks_after_zero",
                thing=thing,
                ideal=within,
                event=words.event,
            )
        anchor = _anchor_words(words, item)
        return words.say("asks_within", thing=thing, ideal=within, anchor=anchor)


KIND = ExpectKind()


def _lies_in(at: int, stay: Interval, item: Expect) -> bool:
    """Whether an anchor lies in a stay: a state's entry or the start at its beginning, what a
    person recorded at that very ms in the stay that is left."""
    if item.anchor.kind in ("state", "start") or at == 0:
        return stay[0] <= at < stay[1]
    return stay[0] < at <= stay[1]


def _first_entry(entries: Sequence[int], at: int, *, at_entry: bool) -> int | None:
    """The first of some entries at or after *a*; after it, where *a* is itself an entry."""
    return next((entry for entry in entries if entry > at or (entry == at and not at_entry)), None)


def _from_start(words: VerdictSentences, item: Expect) -> bool:
    """Whether an item counts from the start, which the team's clock does not show."""
    fault = words.scenario.start.faults.get(item.anchor.name or "")
    planted = item.anchor.kind == "fault" and fault is not None and fault.planted_at_start
    return planted or item.anchor.kind == "start"


def _anchor_words(words: VerdictSentences, item: Expect) -> str:
    if _from_start(words, item):
        return words.say("anchor_start")
    name = item.anchor.name or ""
    match item.anchor.kind:
        case "state":
            return words.say("anchor_state", state=words.scenario.states[name].title)
        case "action":
            return words.vocabulary.actions[name].noun
        case "fault":
            return words.say("anchor_fault")
    return words.say("anchor_start")


def _anchors(resample: Resample, item: Expect) -> Anchors:
    kind, name = item.anchor.kind, item.anchor.name
    if kind == "clock":
        return () if resample.clock is None else ((resample.clock, resample.plan.clock_seq, None),)
    if kind == "state":
        entries = resample.plan.entries.get(name or "", ())
        return [(entry, LAST if entry > 0 else FIRST, None) for entry in entries]
    if kind == "action":
        same = isinstance(item.asked, AskedAction) and name in item.asked.actions
        return [
            (run.start, run.seq, run.seq if same else None) for run in resample.done(name or "")
        ]
    if kind == "fault":
        return [
            (at, event.seq, None)
            for at, event in resample.faults()
            if event.fault == name and event.status == "planted"
        ]
    return ((0, FIRST, None),)
