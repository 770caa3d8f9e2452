"""What the coordinator's pages are told: plain texts, one typed context for each page.

Rules of this file:

- Every page has ``here``, its own address, and ``readers``, who can read it, truthfully.
- Days, shares and counts come in words; a page works nothing out.
- ``problems`` are told at the top; ``filled`` is what a form was sent with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.web.paging import Pages


@dataclass(frozen=True, slots=True)
class Sign:
    """A standing: ``name`` for the style, ``sign`` to see, ``words`` to read."""

    name: str
    sign: str
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A filter: its name and label, what there is (value, words), and what is chosen.

    ``typed``: there is too much to list, so a name or a part of it is typed.
    """

    name: str
    label: str
    options: tuple[tuple[str, str], ...]
    chosen: str
    typed: bool = False


@dataclass(frozen=True, slots=True)
class UnitRow:
    """A unit that can be chosen, how many people work on it, and where that leads."""

    name: str
    people: str
    address: str


@dataclass(frozen=True, slots=True)
class UnitsPage:
    """`cohort/units.html.j2` at the address of the page that needs a unit first.

    ``unit``: what was typed. ``many``: why the page is not of everybody.
    """

    here: str
    readers: str
    unit: Choice
    many: str
    rows: tuple[UnitRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class Step:
    """What to do next on the way from an empty store to the answers."""

    title: str
    words: str
    address: str
    done: bool


@dataclass(frozen=True, slots=True)
class Count:
    """How many have a standing, with the address that shows just these."""

    sign: Sign
    many: int
    address: str


@dataclass(frozen=True, slots=True)
class DueRow:
    """One person and one requirement."""

    code: str
    name: str
    address: str
    profession: str
    unit: str
    requirement: str
    sign: Sign
    last: str
    due: str
    note: str


@dataclass(frozen=True, slots=True)
class HomePage:
    """`cohort/home.html.j2` at `/cohort`.

    ``current``: of how many people who are current in all, as the report counts; ``leaves_as``: the
    query by which the list leaves as a file. ``practice``: how much they rehearsed, in words.
    """

    here: str
    readers: str
    day: str
    people: int
    current: str
    search: str
    leaves_as: str
    steps: tuple[Step, ...]
    counts: tuple[Count, ...]
    filters: tuple[Choice, ...]
    rows: tuple[DueRow, ...]
    pages: Pages
    practice: str


@dataclass(frozen=True, slots=True)
class Reminder:
    """A reminder to ``who``: its text, and the address that opens it in the mail program."""

    who: str
    text: str
    mail: str


@dataclass(frozen=True, slots=True)
class DueUnit:
    """What is due on a unit: rows of (person, profession, requirement, standing, due)."""

    unit: str
    rows: tuple[tuple[str, str, str, str, str], ...]
    all: Reminder
    people: tuple[Reminder, ...]


@dataclass(frozen=True, slots=True)
class DuePage:
    """`cohort/due.html.j2` at `/cohort/due`."""

    here: str
    readers: str
    day: str
    units: tuple[DueUnit, ...]


@dataclass(frozen=True, slots=True)
class SentFile:
    """An uploaded file that waits in the page: its name and its bytes as base64."""

    name: str
    kept: str


@dataclass(frozen=True, slots=True)
class Told:
    """A complaint about a file: where (file and row), and what to do."""

    where: str
    words: str
    is_error: bool


@dataclass(frozen=True, slots=True)
class RosterPage:
    """`cohort/roster.html.j2` at `/cohort/roster`. Form: POST there with `files`, `dates`, and
    `save` once the dry run has been looked at.

    ``changes``: what an import would change, in words; ``None`` before the dry run. ``can_save``:
    no error stands in the way.
    """

    here: str
    readers: str
    examples: tuple[tuple[str, str], ...]
    orders: Choice
    files: tuple[SentFile, ...]
    told: tuple[Told, ...]
    left_out: int
    changes: tuple[str, ...] | None
    can_save: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One person and one objective: sign, words, and what the words rest on."""

    sign: Sign
    note: str


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """One person. ``cells``: one for each column."""

    code: str
    name: str
    address: str
    about: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class MatrixPage:
    """`cohort/matrix.html.j2` at `/cohort/matrix`: people × objectives or requirements."""

    here: str
    readers: str
    what: str
    ways: tuple[tuple[str, str, bool], ...]
    columns: tuple[str, ...]
    filters: tuple[Choice, ...]
    rows: tuple[MatrixRow, ...]
    legend: tuple[Sign, ...]
    rules: str
    pages: Pages


@dataclass(frozen=True, slots=True)
class AccessRow:
    """One reading of somebody's record."""

    when: str
    who: str
    page: str
    whom: str


@dataclass(frozen=True, slots=True)
class ReadRow:
    """What somebody read of a person's record on a day, and how often."""

    when: str
    who: str
    page: str
    times: str


@dataclass(frozen=True, slots=True)
class AccessPage:
    """`cohort/access.html.j2` at `/cohort/access`."""

    here: str
    readers: str
    filters: tuple[Choice, ...]
    whom: str
    rows: tuple[AccessRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class KeptRow:
    """What is kept, and until when."""

    what: str
    until: str


@dataclass(frozen=True, slots=True)
class AgreedRow:
    """A session that was opened. ``when``: everybody agreed; empty where nobody confirmed it."""

    session: str
    title: str
    purpose: str
    when: str


@dataclass(frozen=True, slots=True)
class PersonSaidRow:
    """What somebody said themselves of a use of their record. ``address``: of their page."""

    when: str
    code: str
    address: str
    use: str
    answer: str


@dataclass(frozen=True, slots=True)
class UseCount:
    """A use of records, with how many people agreed to it and how many refused."""

    use: str
    agreed: int
    refused: int


@dataclass(frozen=True, slots=True)
class PrivacyPage:
    """`cohort/privacy.html.j2` at `/cohort/privacy`. ``read``: the latest readings; ``said``: the
    latest that people said themselves.
    """

    here: str
    readers: str
    kept: tuple[KeptRow, ...]
    agreed: tuple[AgreedRow, ...]
    pages: Pages
    said: tuple[PersonSaidRow, ...]
    uses: tuple[UseCount, ...]
    read: tuple[AccessRow, ...]


@dataclass(frozen=True, slots=True)
class PastRow:
    """Somebody whose record is kept longer than was set. ``address``: of their erasing."""

    code: str
    name: str
    last: str
    address: str


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """`cohort/settings.html.j2` at `/cohort/settings`. Form: POST there.

    ``more``: how many more are past the time that was set.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    saved: bool
    past: tuple[PastRow, ...]
    more: int


@dataclass(frozen=True, slots=True)
class CodePage:
    """`cohort/code.html.j2` at `/cohort/code`. Form: POST there with `trainee`.

    ``code``: the new one-time code, empty before one was made; ``minutes``: how long it opens.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    trainee: str
    code: str
    minutes: int
    address: str


@dataclass(frozen=True, slots=True)
class SeatRow:
    """A person in a role of a drill, and what it would meet."""

    role: str
    code: str
    name: str
    address: str
    meets: str


@dataclass(frozen=True, slots=True)
class DrillRow:
    """A session to be held. ``note``: what is in the way of an outcome, if anything; ``plan``:
    the address at which it is planned."""

    title: str
    unit: str
    met: str
    note: str
    plan: str
    seats: tuple[SeatRow, ...]


@dataclass(frozen=True, slots=True)
class DrillsPage:
    """`cohort/drills.html.j2` at `/cohort/drills`. Form: POST there with `day`, `starts`,
    `minutes`, `place`, `apart` and the filters, which plans all of them.

    ``unmet``: what no scenario here can meet.
    """

    here: str
    readers: str
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    filters: tuple[Choice, ...]
    lead: str
    drills: tuple[DrillRow, ...]
    more: int
    unmet: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SharedRow:
    """A personal debrief that its learner shares. ``since``, ``held``: days."""

    since: str
    code: str
    held: str
    address: str


@dataclass(frozen=True, slots=True)
class SharedPage:
    """`cohort/shared.html.j2` at `/cohort/shared`."""

    here: str
    readers: str
    rows: tuple[SharedRow, ...]
    pages: Pages
