"""The verdict of an item in a sentence that a trainee can understand.

Rules of this file:

- A sentence says what was done and when, then what the marking guide asks. It is about actions,
  specific and kind; a miss is what the record does not hold, never what somebody failed to do.
- Late and off names both. "Not recorded" is told apart from "outside".
- Every number has its unit; times are those of ``told``.
"""

from __future__ import annotations

from simengine.quantities import format_duration
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    Order,
    Repeat,
    Respond,
)
from simengine.scoring.asking import Asking, Served
from simengine.scoring.card import Compared
from simengine.scoring.draw import Draw
from simengine.scoring.marking import Marked
from simengine.scoring.told import clock_words, compared, range_words, value_words
from simengine.session.record import NEVER, Performance

NOT_REACHED = {
    "unobserved": "Marked as not observed, so it is left out of the score.",
    "unavailable": "The equipment for it was not there, so it is left out of the score.",
    "no occasion": "The session did not come to the point at which this is asked.",
    "end": "The session ended before the time for this had passed.",
    "until": "The situation moved on before the time for this had passed.",
    "resolved": "It put itself right before the time for this had passed.",
    "recorded late": (
        "This was asked only because an entry was written down late, so it is left out."
    ),
    "as found": (
        "This was so from the start and nobody touched it, so it is neither credited nor missed."
    ),
}


class Teller:
    """Tells the verdicts of one session. Instants in ms."""

    def __init__(self, draw: Draw) -> None:
        self.draw = draw
        self.scenario = draw.plan.session.scenario
        self.vocabulary = self.scenario.vocabulary
        self.event = (self.scenario.start.clock or "").replace("_", " ")
        self.zero = draw.clock
        self._occasions: dict[int, str] = {}
        self._compared: dict[int, tuple[Compared, ...]] = {}

    def sentence(self, marked: Marked) -> str:
        """Return the sentence of an item's verdict."""
        item = marked.plan.item
        if marked.credit is None and not isinstance(item, Avoid):
            return NOT_REACHED[marked.why]
        if marked.plan.set_aside:
            return NOT_REACHED[marked.plan.set_aside]
        if isinstance(item, Expect | Respond):
            said = self._of_occasions(marked)
        elif isinstance(item, Repeat):
            said = self._repeat(marked, item)
        elif isinstance(item, Keep):
            said = self._keep(marked, item)
        elif isinstance(item, Order):
            said = self._order(marked, item)
        else:
            said = self._avoid(marked, item)
        return f"{said} It was done after a cue." if marked.cued else said

    def occasion(self, asking: Asking) -> str:
        """Return the sentence of one occasion."""
        told = self._occasions.get(id(asking))
        if told is None:
            told = self._occasions[id(asking)] = self._occasion(asking)
        return told

    def _occasion(self, asking: Asking) -> str:
        if not asking.reached:
            return NOT_REACHED[asking.why]
        asks = self._asks(asking)
        served = asking.served
        if served is None:
            if asking.why == "no value":
                return (
                    f"{self._subject(asking)} was not recorded before this was asked, so a change "
                    f"of it can't be told. {asks}"
                )
            run = asking.attempted
            if run is None:
                return f"{self._missing(asking)} {asks}"
            way = run.source.way  # type: ignore[union-attr]
            counts = " or ".join(asking.plan.item.accepts)
            return (
                f"{self._subject(asking)} was {way} at {self._clock(run.start)}, which is not "
                f"one of the ways that count here ({counts}). {asks}"
            )
        parts = [self._what(asking, served), asks]
        parts.extend(self._off(one) for one in self.compared(asking) if one.credit < 1.0)
        return " ".join(parts)

    def compared(self, asking: Asking) -> tuple[Compared, ...]:
        """Return the settings of what served an occasion, as read beside what was asked."""
        served, item = asking.served, asking.plan.item
        if served is None or not served.settings.parts:
            return ()
        told = self._compared.get(id(asking))
        if told is not None:
            return told
        assert isinstance(item, Expect | Respond)
        source = served.run.source
        performance = getattr(source, "performance", None)
        told = self._compared[id(asking)] = compared(
            self.draw,
            served.settings.parts,
            served.at,
            item.settle_ms,
            performance if isinstance(performance, Performance) else None,
        )
        return told

    def _clock(self, instant: int, unlike: int | None = None) -> str:
        return clock_words(instant, self.zero, self.event, unlike=unlike)

    def _label(self, action: str) -> str:
        return self.vocabulary.actions[action].label

    def _of_occasions(self, marked: Marked) -> str:
        if marked.why == "never came":
            return "The record does not come to the point at which this is asked."
        reached = [asking for asking in marked.askings if asking.reached]
        worst = min(reached, key=lambda asking: (asking.verdict != marked.verdict, asking.credit))
        said = self.occasion(worst)
        if len(reached) == 1:
            return said
        met = sum(asking.credit >= 1.0 for asking in reached)
        asked = f"This was asked for {_times(len(reached))}, and met in full"
        if met == len(reached):
            return f"{asked} each time. {said}"
        return f"{asked} {_times(met)}. The one to look at: {said}"

    def _subject(self, asking: Asking) -> str:
        item = asking.plan.item
        assert isinstance(item, Expect | Respond)
        asked = item.asked
        if isinstance(asked, AskedAction):
            return self._label(asked.action)
        if isinstance(asked, AskedSetting):
            return f"A change of {_lower(self.vocabulary.settings[asked.setting].label)}"
        assert isinstance(asked, AskedFault)
        return self._fault(asked.fault)

    def _missing(self, asking: Asking) -> str:
        item = asking.plan.item
        assert isinstance(item, Expect | Respond)
        if isinstance(item.asked, AskedFault):
            done = "found" if item.asked.status == "found" else "put right"
            return f"The record does not say that {self._subject(asking)} was {done}."
        return f"{self._subject(asking)} is not in the record."

    def _fault(self, name: str) -> str:
        fault = self.scenario.start.faults.get(name)
        return f"“{fault.shows if fault is not None else name.replace('_', ' ')}”"

    def _what(self, asking: Asking, served: Served) -> str:
        item = asking.plan.item
        assert isinstance(item, Expect | Respond)
        asked = item.asked
        limit = asking.at + (item.latest_ms if served.delay >= item.latest_ms else item.ideal_ms)
        when = self._clock(served.at, unlike=limit if served.delay > 0 else None)
        if isinstance(asked, AskedAction):
            label = self._label(asked.action)
            if served.in_force:
                return f"{label} was already running at {when}."
            if self.vocabulary.actions[asked.action].lasting:
                return f"{label} began at {when}."
            return f"{label} was done at {when}."
        if isinstance(asked, AskedSetting):
            setting = self.vocabulary.settings[asked.setting]
            step = self.draw.step_at(asked.setting, served.at)
            value = value_words(None if step is None else step.value, setting.unit)
            if served.in_force:
                return f"{setting.label} was at {value} at {when}."
            return f"{setting.label} was set to {value} at {when}."
        assert isinstance(asked, AskedFault)
        done = "found" if asked.status == "found" else "put right"
        return f"{self._fault(asked.fault)} was {done} at {when}."

    def _asks(self, asking: Asking) -> str:
        item = asking.plan.item
        assert isinstance(item, Expect | Respond)
        by = asking.at + item.ideal_ms
        what = ""
        if isinstance(item.asked, AskedSetting):
            what = self._setting_asked(item.asked)
        thing = f"for {what}" if what else "for it"
        not_before = item.not_before_ms if isinstance(item, Expect) else None
        served = asking.served
        late = ""
        if item.latest_ms > item.ideal_ms and served is not None and served.delay > item.ideal_ms:
            late = f", and gives part of the credit until {self._clock(asking.at + item.latest_ms)}"
        if isinstance(item, Respond):
            return (
                f"It was asked for from {self._clock(asking.at)}; the marking guide asks {thing} "
                f"within {format_duration(item.ideal_ms)} of that{late}."
            )
        if served is not None and served.early and not_before is not None:
            return (
                f"The marking guide asks {thing} from {self._clock(asking.at + not_before)} on, "
                f"and by {self._clock(by)}."
            )
        if item.anchor.kind == "clock":
            after = f" after {self.event}" if by >= (self.zero or 0) else ""
            return f"The marking guide asks {thing} by {self._clock(by)}{after}{late}."
        return (
            f"The marking guide asks {thing} within {format_duration(item.ideal_ms)} of "
            f"{self._anchor(item)}, by {self._clock(by)}{late}."
        )

    def _setting_asked(self, asked: AskedSetting) -> str:
        setting = self.vocabulary.settings[asked.setting]
        if asked.to is None:
            size = f" by {value_words(setting.step, setting.unit)} at least" if setting.step else ""
            return f"{_lower(setting.label)} to be {asked.direction}{size}"
        wanted = asked.to
        rows = getattr(wanted, "rows", None)
        if rows is not None:
            return f"{_lower(setting.label)} to be on target"
        return f"{_lower(setting.label)} {range_words(wanted, setting.unit)}"  # type: ignore[arg-type]

    def _anchor(self, item: Expect) -> str:
        name = item.anchor.name or ""
        if item.anchor.kind == "start":
            return "the start"
        if item.anchor.kind == "state":
            return f"“{self.scenario.states[name].title}” beginning"
        if item.anchor.kind == "action":
            return _lower(self._label(name))
        return "the start" if self._planted_at_start(name) else "the fault being planted"

    def _planted_at_start(self, name: str) -> bool:
        fault = self.scenario.start.faults.get(name)
        return fault is not None and fault.planted_at_start

    def _off(self, one: Compared) -> str:
        if not one.recorded:
            return f"{one.label} was not recorded; the marking guide asks for {one.asked}."
        slip = f" That is {one.tenfold} what is asked." if one.tenfold else ""
        return f"{one.label} was {one.read}; the marking guide asks for {one.asked}.{slip}"

    def _repeat(self, marked: Marked, item: Repeat) -> str:
        assert marked.part is not None
        assert marked.whole is not None
        grace = f", with {format_duration(item.grace_ms)} of grace" if item.grace_ms else ""
        asks = f"The marking guide asks for it every {format_duration(item.every_ms)}{grace}."
        times = len(marked.runs)
        assert isinstance(item.asked, AskedAction)
        label = self._label(item.asked.action)
        if marked.verdict == "attempted":
            return f"{label} is in the record in other ways than those that count. {asks}"
        if not marked.part:
            return f"{label} is not in the record for this time. {asks}"
        noted = _times(times)
        if marked.verdict == "kept":
            return f"{label} was kept up throughout ({noted} in the session). {asks}"
        return (
            f"{label} was up to date for {_share_words(marked.part, marked.whole)} that count, "
            f"{noted} in the session. "
            f"{asks}"
        )

    def _keep(self, marked: Marked, item: Keep) -> str:
        assert marked.part is not None
        assert marked.whole is not None
        share = "throughout" if item.share >= 1.0 else f"for {item.share * 100:g} % of the time"
        return (
            f"{item.title}: so for {_share_words(marked.part, marked.whole)}. "
            f"The marking guide asks for it {share}."
        )

    def _order(self, marked: Marked, item: Order) -> str:
        asked = ", then ".join(_lower(self._label(action)) for action in item.actions)
        done = [
            f"{_lower(self._label(action))} at {self._clock(run.start)}"
            for action, run in zip(item.actions, marked.runs, strict=True)
            if run is not None
        ]
        never = [
            _lower(self._label(action))
            for action, run in zip(item.actions, marked.runs, strict=True)
            if run is None
        ]
        said = f"In the record first: {', '.join(done)}"
        if never:
            said += f"; not in the record: {', '.join(never)}"
        return f"{said}. The marking guide asks for this order: {asked}."

    def _avoid(self, marked: Marked, item: Avoid) -> str:
        if not marked.occurred:
            return "Not advised here, and it did not occur."
        times = len(marked.occurred)
        at = ", ".join(self._clock(stretch[0]) for stretch, _ in marked.occurred)
        noted = _times(times)
        return (
            f"Not advised here; in the record {noted}, at {at}. "
            f"It takes {marked.deducted * 100:g} % from the total."
        )

    def interval_words(self, start: int, end: int) -> str:
        """Tell a stretch of time on the team's clock."""
        if end in (start, NEVER):
            return self._clock(start)
        return f"{self._clock(start)} to {self._clock(min(end, self.draw.plan.end))}"


def _times(number: int) -> str:
    return {0: "never", 1: "once"}.get(number, f"{number} times")


def _share_words(part: int, whole: int) -> str:
    """Tell a share of a time: ``96 % of the 3 min 57 s``; only all of it reads as 100 %."""
    return f"{part * 100 // whole} % of the {format_duration(whole // 1000 * 1000 or whole)}"


def _lower(label: str) -> str:
    """Return a label within a sentence; what is written in capitals stays so."""
    if len(label) > 1 and (label[1].isupper() or label[1].isdigit()):
        return label
    return label[:1].lower() + label[1:]
