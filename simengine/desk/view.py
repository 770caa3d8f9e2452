"""What the screens are told: the plain data of every view and of every page.

Rules of this file:

- The server computes, the browser draws. A view is whole: a screen that missed one needs only
  the next. Views are sent as JSON with these field names (``None`` is ``null``).
- Every ``…_ms`` of a view is *scenario time* (pauses taken out), except where a field's
  docstring says otherwise. A screen tells scenario time itself::

      log_ms      = server_clock_ms - now.opened_at_ms        # what events carry as at_ms
      scenario_ms = now.runs ? now.scenario_ms + (log_ms - now.log_ms) : now.scenario_ms

  The server's clock is ms since 1970; ``GET /time`` answers ``{"now_ms": …}``.
- A curve is told in closed form: ``target + (value - target) * exp(-(t - start_ms) / tau_ms)``;
  ``tau_ms`` ``None`` is a constant. The server sends a new view whenever words change.
- Words may hold ``{value}`` (filled from ``curve``, with ``decimals`` and ``unit``), ``{age}``
  (time since ``age_from_ms``) and ``{left}`` (time until ``left_to_ms``); nothing else moves.
- Nothing here is clinical: names, labels, keys, units and limits come from the vocabulary.
- All texts are plain text, to be set as text and never as markup.

What a screen sends back, ``POST`` as JSON to its ``events`` address with the header
``X-CSRF-Token``: ``{"events": [{"id": UUID, "kind": …, "at_ms": log time, "data": …}, …]}``, with
``data`` as in the log. The answer comes once all are durable: ``{"taken": [id, …], "refused":
[{"id": …, "words": …}], "version": …}``; an id that is known already is taken again. A refused
one will be refused again: show its words and drop it. On 503, or with no answer, keep and resend.
Undo: by the last of ``view.steps[by].undo``, in its ``way``. A move in time: an ``amend`` with
``{"id": …, "fields": {"at_ms": log time}}``.

Streams send the events ``view`` (a whole view) and ``beat`` (``{"now_ms": …}``, every 5 s).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from simengine.web.page_contexts import MessagePage

Sort = Literal["true", "known", "unknown"]
"""``true``: what is so; ``known``: what the team knows; ``unknown``: that it does not know."""

Standing = Literal["open", "later", "done", "missed", "unobserved", "not reached"]


@dataclass(frozen=True, slots=True)
class Now:
    """Which instant a view tells of. ``opened_at_ms``: the server's clock as the log opened.

    ``log_ms``: the log's own time (since opened, pauses included). ``runs``: scenario time goes
    on; ``paused_ms``: how long it has stood still in all, up to ``log_ms``.
    """

    opened_at_ms: int
    log_ms: int
    scenario_ms: int
    runs: bool
    paused: bool
    held: bool
    paused_ms: int


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark of the clock: at ``at_ms``, told as ``words`` ("5 min").

    ``prompts``: an action that is due at it (its name), with ``prompt_words`` to show.
    """

    at_ms: int
    words: str
    prompts: str | None = None
    prompt_words: str = ""


@dataclass(frozen=True, slots=True)
class ClockView:
    """The team's clock. ``event``: the named event that starts it; ``zero_ms`` ``None`` till then.

    ``words``: "since birth". ``marks``: those to come within the next half hour, and the last
    one passed. ``silent``: timekeeping is scored here, so marks make no sound and no flash on
    any screen.
    """

    event: str | None
    words: str
    zero_ms: int | None
    marks: tuple[Mark, ...]
    silent: bool


@dataclass(frozen=True, slots=True)
class Curve:
    """A value in closed form, and how to write it."""

    start_ms: int
    value: float
    target: float
    tau_ms: float | None
    decimals: int
    unit: str


@dataclass(frozen=True, slots=True)
class Words:
    """Words with what moves in them; see the placeholders in the rules of this file."""

    sort: Sort
    text: str
    curve: Curve | None = None
    age_from_ms: int | None = None
    left_to_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """One observation in the baby's sentence.

    ``true``: "heart rate {value} and falling". ``known``: "team heard 70, {age} ago", or what
    they do not know; ``None`` where everybody can see it. With the truth hidden a screen writes
    ``label``, a colon and ``known``. ``large``: it is told first, and largest.
    """

    observation: str
    label: str
    large: bool
    true: Words
    known: Words | None


@dataclass(frozen=True, slots=True)
class Wait:
    """One thing that a transition waits for. ``met``: it holds now."""

    text: str
    met: bool


@dataclass(frozen=True, slots=True)
class Coming:
    """A transition out of the present state.

    ``words``: what it is ("the chest rises for 20 s"). ``waits``: what it still asks. ``due_ms``:
    when it will be taken if nothing changes, ``None`` if not. ``holds_since_ms`` and
    ``lasting_ms``: "12 of 20 s". ``worsens``: it leads to a deteriorating state;
    ``warns_from_ms``: from then until ``due_ms`` the screen says so and offers to hold.
    ``on``: the named event that it waits for, which a button can record.
    """

    index: int
    to: str
    to_title: str
    words: str
    waits: tuple[Wait, ...]
    due_ms: int | None
    holds_since_ms: int | None
    lasting_ms: int
    worsens: bool
    warns_from_ms: int | None
    on: str | None


@dataclass(frozen=True, slots=True)
class StateView:
    """A state that the facilitator may go to."""

    name: str
    title: str
    ends: bool
    here: bool


@dataclass(frozen=True, slots=True)
class Expected:
    """A key item as it stands. The list comes with the open ones first, soonest first.

    ``action``/``setting``/``fault``: what fulfils it, one of the three; what is to be known is
    fulfilled by the action that tells it. ``words``: what it asks in
    words. ``ideal_ms`` and ``latest_ms``: until when (``None``: no limit). ``opens_ms``: from
    when the time runs (the bar's left end). A repeated action stays ``open`` after ``latest_ms``:
    it is overdue.
    """

    item: str
    title: str
    kind: str
    importance: str
    standing: Standing
    action: str | None
    setting: str | None
    fault: str | None
    role: str | None
    words: str
    opens_ms: int | None
    ideal_ms: int | None
    latest_ms: int | None
    done_ms: int | None


@dataclass(frozen=True, slots=True)
class Figure:
    """A value as a person reads it. ``unit`` ``None``: a word."""

    value: float | str
    unit: str | None = None


Limits = Mapping[str, tuple[float | None, float | None]]


@dataclass(frozen=True, slots=True)
class SettingView:
    """A setting. Either ``words`` to choose from, or a number in ``unit``.

    ``now``: what it stands at, as last read (``None``: not known). ``units``: the units that it
    may be read in, ``unit`` first; ``step``, ``usual`` and ``usual_steps`` are in ``unit``.
    ``usual``: values to offer, the protocol's own first; ``usual_steps``: how far from ``now``.
    ``limits``: for each unit the least and the greatest figure; outside an entry is asked about
    ("is it really?"), never refused.
    """

    name: str
    label: str
    unit: str | None
    units: tuple[str, ...]
    step: float
    usual: tuple[float, ...]
    usual_steps: tuple[float, ...]
    limits: Limits
    words: tuple[str, ...]
    now: Figure | None
    changed_ms: int | None


@dataclass(frozen=True, slots=True)
class UsualDoseView:
    """A dose to be given by one touch: all of it in ``words``, and its parts."""

    words: str
    dose: tuple[tuple[str, Figure], ...]


@dataclass(frozen=True, slots=True)
class DoseView:
    """What a drug asks: amount or volume, strength, route, flush, time. Units empty: not asked.

    ``amount_units``: the amount per kg first, then the whole amount; ``volume_units`` e.g. mL.
    ``routes``: (name, label). ``usual``: the protocol's doses for this baby, each with all that a
    touch on it records; ``flushes`` and ``overs``: likewise. ``limits``: for each route what is
    not questioned, by unit. ``caution``: stands beside it.
    """

    amount_units: tuple[str, ...]
    volume_units: tuple[str, ...]
    strength_units: tuple[str, ...]
    flush_units: tuple[str, ...]
    over_units: tuple[str, ...]
    routes: tuple[tuple[str, str], ...]
    usual: tuple[UsualDoseView, ...]
    flushes: tuple[Figure, ...]
    overs: tuple[Figure, ...]
    limits: Mapping[str, Limits]
    last: tuple[tuple[str, Figure], ...]
    caution: str


@dataclass(frozen=True, slots=True)
class Ask:
    """Why an action is asked for now: the item, its title and the time left."""

    item: str
    title: str
    opens_ms: int | None
    ideal_ms: int | None
    latest_ms: int | None


@dataclass(frozen=True, slots=True)
class SpokenView:
    """The value that is told with an action. Either ``words`` or a number in ``unit``.

    ``bands``: how a number is told first ("below 60"). ``suggestion``: what is true now, to be
    taken over by one touch where the truth is shown.
    """

    observation: str
    label: str
    unit: str | None
    decimals: int
    words: tuple[str, ...]
    bands: tuple[str, ...]
    suggestion: Words


@dataclass(frozen=True, slots=True)
class ActionView:
    """What a person can do.

    ``role``: its usual role (``None``: anybody). ``key``: the key that records it. ``running_ms``:
    since when a lasting one runs (``running_id``: the entry that started it). ``settings``: what
    it asks, in order; the values now are in ``ConsoleView.settings``. ``reads_at_ms``: when a
    sensor that is on will read. ``last_ms``, ``times``: when last and how often done. ``away``:
    the kit was not there.
    """

    name: str
    label: str
    phase: str
    role: str | None
    key: str | None
    lasting: bool
    running_ms: int | None
    running_id: str | None
    asked: Ask | None
    settings: tuple[str, ...]
    dose: DoseView | None
    spoken: SpokenView | None
    reads_at_ms: int | None
    last_ms: int | None
    times: int
    away: bool


@dataclass(frozen=True, slots=True)
class Doing:
    """A lasting action that a role is doing."""

    action: str
    label: str
    since_ms: int


@dataclass(frozen=True, slots=True)
class Tile:
    """What is touched in a lane, by its name: an action, a setting or a fault."""

    kind: Literal["action", "setting", "fault"]
    name: str


@dataclass(frozen=True, slots=True)
class Lane:
    """A role: who is in it (codes), what runs, and what it can do.

    ``strip``: what is waited for or asked of it now, at most ``places``, of which it has as many
    through the whole session. ``tiles``: the same through the whole session, in the same order;
    what was done beside them is added at the end. ``more``: actions behind "more…".
    """

    role: str
    label: str
    people: tuple[str, ...]
    doing: tuple[Doing, ...]
    strip: tuple[Tile, ...]
    places: int
    tiles: tuple[Tile, ...]
    more: tuple[str, ...]
    last_ms: int | None


@dataclass(frozen=True, slots=True)
class SupplyView:
    """What runs out: ``contents - rate_per_ms * (t - start_ms)`` in ``unit``, not below 0.

    ``empty_ms``: when it is empty as things stand (``None``: it lasts). ``words``: "195 bar,
    38 min to its 10 % reserve", as of the view. ``gauge``: what the dial of a full one
    shows, ``None`` where there is none; ``reserve``: the share of what is left, of 1, that is kept
    back where minutes are told.
    """

    name: str
    label: str
    unit: str
    capacity: float
    start_ms: int
    contents: float
    rate_per_ms: float
    empty_ms: int | None
    words: str
    gauge: Figure | None
    reserve: float


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry on the tape. ``at_ms``: its place; ``log_ms``: the log's time, for a correction
    (``amend`` with ``fields.at_ms``).

    ``by_person`` ``False``: the program wrote it. ``can_move``/``can_remove``: by an amend.
    ``corrected``, ``removed``: it has been. ``how``, ``role``, ``settings``, ``dose`` (the
    route among it), ``spoken``, ``action``: as they stand, for the sheet that changes them.
    """

    id: str
    seq: int
    kind: str
    at_ms: int
    log_ms: int
    words: str
    role: str | None
    action: str | None
    setting: str | None
    phase: str | None
    how: str | None
    settings: tuple[tuple[str, Figure], ...]
    dose: tuple[tuple[str, Figure], ...]
    spoken: tuple[tuple[str, Figure], ...]
    by: str
    by_person: bool
    can_move: bool
    can_remove: bool
    corrected: bool
    removed: bool


@dataclass(frozen=True, slots=True)
class Cue:
    """A prepared cue. ``given``: how often."""

    text: str
    prompts: str | None
    prompts_label: str
    given: int


@dataclass(frozen=True, slots=True)
class FaultView:
    """A fault of the equipment. ``status``: not planted yet, planted, found, or put right."""

    name: str
    shows: str
    plant: str
    status: Literal["not planted", "planted", "found", "put right"]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody in the room, by code, and the roles that they hold now."""

    code: str
    roles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Banner:
    """What every screen carries. ``protocol``: title, edition, unsigned or by whom, superseded.

    ``band``: title, edition and whether it is signed, beside "SIMULATION"; that a newer edition
    exists stands with the protocol and not on every screen.
    """

    title: str
    protocol: str
    band: str
    caution: str
    purpose: Literal["formative", "summative", "rehearsal"]


@dataclass(frozen=True, slots=True)
class Note:
    """Something odd in the record that the facilitator should look at."""

    words: str
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepView:
    """A step that can be taken back or brought back; see ``simengine.session.undo``.

    ``words``: what it was. ``asks``: it is more than an entry, so that somebody is asked before.
    ``until_ms``: the log's time until which it can be done.
    """

    way: Literal["withdraw", "undo", "begin again", "never"]
    id: str
    kind: str
    again: str
    at_ms: int
    data: Mapping[str, Any]
    until_ms: int | None
    taken_by: str
    words: str
    asks: bool


@dataclass(frozen=True, slots=True)
class StepsView:
    """What a device can take back, and bring back; the next one is each list's last."""

    undo: tuple[StepView, ...]
    redo: tuple[StepView, ...]


Ended = Literal["finished", "stopped early", "safety stop"]


@dataclass(frozen=True, slots=True)
class CotView:
    """A training cot that no baby may be brought to: its ``faults`` that have not been put right.

    ``other``: where the other cot is, empty where nobody wrote it down.
    """

    faults: tuple[str, ...]
    other: str


@dataclass(frozen=True, slots=True)
class ConsoleView:
    """Everything that the facilitator's console shows.

    ``session``: its id. ``version``: rises with each event, so that a screen never goes back.
    ``closed``: why it ended, else ``None``. ``ending_ms``: it closes by itself then.
    ``returns_cot``: it closes only after the cot is back in service (``returned``: it is).
    ``cot``: what STOP and the end have to say of a cot that has not been returned.
    ``tape``: of a long record the latest entries; ``earlier``: how many more the review has.
    ``steps``: for each device, by its key, what it can take back and bring back;
    ``undone_within_ms``: how long after the touch, where its way is to undo it. ``last_entry``: for
    "same moment as the last".
    ``kept``: how many entries are durable. ``unseen``: names of items marked unobserved.
    ``turns``: from when (log ms) the session's own time was what (ms), and whether it ran on.
    """

    session: str
    version: int
    banner: Banner
    now: Now
    turns: tuple[tuple[int, int, bool], ...]
    clock: ClockView
    state: str
    state_title: str
    trend: Literal["improving", "deteriorating", "stable"] | None
    baby: tuple[Told, ...]
    coming: tuple[Coming, ...]
    lost: tuple[str, ...]
    states: tuple[StateView, ...]
    expected: tuple[Expected, ...]
    lanes: tuple[Lane, ...]
    actions: dict[str, ActionView]
    settings: dict[str, SettingView]
    supplies: tuple[SupplyView, ...]
    tape: tuple[Entry, ...]
    earlier: int
    steps: Mapping[str, StepsView]
    undone_within_ms: int
    last_entry: str | None
    cues: tuple[Cue, ...]
    faults: tuple[FaultView, ...]
    people: tuple[Person, ...]
    roles: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]
    kept: int
    screens: int
    closed: Ended | None
    ending_ms: int | None
    returns_cot: bool
    returned: bool
    cot: CotView | None
    confirmed: bool


@dataclass(frozen=True, slots=True)
class BedsideLine:
    """One dated sentence: "Heart rate {value}, rising" with "oximeter, now" or "heard {age} ago".

    ``taken`` ``False``: a sensor will read it. ``when`` may be empty. ``large``: it is written
    larger than the others; ``old``: it is no longer fresh.
    """

    observation: str
    what: Words
    when: Words | None
    taken: bool
    large: bool
    old: bool


@dataclass(frozen=True, slots=True)
class BedsideView:
    """What a bedside display shows, and nothing more: no names, no key, no score.

    ``equipment``: lines such as "Oxygen 30 %"; empty where there is a real cot to read.
    ``code``: to join by hand. Ended by a safety stop it shows that sentence alone, and before it
    what is to be said of the ``cot``.
    """

    session: str
    version: int
    now: Now
    clock: ClockView
    lines: tuple[BedsideLine, ...]
    equipment: tuple[str, ...]
    started: bool
    closed: Ended | None
    cot: CotView | None


# Pages: each is rendered by the template of its name (`choose.html.j2` …) with one of these as
# `page`, and `site` beside it.


@dataclass(frozen=True, slots=True)
class ScenarioChoice:
    """A scenario to choose. ``roles``: (name, label). ``protocol``: its own one's id."""

    id: str
    title: str
    planned: str
    learners: str
    roles: tuple[tuple[str, str], ...]
    gestation: str
    weight: str
    protocol: str
    faults: int


@dataclass(frozen=True, slots=True)
class SessionRow:
    """A stored session. ``standing``: how far it has come. ``when``: ISO 8601, UTC.

    ``address``: where a touch on it leads.
    """

    id: str
    title: str
    when: str
    standing: Literal["prebrief", "running", "ended", "cot not returned"]
    purpose: str
    address: str


@dataclass(frozen=True, slots=True)
class CotLeft:
    """A cot of an ended session that has not been returned; ``address``: where that is done."""

    title: str
    when: str
    cot: CotView
    address: str


@dataclass(frozen=True, slots=True)
class PersonChip:
    """Somebody to be picked. ``name``: empty for who may not see it; ``about``: the profession."""

    code: str
    name: str
    about: str


@dataclass(frozen=True, slots=True)
class TeamChip:
    """A kept team to be taken; ``address``: the first page with it, but for the scenario."""

    name: str
    people: tuple[str, ...]
    address: str


@dataclass(frozen=True, slots=True)
class BookingRow:
    """A session of a day's plan. ``starts``: local time of day, or empty. ``people``: codes.

    ``address``: where the session stands that was begun from it, empty where none can be opened.
    Form: POST /bookings/ID with `do`: begin, tick, untick or cancel.
    """

    id: str
    starts: str
    place: str
    title: str
    team: str
    people: tuple[str, ...]
    standing: Literal["open", "begun", "held"]
    address: str


@dataclass(frozen=True, slots=True)
class DayPage:
    """`day.html.j2` at `/day`. Form: POST there with `on` (a day, ISO 8601), `first` (09:00),
    `minutes`, `gap`, `purpose`, `unit`, `stations` and `groups` (names, comma or line between),
    `scenario.ID` and `team.NAME` ("yes" for each that is wanted). POST to `/teams` with `on` and
    `drop` (a kept team's name).

    ``before``, ``after``: addresses of the days beside it.
    """

    day: str
    words: str
    before: str
    after: str
    rows: tuple[BookingRow, ...]
    scenarios: tuple[tuple[str, str], ...]
    teams: tuple[str, ...]
    problems: tuple[str, ...]
    filled: dict[str, str]


@dataclass(frozen=True, slots=True)
class PutAwayPage:
    """`put_away.html.j2` at `/s/ID/put-away`. Form: POST there with `reason`."""

    session: str
    title: str
    standing: Literal["prebrief", "running", "ended"]
    problem: str
    reason: str


@dataclass(frozen=True, slots=True)
class AwayRow:
    """A session that was put away. ``opened``: it has a record to look at."""

    id: str
    title: str
    when: str
    reason: str
    opened: bool


@dataclass(frozen=True, slots=True)
class AwayPage:
    """`away.html.j2` at `/put-away`. Form: POST /s/ID/bring-back."""

    sessions: tuple[AwayRow, ...]
    newer: str
    older: str


@dataclass(frozen=True, slots=True)
class ChoosePage:
    """`choose.html.j2` at `/`. Form: POST /sessions with `scenario`, `protocol` ("" is the
    scenario's own), `gestation`, `weight` ("" is the scenario's), `purpose`, `real_cot` ("yes"
    or absent), `unit` (may be empty), `role.NAME` (codes, comma between) for each role, `keep_as`
    (a name under which the team is kept, or empty) and `like` (the session that it was like).

    ``problems``: what was wrong with the form; ``filled``: what had been typed; ``asked``: what is
    questioned of it, until `meant` comes back as it stands in ``filled``. ``broken``:
    scenarios that did not load, each with its problems. ``checking``: how many files are being
    checked; the page loads itself again when that is done. ``units``: those of the roster.
    ``newer``, ``older``: addresses of further sessions, or empty. ``cots``: those that have not
    been returned, of any page. ``people``: to be picked, more by GET /people?unit=U&part=P, whose
    JSON is `{people, more}`. ``names``: the visitor sees names. ``today``: the day's plan.
    ``away``: some sessions were put away.
    """

    scenarios: tuple[ScenarioChoice, ...]
    protocols: tuple[tuple[str, str], ...]
    sessions: tuple[SessionRow, ...]
    problems: tuple[str, ...]
    asked: tuple[str, ...]
    filled: dict[str, str]
    broken: tuple[str, ...]
    checking: int
    units: tuple[str, ...]
    newer: str
    older: str
    cots: tuple[CotLeft, ...]
    people: tuple[PersonChip, ...]
    names: bool
    teams: tuple[TeamChip, ...]
    today: tuple[BookingRow, ...]
    away: bool


@dataclass(frozen=True, slots=True)
class RoleRow:
    """A role and the codes of who starts in it."""

    name: str
    label: str
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PrebriefPerson:
    """Somebody of the team: what they took along from last time, their goal for today, and what
    they agreed to themselves. ``stops``: why the session can't start with them; empty if it can.
    """

    code: str
    along: str
    goal: str
    consent: str
    stops: str


@dataclass(frozen=True, slots=True)
class PrebriefPage:
    """`prebrief.html.j2` at `/s/ID/prebrief`. Form: POST /s/ID/start with `acknowledged` and
    `other_cot` (where the cot for a real baby stands; needed where faults are planted), and a
    `goal.CODE` for each of the ``people``.

    ``briefing``: (heading, text) in order, for everybody; ``facilitator``: for the facilitator
    alone. ``objectives``, ``ways`` (what counts as done),
    ``faults`` ((what shows, how to plant)) are texts. ``bedside``: the display's address, with
    ``qr`` (an address of a picture) and ``code``.
    """

    session: str
    title: str
    banner: Banner
    infant: str
    briefing: tuple[tuple[str, str], ...]
    facilitator: str
    objectives: tuple[str, ...]
    roles: tuple[RoleRow, ...]
    ways: str
    planned: str
    faults: tuple[tuple[str, str], ...]
    bedside: str
    qr: str
    code: str
    returns_cot: bool
    other_cot: str
    problems: tuple[str, ...]
    people: tuple[PrebriefPerson, ...]


@dataclass(frozen=True, slots=True)
class ConsolePage:
    """`console.html.j2` at `/s/ID`. ``view``: the first ConsoleView as JSON text, to be put into
    a data attribute; later ones come from `stream`.

    ``code`` opens a display, ``recorder`` lets a second recorder join (both at `/join`). ``by``:
    the key under which this browser records, as in ``Entry.by``. ``may``: the kinds of entries
    that it may record.
    """

    session: str
    title: str
    view: str
    stream: str
    events: str
    bedside: str
    qr: str
    code: str
    recorder: str
    by: str
    may: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BedsidePage:
    """`bedside.html.j2` at `/d/CODE`. ``view``: the first BedsideView as JSON text."""

    view: str
    stream: str


@dataclass(frozen=True, slots=True)
class JoinPage:
    """`join.html.j2` at `/join`. Form: POST /join with `code`, and `who` (`display` or
    `observer`: a second recorder). ``problem``: why the last try failed, else empty.
    """

    problem: str
    code: str


@dataclass(frozen=True, slots=True)
class ReviewItem:
    """A key item as the score has it now. ``verdict`` in words for people."""

    id: str
    title: str
    importance: str
    verdict: str
    sentence: str
    unobserved: bool
    evidence: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NeededView:
    """What the marking guide needs and nobody wrote down: ``name`` of a setting, a part of a dose
    or an observation, with the entry that it belongs to (``entry``) or the instant (``at_ms``).

    ``item``: which may be marked as not seen instead. ``blocks``: the record can't be confirmed
    without it.
    """

    item: str | None
    what: Literal["setting", "dose", "value said", "given so"]
    name: str
    entry: str | None
    at_ms: int | None
    blocks: bool
    words: str


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """`review.html.j2` at `/s/ID/review`. Corrections go to `events` as on the console, after
    which the page is loaded again (or `GET /s/ID/review.json` gives this as JSON).

    ``total``: "78 %" or why there is none. ``entries``: all, removed ones too. ``confirmed``:
    somebody has said that the record is right. ``busy``: likely unseen steps, in words.
    ``actions``, ``roles``, ``ways``: (name, label) to choose from. ``cot``: not returned yet.
    ``turns``: from when (log ms) the session's own time was what (ms), and whether it ran on.
    ``needed``: what is asked for before it is confirmed. ``acts``: every action with all that an
    entry of it may say. ``put_away``: why it does not count, else empty. ``changed``: where the
    log is not as it was written, else empty: then the page changes nothing.
    """

    session: str
    title: str
    banner: Banner
    closed: Ended | None
    cot: CotView | None
    changed: str
    put_away: str
    entries: tuple[Entry, ...]
    items: tuple[ReviewItem, ...]
    total: str
    interval: str
    notes: tuple[Note, ...]
    busy: tuple[str, ...]
    confirmed: bool
    events: str
    zero_ms: int | None
    turns: tuple[tuple[int, int, bool], ...]
    opened_at_ms: int
    needed: tuple[NeededView, ...]
    actions: tuple[tuple[str, str], ...]
    acts: dict[str, ActionView]
    settings: dict[str, SettingView]
    roles: tuple[tuple[str, str], ...]
    ways: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ReturnPage:
    """`return.html.j2` at `/s/ID/return`: the cot goes back into service. Form: POST there with
    `fault.NAME` ("yes"), `cylinders`, `drugs`, `first` (initials); then, by somebody else, all of
    these once more with `looked` ("yes") and `second` (initials).

    ``second``: the first person has done their part.
    """

    session: str
    title: str
    faults: tuple[FaultView, ...]
    problems: tuple[str, ...]
    filled: dict[str, str]
    closed: Ended | None
    second: bool
    cot: CotView | None


@dataclass(frozen=True, slots=True)
class OverPage(MessagePage):
    """`over.html.j2`: the message that a session is over, and before it what is to be said of its
    cot.
    """

    cot: CotView | None = None
