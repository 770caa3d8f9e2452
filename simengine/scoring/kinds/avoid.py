"""``avoid``: not advised here, or unsafe in any baby. No credit: a deduction from the total alone.

Rules of this file:

- Each time that a momentary action is done within ``during`` is one occurrence, and so is each
  start of an action of which only the beginning counts (``begun``).
- Each unbroken stretch, within ``during``, in which a lasting action runs or the condition holds
  for ``lasting`` (at least, and longer than 0 ms) is one occurrence. By default that is 10 s where
  an ``observed`` clause decides; for a lasting action the vocabulary's ``avoid_from``, else 10 s;
  for any other condition 0 s.
- The later syringes of one dose, where a dose is given in parts, begin nothing.
- A dose is given again too soon if it follows one by a like route, which is one for which the
  protocol has the same range (vein and bone; by vein after the windpipe is another). Two entries at
  most 10 s apart may be one dose that two people wrote down, and are no finding; nor is a dose
  whose route nobody wrote down.
- ``while`` must hold besides. For an occurrence that is an instant it is judged there, and what of
  it looks at the baby must have held for ``lasting`` by then.
- A dose is wrong for any baby if it is beyond a multiple of the high end, as written, that the
  protocol gives for its route; without a route or an amount nothing is. Given in parts, the amounts
  of 10 min count together. Or the protocol gives the drug no place at all.
- Nothing rests on a value that is not known. What the scenario itself starts with is nobody's
  doing: an action that goes on from there counts in a condition alone, and a condition on settings
  alone from when somebody has touched one of them.
- What is unsafe in any baby counts from time zero until a state that ends is entered, or until the
  decision to stop. A decision was none if some of the care that these items name is begun more than
  10 s after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simengine.quantities import format_duration
from simengine.quantities.formatting import listed, percent
from simengine.scenario.conditions import All, Condition
from simengine.scenario.key import AskedAction, Avoid, GivenAgain, GivenDose
from simengine.scenario.model import Scenario
from simengine.scenario.words import asked_words, condition_words
from simengine.scoring.card import Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.clauses import inward, looks_now, names_in, rests_on_absence, rests_on_known
from simengine.scoring.doses import PARTS_WITHIN_MS, amounts_given
from simengine.scoring.during import done_within
from simengine.scoring.item_guide import ItemGuide, condition_subject
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan, KnownPerformance, Plan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.traces import done_traces
from simengine.scoring.verdict_sentences import VerdictSentences
from simengine.session.doses import as_written, dose_per_kg
from simengine.session.entry_words import reading_words
from simengine.session.record import Interval
from simengine.session.truth import clipped, intersect

LASTING_MS = 10_000
"""About twice what a recorder is out by."""

Occurrence = tuple[Interval, Run | None]
"""The stretch in ms, and for an action or a dose the performance."""


class AvoidKind(ItemKind[Avoid]):
    """``avoid``."""

    def subject(self, item: Avoid, scenario: Scenario) -> Subject:
        if isinstance(item.what, AskedAction):
            return item.what.action, None
        if isinstance(item.what, GivenDose):
            return next(iter(_dosed(scenario)), None), None
        if isinstance(item.what, GivenAgain):
            return item.what.action, None
        return condition_subject(item.what, scenario)

    def prepare(self, guide: ItemGuide, item: Avoid, scenario: Scenario) -> None:
        vocabulary = scenario.vocabulary
        if item.condition is not None:
            guide.condition = rests_on_known(item.condition, vocabulary)
            names = names_in(item.condition)
            about = names.settings or names.actions or (*names.observed, *names.read)
            guide.rests_on_absence = rests_on_absence(item.condition)
            guide.asked_settings = names.settings if names.only_settings else ()
        elif isinstance(item.what, AskedAction):
            guide.watch = about = item.what.actions
        elif isinstance(item.what, GivenAgain):
            guide.watch = about = (item.what.action,)
        else:
            guide.watch = about = _dosed(scenario)
        guide.about = frozenset(about)
        if item.only_while is not None:
            guide.only_while = rests_on_known(item.only_while, vocabulary)
            guide.rests_on_absence |= rests_on_absence(item.only_while)
            guide.at_instant, guide.for_a_while = _taken_apart(guide.only_while)
        guide.lasting_ms = _lasting(item, scenario)

    def lay(self, plan: ItemPlan) -> None:
        item, session = self.item(plan), plan.session
        if not item.begun or not isinstance(item.what, AskedAction):
            return
        for action in item.what.actions:
            entry = session.scenario.vocabulary.actions[action].dose
            ranges = session.scenario.doses.get(action, {}).values()
            if entry is None or not ranges:
                continue
            low = min(as_written(wanted)[0] for wanted in ranges)
            given = [done for done in session.record.performances if done.action == action]
            weight_g = session.scenario.infant.weight_g
            plan.followers |= amounts_given(given, entry, weight_g, low)[1].keys()

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        if plan.condition is not None:
            return not plan.guide.needs <= done
        return done.isdisjoint(plan.guide.watch)

    def settle(self, resample: Resample, marked: Marked) -> None:
        # Without what it is about there is nothing to look for, whatever the times.
        if not marked.plan.constant:
            marked.occurred = sorted(occurrences(resample, marked.plan), key=lambda pair: pair[0])
        marked.verdict = "done in error" if marked.occurred else "not done"

    def asks(self, item: Avoid, scenario: Scenario) -> str:
        if isinstance(item.what, AskedAction):
            what = asked_words(item.what, scenario.vocabulary, {})
        elif item.condition is None:
            what = item.title
        else:
            what = condition_words(item.condition, scenario.vocabulary)
            if item.lasting_ms:
                what += say("asked_avoided_for", lasting=format_duration(item.lasting_ms))
        text = say("asked_avoided", what=what, deduct=percent(item.deduct))
        if item.at_most is not None:
            text += say("asked_avoided_at_most", at_most=percent(item.at_most))
        return text

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        if not marked.occurred:
            return _avoided(words, marked.plan)
        what = listed([_happened(words, stretch, run) for stretch, run in marked.occurred])
        return words.say("unsafe" if self.item(marked.plan).never else "not_avoided", what=what)

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return tuple(
            words.run_evidence(run)
            if run is not None
            else Evidence(None, stretch[0], words.say("stretch", when=words.interval(*stretch)))
            for stretch, run in marked.occurred
        )


KIND = AvoidKind()


def _happened(words: VerdictSentences, stretch: Interval, run: Run | None) -> str:
    """Say one occurrence: what was done and when, with its dose; else when it was so."""
    when = words.clock(stretch[0])
    if run is None or not isinstance(run.source, KnownPerformance):
        return words.say("avoided_time", when=when)
    did = words.vocabulary.actions[run.action].did
    dose = run.source.performance.dose
    given = [reading_words(dose[name]) for name in ("amount", "volume", "strength") if name in dose]
    if given:
        return words.say("avoided_dose", did=did, when=when, dose=", ".join(given))
    return words.say("avoided_act", did=did, when=when)


def _avoided(words: VerdictSentences, plan: ItemPlan) -> str:
    """Say that it did not occur, and what the record holds that is too little to count."""
    resample, item = words.resample, plan.item
    assert isinstance(item, Avoid)
    guide = plan.guide
    clauses = []
    short = list(occurrences(resample, plan, least_ms=1)) if guide.lasting_ms else []
    if short:
        at = listed([words.for_how_long(*stretch) for stretch, _ in short])
        shortest = format_duration(guide.lasting_ms)
        clauses.append(words.say("trace_so_short", at=at, shortest=shortest))
    if not isinstance(item.what, GivenDose):
        stays = _time(resample, plan, item)
        held = [
            trace
            for trace in done_traces(resample, guide.watch, lambda _: "other_way")
            if not (trace.why == "other_way" and trace.run.is_in(item.accepts))
            and _is_in(trace.run.start, stays, item)
            and _holds_at(resample, plan, trace.run.start)
        ]
        clauses += [words.traces(held, item.accepts)] if held else []
    return words.say("avoided_but", traces="; ".join(clauses)) if clauses else words.say("avoided")


def occurrences(
    resample: Resample, plan: ItemPlan, *, least_ms: int | None = None
) -> Iterator[Occurrence]:
    """Yield each occurrence. ``least_ms``: how long a stretch must last, the item's own if not."""
    item = plan.item
    assert isinstance(item, Avoid)
    stays = _time(resample, plan, item)
    guide = plan.guide
    least = guide.lasting_ms if least_ms is None else least_ms
    if plan.condition is not None:
        for entry, exit_ in stays:
            stretches = resample.truth(plan.condition, entry, exit_)
            if guide.only_while is not None:
                stretches = intersect(stretches, resample.truth(guide.only_while, entry, exit_))
            for start, stop in clipped(stretches, _touched(resample, guide.asked_settings), exit_):
                if stop - start >= least:
                    yield (start, stop), None
        return
    for run in resample.runs_of(guide.watch):
        source = run.source
        assert isinstance(source, KnownPerformance)
        if run.as_found or source.way not in item.accepts or run.seq in plan.followers:
            continue
        if isinstance(item.what, GivenDose):
            counts = _is_wrong(resample, run, item.what)
        elif isinstance(item.what, GivenAgain):
            counts = _is_too_soon(resample, run, item)
        elif item.begun or source.momentary:
            counts = True
        else:
            yield from _stretches(resample, plan, run, stays, least)
            continue
        if counts and _is_in(run.start, stays, item) and _holds_at(resample, plan, run.start):
            yield (run.start, run.start), run


def _touched(resample: Resample, settings: tuple[str, ...]) -> int:
    """Since when somebody has touched any of the settings that are all that a condition names."""
    if not settings:
        return 0
    touched = [
        step.at for name in settings for step in resample.steps(name)[1] if step.change.touched
    ]
    return min(touched, default=resample.plan.end + 1)


def _time(resample: Resample, plan: ItemPlan, item: Avoid) -> tuple[Interval, ...]:
    """The stretches of time in which an item counts."""
    if not item.never:
        return plan.during
    if resample.care is None:
        resample.care = _care(resample)
    return resample.care


def _care(resample: Resample) -> tuple[Interval, ...]:
    """The time from time zero to a state that ends, or to the decision to stop."""
    session = resample.plan.session
    scenario = session.scenario
    start = 0 if scenario.start.clock is None else resample.clock
    if start is None:
        return ()
    ends = [resample.plan.end]
    ends += [stay.entry_ms for stay in session.stays if scenario.states[stay.state].ends]
    for action in scenario.vocabulary.actions.values():
        if action.stops_care:
            begun = [
                run.start for name in care_actions(resample.plan) for run in resample.done(name)
            ]
            last = max(begun, default=0)
            stopped = resample.done(action.name, ("done", "simulated", "said"))
            ends += [run.start for run in stopped if run.start >= last - LASTING_MS]
    end = min(ends)
    return ((start, end),) if start < end else ()


def care_actions(plan: Plan) -> tuple[str, ...]:
    """The actions that anything unsafe in any baby is about: who begins one has not stopped."""
    named = [
        name
        for laid in plan.items
        if laid.item.never
        for name in (*laid.guide.watch, *laid.guide.names.actions)
    ]
    return tuple(dict.fromkeys(named))


def _is_in(instant: int, stays: tuple[Interval, ...], item: Avoid) -> bool:
    """Whether a person's event lies in some stays; at an entry in the one that is left."""
    if not item.during:
        return any(start <= instant <= end for start, end in stays)
    return done_within(stays, instant)


def _stretches(
    resample: Resample, plan: ItemPlan, run: Run, stays: tuple[Interval, ...], least: int
) -> Iterator[Occurrence]:
    """Yield the stretches in which something lasting runs where it is not advised."""
    only_while = plan.guide.only_while
    stretches = clipped(stays, run.start, run.stop)
    if only_while is not None:
        stretches = [
            stretch
            for start, end in stretches
            for stretch in resample.truth(only_while, start, end)
        ]
    for stretch in stretches:
        if stretch[1] - stretch[0] >= least:
            yield stretch, run


def _holds_at(resample: Resample, plan: ItemPlan, instant: int) -> bool:
    """Whether ``while`` holds at an instant, see the rules of this file."""
    guide = plan.guide
    end = resample.plan.end + 1
    for part in guide.at_instant:
        if not any(start <= instant < stop for start, stop in resample.truth(part, 0, end)):
            return False
    for part in guide.for_a_while:
        held = resample.truth(part, 0, end)
        if not any(start <= instant - guide.lasting_ms and instant < stop for start, stop in held):
            return False
    return True


def _is_wrong(resample: Resample, run: Run, what: GivenDose) -> bool:
    """Whether a dose as given is wrong for any baby."""
    source = run.source
    assert isinstance(source, KnownPerformance)
    entry = resample.plan.session.scenario.vocabulary.actions[run.action].dose
    given = [source]
    if entry is not None and entry.in_parts:
        given = [
            other.source
            for other in resample.done(run.action)
            if isinstance(other.source, KnownPerformance)
            and run.start - PARTS_WITHIN_MS < other.start <= run.start
        ]
    return is_wrong(resample.plan.session.scenario, source, what, given)


def _is_too_soon(resample: Resample, run: Run, item: Avoid) -> bool:
    """Whether a dose follows one by a like route too soon, and is not the same written twice."""
    assert isinstance(item.what, GivenAgain)
    doses = resample.plan.session.scenario.doses.get(item.what.action, {})
    route = _route(run.source)
    if route is None:
        return False
    like = [name for name in doses if doses[name] == doses.get(route)] or [route]
    return any(
        LASTING_MS < run.start - other.start < item.what.within_ms and _route(other.source) in like
        for other in resample.runs_of((item.what.action,))
        if not other.as_found and other.is_in(item.accepts)
    )


def _route(source: object) -> str | None:
    """The route by which a dose was given; ``None`` where nobody wrote it down."""
    assert isinstance(source, KnownPerformance)
    route = source.performance.dose.get("route")
    return None if route is None else str(route.value)


def is_wrong(
    scenario: Scenario,
    source: KnownPerformance,
    what: GivenDose,
    given: Sequence[KnownPerformance],
) -> bool:
    """Whether a dose is wrong for any baby; ``given``: the performances whose amounts add up."""
    by_route = scenario.doses.get(source.action)
    if what.beyond is None:
        return by_route is None
    route = _route(source)
    wanted = (by_route or {}).get(route) if route is not None else None
    entry = scenario.vocabulary.actions[source.action].dose
    if wanted is None or entry is None:
        return False
    weight_g = scenario.infant.weight_g
    amounts = [dose_per_kg(entry, done.performance.dose, weight_g) for done in given]
    if amounts and dose_per_kg(entry, source.performance.dose, weight_g) is None:
        return False
    amount = sum(part for part in amounts if part is not None)
    limit = what.beyond * as_written(wanted)[1]
    return amount > limit * (1.0 + 1e-9)


def _dosed(scenario: Scenario) -> tuple[str, ...]:
    return tuple(
        action.name for action in scenario.vocabulary.actions.values() if action.dose is not None
    )


def _lasting(item: Avoid, scenario: Scenario) -> int:
    """How long it must last to count."""
    if item.lasting_ms is not None:
        return item.lasting_ms
    conditions = [part for part in (item.condition, item.only_while) if part is not None]
    if any(looks_now(part) for part in conditions):
        return LASTING_MS
    if isinstance(item.what, AskedAction):
        own = scenario.vocabulary.actions[item.what.action].avoid_from_ms
        return LASTING_MS if own is None else own
    return 0


def _taken_apart(condition: Condition) -> tuple[tuple[Condition, ...], tuple[Condition, ...]]:
    """The parts of ``while`` that are judged at an instant, and those that must have held."""
    inside = inward(condition)
    parts = inside.parts if isinstance(inside, All) else (inside,)
    looks = [looks_now(part) for part in parts]
    return (
        tuple(part for part, looked in zip(parts, looks, strict=True) if not looked),
        tuple(part for part, looked in zip(parts, looks, strict=True) if looked),
    )
