"""The account: what people recorded, put in order of when it happened.

Rules of this file:

- Entries come in order of (scenario time, ``seq``), corrections already applied. A late entry or
  a correction means a new account from the first entry on; nothing is patched up.
- What makes no sense is a finding, and is otherwise as if it had not been recorded.
- Only what was done or simulated acts: sets settings, mends faults, is in force; an action that
  is speech (``by_voice``) acts by being said, too. In any other way it is kept as a performance at
  one instant.
- A start while in force, a stop without a start, ``done`` of a lasting action: findings. A
  ``start`` of a momentary action is taken as done, with a finding.
- A value outside the vocabulary's plausible range is taken, with a finding that questions it.
- A setting that arrives late (``arrival.py``) is in force at once as everything is; what of it has
  come to the infant stands in the timeline's ``arriving``.
- A fault is put right by its action when that starts, or by a change that brings its setting into
  the range; only while it is planted.
- What a fault leaves standing, empty or running is so from its planting. Once it is put right, by
  whatever, its supplies are full, nothing of it runs, and its dial stands where it should: where
  nobody touched the dial, at the end of the range that is nearest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal, cast, get_args

from simengine.quantities import format_quantity
from simengine.scenario.conditions import CLOCK, Name, SettingIs
from simengine.scenario.key import USUAL_WAY, Way
from simengine.scenario.model import Fault, MendedBySetting
from simengine.scenario.vocabulary import Action
from simengine.scenario.wanted import Value, nearest_within
from simengine.session.arrival import Arrival, at_the_infant
from simengine.session.doses import DoseGiven, dose_given
from simengine.session.events import Event
from simengine.session.plan import Plan
from simengine.session.read_arrivals import read_arrivals
from simengine.session.reading import Unreadable, in_units_of, reading_of
from simengine.session.readings import COUNTS, sensing
from simengine.session.record import (
    NEVER,
    NOTHING,
    Change,
    CueGiven,
    FaultEvent,
    Finding,
    Interval,
    Mark,
    Performance,
    Reading,
    Record,
    Shown,
    Tenure,
)
from simengine.session.truth import FaultStatus, Timeline, truth

PROGRAM = "program"
"""Who recorded what the program itself writes: not a person."""

Instant = tuple[int, int]
"""When an entry happened: scenario time in ms, and its ``seq``."""

_WAYS: Mapping[str, Way] = {way: way for way in get_args(Way)}


class Account:
    """What is known of what people did. ``timeline`` is kept up to date for conditions.

    ``values``: settings in force; ``arrivals``: how each setting arrives that arrives late;
    ``running``: lasting actions in force, as indexes into ``performances``; ``refilled``: how often
    each supply was filled, or emptied by a fault, and with what it was left; ``touched``: the names
    that the last entry changed, for who watches them.
    """

    def __init__(self, plan: Plan, timeline: Timeline) -> None:
        """``timeline`` brings states and curves; the rest of it is filled here."""
        self.plan = plan
        self.timeline = timeline
        self.doing: dict[str, list[Interval]] = {}
        self.done: dict[str, list[int]] = {}
        self.steps: dict[str, list[tuple[int, Value]]] = {}
        self.fault_steps: dict[str, list[tuple[int, FaultStatus]]] = {}
        self.seen: dict[str, int] = {}
        self.given: dict[str, list[DoseGiven]] = {}
        timeline.doing, timeline.done, timeline.given = self.doing, self.done, self.given
        timeline.settings, timeline.faults = self.steps, self.fault_steps
        timeline.seen, timeline.clock_ms = self.seen, None
        self.arrivals: dict[str, Arrival] = {}
        self._arriving: dict[str, list[tuple[int, float]]] = {}
        timeline.arriving = self._arriving
        self.values: dict[str, Value] = {}
        self.running: dict[str, int] = {}
        self.refilled: dict[str, tuple[int, float]] = {}
        self.touched: list[Name] = []
        self.findings: list[Finding] = []
        self.clock_ms: int | None = None
        self.last: Instant = (-1, -1)
        self._touches: list[tuple[Instant, list[Name]]] = []
        self._marks: list[Mark] = []
        self.performances: list[Performance] = []
        self._changes: dict[str, list[Change]] = {}
        self._faults: list[FaultEvent] = []
        self._cues: list[CueGiven] = []
        self._clock_mark: int | None = None
        self._unobserved: list[str] = []
        self._unavailable: list[Mapping[str, Any]] = []
        self._shown: list[Shown] = []
        self._tenures: list[Tenure] = []
        self._held: list[tuple[str, str, int]] = []
        self._confirmed = False
        self._begin()

    def _begin(self) -> None:
        scenario = self.plan.scenario
        start = scenario.start
        for name, value in start.settings.items():
            self._changes[name] = [Change(name, 0, value, -1, None, None, touched=False)]
            self.steps[name] = [(0, value)]
            self.values[name] = value
        for fault in start.faults.values():
            if fault.planted_at_start:
                self._fault(fault.name, "planted", 0, -1, None, None, None)
        for action in start.doing:
            self.running[action] = len(self.performances)
            self.performances.append(Performance(action, 0, NEVER, "done", None, "", -1, None))
            self.doing[action] = [(0, NEVER)]
            self.done[action] = [0]
        for observation in self.plan.watched_sights:
            self._look(observation)

    def apply(self, event: Event, at_ms: int, noted_ms: int) -> None:
        """Take one entry in; ``at_ms`` and ``noted_ms`` are scenario time."""
        self.last = (at_ms, event.seq)
        self.touched = []
        self._touches.append((self.last, self.touched))
        match event.kind:
            case "action":
                self._action(event, at_ms, noted_ms)
            case "set":
                data = event.data
                mark = self._mark(event, at_ms)
                name = data.get("setting", "")
                self._set(event, str(name), data, at_ms, noted_ms, mark, _role(data))
            case "event":
                self._named(event, at_ms)
            case "fault":
                self._fault_noted(event, at_ms)
            case "cue":
                data = event.data
                self._cues.append(
                    CueGiven(
                        at_ms,
                        str(data.get("text", "")),
                        _text(data.get("prompts")),
                        data.get("planned") is True,
                        event.id,
                        event.seq,
                    )
                )
            case "reveal":
                self._reveal(event, at_ms)
            case "unobserved":
                self._unobserved.append(str(event.data.get("item", "")))
            case "unavailable":
                self._unavailable.append(event.data)
            case "joined" | "left" | "role" | "opened":
                self._people(event, at_ms)
            case "confirmed":
                self._confirmed = True
            case _:
                pass

    def touched_since(self, instant: Instant) -> Iterator[Name]:
        """Yield the names that the entries from an instant on changed."""
        for when, names in reversed(self._touches):
            if when < instant:
                return
            yield from names

    def record(self) -> Record:
        """Return the account as plain data."""
        team: dict[str, dict[str, None]] = {}
        tenures = [*self._tenures, *(Tenure(who, role, at, NEVER) for who, role, at in self._held)]
        tenures.sort(key=lambda tenure: tenure.start_ms)
        for tenure in tenures:
            team.setdefault(tenure.role, {})[tenure.person] = None
        return Record(
            marks=tuple(self._marks),
            performances=tuple(self.performances),
            changes={name: tuple(changes) for name, changes in self._changes.items()},
            faults=tuple(self._faults),
            cues=tuple(self._cues),
            clock_ms=self.clock_ms,
            clock_mark=self._clock_mark,
            unobserved=frozenset(self._unobserved),
            unavailable=tuple(self._unavailable),
            team={role: tuple(people) for role, people in team.items()},
            confirmed=self._confirmed,
            shown=tuple(self._shown),
            tenures=tuple(tenures),
        )

    # --- actions and settings -------------------------------------------------------------------

    def _action(self, event: Event, at_ms: int, noted_ms: int) -> None:
        data = event.data
        mark = self._mark(event, at_ms)
        name = str(data.get("action", ""))
        action = self.plan.scenario.vocabulary.actions.get(name)
        if action is None:
            self._find("unknown-action", f"The action {name!r} is not in the vocabulary.", event)
            return
        how = data.get("how", USUAL_WAY)
        way = _WAYS.get(how) if isinstance(how, str) else None
        if way is None:
            words = f"{action.label}: how is one of {', '.join(sorted(_WAYS))}, not {how!r}."
            self._find("unknown-way", words, event)
            return
        role = _role(data)
        phase = data.get("phase", "done")
        acts = way in COUNTS or (action.by_voice and way == "said")
        if acts and not self._makes_sense(event, action, phase):
            return
        if not acts and phase == "stop":
            return
        settings = NOTHING
        as_read = NOTHING
        if "settings" in data:
            as_read = {}
            settings = self._settings(event, data, at_ms, noted_ms, mark, role, acts, as_read)
        self.touched.append(("action", name))
        if phase == "stop":
            self._stop(action, at_ms, mark)
        else:
            lasts = acts and action.lasting
            if lasts:
                self.running[name] = len(self.performances)
                self.doing.setdefault(name, []).append((at_ms, NEVER))
            if acts:
                self.done.setdefault(name, []).append(at_ms)
                if action.dose is not None:
                    self._give(action, data, at_ms)
            self.performances.append(
                Performance(
                    name,
                    at_ms,
                    NEVER if lasts else None,
                    way,
                    role,
                    event.id,
                    event.seq,
                    mark,
                    None,
                    noted_ms,
                    settings,
                    _readings(data.get("dose")) if "dose" in data else NOTHING,
                    self._spoken(event, data) if "spoken" in data else NOTHING,
                    as_read,
                    acts,
                )
            )
            if acts and action.ends is not None and action.ends in self.running:
                self._stop(self.plan.scenario.vocabulary.actions[action.ends], at_ms, mark)
                self.touched.append(("action", action.ends))
            if acts:
                for supply in self.plan.refills.get(name, ()):
                    self._fill(supply)
                for fault in self.plan.mended_by_action.get(name, ()):
                    self._fault(fault, "mended", at_ms, event.seq, mark, event.id, role)
        for observation in self.plan.reveals.get(name, ()):
            self._look(observation)

    def _give(self, action: Action, data: Mapping[str, Any], at_ms: int) -> None:
        assert action.dose is not None
        scenario = self.plan.scenario
        given = dose_given(
            action.dose,
            _readings(data.get("dose")),
            scenario.infant.weight_g,
            scenario.doses.get(action.name, {}),
            at_ms,
        )
        if given is not None:
            self.given.setdefault(action.name, []).append(given)

    def _makes_sense(self, event: Event, action: Action, phase: object) -> bool:
        """Whether an action that acts can be as recorded; else there is a finding."""
        running = action.name in self.running
        if phase == "start" and not action.lasting:
            self._find(
                "start-of-momentary",
                f"{action.label} takes no time, so its start is taken as done.",
                event,
            )
            return True
        if phase == "start" and running:
            self._find("started-twice", f"{action.label} was running already.", event)
        elif phase == "stop" and not running:
            self._find(
                "stop-without-start", f"{action.label} was stopped, but was not running.", event
            )
        elif phase == "done" and action.lasting:
            words = f"{action.label} goes on for a while: enter its start and its stop, not 'done'."
            self._find("done-of-lasting", words, event)
        elif phase not in ("done", "start", "stop"):
            self._find(
                "unknown-phase",
                f"{action.label}: {phase!r} is not one of done, start or stop.",
                event,
            )
        else:
            return True
        return False

    def _stop(self, action: Action, at_ms: int, mark: int) -> None:
        index = self.running.pop(action.name)
        begun = self.performances[index]
        self.performances[index] = begun._replace(stop_ms=at_ms, stop_mark=mark)
        self.doing[action.name][-1] = (begun.start_ms, at_ms)
        if at_ms - begun.start_ms < action.shortest_ms:
            self.done[action.name].pop()

    def _settings(
        self,
        event: Event,
        data: Mapping[str, Any],
        at_ms: int,
        noted_ms: int,
        mark: int,
        role: str | None,
        acts: bool,
        as_read: dict[str, Reading],
    ) -> dict[str, Value]:
        """The settings given with an action; those of one that acts are set as well."""
        out: dict[str, Value] = {}
        given = data["settings"]
        if not isinstance(given, Mapping):
            return out
        for name, raw in given.items():
            reading = reading_of(raw)
            value = self._set(event, name, raw, at_ms, noted_ms, mark, role, acts=acts)
            if value is not None:
                out[name] = value
            if reading is not None:
                as_read[name] = reading
        return out

    def _set(
        self,
        event: Event,
        name: str,
        raw: Any,
        at_ms: int,
        noted_ms: int,
        mark: int,
        role: str | None,
        *,
        acts: bool = True,
    ) -> Value | None:
        setting = self.plan.scenario.vocabulary.settings.get(name)
        if setting is None:
            self._find("unknown-setting", f"The setting {name!r} is not in the vocabulary.", event)
            return None
        reading = reading_of(raw)
        value = in_units_of(setting, reading)
        if isinstance(value, Unreadable):
            self._find("unreadable-value", f"{value.words}.", event)
            return None
        plausible = setting.plausible
        if plausible is not None and not isinstance(value, str) and not plausible.contains(value):
            amount = format_quantity(value, setting.unit or "")
            words = f"{setting.label} {amount} is outside what is plausible ({plausible.text})."
            self._find("implausible-value", words, event)
        if not acts:
            return value
        self._change(Change(name, at_ms, value, event.seq, mark, event.id, role, reading, noted_ms))
        for fault in self.plan.mended_by_setting.get(name, ()):
            assert not isinstance(fault.mended_by, str | None)
            into = SettingIs(name, fault.mended_by.wanted)
            if truth(into, self.timeline, at_ms, at_ms + 1):
                self._fault(fault.name, "mended", at_ms, event.seq, mark, event.id, role)
        return value

    def _spoken(self, event: Event, data: Mapping[str, Any]) -> dict[str, Reading]:
        out = _readings(data["spoken"])
        for name in out:
            if name not in self.plan.scenario.vocabulary.observations:
                words = f"The observation {name!r} is not in the vocabulary."
                self._find("unknown-observation", words, event)
        return out

    # --- faults, sights, people -----------------------------------------------------------------

    def _fault_noted(self, event: Event, at_ms: int) -> None:
        mark = self._mark(event, at_ms)
        name, status = str(event.data.get("fault", "")), event.data.get("status")
        if name not in self.plan.scenario.start.faults:
            self._find("unknown-fault", f"The scenario has no fault {name!r}.", event)
        elif status not in ("planted", "found", "mended"):
            self._find(
                "unknown-status", f"A fault is planted, found or put right, not {status!r}.", event
            )
        else:
            status = cast(Literal["planted", "found", "mended"], status)
            if status != "planted" and name not in self.fault_steps:
                self._find("fault-not-planted", f"The fault {name!r} was not planted.", event)
                return
            self._fault(name, status, at_ms, event.seq, mark, event.id, _role(event.data))

    def _fault(
        self,
        name: str,
        status: FaultStatus,
        at_ms: int,
        seq: int,
        mark: int | None,
        event_id: str | None,
        role: str | None,
    ) -> None:
        """Note a change of a fault; what it is already, or was before, changes nothing."""
        steps = self.fault_steps.get(name)
        if status == "planted":
            if steps and steps[-1][1] != "mended":
                return
        elif not steps or steps[-1][1] in (status, "mended"):
            return
        self.fault_steps.setdefault(name, []).append((at_ms, status))
        self._faults.append(FaultEvent(name, status, at_ms, seq, mark, event_id, role))
        self.touched.append(("fault", name))
        fault = self.plan.scenario.start.faults[name]
        if status == "planted" and seq >= 0:
            self._leave(fault, at_ms, seq, mark, event_id)
        elif status == "mended":
            self._restore(fault, at_ms, seq, mark, event_id, role)

    def _leave(
        self, fault: Fault, at_ms: int, seq: int, mark: int | None, event_id: str | None
    ) -> None:
        """Let what a fault that is planted now leaves of the cot be so; nobody's doing."""
        for name, value in fault.settings.items():
            self._change(Change(name, at_ms, value, seq, mark, event_id, None, touched=False))
        for supply, contents in fault.supplies.items():
            self._fill(supply, contents)
        for action in fault.doing:
            if action not in self.running:
                self.running[action] = len(self.performances)
                self.performances.append(
                    Performance(action, at_ms, NEVER, "done", None, "", seq, mark)
                )
                self.doing.setdefault(action, []).append((at_ms, NEVER))
                self.done.setdefault(action, []).append(at_ms)
                self.touched.append(("action", action))

    def _restore(
        self,
        fault: Fault,
        at_ms: int,
        seq: int,
        mark: int | None,
        event_id: str | None,
        role: str | None,
    ) -> None:
        """Let the cot be as it should where a fault has been put right."""
        for supply in fault.supplies:
            self._fill(supply)
        for action in fault.doing:
            if action in self.running and mark is not None:
                self._stop(self.plan.scenario.vocabulary.actions[action], at_ms, mark)
                self.touched.append(("action", action))
        mended = fault.mended_by
        if isinstance(mended, MendedBySetting):
            stands = self.values.get(mended.setting)
            should = nearest_within(mended.wanted, stands)
            if should is not None and should != stands:
                self._change(
                    Change(mended.setting, at_ms, should, seq, mark, event_id, role, None, at_ms)
                )

    def _fill(self, supply: str, contents: float | None = None) -> None:
        """Note that a supply was filled, or left with ``contents``."""
        if contents is None:
            contents = self.plan.scenario.vocabulary.supplies[supply].capacity
        times, _ = self.refilled.get(supply, (0, 0.0))
        self.refilled[supply] = (times + 1, contents)

    def _change(self, change: Change) -> None:
        self._changes.setdefault(change.setting, []).append(change)
        self.steps.setdefault(change.setting, []).append((change.at_ms, change.value))
        self.values[change.setting] = change.value
        self.touched.append(("setting", change.setting))
        for arrival in self.arrivals.values():
            if change.setting in (arrival.setting, arrival.flow):
                self._arrive(arrival)

    def _arrive(self, arrival: Arrival) -> None:
        """Follow what of a setting comes to the infant."""
        self._arriving[arrival.setting] = at_the_infant(arrival, self.steps)
        self.touched.append(("setting", arrival.setting))

    def _reveal(self, event: Event, at_ms: int) -> None:
        name = str(event.data.get("observation", ""))
        if name not in self.plan.scenario.vocabulary.observations:
            words = f"The observation {name!r} is not in the vocabulary."
            self._find("unknown-observation", words, event)
            return
        shown, once = event.data.get("shown") is not False, event.data.get("once") is True
        if not (once and self._is_shown(name)):
            self._shown.append(Shown(name, at_ms, shown, event.id, event.seq))
            if once:
                # A reading of one instant: it is hidden again at the next.
                self._shown.append(Shown(name, at_ms + 1, False, event.id, event.seq))
        if name in self.plan.watched_sights:
            self._look(name)

    def _is_shown(self, observation: str) -> bool:
        """Whether an observation was last shown by hand, and not hidden."""
        by_hand = [hand.shown for hand in self._shown if hand.observation == observation]
        return bool(by_hand) and by_hand[-1]

    def _look(self, observation: str) -> None:
        senses = sensing(
            self.plan.scenario.vocabulary.observations[observation],
            self.performances,
            self._shown,
        )
        self.seen[observation] = senses.first_known
        self.touched.append(("seen", observation))

    def _named(self, event: Event, at_ms: int) -> None:
        clock = self.plan.scenario.start.clock
        if clock is None or event.data.get("name") != clock or self.clock_ms is not None:
            return
        self.clock_ms = self.timeline.clock_ms = at_ms
        self._clock_mark = self._mark(event, at_ms)
        self.touched.append(CLOCK)

    def _people(self, event: Event, at_ms: int) -> None:
        data = event.data
        if event.kind == "opened":
            settings = self.plan.scenario.vocabulary.settings
            self.arrivals, problems = read_arrivals(event, settings)
            for problem in problems:
                self._find(
                    "unreadable-arrival", f"{problem}; so what is turned acts at once.", event
                )
            for arrival in self.arrivals.values():
                self._arrive(arrival)
            team = data.get("team")
            for role, people in team.items() if isinstance(team, Mapping) else ():
                if isinstance(people, list | tuple):
                    self._held.extend((str(person), str(role), at_ms) for person in people)
            return
        person, role = str(data.get("person", "")), _role(data)
        leaves = data.get("leaves")
        for holding in list(self._held):
            who, held, since = holding
            gone = who == person and (
                (event.kind == "left" and role in (None, held))
                or (event.kind == "role" and (leaves is True or leaves == held))
            )
            if gone:
                self._held.remove(holding)
                self._tenures.append(Tenure(who, held, since, at_ms))
        if event.kind != "left" and role is not None:
            self._held.append((person, role, at_ms))

    def _mark(self, event: Event, at_ms: int) -> int:
        by_person = event.by != PROGRAM
        self._marks.append(Mark(at_ms, event.at_ms, event.by, event.seq, event.id, by_person))
        return len(self._marks) - 1

    def _find(self, code: str, words: str, event: Event) -> None:
        self.findings.append(Finding(code, words, (event.id,), self.last[0]))


def _role(data: Mapping[str, Any]) -> str | None:
    return _text(data.get("role"))


def _text(raw: object) -> str | None:
    return raw if isinstance(raw, str) and raw else None


def _readings(raw: object) -> dict[str, Reading]:
    """A map of the log (dose, spoken values) as readings; what can't be read is left out."""
    if not isinstance(raw, Mapping):
        return {}
    readings = {str(name): reading_of(value) for name, value in raw.items()}
    return {name: reading for name, reading in readings.items() if reading is not None}
