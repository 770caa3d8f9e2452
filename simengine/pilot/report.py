"""Write a pilot's report into a folder: a web page; beside it its record, and its plots as PNG."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from matplotlib.figure import Figure

from simengine.people.pilots import record_of, write_record
from simengine.pilot.findings import Findings
from simengine.pilot.pilot_page import PilotPage, pilot_page, report_of
from simengine.pilot.plots import draw_items, draw_key_times, draw_lengths, draw_totals, png, svg
from simengine.pilot.skills import Skills
from simengine.report.html import render_html
from simengine.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class PilotFiles:
    """Where a report was written."""

    html: Path
    record: Path
    plots: tuple[Path, ...]


def figures(scenario: Scenario, page: PilotPage, found: Findings) -> dict[str, Figure]:
    """Return the plots that a page shows, by the names that it calls them."""
    drawn = {
        "totals": draw_totals(found, scenario.scoring.pass_mark),
        "lengths": draw_lengths(found),
        "items": draw_items(found),
    }
    if page.times is not None:
        drawn["times"] = draw_key_times(found)
    return drawn


def render(page: PilotPage, drawn: dict[str, Figure]) -> str:
    """Return the web page: one file, with everything inside it."""
    return render_html(report_of(page), {name: svg(figure) for name, figure in drawn.items()})


def write_pilot(scenario: Scenario, skills: Skills, found: Findings, folder: Path) -> PilotFiles:
    """Write ``pilot-ID.html``, its record and its plots. Raises ``OSError`` where it can't."""
    page = pilot_page(scenario, skills, found)
    drawn = figures(scenario, page, found)
    folder.mkdir(parents=True, exist_ok=True)
    html = folder / f"pilot-{scenario.id}.html"
    html.write_text(render(page, drawn), encoding="utf-8", newline="\n")
    plots = []
    for name, figure in drawn.items():
        plots.append(folder / f"pilot-{scenario.id}-{name}.png")
        plots[-1].write_bytes(png(figure))
    record = write_record(html, record_of(scenario, runs=found.runs, seed=found.seed))
    return PilotFiles(html, record, tuple(plots))
