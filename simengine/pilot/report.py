"""Write a pilot's report into a folder: one web page, and its plots as PNG files beside it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from matplotlib.figure import Figure

from simengine.debrief.html import data_uri, render_template
from simengine.pilot.findings import Findings
from simengine.pilot.page import PilotPage, pilot_page
from simengine.pilot.plots import draw_items, draw_key_times, draw_lengths, draw_totals, png, svg
from simengine.pilot.skills import Skills
from simengine.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class PilotFiles:
    """Where a report was written."""

    html: Path
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
    pictures = {name: data_uri("image/svg+xml", svg(figure)) for name, figure in drawn.items()}
    return render_template("pilot.html.j2", page=page, pictures=pictures)


def write_pilot(scenario: Scenario, skills: Skills, found: Findings, folder: Path) -> PilotFiles:
    """Write ``pilot-ID.html`` and its plots. Raises ``OSError`` if the folder can't be written."""
    page = pilot_page(scenario, skills, found)
    drawn = figures(scenario, page, found)
    folder.mkdir(parents=True, exist_ok=True)
    html = folder / f"pilot-{scenario.id}.html"
    html.write_text(render(page, drawn), encoding="utf-8", newline="\n")
    plots = []
    for name, figure in drawn.items():
        plots.append(folder / f"pilot-{scenario.id}-{name}.png")
        plots[-1].write_bytes(png(figure))
    return PilotFiles(html, tuple(plots))
