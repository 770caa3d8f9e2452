"""The verdict of an item in a sentence that a trainee can understand, made from its mark.

Rules of this file:

- A sentence is spoken to the team: what it did and when, and what care asks for, where that is more
  than was done. It is about actions, specific and kind; a miss is what has no entry, never what
  somebody failed to do.
- Late and off names both. "Not recorded" is told apart from "outside".
- Every number has its unit; values and times are told as everywhere. The words themselves stand
  in the catalogue; what only one kind says hangs on the kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from simengine.quantities import Range, format_duration, format_quantity
from simengine.quantities.formatting import (
    NONE,
    capitalised,
    instant,
    listed,
    times,
    value_words,
)
from simengine.scenario.key import AskedAction, AskedFault, AskedKnowledge, AskedSetting, Windowed
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import AsShown, Value
from simengine.scenario.words import range_words
from simengine.scoring.card import Compared, Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.compared import compared
from simengine.scoring.knowledge import Telling
from simengine.scoring.occasion import Match, Occasion
from simengine.scoring.parts import PartCredit
from simengine.scoring.plan import KnownPerformance
from simengine.scoring.resample import Resample, Run, Step
from simengine.scoring.traces import Trace, WhyNot, traces_of
from simengine.session.entry_words import reading_words
from simengine.session.record import NEVER, Change, FaultEvent, Performance, Reading, Shown

if TYPE_CHECKING:
    from simengine.scoring.mark import Marked

NOT_REACHED = {
    "unobserved": "unobserved",
    "unavailable": "unavailable",
    "no occasion": "no_occasion",
    "end": "end",
    "until": "until",
    "resolved": "resolved",
    "recorded late": "recorded_late",
    "as found": "as_found",
    "no value": "no_value",
    "unknown": "unknown",
}
"""The sentence for each word of why something is not reached."""


TRACES: dict[WhyNot, str] = {
    "other_way": "trace_other_way",
    "other_time": "trace_other_time",
    "untold": "trace_untold",
    "guess": "trace_guess",
    "no_reading": "trace_no_reading",
    "other_value": "trace_other_value",
    "part_of_dose": "trace_part_of_dose",
    "counts_elsewhere": "trace_counts_elsewhere",
    "too_short": "trace_too_short",
}
"""The sentence for each reason why something in the record does not count, in the order told."""


class VerdictSentences:
    """Says the verdicts of one session. Instants in ms."""

    def __init__(self, resample: Resample) -> None:
        self.resample = resample
        self.scenario = resample.plan.session.scenario
        self.vocabulary = self.scenario.vocabulary
        self.event = (self.scenario.start.clock or "").replace("_", " ")
        self.zero = resample.clock
        self._occasions: dict[int, str] = {}
        self._compared: dict[int, tuple[Compared, ...]] = {}

    say = staticmethod(say)

    def sentence(self, marked: Marked) -> str:
        """Return the sentence of an item's verdict."""
        plan = marked.plan
        if plan.set_aside:
            return say(NOT_REACHED[plan.set_aside])
        if marked.credit is None and plan.item.credited:
            return say(NOT_REACHED[marked.why])
        sentence = plan.guide.kind.sentence(self, marked)
        return say("with_cue", sentence=sentence) if marked.with_cue else sentence

    def occasion(self, occasion: Occasion) -> str:
        """Return the sentence of one occasion."""
        made = self._occasions.get(id(occasion))
        if made is None:
            made = self._occasions[id(occasion)] = self._occasion(occasion)
        return made

    def compared(self, occasion: Occasion) -> tuple[Compared, ...]:
        """Return the settings of what served an occasion, as read beside what was asked."""
        match, item = occasion.match, occasion.plan.item
        if match is None or not match.settings.parts:
            return ()
        made = self._compared.get(id(occasion))
        if made is not None:
            return made
        assert isinstance(item, Windowed)
        source = match.run.source
        made = self._compared[id(occasion)] = compared(
            self.resample,
            match.settings.parts,
            match.at,
            item.settle_ms,
            source.performance if isinstance(source, KnownPerformance) else None,
        )
        return made

    # --- words that several kinds share ---------------------------------------------------------

    def clock(self, at: int) -> str:
        """Say an instant on the team's clock."""
        return instant(at - (self.zero or 0), self.event)

    def _shown(self, at: int) -> int:
        """Return an instant as the team's clock shows it, in whole seconds."""
        since = at - (self.zero or 0)
        return since // 1000 if since >= 0 else -(-since // 1000)

    def interval(self, start: int, end: int) -> str:
        """Say a stretch of time on the team's clock."""
        if end in (start, NEVER):
            return self.clock(start)
        until = self.clock(min(end, self.resample.plan.end))
        return say("interval", start=self.clock(start), end=until)

    def for_how_long(self, start: int, end: int) -> str:
        """Say when something was and how long it lasted: ``0:20 for 3 s``."""
        return say("at_for", when=self.clock(start), span=format_duration(end - start))

    def label(self, action: str) -> str:
        """Return an action's label as it opens a sentence."""
        return self.vocabulary.actions[action].label

    def doing(self, actions: Sequence[str]) -> str:
        """Return actions of which any will do, as they stand within a sentence."""
        return listed([self.vocabulary.actions[action].doing for action in actions], "or")

    def did(self, runs: Iterable[Run | None]) -> str:
        """Return what was done in some runs, after a name: each action once."""
        done = dict.fromkeys(run.action for run in runs if run is not None and run.action)
        return listed([self.vocabulary.actions[action].did for action in done])

    def asked(self, asked: AskedAction | AskedKnowledge) -> str:
        """Return what is asked within a sentence: actions, or the name of what is to be known."""
        if isinstance(asked, AskedAction):
            return self.doing(asked.actions)
        return self.vocabulary.observations[asked.observation].noun

    def declared(self) -> str:
        """Return the title of the state in which the team called its work done."""
        return self._declared(self.resample.plan.declared[0][0])

    def traces(self, traces: Iterable[Trace], accepts: Sequence[str]) -> str:
        """Say what the record holds all the same, and why it does not count; may be empty."""
        by_why: dict[WhyNot, list[Run]] = {}
        for trace in traces:
            by_why.setdefault(trace.why, []).append(trace.run)
        return "; ".join(
            say(
                key,
                at=listed([self._run_at(run, why) for run in by_why[why]]),
                counts=listed(accepts, "or"),
                shortest=format_duration(_shortest(by_why[why])),
            )
            for why, key in TRACES.items()
            if why in by_why
        )

    def times(self, number: int) -> str:
        """Say how often: ``once``, ``3 times``."""
        return times(number) if number else say("never")

    def whole_seconds(self, ms: int) -> str:
        """Say a span of time to its seconds."""
        return format_duration(ms // 1000 * 1000)

    def thing_asked(self, occasion: Occasion) -> str:
        """Say what is asked, as it follows "asks for": ``it``, ``oxygen to be at most 40 %``."""
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        if isinstance(item.asked, AskedSetting):
            return self._setting_asked(item.asked)
        return say("thing")

    # --- evidence -------------------------------------------------------------------------------

    def occasion_evidence(self, occasion: Occasion) -> tuple[Evidence, ...]:
        """Return what the verdict of an occasion rests on."""
        run = occasion.match.run if occasion.match is not None else occasion.attempted
        return (self.run_evidence(run),) if occasion.reached and run is not None else ()

    def runs_evidence(self, runs: Iterable[Run | None]) -> tuple[Evidence, ...]:
        """Return each run as evidence."""
        return tuple(self.run_evidence(run) for run in runs if run is not None)

    def run_evidence(self, run: Run) -> Evidence:
        """Return a run as evidence: its event, its start, what was done."""
        return Evidence(run.source.event_id, run.start, self._run_words(run))

    def _run_words(self, run: Run) -> str:
        when = self.interval(run.start, run.stop)
        source = run.source
        if isinstance(source, Change):
            label = self.vocabulary.settings[source.setting].label
            return say("was_set", label=label, when=when)
        if isinstance(source, FaultEvent):
            return say("was_found" if source.status == "found" else "was_mended", when=when)
        if isinstance(source, Shown):
            return say("was_shown", when=when)
        performance = source.performance
        way = "" if performance.way == "done" else say("performed_way", way=performance.way)
        given = "".join(
            say(
                "performed_with",
                label=self.vocabulary.settings[name].label,
                value=reading_words(reading),
            )
            for name, reading in performance.as_read.items()
            if name in self.vocabulary.settings
        )
        label = self.label(performance.action)
        return say("performed", label=label, way=way, given=given, when=when)

    def slip(self, seq: int, part: PartCredit) -> Evidence:
        """Return a ten-fold slip as evidence, and ask whether it was given so."""
        performance = self._performance(seq)
        at = performance.start_ms
        (dose,) = compared(self.resample, (part,), at, 0, performance)
        words = say(
            "slip",
            label=self.label(performance.action),
            when=self.clock(at),
            read=dose.read,
            asked=dose.asked,
            tenfold=part.tenfold,
        )
        return Evidence(performance.event_id, at, words)

    def _performance(self, seq: int) -> Performance:
        performances = self.resample.plan.session.record.performances
        return next(done for done in performances if done.seq == seq)

    # --- findings about doses and values -----------------------------------------------------

    def too_little(self, seq: int, part: PartCredit) -> Evidence:
        """Return a dose that was far too little as evidence."""
        performance = self._performance(seq)
        (dose,) = compared(self.resample, (part,), performance.start_ms, 0, performance)
        words = say(
            "too_little",
            label=self.label(performance.action),
            when=self.clock(performance.start_ms),
            read=dose.read,
            asked=dose.asked,
        )
        return Evidence(performance.event_id, performance.start_ms, words)

    def told_wrong(self, observation: str, telling: Telling) -> Evidence:
        """Return a value that was said and is far from the truth as evidence."""
        entry = self.vocabulary.observations[observation]
        words = say(
            "told_wrong",
            noun=entry.noun,
            value=_said_words(telling.value, entry),
            when=self.clock(telling.said),
            truth=_truth_words(telling.truth, entry),
        )
        return Evidence(telling.run.source.event_id, telling.said, words)

    def gauge_told_wrong(self, step: Step, shown: Range) -> Evidence:
        """Return a reading of a gauge that is far from what that showed as evidence."""
        setting = self.vocabulary.settings[step.change.setting]
        words = say(
            "gauge_told_wrong",
            noun=setting.noun,
            value=value_words(step.value, setting.unit)
            if step.change.as_read is None
            else reading_words(step.change.as_read),
            when=self.clock(step.at),
            truth=shown.text,
        )
        return Evidence(step.change.event_id or "", step.at, words)

    # --- one occasion ---------------------------------------------------------------------------

    def _occasion(self, occasion: Occasion) -> str:
        if not occasion.reached:
            why = say(NOT_REACHED[occasion.why])
            before = occasion.before
            if before is None or occasion.why == "no value":
                return why
            return say(
                "left_out_before",
                why=why,
                what=self._subject(occasion),
                when=self.clock(before.start),
            )
        asks = occasion.plan.guide.kind.window_words(self, occasion)  # type: ignore[attr-defined]
        match = occasion.match
        if match is None:
            return self._nothing(occasion, asks)
        if match.wrong:
            return say(
                "was_told_wrong", what=self._subject(occasion), when=self.clock(match.at), asks=asks
            )
        parts = [self._timed(occasion, match, asks)]
        shown = _as_they_showed(occasion, match)
        parts.extend(
            self._off(part, shown.get(part.name))
            for part in self.compared(occasion)
            if part.credit < 1.0
        )
        return " ".join(parts)

    def _timed(self, occasion: Occasion, match: Match, asks: str) -> str:
        """Say what was done, and how its time stands to what is asked."""
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        what = capitalised(self._what(occasion, match))
        over = match.delay - item.ideal_ms
        if match.early:
            return say("too_soon", what=what, asks=asks)
        if match.in_force or match.ahead:
            return say("alone", what=what)
        if over > 0:
            late = self._shown(match.at) - self._shown(occasion.at) - item.ideal_ms // 1000
            key = "late" if late > 0 else "just_late"
            return say(key, what=what, over=format_duration(1000 * late), asks=asks)
        if not item.ideal_ms:
            return say("at_once", what=what)
        key = "well_within" if match.delay <= item.ideal_ms / 2 else "within"
        return say(key, what=what, ideal=format_duration(item.ideal_ms))

    def _nothing(self, occasion: Occasion, asks: str) -> str:
        """Say that nothing served an occasion, and what else the record holds."""
        what = self._subject(occasion)
        accepts = occasion.plan.item.accepts
        held = self.traces(traces_of(self.resample, occasion), accepts)
        declared = occasion.closes_for == "declared" and occasion.attempted is None
        title = self._declared(occasion.close) if declared else ""
        if held:
            key = "otherwise_until" if declared else "otherwise"
            return say(key, what=capitalised(what), traces=held, said=title, asks=asks)
        if declared:
            missing = self._missing(occasion, what)
            return say("declared", missing=missing, said=title, asks=asks)
        return say("missing", missing=self._missing(occasion, what), asks=asks)

    def _run_at(self, run: Run, why: WhyNot) -> str:
        """Say when a run was: ``0:20``, ``ordered at 0:20``, ``0:20 (30 %)``, ``0:20 for 3 s``."""
        when = self.clock(run.start)
        source = run.source
        if why == "too_short":
            return self.for_how_long(run.start, run.stop)
        if isinstance(source, Change):
            unit = self.vocabulary.settings[source.setting].unit
            return say("at_with", when=when, more=value_words(source.value, unit))
        if not isinstance(source, KnownPerformance) or source.way == "done":
            return when
        key = "way_at" if why == "other_way" else "at_with"
        return say(key, when=when, way=source.way, more=source.way)

    def _declared(self, entry: int) -> str:
        state = next((name for at, name in self.resample.plan.declared if at == entry), "")
        return self.scenario.states[state].title if state else ""

    def _subject(self, occasion: Occasion) -> str:
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        subject = item.asked
        if isinstance(subject, AskedAction | AskedKnowledge):
            return self.asked(subject)
        if isinstance(subject, AskedSetting):
            return say("change_of", noun=self.vocabulary.settings[subject.setting].noun)
        return self._fault(subject.fault)

    def _missing(self, occasion: Occasion, what: str) -> str:
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        if isinstance(item.asked, AskedFault):
            is_found = item.asked.status == "found"
            return say("fault_not_found" if is_found else "fault_not_mended", fault=what)
        if isinstance(item.asked, AskedKnowledge):
            return say("not_told" if item.asked.told else "not_known", what=what)
        return say("not_in_record", what=what)

    def _fault(self, name: str) -> str:
        fault = self.scenario.start.faults.get(name)
        shows = fault.shows if fault is not None else name.replace("_", " ")
        return say("fault_shows", shows=shows)

    def _what(self, occasion: Occasion, match: Match) -> str:
        item = occasion.plan.item
        assert isinstance(item, Windowed)
        subject, when = item.asked, self.clock(match.at)
        if isinstance(subject, AskedAction):
            action = self.vocabulary.actions[match.run.action]
            key = (
                "running_already" if match.in_force else "done_ahead" if match.ahead else "began_at"
            )
            return say(key, did=action.did, when=when)
        if isinstance(subject, AskedKnowledge):
            key = "was_told_at" if subject.told else "was_known_at"
            return say(key, noun=self.vocabulary.observations[subject.observation].noun, when=when)
        if isinstance(subject, AskedSetting):
            setting = self.vocabulary.settings[subject.setting]
            step = self.resample.step_at(subject.setting, match.at)
            value = NONE if step is None else value_words(step.value, setting.unit)
            key = "setting_was_at" if match.in_force else "setting_set_to"
            return say(key, noun=setting.noun, value=value, when=when)
        key = "fault_found_at" if subject.status == "found" else "fault_mended_at"
        return say(key, fault=self._fault(subject.fault), when=when)

    def _setting_asked(self, change: AskedSetting) -> str:
        setting = self.vocabulary.settings[change.setting]
        if change.to is None:
            key = "asks_lower" if change.direction == "lower" else "asks_higher"
            return say(key, noun=setting.noun)
        if getattr(change.to, "rows", None) is not None:
            return say("asks_on_target", noun=setting.noun)
        wanted = range_words(change.to, setting.unit)  # type: ignore[arg-type]
        return say("asks_setting", noun=setting.noun, wanted=wanted)

    def _off(self, part: Compared, shown: str | None) -> str:
        """Say what was off. ``shown``: what the gauge showed that was read."""
        setting = self.vocabulary.settings.get(part.name)
        noun = capitalised(setting.noun if setting is not None else say(_PARTS[part.name]))
        if not part.recorded:
            return say("part_not_recorded", noun=noun, asked=part.asked)
        if shown is not None:
            return say("part_told_wrong", noun=noun, read=part.read, shown=shown)
        if not part.tenfold:
            return say("part_off", noun=noun, read=part.read, asked=part.asked)
        return say(
            "part_tenfold",
            noun=noun,
            read=part.read,
            asked=part.asked,
            tenfold=part.tenfold,
        )


_PARTS = {
    "amount": "needed_amount",
    "route": "needed_route",
    "strength": "needed_strength",
    "flush": "needed_flush",
    "over": "needed_over",
}
"""The name of each part of a dose within a sentence."""


class NoWords(VerdictSentences):
    """Leaves every sentence empty, for who wants the figures alone."""

    def sentence(self, marked: Marked) -> str:
        """Return nothing."""
        return ""

    def occasion(self, occasion: Occasion) -> str:
        """Return nothing."""
        return ""

    def clock(self, at: int) -> str:
        """Return nothing."""
        return ""

    def interval(self, start: int, end: int) -> str:
        """Return nothing."""
        return ""

    def compared(self, occasion: Occasion) -> tuple[Compared, ...]:
        """Return the values that were compared, without words for them."""
        match = occasion.match
        if match is None:
            return ()
        return tuple(
            Compared(part.name, "", "", "", part.credit, part.value is not None, part.tenfold)
            for part in match.settings.parts
        )

    def run_evidence(self, run: Run) -> Evidence:
        """Return a run as evidence: its event and its start."""
        return Evidence(run.source.event_id, run.start, "")

    def slip(self, seq: int, part: PartCredit) -> Evidence:
        """Return a dose as evidence: its event and its start."""
        performance = self._performance(seq)
        return Evidence(performance.event_id, performance.start_ms, "")

    too_little = slip

    def told_wrong(self, observation: str, telling: Telling) -> Evidence:
        """Return a value that was said as evidence: its event and its start."""
        return Evidence(telling.run.source.event_id, telling.said, "")

    def gauge_told_wrong(self, step: Step, shown: Range) -> Evidence:
        """Return a reading as evidence: its event and its instant."""
        return Evidence(step.change.event_id or "", step.at, "")


def _as_they_showed(occasion: Occasion, match: Match) -> dict[str, str]:
    """Return in words what each gauge showed that was read for an occasion, by its setting."""
    gauges = {check.setting for check in occasion.plan.checks if isinstance(check.wanted, AsShown)}
    return {
        part.name: part.wanted.text
        for part in match.settings.parts
        if part.name in gauges and isinstance(part.wanted, Range)
    }


def _shortest(runs: Iterable[Run]) -> int:
    """The time (ms) from which actions count, the longest of several."""
    return max(getattr(run.source, "shortest", 0) for run in runs)


def _said_words(value: Reading, entry: Observation) -> str:
    if isinstance(value.value, str):
        return value.value
    return format_quantity(value.value, entry.unit or "", entry.decimals)


def _truth_words(truth: Value | None, entry: Observation) -> str:
    if truth is None or isinstance(truth, str):
        return (truth or "").replace("_", " ")
    return format_quantity(truth, entry.unit or "", entry.decimals)
