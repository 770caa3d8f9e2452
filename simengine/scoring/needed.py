"""What a person is asked for before the record is confirmed.

Rules of this file:

- Asked for is what the marking guide needs and nobody wrote down: a setting, a part of a dose, a
  value that was read and not said, the value before a change; and whether a ten-fold dose was given
  so or written down so.
- Each is to be filled in by correcting its entry, or its item marked as not observed.
- A record can't be confirmed while an essential item has something of a setting or a dose that was
  not recorded (``blocks``); everything else may stay as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from simengine.scenario.key import AskedKnowledge, AskedSetting
from simengine.scoring.catalogue import say
from simengine.scoring.findings import open_slips
from simengine.scoring.knowledge import readings_of, tellings_of
from simengine.scoring.make_plan import make_plan
from simengine.scoring.mark import Marked
from simengine.scoring.marking import mark
from simengine.scoring.occasion import Occasion
from simengine.scoring.plan import Plan
from simengine.scoring.resample import Resample
from simengine.session.record import Session

DOSE_PARTS = {
    "amount": "needed_amount",
    "route": "needed_route",
    "strength": "needed_strength",
    "flush": "needed_flush",
    "over": "needed_over",
}
"""The words for each part of a dose."""


@dataclass(frozen=True, slots=True)
class Needed:
    """One thing that is missing from the record.

    ``item``: the id of the item that needs it, ``None`` for a dose that no item asks. ``name``: of
    the setting, the part of the dose or the observation. ``event_id``: the entry that it belongs
    to, at ``at_ms`` of scenario time. ``blocks``: the record can't be confirmed without it.
    """

    item: str | None
    title: str
    what: Literal["setting", "dose", "value said", "given so"]
    name: str
    event_id: str | None
    at_ms: int | None
    blocks: bool
    words: str


def needed_to_confirm(session: Session) -> tuple[Needed, ...]:
    """Return what the marking guide needs and the record lacks, in the order of the guide."""
    plan = make_plan(session)
    record = session.record
    resample = Resample(plan, [recorded.at_ms for recorded in record.marks], record.clock_ms)
    out: list[Needed] = []
    for marked in mark(plan, resample):
        if not marked.plan.set_aside:
            out += _of_item(resample, marked)
    out += _slips(plan)
    return tuple(dict.fromkeys(out))


def _of_item(resample: Resample, marked: Marked) -> Iterator[Needed]:
    item = marked.plan.item
    for occasion in marked.occasions:
        yield from _of_occasion(marked, occasion)
    if item.kept is not None and marked.unrecorded:
        for setting in marked.plan.guide.asked_settings:
            yield _needed(marked, "setting", setting, None, None)
    subject = item.asked
    if isinstance(subject, AskedKnowledge) and subject.told:
        readings_told = {telling.read for telling in tellings_of(resample, subject.observation)}
        for reading in readings_of(resample, subject.observation):
            if reading.start == reading.stop and reading.start not in readings_told:
                event = reading.source.event_id
                yield _needed(marked, "value said", subject.observation, event, reading.start)


def _of_occasion(marked: Marked, occasion: Occasion) -> Iterator[Needed]:
    item = marked.plan.item
    if occasion.why == "no value":
        assert isinstance(item.asked, AskedSetting)
        yield _needed(marked, "setting", item.asked.setting, None, occasion.at)
    match = occasion.match
    if match is None or not occasion.reached:
        return
    checked = {check.setting for check in marked.plan.checks}
    for part in match.settings.parts:
        if part.value is None:
            what: Literal["setting", "dose"] = "dose"
            if part.name in checked and part.name not in DOSE_PARTS:
                what = "setting"
            yield _needed(marked, what, part.name, match.run.source.event_id, match.at)


def _needed(
    marked: Marked,
    what: Literal["setting", "dose", "value said"],
    name: str,
    event_id: str | None,
    at_ms: int | None,
) -> Needed:
    item = marked.plan.item
    vocabulary = marked.plan.session.scenario.vocabulary
    if what == "setting":
        label = vocabulary.settings[name].label
    elif what == "dose":
        label = say(DOSE_PARTS[name])
    else:
        label = vocabulary.observations[name].label
    blocks = item.importance == "essential" and what != "value said"
    words = say("needed", title=item.title, label=label)
    return Needed(item.id, item.title, what, name, event_id, at_ms, blocks, words)


def _slips(plan: Plan) -> Iterator[Needed]:
    performances = {done.seq: done for done in plan.session.record.performances}
    for seq, part in open_slips(plan):
        done = performances[seq]
        label = plan.session.scenario.vocabulary.actions[done.action].label
        words = say("needed_slip", label=label, tenfold=part.tenfold)
        yield Needed(None, label, "given so", part.name, done.event_id, done.start_ms, False, words)
