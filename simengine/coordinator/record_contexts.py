"""What the pages about one person or one session are told. Rules: as in ``contexts``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.coordinator.contexts import Choice, ReadRow, Sign
from simengine.coordinator.planning_contexts import AttendedRow
from simengine.web.paging import Pages


@dataclass(frozen=True, slots=True)
class DueLine:
    """What one person needs: the requirement, where they stand, and when it is due."""

    requirement: str
    sign: Sign
    due: str
    last: str
    note: str


@dataclass(frozen=True, slots=True)
class ObjectiveLine:
    """What can be said of one person and one objective."""

    objective: str
    sign: Sign
    words: str


@dataclass(frozen=True, slots=True)
class SessionLine:
    """A session that a person took part in. ``sign`` and ``note``: how the outcome of an assessment
    stands for them, ``None`` where there is none. Addresses of the personal debrief are empty where
    it is the learner's alone. ``shared``: since which day it is shared, else empty; ``sharing``:
    where the learner shares it and takes it back, and ``words`` where they write of it, empty for
    anybody else.
    """

    when: str
    scenario: str
    purpose: str
    roles: str
    standing: str
    sign: Sign | None
    note: str
    debrief: str
    pdf: str
    shared: str
    sharing: str
    outcome: str
    words: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """What comes next for a person, in a sentence; ``address`` and ``label``: where it is done,
    empty where there is nothing to press."""

    words: str
    address: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class UseLine:
    """Something that a person may agree to. ``name``: of its field. ``means``: what yes and no do.
    ``answer``: ``yes``, ``no`` or empty; ``stands``: the same in words, or what holds without.
    """

    name: str
    title: str
    means: str
    answer: str
    stands: str


@dataclass(frozen=True, slots=True)
class PersonPage:
    """`cohort/person.html.j2` at `/cohort/people/CODE`.

    ``own``: the reader is that person. ``ahead``: (address, title) of sessions that are planned
    with them and not begun, where they write a goal. ``back``: (address, words) of the lists that
    the person stands in, for the coordinator. ``certificate``: its address, empty where there is
    none. ``trend``: the address of the picture, empty where there are too few sessions to draw;
    ``trend_words``: the same in words. ``practice``: how much they rehearsed, in words.
    """

    here: str
    readers: str
    code: str
    name: str
    own: bool
    about: str
    back: tuple[tuple[str, str], ...]
    next: NextStep
    due: tuple[DueLine, ...]
    objectives: tuple[ObjectiveLine, ...]
    objectives_rule: str
    ahead: tuple[tuple[str, str], ...]
    sessions: tuple[SessionLine, ...]
    attended: tuple[AttendedRow, ...]
    certificate: str
    pages: Pages
    trend: str
    trend_words: str
    practice: str
    uses: tuple[UseLine, ...]
    reads: tuple[ReadRow, ...]


@dataclass(frozen=True, slots=True)
class SaidRow:
    """An answer that a person gave."""

    when: str
    use: str
    answer: str


@dataclass(frozen=True, slots=True)
class ConsentPage:
    """`cohort/consent.html.j2` at `/cohort/people/CODE/consent`. Form: POST there with `yes` or
    `no` under the ``name`` of each use that is answered. ``said``: the newest first.
    """

    here: str
    readers: str
    back: str
    uses: tuple[UseLine, ...]
    said: tuple[SaidRow, ...]


@dataclass(frozen=True, slots=True)
class ViewLine:
    """An item that the learner may see differently, with what was answered to it."""

    item: str
    title: str
    words: str
    answer: str
    answered: bool


@dataclass(frozen=True, slots=True)
class OwnWordsPage:
    """`cohort/own_words.html.j2` at `/cohort/people/CODE/words/ID`. Forms: POST there with `goal`
    while the session is ``ahead``; afterwards with `along`, or with `item` and `words`.
    """

    here: str
    readers: str
    back: str
    title: str
    ahead: bool
    goal: str
    along: str
    items: tuple[ViewLine, ...]


@dataclass(frozen=True, slots=True)
class ViewRow:
    """What a learner sees differently. ``answered``: the day, empty until somebody did."""

    when: str
    code: str
    session: str
    of: str
    item: str
    title: str
    words: str
    answer: str
    answered: str
    review: str


@dataclass(frozen=True, slots=True)
class ViewsPage:
    """`cohort/views.html.j2` at `/cohort/views`. Form: POST there with `session`, `code`, `item`
    and `answer`, empty to note it.
    """

    here: str
    readers: str
    rows: tuple[ViewRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class ErasePage:
    """`cohort/erase.html.j2` at `/cohort/people/CODE/erase`. Form: POST there with `typed`."""

    here: str
    readers: str
    code: str
    address: str
    goes: tuple[str, ...]
    stays: tuple[str, ...]
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AuditLink:
    """One link from guideline to signature: what, the evidence, and whether it is there."""

    title: str
    sign: Sign
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AuditChain:
    """All links of one session."""

    title: str
    links: tuple[AuditLink, ...]


@dataclass(frozen=True, slots=True)
class AuditPage:
    """`cohort/audit.html.j2` at `/cohort/people/CODE/audit`, made to be printed.

    ``left_out``: how many earlier sessions that count are not told; ``not_counted``: the latest
    that do not count, and why.
    """

    here: str
    readers: str
    code: str
    name: str
    about: str
    day: str
    statement: str
    due: tuple[DueLine, ...]
    chains: tuple[AuditChain, ...]
    left_out: int
    not_counted: tuple[str, ...]
    does_not_prove: tuple[str, ...]
    address: str


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """A summative session in the list of outcomes."""

    when: str
    scenario: str
    unit: str
    sign: Sign
    note: str
    address: str


@dataclass(frozen=True, slots=True)
class OutcomesPage:
    """`cohort/outcomes.html.j2` at `/cohort/outcomes`."""

    here: str
    readers: str
    filters: tuple[Choice, ...]
    rows: tuple[OutcomeRow, ...]
    pages: Pages


@dataclass(frozen=True, slots=True)
class Entry:
    """What was said of an outcome: when, what, by whom."""

    when: str
    what: str
    words: str


@dataclass(frozen=True, slots=True)
class OutcomePage:
    """`cohort/outcome.html.j2` at `/cohort/outcomes/ID`. Forms: POST there with `do` (`sign`,
    `countersign`, `supersede`, `appeal`, `unit`) and its fields.

    ``team``: each role with (code, address of the person's page, empty where the reader may not
    open it). ``proposed``: what the marking guide proposes today; ``beside``: what it gives beside
    the signed outcome, if that differs. ``may``: what can be done next; ``appealed``: whose own
    appeals wait for an answer (`sign` with `person`). ``missing``: why it can't be signed.
    ``unit``: where the session was held, for whoever may set it right.
    """

    here: str
    readers: str
    title: str
    when: str
    team: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    total: str
    standard: str
    proposed: str
    sign: Sign
    entries: tuple[Entry, ...]
    beside: str
    missing: tuple[str, ...]
    may: tuple[str, ...]
    appealed: tuple[str, ...]
    outcomes: tuple[tuple[str, str], ...]
    items: tuple[tuple[str, str], ...]
    problems: tuple[str, ...]
    filled: Mapping[str, str]
    unit: Choice | None
    review: str
