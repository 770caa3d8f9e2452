"""A play's file → a play of a scenario.

Rules of this file:

- A step says when (``at``) and what: actions (``do``, ``start``, ``stop``), settings (``set``), or
  one thing that the facilitator does. Several actions of one step are done at one instant.
- A time by itself is on the team's clock, which starts at ``clock_at``; where a scenario has no
  clock, it is counted from the start of the session.
- What a play says of conditions, names and units means what it means in its scenario.
- A play may be like another one: its steps are done too, but for those with what it is ``without``.
- An action that reads a value is told with the true one, unless the step says what is told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, get_args

from simengine.plays.play_model import (
    ANCHORS,
    BY_HAND,
    CLOSING,
    FILE,
    OUTCOME,
    UNDONE,
    Act,
    Expected,
    ItemExpected,
    Names,
    Play,
    ShownExpected,
    Step,
    When,
)
from simengine.quantities import QuantityError, Range, parse_quantity
from simengine.scenario.key import Way
from simengine.scenario.model import Scenario
from simengine.scenario.place import Place, text_of
from simengine.scenario.read_conditions import Context, read_condition, read_wanted
from simengine.scenario.read_fields import PLAIN, Scope, read_fields
from simengine.scenario.vocabulary import Action, Observation, Setting
from simengine.scoring.card import Verdict
from simengine.session.events import Kind

_PLAIN = Scope({}, PLAIN)


def read_play(root: Place, name: str, scenario: Scenario, like: Play | None = None) -> Play:
    """Read a play of ``scenario``, noting every problem in the book of ``root``.

    ``like``: the play that it names as such.
    """
    reader = _Reader(scenario)
    clock_at = root.get("clock_at")
    clock_ms = FILE.keys["clock_at"].default if like is None else like.clock_at_ms
    if clock_at is not None:
        clock_ms = clock_at.duration() or 0
    if scenario.start.clock is None:
        clock_ms = 0
        if clock_at is not None:
            clock_at.say("no 'clock_at': the scenario has no clock", "needless-key")
    steps, expect = root.get("steps"), root.get("expect")
    kept = _kept(root, like)
    return Play(
        name=name,
        title=text_of(root.get("title")),
        about=" ".join(text_of(root.get("about")).split()),
        scenario=scenario,
        steps=(
            *kept,
            *(
                reader.step(place, number, clock_ms)
                for number, place in enumerate(_maps(steps), start=len(kept))
            ),
        ),
        expected=reader.expected(expect) if expect is not None else Expected(),
        clock_at_ms=clock_ms,
    )


def _maps(steps: Place | None) -> list[Place]:
    return [] if steps is None else [place for place in steps.elements() if place.is_map()]


def _kept(root: Place, like: Play | None) -> tuple[Step, ...]:
    """Return the steps of the other play that are done here too, told of at its name."""
    place, without = root.get("like"), root.get("without")
    if place is None:
        if without is not None:
            without.say("'like' beside 'without'", "needless-key")
        return ()
    if like is None:
        return ()
    names = {name for step in like.steps for act in step.acts for name in act.names}
    left_out = {
        at.name(sorted(names), f"something that '{like.name}' does")
        for at in (without.one_or_more("a name, or a list of them") if without is not None else ())
    }
    steps = [step for step in like.steps if not any(left_out & set(act.names) for act in step.acts)]
    return tuple(replace(step, number=n, place=place) for n, step in enumerate(steps))


class _Reader:
    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._vocabulary = scenario.vocabulary
        self._context = Context(
            scenario.vocabulary,
            scenario.protocol,
            scenario.infant,
            frozenset(scenario.start.faults),
        )

    # --- when -----------------------------------------------------------------------------------

    def step(self, place: Place, number: int, clock_ms: int) -> Step:
        at, every, until = place.get("at"), place.get("every"), place.get("until")
        each = place.get("each")
        given = read_fields(Step, place, _PLAIN)
        when = self._when(at) if at is not None else When("start")
        if at is not None and when.kind == "clock" and when.after_ms + clock_ms < 0:
            at.say(
                "a time after the session begins",
                "before-start",
                hint="let the clock start later with 'clock_at'",
            )
        if each is not None and given.get("each") and when.kind in ("clock", "start"):
            each.say("'each' with a state, an action or a condition", "needless-key")
        if until is not None and every is None:
            until.say("'every' beside 'until'", "needless-key")
        if every is not None and given.get("every_ms") == 0:
            every.say("a time above 0 s", "too-often")
        return Step(
            number=number,
            when=when,
            acts=self._acts(place),
            place=place,
            until=self._when(until) if until is not None else None,
            **given,
        )

    def _when(self, place: Place) -> When:
        if not place.is_map():
            kind = "start" if self._scenario.start.clock is None else "clock"
            return When(kind, after_ms=place.duration(negative=True) or 0)  # type: ignore[arg-type]
        given = [key for key in ANCHORS if place.get(key) is not None]
        if len(given) != 1:
            place.say(f"one of {', '.join(ANCHORS)}", "form", found=_names(given))
            return When("start")
        at = place.get(given[0])
        after, lasting = place.get("after"), place.get("lasting")
        assert at is not None
        after_ms = (after.duration() or 0) if after is not None else 0
        if lasting is not None and given[0] != "when":
            lasting.say("'lasting' beside 'when'", "needless-key")
        match given[0]:
            case "start":
                return When("start", after_ms=(at.duration() or 0) + after_ms)
            case "state":
                return When("state", self._state(at) or "", after_ms=after_ms)
            case "action":
                name = at.name(self._vocabulary.actions, self._context.an_action)
                return When("action", name or "", after_ms=after_ms)
            case _:
                lasting_ms = (lasting.duration() or 0) if lasting is not None else 0
                condition = read_condition(at, self._context)
                return When("condition", "", condition, after_ms, lasting_ms)

    # --- what -----------------------------------------------------------------------------------

    def _acts(self, place: Place) -> tuple[Act, ...]:
        acts: list[Act] = []
        for key, phase in (("do", "done"), ("start", "start"), ("stop", "stop")):
            named = place.get(key)
            for at in named.one_or_more("an action, or a list of them") if named else ():
                acts += self._action(place, at, phase)
        turned = place.get("set")
        for name, value in turned.entries() if turned is not None else ():
            assert turned is not None
            known = turned.key(name).name_of_key(self._vocabulary.settings, self._context.a_setting)
            if known is not None:
                data = self._value(value, self._vocabulary.settings[known])
                acts.append(Act("set", {"setting": known, **data, **self._role(place, None)}))
        acts += self._by_the_facilitator(place)
        if not acts and not place.book.has_errors():
            place.say("something that is done: do, start, stop, set, …", "nothing-done", found="")
        return tuple(acts)

    def _action(self, place: Place, at: Place, phase: str) -> list[Act]:
        name = at.name(self._vocabulary.actions, self._context.an_action)
        if name is None:
            return []
        action = self._vocabulary.actions[name]
        if action.lasting and phase == "done":
            at.say("an action of a moment", "lasts", hint=f"write 'start: {name}'")
        elif not action.lasting and phase != "done":
            at.say("an action that lasts", "not-lasting", hint=f"write 'do: {name}'")
        data: dict[str, Any] = {"action": name, "phase": phase, **self._role(place, action)}
        how, settings, dose = place.get("how"), place.get("settings"), place.get("dose")
        if how is not None:
            data["how"] = how.word(get_args(Way))
        if phase == "stop":
            return [Act("action", data)]
        if settings is not None:
            data["settings"] = {
                key: self._value(value, self._vocabulary.settings[key])
                for key, value in settings.entries()
                if settings.key(key).name_of_key(self._vocabulary.settings, self._context.a_setting)
            }
        if dose is not None:
            if action.dose is None:
                dose.say(f"no dose: '{name}' has none in the vocabulary", "needless-key")
            else:
                data["dose"] = {
                    key: self._amount(value) if key != "route" else self._route(value, action)
                    for key, value in dose.entries()
                }
        told_at = place.get("told")
        if told_at is None:
            return [Act("action", data, tells=action.reads)]
        if told_at.is_map():
            data["spoken"] = {
                key: self._told(value, self._vocabulary.observations[key])
                for key, value in told_at.entries()
                if told_at.key(key).name_of_key(
                    self._vocabulary.observations, self._context.an_observation
                )
            }
        return [Act("action", data)]

    def _role(self, place: Place, action: Action | None) -> dict[str, Any]:
        role = place.get("role")
        if role is not None:
            name = role.name(self._scenario.roles, "a role of the scenario")
            return {"role": name} if name is not None else {}
        usual = action.role if action is not None else None
        return {"role": usual} if usual in self._scenario.roles else {}

    def _value(self, place: Place, setting: Setting) -> dict[str, Any]:
        """A setting's value as the log writes it: in another unit, as it was read off the dial.

        What is not plausible, the log questions.
        """
        if setting.words:
            return {"value": place.name(setting.words, f"a word of '{setting.name}'")}
        number = place.quantity(setting.unit or "")
        if number is not None and (read := parse_quantity(place.text())).value != number:
            return {"value": read.value, "unit": read.unit}
        return {"value": number, "unit": setting.unit}

    def _told(self, place: Place, observation: Observation) -> dict[str, Any]:
        if observation.words:
            return {"value": place.name(observation.words, f"a word of '{observation.name}'")}
        text = place.text()
        if text[:1].isdigit() and " to " not in text:
            return {"value": place.quantity(observation.unit or ""), "unit": observation.unit}
        # A band, as teams tell it: below 60 /min, 60 to 100 /min.
        place.range(observation.unit or "")
        return {"value": text}

    @staticmethod
    def _amount(place: Place) -> dict[str, Any]:
        try:
            amount = parse_quantity(place.text())
        except QuantityError as error:
            place.say(error.expected, error.code, hint=error.hint)
            return {}
        return {"value": amount.value, "unit": amount.unit}

    @staticmethod
    def _route(place: Place, action: Action) -> dict[str, Any]:
        assert action.dose is not None
        return {"value": place.name(action.dose.routes, f"a route of '{action.name}'")}

    # --- what the facilitator does --------------------------------------------------------------

    def _by_the_facilitator(self, place: Place) -> list[Act]:
        acts: list[Act] = []
        for key, reader in self._facilitating().items():
            at = place.get(key)
            if at is not None:
                act = reader(at)
                if act is not None:
                    acts.append(act)
        cue, prompts = place.get("cue"), place.get("prompts")
        if cue is not None:
            data: dict[str, Any] = {"text": cue.text(), "planned": False}
            if prompts is not None:
                data["prompts"] = prompts.name(self._vocabulary.actions, self._context.an_action)
            acts.append(Act("cue", data))
        elif prompts is not None:
            prompts.say("'cue' beside 'prompts'", "needless-key")
        acts += [Act(kind) for kind in BY_HAND if place.get(kind) is not None]
        undo = place.get("undo")
        if undo is not None:
            acts.append(Act("undone", undoes=undo.word(UNDONE.values)))
        return acts

    def _facilitating(self) -> Mapping[str, Callable[[Place], Act | None]]:
        return {
            "event": self._event,
            "state": lambda at: self._named("state", "state", self._state(at), cause="facilitator"),
            "plant": lambda at: self._named("fault", "fault", self._fault(at), status="planted"),
            "find": lambda at: self._named("fault", "fault", self._fault(at), status="found"),
            "mend": lambda at: self._named("fault", "fault", self._fault(at), status="mended"),
            "show": lambda at: self._named("reveal", "observation", self._seen(at), shown=True),
            "hide": lambda at: self._named("reveal", "observation", self._seen(at), shown=False),
            "information": lambda at: Act("information", {"text": at.text()}),
            "skip": lambda at: Act("skip", {"ms": at.duration() or 0}),
            "unavailable": self._unavailable,
            "unobserved": lambda at: self._named("unobserved", "item", self._item(at)),
            "close": lambda at: Act("closed", {"why": at.word(CLOSING.values)}),
        }

    @staticmethod
    def _named(kind: Kind, key: str, name: str | None, **more: object) -> Act | None:
        return None if name is None else Act(kind, {key: name, **more})

    def _event(self, at: Place) -> Act | None:
        events = {
            way.on for state in self._scenario.states.values() for way in state.next if way.on
        }
        events.discard(self._scenario.start.clock or "")
        if at.text() == self._scenario.start.clock:
            at.say(
                "another event than the one that starts the clock",
                "clock-event",
                hint="it is given at 'clock_at'",
            )
            return None
        return self._named("event", "name", at.name(events, "an event that a state waits for"))

    def _unavailable(self, at: Place) -> Act | None:
        name = at.name(
            (*self._vocabulary.actions, *self._vocabulary.settings), "an action or a setting"
        )
        kind = "action" if name in self._vocabulary.actions else "setting"
        return self._named("unavailable", kind, name)

    def _state(self, at: Place) -> str | None:
        return at.name(self._scenario.states, "a state of the scenario")

    def _fault(self, at: Place) -> str | None:
        return at.name(self._scenario.start.faults, "a fault of start.faults")

    def _seen(self, at: Place) -> str | None:
        return at.name(self._vocabulary.observations, self._context.an_observation)

    def _item(self, at: Place) -> str | None:
        return at.name([item.id for item in self._scenario.key], "a key item of the scenario")

    # --- what must come -------------------------------------------------------------------------

    def expected(self, place: Place) -> Expected:
        states, total, outcome = place.get("states"), place.get("total"), place.get("outcome")
        items = place.get("items")
        share = total.range("%") if total is not None else None
        return Expected(
            states=None
            if states is None
            else Names(
                tuple(name for at in states.elements() if (name := self._state(at))), states
            ),
            total=None if share is None or total is None else (share, total),
            outcome=None if outcome is None else (outcome.word(OUTCOME.values), outcome),
            items=self._items_expected(items) if items is not None else (),
            shows=self._shown_expected(place.get("shows")),
            unsafe=_listed(place.get("unsafe")),
            findings=_listed(place.get("findings")),
        )

    def _items_expected(self, items: Place) -> tuple[ItemExpected, ...]:
        return tuple(self._item_expected(items, name, at) for name, at in items.entries())

    def _shown_expected(self, shows: Place | None) -> tuple[ShownExpected, ...]:
        expected: list[ShownExpected] = []
        for name, at in shows.entries() if shows is not None else ():
            assert shows is not None
            known = shows.key(name).name_of_key(
                self._vocabulary.observations, self._context.an_observation
            )
            if known is not None:
                observation = self._vocabulary.observations[known]
                wanted = read_wanted(at, observation, self._context)
                if wanted is not None:
                    expected.append(ShownExpected(observation, wanted, at))
        return tuple(expected)

    def _item_expected(self, items: Place, name: str, at: Place) -> ItemExpected:
        items.key(name).name_of_key(
            [item.id for item in self._scenario.key], "a key item of the scenario"
        )
        verdict_at, credit_at = (at.get("verdict"), at.get("credit")) if at.is_map() else (at, None)
        credit: Range | None = credit_at.range("%") if credit_at is not None else None
        verdict = verdict_at.word(get_args(Verdict)) if verdict_at is not None else None
        return ItemExpected(name, at, verdict, credit)


def _listed(place: Place | None) -> Names | None:
    """Read ``none``, or a list of names."""
    if place is None:
        return None
    if place.is_scalar():
        return Names((), place)
    return Names(tuple(at.text() for at in place.elements()), place)


def _names(names: list[str]) -> str:
    return " and ".join(names) or "none"
