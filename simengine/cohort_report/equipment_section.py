"""Equipment: planted faults found and missed, real ones met, and what became of them."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from simengine.cohort.equipment_faults import PlantedFault, planted_faults, real_faults
from simengine.cohort.records import Threat
from simengine.cohort_report.cohort_page import Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import median, of
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.rows import Row, draw_rows
from simengine.quantities.formatting import count, day
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
    shown = [fault for fault in planted if not fault.found.few]
    if shown:
        lead.append(
            say(
                "kit_chapter_planted_faults_one",
                title=shown[0].title,
                found=of(shown[0].found, words=say("kit_chapter_interval")),
            )
        )
        perhaps = sum(fault.found.low <= shown[0].found.high for fault in shown[1:])
        if perhaps:
            lead.append(say("kit_chapter_could_be", others=count(perhaps, "other fault")))
        picture, figures["faults"] = _planted(shown)
        pictures = (picture,)
    elif planted:
        lead.append(say("kit_chapter_planted_faults_too"))
    else:
        lead.append(say("kit_chapter_no_faults_were"))
    real = real_faults(material.learning)
    if real:
        tables.append(
            Table(
                say("kit_chapter_real_faults_missing"),
                (
                    say("kit_chapter_day"),
                    say("kit_chapter_what"),
                    say("kit_chapter_unit"),
                    say("kit_chapter_scenario"),
                ),
                tuple(
                    (
                        day(threat.day),
                        _sentence(threat.title),
                        threat.unit or "–",
                        threat.scenario_title,
                    )
                    for threat in real[:LATEST]
                ),
                note=say("kit_chapter_note", real=len(real) - LATEST) if len(real) > LATEST else "",
            )
        )
    if material.threats:
        tables.append(_threats(material))
    return (
        Chapter(say("kit_chapter_equipment"), tuple(lead), pictures=pictures, tables=tuple(tables)),
        figures,
    )


def _planted(shown: Sequence[PlantedFault]) -> tuple[Picture, Figure]:
    rows = [
        Row(
            f"{fault.title} ({fault.scenario_title})",
            100 * fault.found.share,
            100 * fault.found.low,
            100 * fault.found.high,
            say("planted_of", count=fault.found.count, of=fault.found.of),
        )
        for fault in shown
    ]
    medians = "; ".join(
        say(
            "planted_median_time_find",
            title=fault.title,
            found=of(fault.found, words=""),
            until_found=median(fault.until_found),
        )
        for fault in shown
    )
    picture = Picture(
        "faults",
        say("planted_faults_how"),
        (say("planted_fault_put_right"),),
        say("planted_share_sessions_which", said=medians),
    )
    return picture, draw_rows(rows, (0, 25, 50, 75, 100), say("planted_found"), beside="sessions")


def _threats(material: Material) -> Table:
    """Return the latent safety threats: open ones first, the overdue before them."""

    def urgency(threat: Threat) -> tuple[bool, str, str]:
        due = threat.due.isoformat() if threat.due else "9999"
        return (threat.closed is not None, due, threat.id)

    open_ = [threat for threat in material.threats if threat.closed is None]
    late = [threat for threat in open_ if threat.due is not None and threat.due < material.today]
    nobody = sum(not threat.owner for threat in open_)
    rows = tuple(
        (
            threat.words,
            threat.category,
            threat.unit or "–",
            threat.owner or say("threats_nobody_yet"),
            _due(threat, material),
        )
        for threat in sorted(material.threats, key=urgency)
    )
    return Table(
        say("threats_latent_safety_threats"),
        (
            say("kit_chapter_what"),
            say("threats_category"),
            say("kit_chapter_unit"),
            say("threats_owner"),
            say("threats_due"),
        ),
        rows,
        lead=(
            say(
                "threats_lead",
                threats=count(len(material.threats), "threat"),
                open=len(open_),
                late=len(late),
                nobody=nobody,
            )
        ),
    )


def _due(threat: Threat, material: Material) -> str:
    if threat.closed is not None:
        return say("due_closed", closed=day(threat.closed)) + (
            f": {threat.closing}" if threat.closing else ""
        )
    if threat.due is None:
        return say("due_open_no_due")
    return (
        say("due_overdue", due=day(threat.due)) if threat.due < material.today else day(threat.due)
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
