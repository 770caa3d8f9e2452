"""A file of the bench → ``Bench``, read by the names of a scenario's vocabulary.

Rules of this file:

- The file goes with the catalogue of the cot that the vocabulary names: ``equipment/bench/ID.yaml``
  beside it, else the shipped one. A cot without one can't be worked.
- Every name is looked for: settings, actions, rows, faults, and the lines that a fault stands in
  the place of. Everything that is wrong is told at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from pathlib import Path
from string import Formatter

from simengine.quantities.formatting import format_quantity
from simengine.rehearsal.bench.bench_model import (
    DIALS,
    FLOW,
    PRESSURE,
    BenchFile,
    BenchPart,
    Blender,
    Control,
    Delay,
    Dial,
    Effect,
    Manometer,
    Scale,
    SetUp,
    Suction,
    TPiece,
    Valve,
)
from simengine.resources import scenarios_dir
from simengine.scenario.model import Scenario
from simengine.scenario.opened import finish, opened_or_error
from simengine.scenario.place import Place, text_of
from simengine.scenario.read_conditions import Context, read_wanted
from simengine.scenario.read_fields import PLAIN, Scope, read_fields
from simengine.scenario.vocabulary import Setting
from simengine.scenario.wanted import Value, nearest_within

NEEDLE = "needle"
"""The place in a line at which the manometer is told."""


@dataclass(frozen=True, slots=True)
class Bench:
    """How the cot of a scenario answers to hands. ``set_up``: the T-piece that it has."""

    scenario: Scenario
    file: BenchFile
    set_up: SetUp


def bench_of(scenario: Scenario, folders: Sequence[Path] = ()) -> Bench | None:
    """Return how the cot of a scenario answers; ``None`` where nobody has said it of that cot.

    ``folders``: where files of the reader's own stand, before the shipped ones. Raises
    ``InputError`` with everything that is wrong.
    """
    cot = scenario.vocabulary.equipment
    if cot is None:
        return None
    for folder in (*folders, scenarios_dir()):
        file = folder / "equipment" / "bench" / f"{cot.id}.yaml"
        if file.is_file():
            read = load_bench(file, scenario)
            return Bench(scenario, read, read.t_piece.set_up_of(scenario.id))
    return None


def load_bench(file: Path, scenario: Scenario) -> BenchFile:
    """Read a file of the bench for a scenario, whose vocabulary names a catalogue of the cot.

    Raises ``InputError`` with everything that is wrong.
    """
    root = opened_or_error("bench", file)
    reader = _Reader(Context(scenario.vocabulary, scenario.protocol, scenario.infant))
    read = reader.file(root)
    finish(root)
    return read


class _Reader:
    """Reads by the names of one vocabulary; problems go to the book of the place."""

    def __init__(self, context: Context) -> None:
        vocabulary = context.vocabulary
        assert vocabulary.equipment is not None
        self._context = context
        self._cot = vocabulary.equipment
        self._settings = vocabulary.settings
        self._actions = vocabulary.actions
        names = {
            "setting": (vocabulary.settings, "a setting of the vocabulary or its cot"),
            "action": (vocabulary.actions, "an action of the vocabulary or its cot"),
        }
        self._scope = Scope(names, PLAIN)

    def file(self, root: Place) -> BenchFile:
        blender = self._blender(root.need("blender"))
        parts = {name: self._part(name, place) for name, place in self._rows(root.need("parts"))}
        return BenchFile(
            **read_fields(BenchFile, root, self._scope),
            t_piece=self._t_piece(root.need("t_piece")),
            blender=blender,
            suction=self._suction(root.need("suction")),
            found=self._values(root.need("found")),
            hears=self._hears(root.need("hears")),
            parts=parts,
            faults=self._faults(root.get("faults"), parts, blender),
        )

    # --- the T-piece ----------------------------------------------------------------------------

    def _t_piece(self, place: Place | None) -> TPiece:
        if place is None:
            return _NO_T_PIECE
        scale = place.need("manometer")
        at = place.need("set_ups")
        set_ups = self._set_ups(at)
        uses, others = place.need("uses"), place.get("uses_in")
        what = "a set-up of this file"
        return TPiece(
            **read_fields(TPiece, place, self._scope),
            uses=(uses.name(set_ups, what) if uses is not None else None) or "",
            uses_in={
                name: other.name(set_ups, what) or ""
                for name, other in (others.entries("a map of scenarios") if others else ())
            },
            manometer=Manometer(**read_fields(Manometer, scale, self._scope))
            if scale is not None
            else _NO_SCALE,
            loose=self._words(place.need("loose")),
            in_use=self._values(place.need("in_use")),
            set_ups=set_ups,
        )

    def _set_ups(self, at: Place | None) -> dict[str, SetUp]:
        read: dict[str, SetUp] = {}
        for name, place in at.entries("a map of set-ups") if at is not None else ():
            like_at = place.get("like")
            what = "a set-up that stands above it"
            like = like_at.name(read, what) if like_at is not None else None
            base = read[like] if like else _NO_SET_UP if like_at is not None else None
            valves: dict[Dial, Valve] = {}
            power: dict[Dial, float] = {}
            for dial in DIALS:
                valve_at = place.get(dial) if base is not None else place.need(dial)
                if valve_at is None:
                    valves[dial] = base.valves[dial] if base is not None else _NO_VALVE
                    power[dial] = base.power[dial] if base is not None else 0.0
                else:
                    valves[dial], power[dial] = self._valve(valve_at, base, dial)
            title, source = text_of(place.need("title")), text_of(place.need("source"))
            read[name] = SetUp(name, title, " ".join(source.split()), valves, power)
        return read

    def _valve(self, place: Place, base: SetUp | None, dial: Dial) -> tuple[Valve, float]:
        """Return a valve and the power of the flow that moves it; problems leave none."""
        valve = Valve(**read_fields(Valve, place, self._scope))
        if not (valve.turned_to > 0.0 and valve.at > 0.0 and valve.shows > 0.0):
            if place.is_sound():
                expected = "pressures above 0 cmH2O, at a flow above 0 L/min"
                place.say(expected, "nothing-measured", found="0 or less")
            return _NO_VALVE, 0.0
        if (valve.raised_to > 0.0) != (valve.then > 0.0):
            place.say("'raised_to' and 'then' together", "half-a-point", found="one of them")
            return _NO_VALVE, 0.0
        if not valve.raised_to:
            if base is None:
                expected = "'raised_to' and 'then', or a set-up that it is like"
                place.say(expected, "one-point", found="one point")
            return valve, base.power[dial] if base is not None else 0.0
        if valve.raised_to == valve.at:
            place.say("another flow than 'at'", "one-point", found="the same")
            return _NO_VALVE, 0.0
        power = log(valve.then / valve.shows) / log(valve.raised_to / valve.at)
        if power < 0.0:
            first, then = (format_quantity(each, PRESSURE) for each in (valve.shows, valve.then))
            fell = f"{first}, then {then}"
            place.say("a pressure that more flow does not lower", "falls-with-flow", found=fell)
        return valve, power

    # --- blender, suction, settings as found ----------------------------------------------------

    def _blender(self, place: Place | None) -> Blender:
        if place is None:
            return _NO_BLENDER
        at = place.need("arrives")
        arrives = tuple(
            Delay(**read_fields(Delay, item, self._scope))
            for item in (at.elements("a list of delays") if at is not None else ())
        )
        flows = [delay.flow for delay in arrives]
        never = any(delay.flow <= 0.0 or delay.mean_ms <= 0 for delay in arrives)
        if at is not None and at.is_sound() and never:
            expected = "delays above 0 s, at flows above 0 L/min"
            at.say(expected, "nothing-measured", found="0 or less")
        if at is not None and flows != sorted(set(flows)):
            in_order = ", ".join(format_quantity(flow, FLOW) for flow in flows)
            at.say("delays by flow, the smallest flow first, each once", "order", found=in_order)
        return Blender(**read_fields(Blender, place, self._scope), arrives=arrives)

    def _suction(self, place: Place | None) -> Suction:
        if place is None:
            return _NO_SUCTION
        known = read_fields(Suction, place, self._scope)
        setting = self._settings.get(known["pressure"])
        gauges: dict[str, Scale] = {}
        at = place.need("gauges")
        for unit, gauge in at.entries("a map of units") if at is not None else ():
            assert at is not None
            units = (setting.unit or "", *setting.read_in) if setting is not None else (unit,)
            if at.key(unit).name_of_key(units, "a unit in which it is read") is None:
                continue
            end, step = gauge.need("most"), gauge.need("step")
            most = end.quantity(unit) if end is not None else None
            least_turn = step.quantity(unit) if step is not None else None
            gauges[unit] = Scale(unit, 0.0, most or 0.0, least_turn or 1.0)
        return Suction(**known, gauges=gauges)

    def _values(self, place: Place | None) -> dict[str, Value]:
        read: dict[str, Value] = {}
        for name, at in place.entries("a map of settings") if place is not None else ():
            assert place is not None
            names, what = self._scope.names["setting"]
            known = place.key(name).name_of_key(names or (), what)
            value = self._value(at, self._settings[known]) if known is not None else None
            if known is not None and value is not None:
                read[known] = value
        return read

    def _words(self, place: Place | None) -> dict[str, tuple[str, ...]]:
        names, what = self._scope.names["setting"]
        read: dict[str, tuple[str, ...]] = {}
        for name, at in place.entries("a map of settings") if place is not None else ():
            assert place is not None
            known = place.key(name).name_of_key(names or (), what)
            if known is not None:
                allowed = self._settings[known].words
                read[known] = tuple(word.word(allowed) for word in at.elements())
        return read

    def _hears(self, place: Place | None) -> dict[str, str]:
        names, what = self._scope.names["action"]
        read: dict[str, str] = {}
        for name, at in place.entries("a map of actions") if place is not None else ():
            assert place is not None
            if place.key(name).name_of_key(names or (), what) is not None:
                read[name] = at.text()
        return read

    def _value(self, at: Place, setting: Setting) -> Value | None:
        if at.is_map():
            # What the protocol asks of such a cot, for this baby.
            wanted = read_wanted(at, setting, self._context)
            return nearest_within(wanted, None) if wanted is not None else None
        return at.word(setting.words) if setting.unit is None else at.quantity(setting.unit)

    # --- parts and faults -----------------------------------------------------------------------

    def _rows(self, place: Place | None) -> list[tuple[str, Place]]:
        if place is None:
            return []
        what = f"a row of the cot '{self._cot.id}'"
        rows = list(place.entries("a map of rows"))
        known = [
            (name, at)
            for name, at in rows
            if place.key(name).name_of_key(self._cot.rows, what) is not None
        ]
        missing = [row for row in self._cot.rows if row not in dict(rows)]
        if missing:
            place.say(
                f"each row of the cot '{self._cot.id}'",
                "missing-row",
                found="not all of them",
                hint=f"missing: {', '.join(missing)}",
            )
        return known

    def _part(self, name: str, place: Place) -> BenchPart:
        read = read_fields(BenchPart, place, self._scope)
        looks = place.get("looks")
        if looks is not None:
            self._check_lines(looks, read.get("looks", {}))
        part = BenchPart(name, **read)
        at = place.get("controls")
        controls = {
            control: self._control(control, control_at, part)
            for control, control_at in (at.entries("a map of controls") if at is not None else ())
        }
        return replace(part, controls=controls)

    def _control(self, name: str, place: Place, part: BenchPart) -> Control:
        known = read_fields(Control, place, self._scope)
        turned = self._settings.get(known.get("turns", ""))
        end = place.get("most")
        most = None
        if end is not None and turned is not None and turned.unit is not None:
            most = end.quantity(turned.unit)
        runs = place.get("runs")
        if runs is not None and known.get("runs") and not self._actions[known["runs"]].lasting:
            runs.say("an action that lasts", "not-lasting")
        if known.get("holds") and not known.get("label"):
            place.need("label")
        self._check_instead(place, known.get("looks", {}), part)
        return Control(name, **known, most=most, sets=self._values(place.get("sets")))

    def _faults(
        self, place: Place | None, parts: Mapping[str, BenchPart], blender: Blender
    ) -> dict[str, Effect]:
        if place is None:
            return {}
        row_of = {fault: row.name for row in self._cot.rows.values() for fault in row.faults}
        measured = self._settings.get(blender.measured)
        read: dict[str, Effect] = {}
        for name, at in place.entries("a map of faults"):
            what = f"a fault of the cot '{self._cot.id}'"
            if place.key(name).name_of_key(row_of, what) is None:
                continue
            known = read_fields(Effect, at, self._scope)
            part = parts.get(row_of[name])
            if part is not None:
                self._check_instead(at, known.get("looks", {}), part)
            analyser = at.get("measured")
            reads = None
            if analyser is not None and measured is not None and measured.unit is not None:
                reads = analyser.quantity(measured.unit)
            read[name] = Effect(**known, measured=reads)
        return read

    def _check_instead(self, place: Place, lines: Mapping[str, str], part: BenchPart) -> None:
        """Say of lines that stand in the place of a part's own what is wrong with them."""
        looks = place.get("looks")
        if looks is None:
            return
        for line in lines:
            looks.key(line).name_of_key(part.looks, f"a line of '{part.name}'")
        self._check_lines(looks, lines)

    def _check_lines(self, place: Place, lines: Mapping[str, str]) -> None:
        """Say of each place in a line that nothing can be told at."""
        allowed = {*self._settings, *self._actions, NEEDLE}
        for name, line in lines.items():
            at = place.get(name)
            if at is None:
                continue
            try:
                places = [field for _, field, _, _ in Formatter().parse(line) if field is not None]
            except ValueError:
                at.say("each brace closed again", "braces", found=f"'{line}'")
                continue
            for field in places:
                if field not in allowed:
                    at.say(
                        "a setting or an action in braces, or {needle}",
                        "unknown-name",
                        found=f"'{{{field}}}'",
                        hint=at.book.name_hint(field, allowed),
                    )


def gauge_unit(bench: Bench) -> str:
    """Return the unit of the suction's gauge: as the scenario found it, else the setting's own."""
    suction = bench.file.suction
    stands = bench.scenario.start.as_found.get(suction.pressure)
    own = bench.scenario.vocabulary.settings[suction.pressure].unit or ""
    return stands.unit if stands is not None and stands.unit in suction.gauges else own


_NO_VALVE = Valve(1.0, 1.0, 1.0)
_NO_SET_UP = SetUp("", "", "", dict.fromkeys(DIALS, _NO_VALVE), dict.fromkeys(DIALS, 0.0))
_NO_SCALE = Manometer(0.0, 0.0, 1.0)
_NO_T_PIECE = TPiece("", "", "", "", "", 0.0, _NO_SCALE, (), (), 0.0, "", "", 0.0, {}, {}, {})
_NO_BLENDER = Blender("", "", 0.0, (), "")
_NO_SUCTION = Suction("", "", {})
