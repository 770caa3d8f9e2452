"""What the marking guide asks for now, soonest first.

Rules of this file:

- It is the scorer's own marking, of the session as it stands at this instant: nothing is judged
  here a second time. What the session's end would leave open is open.
- Listed are what people do: ``expect``, ``respond``, ``repeat``. An item that may come several
  times is told by its open occasions, else by its last one.
- A repeated action is due ``every`` after it was last done (or after the state was entered), and
  overdue after ``grace`` more.
"""

from __future__ import annotations

from dataclasses import replace

from simengine.desk.scene import Scene
from simengine.desk.view import Expected, Standing
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Repeat,
    Windowed,
)
from simengine.scenario.whose import whose
from simengine.scenario.words import asked_words
from simengine.scoring.kinds.repeat import coverage
from simengine.scoring.make_plan import make_plan
from simengine.scoring.mark import Marked
from simengine.scoring.marking import mark
from simengine.scoring.occasion import Occasion
from simengine.scoring.resample import Resample
from simengine.session.record import Session, Stay

_ORDER: dict[Standing, int] = {
    "open": 0,
    "later": 1,
    "missed": 2,
    "done": 3,
    "unobserved": 4,
    "not reached": 5,
}
_NEVER = 2**62


def expected_of(scene: Scene) -> tuple[Expected, ...]:
    """Return the items of the marking guide as they stand, open ones first, soonest first."""
    session = _as_of_now(scene.session, scene.now)
    plan = make_plan(session)
    record = session.record
    draw = Resample(plan, [instant.at_ms for instant in record.marks], record.clock_ms)
    out: list[Expected] = []
    for marked in mark(plan, draw):
        item = marked.plan.item
        if isinstance(item, Windowed):
            out += _askings(scene, marked, item)
        elif isinstance(item, Repeat):
            out += _repeat(scene, draw, marked, item)
    out.sort(key=lambda expected: (_ORDER[expected.standing], _urgency(expected)))
    for expected in out:
        if expected.standing in ("open", "later"):
            for instant in (expected.opens_ms, expected.ideal_ms, expected.latest_ms):
                scene.changes_at(instant if instant is None else instant + 1)
    return tuple(out)


def _as_of_now(session: Session, now: int) -> Session:
    if session.closed is not None:
        return session
    stays = session.stays
    if stays:
        last = stays[-1]
        stays = (*stays[:-1], replace(last, exit_ms=max(now, last.entry_ms)))
    return replace(session, end_ms=now, stays=stays)


def _urgency(item: Expected) -> int:
    if item.standing == "done":
        return -(item.done_ms or 0)
    if item.latest_ms is not None:
        return item.latest_ms
    return item.ideal_ms if item.ideal_ms is not None else _NEVER


def _askings(scene: Scene, marked: Marked, item: Windowed) -> list[Expected]:
    if marked.plan.set_aside:
        unobserved = item.id in scene.session.record.unobserved
        return [_one(scene, item, "unobserved" if unobserved else "not reached")]
    askings = [_asking(scene, item, asking) for asking in marked.occasions]
    open_ = [row for row in askings if row.standing in ("open", "later")]
    return open_ or askings[-1:]


def _asking(scene: Scene, item: Windowed, asking: Occasion) -> Expected:
    latest = asking.at + item.latest_ms
    opens = asking.at + max(0, item.not_before_ms or 0)
    over = scene.session.closed is not None or asking.closes_for != "end"
    done: int | None = None
    standing: Standing
    if asking.match is not None:
        standing, done = "done", asking.match.at
    elif not asking.reached and asking.why != "end":
        standing = "not reached"
    elif not over and scene.now <= latest:
        standing = "later" if scene.now < opens else "open"
    elif not asking.reached:
        standing = "not reached"
    else:
        standing = "missed"
    return _one(scene, item, standing, opens, asking.at + item.ideal_ms, latest, done)


def _repeat(scene: Scene, draw: Resample, marked: Marked, item: Repeat) -> list[Expected]:
    stay = scene.fold.stay
    if marked.plan.set_aside:
        unobserved = item.id in scene.session.record.unobserved
        return [_one(scene, item, "unobserved" if unobserved else "not reached")]
    if scene.fold.closed is not None or stay is None:
        return []
    if item.during and stay.state not in item.during:
        return []
    if isinstance(item.asked, AskedAction) and item.asked.action in scene.fold.account.running:
        return []
    runs = coverage(draw, marked.plan)[2]
    last = max((run.stop for run in runs), default=0)
    base = max(last, _entered(scene.session.stays, item.during))
    due = base + item.every_ms
    return [_one(scene, item, "open", base, due, due + item.grace_ms)]


def _entered(stays: tuple[Stay, ...], during: tuple[str, ...]) -> int:
    """Since when the session has been in the states of ``during`` without a break."""
    since = stays[-1].entry_ms
    for stay in reversed(stays):
        if during and stay.state not in during:
            break
        since = stay.entry_ms
    return since


def _one(
    scene: Scene,
    item: Windowed | Repeat,
    standing: Standing,
    opens: int | None = None,
    ideal: int | None = None,
    latest: int | None = None,
    done: int | None = None,
) -> Expected:
    subject = item.asked
    action = setting = fault = None
    if isinstance(subject, AskedAction):
        action = subject.action
    elif isinstance(subject, AskedSetting):
        setting = subject.setting
    elif isinstance(subject, AskedFault):
        fault = subject.fault
    else:
        action = _teller(scene, subject)
    faults = dict(scene.scenario.start.faults)
    return Expected(
        item=item.id,
        title=item.title,
        kind=item.kind,
        importance=item.importance,
        standing=standing,
        action=action,
        setting=setting,
        fault=fault,
        role=item.role or _usual_role(scene, action),
        words=asked_words(subject, scene.scenario.vocabulary, faults),
        opens_ms=opens,
        ideal_ms=ideal,
        latest_ms=latest,
        done_ms=done,
    )


def _usual_role(scene: Scene, action: str | None) -> str | None:
    return whose(scene.scenario, scene.scenario.vocabulary.actions[action]) if action else None


def _teller(scene: Scene, knowledge: AskedKnowledge) -> str | None:
    """The action by which the team comes to know, or says, what it is asked to know.

    What is to be said goes with an action that reads it: the one that needs no sensor, unless a
    sensor reads already. The others wait for whatever of the kind is not running yet.
    """
    vocabulary = scene.scenario.vocabulary
    revealing = vocabulary.revealing(knowledge.observation)
    running = scene.fold.account.running
    reading = [
        action.name
        for action in vocabulary.actions.values()
        if action.reads == knowledge.observation
    ]
    if knowledge.told:
        sensed = any(name in running for name in revealing)
        by_voice = [name for name in reading if vocabulary.actions[name].by_voice]
        by_hand = [name for name in reading if not vocabulary.actions[name].by_voice]
        return next(iter((by_voice if sensed else by_hand) or reading), None)
    return next((name for name in revealing if name not in running), None)
