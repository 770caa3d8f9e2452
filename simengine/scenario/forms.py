"""What a value looks like in a file: the statement from which schemas and readers are made.

Rules of this file:

- A field of the model says in its metadata (``given``) under which key it is written, in what
  form, and what it is for (``about``). Its name, its type and its default stand in the field
  itself, and nowhere else.
- A form is data: what it is called in a complaint (``title``), and by which reader it is read
  (``reads``, see ``simengine.scenario.read_fields``; empty: by hand). The JSON Schemas are written
  from it by ``docs/write_formats.py``.
- ``name`` is what a form is called among the definitions of a schema; without one it stands where
  it is used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any, NamedTuple

from simengine.quantities.formatting import listed

Json = Mapping[str, Any]


class Form:
    """A value of a file. ``title``: a noun phrase that says what is expected of it."""

    __slots__ = ("about", "name", "reads", "title")

    def __init__(self, title: str, *, reads: str = "", name: str = "", about: str = "") -> None:
        self.title = title
        self.reads = reads
        self.name = name
        self.about = about


class Value(Form):
    """A single value: text, number, true or false. ``json``: the keywords of its schema.

    ``unit`` is the unit that it is read in, where that does not depend on what stands beside it,
    and ``usual`` the one that people would write. ``of``: it names one of these.
    """

    __slots__ = ("json", "of", "unit", "usual")

    def __init__(
        self, title: str, json: Json, *, unit: str = "", usual: str = "", of: str = "", **form: str
    ) -> None:
        super().__init__(title, **form)
        self.json = json
        self.unit = unit
        self.usual = usual
        self.of = of


class Choice(Form):
    """One of a few fixed words. ``values``: what each of them means in the model."""

    __slots__ = ("values",)

    def __init__(
        self, words: Sequence[str] | Mapping[str, Any], title: str = "", **form: str
    ) -> None:
        form.setdefault("reads", "choice")
        super().__init__(title or listed(list(words), "or"), **form)
        self.values = words if isinstance(words, Mapping) else {word: word for word in words}


class ListOf(Form):
    """A list. ``least``, ``most``: how many there are."""

    __slots__ = ("item", "least", "most")

    def __init__(
        self, item: Form, title: str, least: int = 0, most: int | None = None, **form: str
    ) -> None:
        super().__init__(title, **form)
        self.item = item
        self.least = least
        self.most = most


class MapOf(Form):
    """A map from names that the author chooses, or that stand elsewhere. ``least``: how many.

    ``keys``: keys of its own that stand among the names. ``free``: a name may be any text.
    """

    __slots__ = ("free", "keys", "least", "value", "value_about")

    def __init__(
        self,
        value: Form,
        title: str,
        least: int = 0,
        *,
        value_about: str = "",
        keys: Mapping[str, Key] | None = None,
        free: bool = False,
        **form: str,
    ) -> None:
        super().__init__(title, **form)
        self.value = value
        self.value_about = value_about
        self.least = least
        self.keys = keys or {}
        self.free = free


class Key(NamedTuple):
    """A key of a record: its form, what it is for, and the field of the model that it fills.

    ``field`` is empty where it is read by hand. ``default``: what the field holds where the key is
    left out; ``None``: nothing, or what the text says. ``worked_out``: the field has no default of
    its own.
    """

    form: Form
    about: str = ""
    needed: bool = False
    default: Any = None
    field: str = ""
    worked_out: bool = False


class Record(Form):
    """A map with keys of its own. ``refused``: keys that belong to its siblings.

    ``least``, ``most``: how many keys; ``either``: one of these has to be there (``alone``: and no
    other of them). ``parts``: what the key ``data`` holds, by what the key ``kind`` says.
    """

    __slots__ = ("alone", "either", "keys", "least", "most", "parts", "refused")

    def __init__(
        self,
        title: str,
        keys: Mapping[str, Key] | None = None,
        *,
        least: int = 0,
        most: int | None = None,
        refused: Sequence[str] = (),
        either: Sequence[str] = (),
        alone: bool = False,
        parts: Mapping[str, Record] | None = None,
        **form: str,
    ) -> None:
        super().__init__(title, **form)
        self.keys = dict(keys or {})
        self.parts = parts or {}
        self.least = least
        self.most = most
        self.refused = refused
        self.either = either
        self.alone = alone


class AnyForm(Form):
    """Any one of some forms, told apart by whether a map, a list or a single value stands there."""

    __slots__ = ("forms",)

    def __init__(self, title: str, *forms: Form, **form: str) -> None:
        super().__init__(title, **form)
        self.forms = forms


class ByKey(Form):
    """A map whose form is the one of the first of these keys that it has; else ``otherwise``.

    ``names``: a key that counts only where it holds a list of names, and not of maps.
    """

    __slots__ = ("forms", "names", "otherwise")

    def __init__(
        self,
        title: str,
        forms: Mapping[str, Form],
        otherwise: Form | None = None,
        *,
        names: str = "",
        **form: str,
    ) -> None:
        super().__init__(title, **form)
        self.forms = forms
        self.otherwise = otherwise
        self.names = names


class Given(NamedTuple):
    """How a field of the model is written. ``beside``: its own keys stand beside those of it."""

    form: Form | None
    about: str
    key: str
    optional: bool
    otherwise: Any = None
    by_hand: bool = False
    needed: bool = False
    beside: type[Any] | None = None


def given(
    form: Form,
    about: str = "",
    *,
    key: str = "",
    optional: bool = False,
    otherwise: Any = None,
    by_hand: bool = False,
    needed: bool = False,
    mark: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the metadata of a field that is written in a file.

    ``key``: another than the field's name. ``optional``: the key may be left out although the field
    has no default; it then holds ``otherwise``, or what the reader works out. ``by_hand``: it is
    not read by its form alone. ``needed``: the key has to be there although the field has a
    default. ``mark``: how the field is digested.
    """
    return {"given": Given(form, about, key, optional, otherwise, by_hand, needed), **(mark or {})}


def beside(part: type[Any]) -> dict[str, Any]:
    """Return the metadata of a field whose own fields are written beside it."""
    return {"given": Given(None, "", "", True, beside=part)}


def keys_of(kind: type[Any]) -> dict[str, Key]:
    """Return the keys under which the fields of a class of the model are written."""
    known = _KEYS.get(kind)
    if known is not None:
        return known
    keys: dict[str, Key] = {}
    for field in fields(kind):
        how: Given | None = field.metadata.get("given")
        if how is None:
            continue
        if how.beside is not None:
            keys |= {key: part._replace(field="") for key, part in keys_of(how.beside).items()}
        if how.form is None:
            continue
        has_default = field.default is not MISSING or field.default_factory is not MISSING
        default = field.default if field.default is not MISSING else how.otherwise
        keys[how.key or field.name] = Key(
            how.form,
            how.about,
            how.needed or (not has_default and not how.optional),
            default,
            "" if how.by_hand else field.name,
            not has_default,
        )
    _KEYS[kind] = keys
    return keys


_KEYS: dict[type[Any], dict[str, Key]] = {}


# --- the forms that all formats use ---------------------------------------------------------------

_TEXT = {"type": "string", "minLength": 1}
_TIME_PATTERN = r"^\s*[-+−]?[0-9]+(\.[0-9]+)?\s*[A-Za-z]+(\s+[0-9]+(\.[0-9]+)?\s*[A-Za-z]+)*\s*$"
_QUANTITY = {"type": "string", "pattern": r"^\s*[-+−]?[0-9]+(\.[0-9]+)?\s*[^0-9\s].*$"}
_RANGE_ABOUT = (
    "at least, at most, above, below; 21 to 30 %; 30 ± 2 cmH2O; or a bare quantity with the "
    "tolerance of the vocabulary."
)
_RANGES = [
    "at least 25 cmH2O",
    "at most 100 mmHg",
    "above 60 /min",
    "21 to 30 %",
    "30 ± 2 cmH2O",
]


def plain_text(title: str, *examples: str, **form: str) -> Value:
    """Return the form of a text that the reader looks into."""
    return Value(title, {**_TEXT, **({"examples": list(examples)} if examples else {})}, **form)


def quantity(title: str, *examples: str, unit: str = "", usual: str = "", **form: str) -> Value:
    """Return the form of a number with its unit."""
    form.setdefault("about", "Any unit of the right dimension is taken and converted.")
    json = {**_QUANTITY, "examples": list(examples)}
    return Value(title, json, unit=unit, usual=usual, reads="quantity", **form)


def a_time(title: str, *examples: str, unit: str = "", usual: str = "", **form: str) -> Value:
    """Return the form of a time, or of a gestation, which is one."""
    form.setdefault(
        "about", "A number and ms, s, min, h, d or wk; several parts are added: 1 min 30 s."
    )
    form.setdefault("reads", "time")
    json = {"type": "string", "pattern": _TIME_PATTERN, "examples": list(examples)}
    return Value(title, json, unit=unit, usual=usual, **form)


def a_range(title: str, unit: str = "", **form: str) -> Value:
    """Return the form of a range, or of a bare quantity that stands for one."""
    return Value(title, {**_TEXT, "examples": _RANGES}, unit=unit, about=_RANGE_ABOUT, **form)


FORMAT = Value(
    "the format of this file, 1", {"const": 1}, about="Another is refused by an older program."
)
TEXT = Value("text", {"type": ["string", "number"], "minLength": 1}, reads="text", name="text")
_NAME: dict[str, Any] = {
    "title": "a name of letters, digits, '_' and '-', beginning with a letter",
    "json": {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_-]*$"},
    "name": "name",
}
NAME = Value(**_NAME, reads="text")
FLAG = Value("true or false", {"type": "boolean"}, reads="flag", name="flag")
TIME = a_time("a time such as 20 s", "20 s", "2 min", "1 min 30 s", name="time")
QUANTITY = quantity(
    "a number with its unit, such as 30 cmH2O", "30 cmH2O", "8 L/min", "30 %", name="quantity"
)
DIFFERENCE = Value(
    QUANTITY.title, QUANTITY.json, reads="difference", name="quantity", about=QUANTITY.about
)
FRACTION = Value(
    QUANTITY.title, QUANTITY.json, reads="fraction", name="quantity", about=QUANTITY.about
)
PERCENT = plain_text(
    "a share such as 150 %", "150 %", name="percent", about="A number and %, from 100 % on."
)
UNIT = plain_text(
    "a unit, such as cmH2O",
    *("cmH2O", "L/min", "%", "/min", "mcg/kg"),
    reads="unit",
    name="unit",
    about="The unit in which it is told.",
)
WORD = plain_text("a word")
VALUE = plain_text("a number with its unit, or a word", name="value")
RANGE = a_range("a range such as 'at least 25 cmH2O', or {protocol: NAME}", name="range")
SHARE_RANGE = a_range("a range of shares such as 50 to 200 %", name="share_range")
OWN_RANGE = a_range("a range such as 21 to 100 %", reads="range", name="own_range")


def name_of(what: str) -> Value:
    """Return the form of a name that has to stand elsewhere, as ``what`` (``action``, …)."""
    return Value(**_NAME, reads="name", of=what)


def names_of(what: str) -> AnyForm:
    """Return the form of one such name, or of a list of them."""
    several = ListOf(name_of(what), "a list of names", 1)
    return AnyForm(
        "a name, or a list of names", name_of(what), several, reads="names", name="names"
    )


def texts(title: str, least: int = 0, **form: str) -> MapOf:
    """Return the form of a map from names to texts."""
    return MapOf(TEXT, title, least, reads="texts", **form)  # type: ignore[arg-type]


def figure_sources(of: str, mark: Mapping[str, Any]) -> dict[str, Any]:
    """Return the metadata of a field that says where figures are from that name no source."""
    return given(
        MapOf(TEXT, "a map of figures to their sources", free=True, reads="texts"),
        f"Where figures are from that name no source of their own ({of}): what they are, and the "
        "publication, or: teaching choice.",
        mark=mark,
    )


def roles_with(key: str, title: str, about: str) -> MapOf:
    """Return the form of a map of roles: each a label, or a map that says ``key`` besides."""
    others = ListOf(name_of("role"), title, 1)
    more = Record(
        f"a map with 'label' and '{key}'",
        {"label": Key(TEXT, "What people call it.", needed=True), key: Key(others, about)},
    )
    role = AnyForm(f"a label, or {more.title}", TEXT, more, name="role")
    return MapOf(role, "a map of roles", 1, reads="labels")


SIDE_IF_NOT_SAID = "inside"
SIDE = Choice((SIDE_IF_NOT_SAID, "below", "above"))
MOST_TIMES = 1000
"""How many times a figure of the protocol may be taken."""

FROM_PROTOCOL = Record(
    "{protocol: NAME}",
    {
        "protocol": Key(NAME, "A value of the protocol.", needed=True),
        "side": Key(
            SIDE,
            "below: under its low end; above: over its high end.",
            default=SIDE_IF_NOT_SAID,
        ),
        "times": Key(
            Value(
                f"a number above 0, at most {MOST_TIMES}, such as 0.667",
                {"type": "number", "exclusiveMinimum": 0, "maximum": MOST_TIMES},
            ),
            "The figure this many times.",
        ),
        "plus": Key(QUANTITY, "The figure and this much more; negative: less."),
        "beyond": Key(PERCENT, "Above this share of its high end, e.g. 150 %."),
    },
    name="from_protocol",
    about="The number is local policy.",
)
WHEN = AnyForm(
    "a time such as 20 s, or {protocol: NAME}", TIME, FROM_PROTOCOL, reads="when", name="when"
)
SHARE = AnyForm(
    "a share such as 75 %, or {protocol: NAME}",
    plain_text("a share such as 75 %"),
    FROM_PROTOCOL,
    reads="share",
    name="share",
)
WANTED = AnyForm(
    "a range, a word, a list of words, or {protocol: NAME}",
    RANGE,
    ListOf(WORD, "a list of words", 1),
    FROM_PROTOCOL,
    name="wanted",
)
