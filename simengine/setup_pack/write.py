"""Write a set-up pack: the only part of it that touches files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict
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
    from simengine.debrief.pdf import compile_pdf
    from simengine.scenario.diagram import svg
    from simengine.setup_pack.build import setup_pack
    from simengine.setup_pack.contents import load_contents

    contents = load_contents(scenario, folders)
    pack = setup_pack(scenario, contents, day=(day.year, day.month, day.day))
    states = svg(scenario)
    data = {
        "page": asdict(pack),
        "pictures": {pack.diagram.picture: states},
        "sizes": {pack.diagram.picture: size_of(states)},
    }
    pdf = compile_pdf("brief.typ", data)
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / f"brief-{scenario.id}.pdf"
    file.write_bytes(pdf)
    return file


def size_of(svg: str) -> tuple[float, float]:
    """Return width and height in pixels that a drawing of ours states."""
    stated = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    assert stated is not None, "a drawing of ours states its size"
    return float(stated[1]), float(stated[2])
