"""The picture of the architecture is what the imports are."""

from __future__ import annotations

import re

from docs import draw_architecture as drawing


def test_the_picture_is_drawn_from_the_imports_of_today() -> None:
    kept = drawing.PICTURE.read_text("utf-8")
    assert kept == drawing.svg(), "write it anew: python docs/draw_architecture.py"


def test_lines_lead_down_and_leave_nothing_out() -> None:
    names = drawing.parts()
    edges = drawing.imports(names)
    lines = drawing.reduced(edges)
    assert all(names.index(name) < names.index(other) for name, other in lines)
    assert set(lines) <= {(name, other) for name in edges for other in edges[name]}
    for package, others in edges.items():
        reached = {package}
        for name in names:  # from above to below, as all lines lead
            if name in reached:
                reached |= {other for start, other in lines if start == name}
        assert others <= reached


def test_what_follows_from_other_lines_is_left_out() -> None:
    edges = {"a": {"b", "c"}, "b": {"c"}, "c": set[str]()}
    assert drawing.reduced(edges) == [("a", "b"), ("b", "c")]


def test_every_part_has_its_words() -> None:
    picture = drawing.svg().replace("&#x27;", "'").replace("&amp;", "&")
    for name in drawing.parts():
        assert re.match(r"[A-Z]", drawing.words(name)), name
        assert drawing.words(name) in picture
