"""Write a set-up pack: the only part of it that touches files."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from simengine.scenario.model import Scenario


def write_setup_pack(
    scenario: Scenario, folder: Path, *, day: date, folders: Sequence[Path] = ()
) -> Path:
    """Write ``brief-ID.pdf`` into ``folder`` and return its path.

    ``day``: printed as the day on which it was made. ``folders``: where the hospital's own
    ``setup_pack/`` may be. Raises ``InputError`` for its texts, ``OSError`` for the folder.
    """
    # Typst and the typeface wait until there is something to write.
    from simengine.report.pdf import render_pdf
    from simengine.scenario.diagram import svg
    from simengine.setup_pack.build_pack import setup_pack
    from simengine.setup_pack.contents import load_contents
    from simengine.setup_pack.pack_page import report_of

    contents = load_contents(scenario, folders)
    pack = setup_pack(scenario, contents, day=(day.year, day.month, day.day))
    drawn = {pack.diagram.picture: svg(scenario).encode("utf-8")}
    pdf = render_pdf(report_of(pack), drawn)
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"brief-{scenario.id}.pdf"
    file.write_bytes(pdf)
    return file
