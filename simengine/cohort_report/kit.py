"""Equipment: planted faults found and missed, real ones met, and what became of them."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from simengine.cohort.equipment import PlantedFault, planted_faults, real_faults
from simengine.cohort.records import Threat
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Chapter
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.cohort_report.said import median, of
from simengine.quantities.wording import count, day
from simengine.report.blocks import Picture, Table

LATEST = 20
"""Real faults that are listed; older ones are counted."""


def kit_chapter(material: Material) -> tuple[Chapter, dict[str, Figure]]:
    """Return what was found of planted faults, the real ones, and the latent safety threats."""
    planted = planted_faults(material.learning)
    tables = []
    lead = []
    pictures: tuple[Picture, ...] = ()
    figures: dict[str, Figure] = {}
    told = [one for one in planted if not one.found.few]
    if told:
        lead.append(
            f"Planted faults: the one found least often is “{told[0].title}”, "
            f"found in {of(told[0].found)} of its sessions."
        )
        picture, figures["faults"] = _planted(told)
        pictures = (picture,)
    elif planted:
        lead.append("Planted faults: too few sessions to tell which are missed.")
    else:
        lead.append("No faults were planted.")
    real = real_faults(material.learning)
    if real:
        tables.append(
            Table(
                "Real faults and missing kit, met by chance",
                ("Day", "What", "Unit", "Scenario"),
                tuple(
                    (day(one.day), _sentence(one.title), one.unit or "–", one.scenario_title)
                    for one in real[:LATEST]
                ),
                note=f"And {len(real) - LATEST} earlier." if len(real) > LATEST else "",
            )
        )
    if material.threats:
        tables.append(_threats(material))
    return (
        Chapter("Equipment", tuple(lead), pictures=pictures, tables=tuple(tables)),
        figures,
    )


def _planted(told: Sequence[PlantedFault]) -> tuple[Picture, Figure]:
    rows = [
        Row(
            f"{one.title} ({one.scenario_title})",
            100 * one.found.share,
            100 * one.found.low,
            100 * one.found.high,
            f"{one.found.count} of {one.found.of}",
        )
        for one in told
    ]
    said = "; ".join(
        f"{one.title}: {of(one.found)}, median time to find it {median(one.until_found)}"
        for one in told
    )
    picture = Picture(
        "faults",
        "Planted faults: how often they were found",
        (
            "A fault that was put right counts as found. One that nobody found counts as missed, "
            "however long the session was.",
        ),
        f"Share of sessions in which each planted fault was found, with 95 % intervals. {said}.",
    )
    return picture, draw_rows(rows, (0, 25, 50, 75, 100), "found (%)", beside="sessions")


def _threats(material: Material) -> Table:
    """Return the latent safety threats: open ones first, the overdue before them."""

    def urgency(one: Threat) -> tuple[bool, str, str]:
        due = one.due.isoformat() if one.due else "9999"
        return (one.closed is not None, due, one.id)

    open_ = [one for one in material.threats if one.closed is None]
    late = [one for one in open_ if one.due is not None and one.due < material.today]
    nobody = sum(not one.owner for one in open_)
    rows = tuple(
        (one.words, one.category, one.unit or "–", one.owner or "nobody yet", _due(one, material))
        for one in sorted(material.threats, key=urgency)
    )
    return Table(
        "Latent safety threats",
        ("What", "Category", "Unit", "Owner", "Due"),
        rows,
        lead=(
            f"{count(len(material.threats), 'threat')}, {len(open_)} open: {len(late)} past the "
            f"due day, {nobody} without an owner."
        ),
    )


def _due(one: Threat, material: Material) -> str:
    if one.closed is not None:
        return f"closed {day(one.closed)}" + (f": {one.closing}" if one.closing else "")
    if one.due is None:
        return "open, no due day"
    return f"{day(one.due)}, overdue" if one.due < material.today else day(one.due)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
