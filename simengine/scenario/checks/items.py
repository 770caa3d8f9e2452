"""Key items that can never apply, never be met, or never tell teams apart.

Rules of this file:

- What can't be right about an item of one kind its kind says (``Item.check``).
- All are warnings: what can't be scored leaves both sums and harms none, and a facilitator's hand
  or another protocol may bring it about.
- A window that closes before its ``ideal`` leaves nothing to be missed.
- All is judged by the longest that stays can last; see ``reach`` for what is left out.
"""

from __future__ import annotations

from simengine.scenario.checks.item_at import ItemAt, time_words
from simengine.scenario.checks.reach import Reach
from simengine.scenario.checks.windows import check_window
from simengine.scenario.key import AskedKnowledge, Windowed
from simengine.scenario.read_scenario import Read
from simengine.scenario.wanted import AsShown


def check_items(read: Read, reach: Reach) -> None:
    """Note what is wrong with the items of the key."""
    for item, place in read.key_places:
        during = place.get("during")
        named = [name for name in item.during if name not in reach.known]
        states = (set(item.during) or reach.known.keys()) & reach.known.keys()
        item_at = ItemAt(place, reach, states)
        if named and not states:
            names = ", ".join(f"'{name}'" for name in named)
            item_at.never(during, "a state that can be entered", f"{names}, which can't be")
            continue
        if isinstance(item, Windowed):
            _knowledge(item_at, item)
            _gauges(item_at, item)
            if item.anchor is not None:
                check_window(item_at, item, item.anchor)
        item.check(item_at)


def _knowledge(item_at: ItemAt, item: Windowed) -> None:
    """An ``ideal`` by which no reading can be there."""
    subject, ideal = item.asked, item_at.at.get("ideal")
    if not isinstance(subject, AskedKnowledge) or ideal is None:
        return
    revealed_by = item_at.reach.scenario.vocabulary.observations[subject.observation].revealed_by
    quickest = min((by.delay_ms for by in revealed_by), default=0)
    if item.ideal_ms < quickest:
        ideal.say(
            f"at least the {time_words(quickest)} that the quickest reading of "
            f"'{subject.observation}' takes",
            "ideal-before-reading",
            level="warning",
            hint="only a team that looked before is in time",
        )


def _gauges(item_at: ItemAt, item: Windowed) -> None:
    """Note a gauge that shows nothing: nobody follows what is in its supply."""
    settings = item_at.at.get("settings")
    for name, wanted in item.settings.items():
        if (
            settings is not None
            and isinstance(wanted, AsShown)
            and wanted.supply not in item_at.reach.scenario.start.supplies
        ):
            settings.key(name).say(
                f"a supply that the scenario starts with ('{wanted.supply}' is none)",
                "never-shown",
                found="",
                level="warning",
            )
