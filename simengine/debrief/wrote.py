"""What a learner wrote of a session in their own words, for their own debrief.

Rules of this file:

- It is shown beside what the record says and changes nothing of it: no word of it is scored.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from simengine.debrief.debrief_sentences import say
from simengine.report.blocks import Listing
from simengine.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class OtherView:
    """An item (by id) that the learner sees differently, and what was answered."""

    item: str
    words: str
    answer: str = ""


@dataclass(frozen=True, slots=True)
class Wrote:
    """A goal for the session, one thing to take along, and other views; any of them empty."""

    goal: str = ""
    along: str = ""
    views: tuple[OtherView, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON."""
        return asdict(self)


def wrote_from(raw: Mapping[str, Any]) -> Wrote:
    """Return what ``as_json`` gave."""
    views = tuple(OtherView(**view) for view in raw.get("views", ()))
    return Wrote(str(raw.get("goal", "")), str(raw.get("along", "")), views)


def goal_of(wrote: Wrote | None) -> Listing | None:
    """Return the learner's own goal as a part of the page."""
    if wrote is None or not wrote.goal:
        return None
    return Listing(say("goal_title"), "", (wrote.goal,))


def views_of(wrote: Wrote | None, scenario: Scenario) -> Listing | None:
    """Return what the learner sees differently, each with its answer."""
    if wrote is None or not wrote.views:
        return None
    titles = {item.id: item.title for item in (*scenario.key, *scenario.never)}
    lines = tuple(
        say(
            "view_answered" if view.answer else "view",
            item=titles.get(view.item, view.item),
            words=view.words,
            answer=view.answer,
        )
        for view in wrote.views
    )
    return Listing(say("views_title"), say("views_lead"), lines)
