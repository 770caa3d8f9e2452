"""Draw the architecture from the imports: `python docs/draw_architecture.py` writes it anew.

Rules of this file:

- A box is a part of the package, in the order of the layers that import-linter holds, the shell at
  the top. Its words are the first line of its docstring.
- A line leads from a part down to one that it imports. What follows from other lines is left out,
  so that the picture shows by which way each part comes to what it needs.
- The same imports make the same picture byte for byte; a test compares.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Mapping
from html import escape
from pathlib import Path

import grimp

ROOT = Path(__file__).parents[1]
PICTURE = Path(__file__).with_suffix(".svg").with_name("architecture.svg")
PACKAGE = "simengine"
ROW, BOX, LEFT, WIDTH, MARGIN = 34, 120, 170, 920, 16
INK, GROUND, FILL = "#1d2a33", "#ffffff", "#eef2f5"


def parts() -> list[str]:
    """Return the parts in the order of the layers, the shell first."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    (layers,) = (
        contract["layers"]
        for contract in settings["tool"]["importlinter"]["contracts"]
        if contract["type"] == "layers"
    )
    return [name.strip() for layer in layers for name in re.split("[:|]", layer)]


def imports(names: list[str]) -> dict[str, set[str]]:
    """Return, for each part, the other parts that a module of it imports."""
    graph = grimp.build_graph(PACKAGE)
    out: dict[str, set[str]] = {name: set() for name in names}
    for module in graph.modules:
        part = _part_of(module)
        for imported in graph.find_modules_directly_imported_by(module):
            other = _part_of(imported)
            if part in out and other in out and other != part:
                out[part].add(other)
    return out


def reduced(edges: Mapping[str, set[str]]) -> list[tuple[str, str]]:
    """Return the edges that do not follow from others."""

    def reached(start: str) -> set[str]:
        out: set[str] = set()
        waiting = [start]
        while waiting:
            for name in edges[waiting.pop()] - out:
                out.add(name)
                waiting.append(name)
        return out

    below = {name: reached(name) for name in edges}
    return [
        (name, other)
        for name in edges
        for other in sorted(edges[name])
        if not any(other in below[between] for between in edges[name] - {other})
    ]


def words(name: str) -> str:
    """Return the first sentence of a part's docstring."""
    file = ROOT / PACKAGE / name
    file = file / "__init__.py" if file.is_dir() else file.with_suffix(".py")
    text = ast.get_docstring(ast.parse(file.read_text("utf-8"))) or ""
    return text.split("\n")[0].split(". ")[0].rstrip(".").replace("`", "")


def svg() -> str:
    """Return the picture."""
    names = parts()
    middle = {name: MARGIN + ROW * number + ROW // 2 for number, name in enumerate(names)}
    lines = reduced(imports(names))
    height = 2 * MARGIN + ROW * len(names)
    sentences = "; ".join(f"{name} imports {other}" for name, other in lines)
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        'aria-labelledby="title words" font-family="sans-serif" font-size="12">',
        '<title id="title">The parts of the program and what each imports, the shell first</title>',
        f'<desc id="words">{escape(sentences)}.</desc>',
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="7" '
        f'markerHeight="7" orient="auto"><path d="M0 0 8 4 0 8z" fill="{INK}"/></marker></defs>',
        f'<rect width="{WIDTH}" height="{height}" fill="{GROUND}"/>',
    ]
    for place, (name, other) in enumerate(lines):
        start, end = middle[name] + 5, middle[other] - 5
        out = LEFT - 14 - (end - start) / 3.4 - 3 * (place % 3)
        pieces.append(
            f'<path d="M{LEFT} {start} C{out:.0f} {start} {out:.0f} {end} {LEFT - 1} {end}" '
            f'fill="none" stroke="{INK}" stroke-opacity=".7" marker-end="url(#tip)"/>'
        )
    for name in names:
        y = middle[name]
        pieces.append(
            f'<rect x="{LEFT}" y="{y - 12}" width="{BOX}" height="24" rx="3" fill="{FILL}" '
            f'stroke="{INK}"/><text x="{LEFT + BOX / 2:g}" y="{y + 4}" text-anchor="middle" '
            f'fill="{INK}">{escape(name)}</text>'
            f'<text x="{LEFT + BOX + 14}" y="{y + 4}" fill="{INK}">{escape(words(name))}</text>'
        )
    return "\n".join([*pieces, "</svg>", ""])


def _part_of(module: str) -> str:
    return module.partition(".")[2].partition(".")[0]


if __name__ == "__main__":
    PICTURE.write_text(svg(), encoding="utf-8")
