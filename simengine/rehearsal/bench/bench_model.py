"""How a cot answers to hands, as plain data, and what a file of it may hold.

Rules of this file:

- A file goes with the catalogue of a cot of the same name. What its rows are, what each should be
  and what can be wrong with it stand there; here stands what hands and eyes meet.
- Pressures are in cmH2O, flows in L/min, times in ms, shares of 1; every figure has its source
  beside it in the file, or says that it is a teaching choice.
- Names of settings, actions and supplies are the vocabulary's: no word of the trade stands here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from simengine.scenario.forms import (
    FLAG,
    FORMAT,
    FRACTION,
    FROM_PROTOCOL,
    NAME,
    QUANTITY,
    TEXT,
    TIME,
    VALUE,
    WORD,
    AnyForm,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    given,
    keys_of,
    name_of,
    names_of,
    quantity,
    texts,
)
from simengine.scenario.vocabulary import Setting
from simengine.scenario.wanted import Value

PRESSURE = "cmH2O"
FLOW = "L/min"
_PRESSURE = quantity("a pressure such as 20 cmH2O", "20 cmH2O", unit=PRESSURE)
_FLOW = quantity("a flow such as 8 L/min", "8 L/min", unit=FLOW)
_A_SETTING = name_of("setting")
_AN_ACTION = name_of("action")

Dial = Literal["relief", "peak", "end"]
"""The three valves of a T-piece."""
DIALS: tuple[Dial, ...] = get_args(Dial)
Hold = Literal["outlet", "cap", "tubing"]
"""What a hand can keep closed: the outlet of the T-piece, the hole of its cap, suction tubing."""


@dataclass(frozen=True, slots=True)
class Valve:
    """What a valve showed: turned to ``turned_to`` at the flow ``at`` it made ``shows``.

    ``raised_to`` and ``then``: another flow, and what it made then with nobody touching it.
    """

    turned_to: float = field(metadata=given(_PRESSURE, "What it was turned to."))
    at: float = field(metadata=given(_FLOW, "The flow at which it was turned."))
    shows: float = field(metadata=given(_PRESSURE, "What was measured there."))
    raised_to: float = field(
        default=0.0, metadata=given(_FLOW, "Another flow, the valve not touched.")
    )
    then: float = field(default=0.0, metadata=given(_PRESSURE, "What was measured then."))


VALVE = Record("what a valve showed", keys_of(Valve), name="valve")


@dataclass(frozen=True, slots=True)
class SetUp:
    """One published set-up of a T-piece: its valves, each with the power of the flow that moves it.

    ``power``: pressure goes with flow to this power; from the two points of the valve, or of the
    set-up that it is like.
    """

    name: str
    title: str
    source: str
    valves: Mapping[Dial, Valve]
    power: Mapping[Dial, float]


SET_UP = Record(
    "a set-up of a T-piece",
    {
        "title": Key(TEXT, "What it is called.", needed=True),
        "source": Key(TEXT, "Where its figures are from, and how they are known.", needed=True),
        "like": Key(NAME, "The set-up that says what this one does not."),
        **{
            dial: Key(VALVE, f"What its {words} valve showed.")
            for dial, words in (("relief", "relief"), ("peak", "peak"), ("end", "end-pressure"))
        },
    },
    name="set_up",
)


@dataclass(frozen=True, slots=True)
class Manometer:
    """The scale of the manometer, in cmH2O; ``reads_to``: the least that its needle tells apart."""

    least: float = field(metadata=given(_PRESSURE, "Where it begins."))
    most: float = field(metadata=given(_PRESSURE, "Where it ends."))
    reads_to: float = field(metadata=given(_PRESSURE, "The least that is told apart on it."))


@dataclass(frozen=True, slots=True)
class TPiece:
    """A T-piece: the settings that its dials are, and how pressure follows flow.

    ``uses``: the set-up of every scenario that ``uses_in`` does not name. ``found_at``: the flow at
    which dials had been set that nobody has touched yet.
    """

    flow: str = field(metadata=given(_A_SETTING, "The setting that is the gas flow."))
    relief: str = field(metadata=given(_A_SETTING, "The setting of the relief valve."))
    peak: str = field(metadata=given(_A_SETTING, "The setting of the peak-pressure dial."))
    end: str = field(metadata=given(_A_SETTING, "The setting of the end-pressure dial."))
    uses: str = field(metadata=given(NAME, "The set-up, one of set_ups.", by_hand=True))
    found_at: float = field(
        metadata=given(_FLOW, "The flow at which dials were set that are as found.")
    )
    manometer: Manometer = field(
        metadata=given(Record("a scale", keys_of(Manometer)), "Its scale.", by_hand=True)
    )
    on_face: tuple[str, ...] = field(
        metadata=given(names_of("action"), "While one of these is done the mask is on a face.")
    )
    breaths: tuple[str, ...] = field(
        metadata=given(names_of("action"), "While one of these is done breaths are given.")
    )
    face_leak: float = field(
        metadata=given(FRACTION, "The share of the flow that a mask on a face loses, e.g. 10 %.")
    )
    rate: str = field(metadata=given(_A_SETTING, "The setting that is the rate of breaths."))
    inflation: str = field(
        metadata=given(_A_SETTING, "The setting that is how long a breath is held.")
    )
    loose_leak: float = field(
        metadata=given(FRACTION, "The share that a mask loses which does not fit, e.g. 71 %.")
    )
    loose: Mapping[str, tuple[str, ...]] = field(
        metadata=given(
            MapOf(ListOf(WORD, "a list of words", 1), "a map of settings"),
            "The mask does not fit while a setting is one of these words.",
            by_hand=True,
        )
    )
    in_use: Mapping[str, Value] = field(
        metadata=given(
            MapOf(VALUE, "a map of settings"),
            "It is on the face only while none of these settings is another.",
            by_hand=True,
        )
    )
    set_ups: Mapping[str, SetUp] = field(
        metadata=given(
            MapOf(SET_UP, "a map of set-ups", 1),
            "Published set-ups; each stands for itself, and none is blended.",
            by_hand=True,
        )
    )
    uses_in: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(
            texts("a map of scenarios"), "Another set-up, by the id of a scenario.", by_hand=True
        ),
    )

    def set_up_of(self, scenario_id: str) -> SetUp:
        """Return the set-up that a scenario uses."""
        return self.set_ups[self.uses_in.get(scenario_id, self.uses)]

    def setting_of(self, dial: Dial) -> str:
        """Return the setting that a dial is."""
        return {"relief": self.relief, "peak": self.peak, "end": self.end}[dial]


T_PIECE = Record("a T-piece", keys_of(TPiece))


@dataclass(frozen=True, slots=True)
class Delay:
    """How long a turn of the blender takes to the mask at a flow. ``sd_ms``: its spread."""

    flow: float = field(metadata=given(_FLOW, "The flow."))
    mean_ms: int = field(metadata=given(TIME, "How long it took on average.", key="mean"))
    sd_ms: int = field(metadata=given(TIME, "The standard deviation.", key="sd"))


DELAY = Record("a delay of the blender", keys_of(Delay), name="delay")


@dataclass(frozen=True, slots=True)
class Blender:
    """A blender. ``oxygen`` is its dial, ``measured`` what an analyser at the outlet reads.

    ``arrives`` is in order of flow; ``air``: the share of oxygen in air.
    """

    oxygen: str = field(metadata=given(_A_SETTING, "The setting that is its dial."))
    measured: str = field(metadata=given(_A_SETTING, "The setting that an analyser reads."))
    air: float = field(metadata=given(FRACTION, "The oxygen in air, e.g. 21 %."))
    arrives: tuple[Delay, ...] = field(
        metadata=given(
            ListOf(DELAY, "a list of delays", 1),
            "How long a turn takes to the mask, by flow, the smallest first.",
            by_hand=True,
        )
    )
    source: str = field(metadata=given(TEXT, "Where the delays are from."))


BLENDER = Record("a blender", keys_of(Blender))


@dataclass(frozen=True, slots=True)
class Scale:
    """A dial's or a gauge's own scale, in ``unit``; ``step``: the least that it is turned by."""

    unit: str
    least: float
    most: float
    step: float


GAUGE = Record(
    "a gauge",
    {
        "most": Key(QUANTITY, "Where its scale ends.", needed=True),
        "step": Key(QUANTITY, "The least that it is turned by.", needed=True),
    },
    name="suction_gauge",
)


@dataclass(frozen=True, slots=True)
class Suction:
    """A suction. ``gauges``: the scale of its gauge, by the unit that it may be in."""

    pressure: str = field(metadata=given(_A_SETTING, "The setting that is its pressure."))
    runs: str = field(metadata=given(_AN_ACTION, "The lasting action that is its running."))
    gauges: Mapping[str, Scale] = field(
        metadata=given(
            MapOf(GAUGE, "a map of units", 1, free=True),
            "The gauges that it may have, by unit.",
            by_hand=True,
        )
    )


SUCTION = Record("a suction", keys_of(Suction))


@dataclass(frozen=True, slots=True)
class Control:
    """One thing that hands can do to a part; one of ``turns``, ``runs``, ``holds``, ``does``.

    ``reads``: the action that is read while the hand keeps it closed. ``sets``: settings that doing
    it leaves, in their own units.
    """

    name: str
    turns: str = field(default="", metadata=given(_A_SETTING, "The setting that it turns."))
    runs: str = field(default="", metadata=given(_AN_ACTION, "The lasting action it turns on."))
    off: str = field(default="", metadata=given(_AN_ACTION, "The action that turns it off."))
    holds: Hold | None = field(
        default=None, metadata=given(Choice(get_args(Hold)), "What a hand keeps closed by it.")
    )
    does: str = field(default="", metadata=given(_AN_ACTION, "The action that it is."))
    label: str = field(
        default="", metadata=given(TEXT, "What people call it; else the setting's or the action's.")
    )
    reads: str = field(
        default="", metadata=given(_AN_ACTION, "What is read off while it is kept closed.")
    )
    looks: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(
            texts("a map of lines"), "Lines in the place of the part's own while it is held."
        ),
    )
    needs_gas: bool = field(
        default=False, metadata=given(FLAG, "Without gas it is done and nothing is read.")
    )
    most: float | None = field(
        default=None, metadata=given(QUANTITY, "Where its dial ends.", by_hand=True)
    )
    sets: Mapping[str, Value] = field(
        default_factory=dict,
        metadata=given(MapOf(VALUE, "a map of settings"), "What it leaves set.", by_hand=True),
    )


CONTROL = Record(
    "a control",
    keys_of(Control),
    either=("turns", "runs", "holds", "does"),
    alone=True,
    name="control",
)


@dataclass(frozen=True, slots=True)
class BenchPart:
    """A row of the cot as eyes and hands meet it. ``looks``: what is seen, line by line."""

    name: str
    looks: Mapping[str, str] = field(
        metadata=given(
            texts("a map of lines", 1),
            "What is seen where nothing is wrong; a setting in braces is told as it stands.",
        )
    )
    controls: Mapping[str, Control] = field(
        default_factory=dict,
        metadata=given(MapOf(CONTROL, "a map of controls", 1), "What hands can do.", by_hand=True),
    )
    in_sight: bool = field(
        default=False, metadata=given(FLAG, "It is looked at with no hand on it.")
    )


PART = Record("a part of the cot", keys_of(BenchPart), name="bench_part")


@dataclass(frozen=True, slots=True)
class Effect:
    """What a planted fault does to what is met of its part.

    ``looks``: lines that are seen in the place of the part's own. ``stuck``: a dial that turns and
    nothing follows. ``gas_kept``: the share of the flow that is not lost. ``measured``: what an
    analyser reads whatever the dial says, in the setting's unit.
    """

    looks: Mapping[str, str] = field(
        default_factory=dict,
        metadata=given(texts("a map of lines"), "Lines in the place of the part's own."),
    )
    stuck: str = field(
        default="", metadata=given(_A_SETTING, "A dial that turns and nothing follows.")
    )
    gas_kept: float = field(
        default=1.0, metadata=given(FRACTION, "The share of the flow that is not lost, e.g. 2 %.")
    )
    outlet_closed: bool = field(default=False, metadata=given(FLAG, "The outlet gives nothing."))
    measured: float | None = field(
        default=None, metadata=given(QUANTITY, "What an analyser reads.", by_hand=True)
    )


EFFECT = Record("what a fault does", keys_of(Effect), least=1, name="effect")


FOUND = AnyForm(
    "a number with its unit, a word, or {protocol: NAME}", VALUE, FROM_PROTOCOL, name="found"
)


@dataclass(frozen=True, slots=True)
class BenchFile:
    """What a file of the bench says, read by the names of a vocabulary."""

    id: str = field(metadata=given(NAME, "The name of the catalogue of the cot."))
    title: str = field(metadata=given(TEXT, "What people call it."))
    t_piece: TPiece = field(metadata=given(T_PIECE, "How pressures follow flow.", by_hand=True))
    blender: Blender = field(metadata=given(BLENDER, "How oxygen comes to the mask.", by_hand=True))
    suction: Suction = field(
        metadata=given(SUCTION, "What drives it, and its gauge.", by_hand=True)
    )
    found: Mapping[str, Value] = field(
        metadata=given(
            MapOf(FOUND, "a map of settings"),
            "How settings stand that a scenario says nothing of.",
            by_hand=True,
        )
    )
    hears: Mapping[str, str] = field(
        metadata=given(
            texts("a map of actions"),
            "What anybody hears while a lasting action runs.",
            by_hand=True,
        )
    )
    parts: Mapping[str, BenchPart] = field(
        metadata=given(
            MapOf(PART, "a map of rows", 1), "Each row of the cot as it is met.", by_hand=True
        )
    )
    faults: Mapping[str, Effect] = field(
        default_factory=dict,
        metadata=given(
            MapOf(EFFECT, "a map of faults"),
            "What each fault does; one that is not here shows by its dial, cylinder or switch.",
            by_hand=True,
        ),
    )


FILE = Record(
    "how a cot answers to hands",
    {"format": Key(FORMAT, needed=True), **keys_of(BenchFile)},
    about=(
        "How the cot of the catalogue of the same name answers to hands, for rehearsing alone: "
        "pressures that follow flow, oxygen that takes its time, suction, and how each planted "
        "fault looks to someone who is not told of it."
    ),
)
"""What a file of the bench holds."""


def scale_of(setting: Setting, most: float | None = None) -> Scale:
    """Return the scale of a dial: what is plausible of its setting, up to ``most``."""
    plausible = setting.plausible
    least = plausible.low if plausible is not None else 0.0
    end = most if most is not None else plausible.high if plausible is not None else 100.0
    return Scale(setting.unit or "", least, end, setting.step or 1.0)
