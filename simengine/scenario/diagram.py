"""The states of a scenario as a picture (SVG) and as Mermaid text.

Rules of this file:

- Everything is drawn from the transitions themselves; nothing is placed by hand.
- What a way out waits for stands in the box of its state, numbered as the arrow is, so that no
  label lies on a line and the picture can be read without following one.
- Nothing is told by colour alone: an arrow that needs only time is dashed, a state that ends has
  a double frame, a trend is a word.
- No text is below 12 px. The caution of the vocabulary and the protocol stand under the picture,
  since it shows pressures and times.
"""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass
from html import escape
from typing import Literal

from simengine.font_metrics import wrapped
from simengine.quantities import format_duration
from simengine.quantities.formatting import gestation, weight
from simengine.resources import fonts_dir
from simengine.scenario.layered import Arrow, Layout, Point, layered
from simengine.scenario.model import Scenario, State, Transition
from simengine.scenario.words import state_words, transition_words

INK = "#1B2733"
SOFT = "#55626D"
LINE = "#DAD6CB"
GROUND = "#FBFAF6"
CARD = "#FFFFFF"
FAMILY = "'Simengine Sans', Inter, 'DejaVu Sans', Arial, sans-serif"

LEFT = 240.0
RIGHT = 350.0
ALONE = 260.0
PAD = 14.0
BADGE = 9.5
FRAME = 4.0
INDENT = 2 * BADGE + 8
MARGIN = 36.0
GAP = 34.0
LAYER_GAP = 60.0
Style = Literal["regular", "bold"]
# Where the shipped typeface is missing another, wider one may be drawn: leave it room.
SLACK = 0.94


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    x: float
    y: float
    size: float
    style: Style = "regular"
    colour: str = INK


@dataclass(frozen=True, slots=True)
class _Box:
    """A state before it has a place.

    On the left what it is and shows, on the right its numbered ways out. ``badges``: (number,
    height) of each; ``rules``: heights of the lines between them.
    """

    lines: tuple[_Line, ...]
    badges: tuple[tuple[int, float], ...]
    rules: tuple[float, ...]
    width: float
    height: float
    ends: bool


def svg(scenario: Scenario) -> str:
    """Draw the states of a scenario as one SVG document."""
    boxes = {name: _box(state, scenario) for name, state in scenario.states.items()}
    numbers = _numbers(scenario)
    arrows = [
        Arrow(numbers[name, transition.index], name, transition.to)
        for name, state in scenario.states.items()
        for transition in state.next
    ]
    layout = layered(
        {name: (box.width, box.height) for name, box in boxes.items()},
        arrows,
        scenario.start.state,
        gap=GAP,
        layer_gap=LAYER_GAP,
    )
    width = max(layout.width + 2 * MARGIN, 640.0)
    head, top = _heading(scenario, width)
    foot, bottom = _footing(scenario, width, top + layout.height + 40)
    inner_left = (width - layout.width) / 2
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{bottom:.0f}" '
        f'viewBox="0 0 {width:.0f} {bottom:.0f}" role="img" aria-labelledby="title words" '
        f'font-family="{escape(FAMILY)}">',
        f'<title id="title">States of {escape(scenario.title)}</title>',
        f'<desc id="words">{escape(_description(scenario))}</desc>',
        f"<style>{_typeface()}</style>",
        '<defs><marker id="tip" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="9" '
        'markerHeight="9" markerUnits="userSpaceOnUse" orient="auto">'
        f'<path d="M0 0.5 L10 5 L0 9.5 z" fill="{INK}"/></marker></defs>',
        f'<rect width="100%" height="100%" fill="{GROUND}"/>',
        *head,
        f'<g transform="translate({inner_left:.1f} {top:.1f})">',
        *_arrows(scenario, boxes, layout, arrows),
        *(piece for name in scenario.states for piece in _drawn(boxes[name], layout.boxes[name])),
        *_start(layout.boxes[scenario.start.state], boxes[scenario.start.state]),
        "</g>",
        *foot,
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def as_image(scenario: Scenario) -> str:
    """Return the picture as an HTML image, whose style and names stay its own."""
    data = b64encode(svg(scenario).encode()).decode()
    words = escape(f"States of {scenario.title}. {_description(scenario)}")
    return f'<img alt="{words}" src="data:image/svg+xml;base64,{data}" style="max-width:100%">'


def _typeface() -> str:
    """The shipped typeface inside the picture, so that it looks the same everywhere."""
    faces = []
    for style, boldness in (("Regular", 400), ("Bold", 600)):
        data = b64encode((fonts_dir() / f"SimengineSans-{style}.woff2").read_bytes()).decode()
        faces.append(
            f"@font-face{{font-family:'Simengine Sans';font-weight:{boldness};"
            f"src:url(data:font/woff2;base64,{data}) format('woff2')}}"
        )
    return "".join(faces)


def mermaid(scenario: Scenario) -> str:
    """Tell the states of a scenario as Mermaid text (a state diagram)."""
    names = {name: f"s_{name.replace('-', '_')}" for name in scenario.states}
    if len(set(names.values())) < len(names):
        names = {name: f"s{number}" for number, name in enumerate(scenario.states)}
    lines = ["stateDiagram-v2", "    direction TB"]
    for name, state in scenario.states.items():
        trend = f", {state.trend}" if state.trend is not None else ""
        lines.append(f'    state "{_mermaid_text(state.title + trend)}" as {names[name]}')
    lines.append(f"    [*] --> {names[scenario.start.state]}")
    for name, state in scenario.states.items():
        for transition in state.next:
            label = _mermaid_text(transition_words(transition, scenario.vocabulary))
            lines.append(f"    {names[name]} --> {names[transition.to]} : {label}")
        if state.ends:
            lines.append(f"    {names[name]} --> [*]")
    return "\n".join(lines) + "\n"


def _mermaid_text(text: str) -> str:
    """Write the characters that mean something to Mermaid as their codes."""
    return "".join(f"#{ord(letter)};" if letter in '#;:"<>{}' else letter for letter in text)


def _numbers(scenario: Scenario) -> dict[tuple[str, int], int]:
    """Number the transitions of all states through: 1, 2, 3 …"""
    return {
        (name, transition.index): number
        for number, (name, transition) in enumerate(
            (
                (name, transition)
                for name, state in scenario.states.items()
                for transition in state.next
            ),
            1,
        )
    }


def _box(state: State, scenario: Scenario) -> _Box:
    width = LEFT if state.next else ALONE
    lines: list[_Line] = []
    y = PAD

    def put(
        text: str, size: float, style: Style = "regular", colour: str = INK, x: float = PAD
    ) -> None:
        nonlocal y
        for line in wrapped(_kept_together(text), width * SLACK, size, bold=style == "bold"):
            y += size * 1.28
            lines.append(_Line(line, x, y - size * 0.28, size, style, colour))

    put(state.title, 16, "bold")
    notes: list[str] = [state.trend] if state.trend is not None else []
    if state.ends:
        linger = f" after {format_duration(state.linger_ms)}" if state.linger_ms else ""
        notes.append(f"the session closes{linger}")
    if notes:
        put(", ".join(notes), 13, colour=SOFT)
    y += 4
    for shown in state_words(state, scenario.vocabulary):
        put(shown, 12.5)
    height = y + PAD
    badges: list[tuple[int, float]] = []
    rules: list[float] = []
    numbers = _numbers(scenario)
    y, width = PAD, RIGHT - INDENT
    for transition in state.next:
        if badges:
            y += 6
            rules.append(y)
            y += 6
        badges.append((numbers[state.name, transition.index], y + BADGE))
        x = LEFT + 2 * PAD + INDENT
        put(scenario.states[transition.to].title, 13, "bold", x=x)
        guard = transition_words(transition, scenario.vocabulary)
        if transition.words and transition.words != guard:
            put(transition.words, 12.5, x=x)
        put(guard, 12.5, colour=SOFT if transition.words else INK, x=x)
    whole = LEFT + RIGHT + 3 * PAD if state.next else ALONE + 2 * PAD
    return _Box(tuple(lines), tuple(badges), tuple(rules), whole, max(height, y + PAD), state.ends)


def _kept_together(text: str) -> str:
    """Keep a number on one line with its unit."""
    return re.sub(r"(?<=\d) (?=[%/]|[A-Za-z]+\b)", "\u00a0", text)


def _drawn(box: _Box, corner: Point) -> list[str]:
    x, y = corner
    frame = (
        f'<rect x="{{:g}}" y="{{:g}}" width="{{:g}}" height="{{:.1f}}" rx="8" fill="{CARD}" '
        f'stroke="{INK}" stroke-width="1.3"/>'
    )
    parts = [f'<g transform="translate({x:.1f} {y:.1f})">']
    if box.ends:
        parts.append(frame.format(-FRAME, -FRAME, box.width + 2 * FRAME, box.height + 2 * FRAME))
    parts.append(frame.format(0, 0, box.width, box.height))
    left = LEFT + 2 * PAD
    if box.badges:
        parts.append(
            f'<line x1="{LEFT + 1.5 * PAD}" x2="{LEFT + 1.5 * PAD}" y1="{PAD}" '
            f'y2="{box.height - PAD:.1f}" stroke="{LINE}"/>'
        )
    parts += [
        f'<line x1="{left}" x2="{left + RIGHT}" y1="{at:.1f}" y2="{at:.1f}" stroke="{LINE}"/>'
        for at in box.rules
    ]
    parts += [_text(line) for line in box.lines]
    parts += [_badge(number, left + BADGE, at) for number, at in box.badges]
    parts.append("</g>")
    return parts


def _text(line: _Line) -> str:
    weight = ' font-weight="600"' if line.style == "bold" else ""
    return (
        f'<text x="{line.x:.1f}" y="{line.y:.1f}" font-size="{line.size:g}"{weight} '
        f'fill="{line.colour}">{escape(line.text)}</text>'
    )


def _badge(number: int, x: float, y: float) -> str:
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{BADGE}" fill="{CARD}" stroke="{INK}"/>'
        f'<text x="{x:.1f}" y="{y + 4.3:.1f}" font-size="12" font-weight="600" '
        f'text-anchor="middle" fill="{INK}">{number}</text>'
    )


def _start(corner: Point, box: _Box) -> list[str]:
    x, y = corner[0] + box.width / 2, corner[1]
    return [
        f'<circle cx="{x:.1f}" cy="{y - 30:.1f}" r="6" fill="{INK}"/>',
        f'<path d="M{x:.1f} {y - 24:.1f} L{x:.1f} {y - 1:.1f}" fill="none" stroke="{INK}" '
        'stroke-width="1.4" marker-end="url(#tip)"/>',
    ]


def _arrows(
    scenario: Scenario, boxes: dict[str, _Box], layout: Layout, arrows: list[Arrow]
) -> list[str]:
    """Draw the arrows: from ports along a box's bottom (or top, for those that lead up)."""
    by_number = {
        number: scenario.states[name].next[index]
        for (name, index), number in _numbers(scenario).items()
    }
    leaving, arriving = _ports(layout, arrows, boxes)
    parts = []
    for arrow in arrows:
        dashed = _needs_time_alone(by_number[arrow.name])
        if arrow.start == arrow.end:
            points = _loop(layout.boxes[arrow.start], boxes[arrow.start])
        else:
            points = [leaving[arrow.name], *layout.routes[arrow.name], arriving[arrow.name]]
        parts.append(_path(points, dashed=dashed))
    for arrow in arrows:
        if arrow.start == arrow.end:
            x, y = layout.boxes[arrow.start]
            parts.append(
                _badge(
                    arrow.name, x + boxes[arrow.start].width + 22, y + boxes[arrow.start].height / 2
                )
            )
        else:
            x, y = leaving[arrow.name]
            step = -BADGE - 1 if arrow.name in layout.upward else BADGE + 1
            parts.append(_badge(arrow.name, x, y + step))
    return parts


def _needs_time_alone(transition: Transition) -> bool:
    return transition.when is None and transition.on is None


def _ports(
    layout: Layout, arrows: list[Arrow], boxes: dict[str, _Box]
) -> tuple[dict[int, Point], dict[int, Point]]:
    """Give each arrow its place on both boxes, in the order in which it comes and goes."""
    leaving: dict[int, Point] = {}
    arriving: dict[int, Point] = {}
    sides: dict[tuple[str, str], list[tuple[float, int, bool]]] = {}
    for arrow in arrows:
        if arrow.start == arrow.end:
            continue
        route = layout.routes[arrow.name]
        up = arrow.name in layout.upward
        after = route[0][0] if route else layout.boxes[arrow.end][0] + boxes[arrow.end].width / 2
        before = (
            route[-1][0] if route else layout.boxes[arrow.start][0] + boxes[arrow.start].width / 2
        )
        sides.setdefault((arrow.start, "top" if up else "bottom"), []).append(
            (after, arrow.name, True)
        )
        sides.setdefault((arrow.end, "bottom" if up else "top"), []).append(
            (before, arrow.name, False)
        )
    for (name, side), ends in sides.items():
        x, y = layout.boxes[name]
        box = boxes[name]
        edge = FRAME if box.ends else 0.0
        y = y - edge if side == "top" else y + box.height + edge
        spread = min(90.0, (box.width - 2 * PAD) / len(ends))
        middle = x + box.width / 2
        for place, (_, number, out) in enumerate(sorted(ends)):
            at = (middle + (place - (len(ends) - 1) / 2) * spread, y)
            (leaving if out else arriving)[number] = at
    return leaving, arriving


def _loop(corner: Point, box: _Box) -> list[Point]:
    x, y = corner[0] + box.width, corner[1] + box.height / 2
    return [(x, y + 14), (x + 22, y + 14), (x + 22, y - 14), (x, y - 14)]


def _path(points: list[Point], *, dashed: bool) -> str:
    """A smooth line through points, upright at each of them."""
    x, y = points[0]
    steps = [f"M{x:.1f} {y:.1f}"]
    for to_x, to_y in points[1:]:
        bend = (to_y - y) / 2
        if abs(to_x - x) < 0.05:
            steps.append(f"L{to_x:.1f} {to_y:.1f}")
        else:
            steps.append(
                f"C{x:.1f} {y + bend:.1f} {to_x:.1f} {to_y - bend:.1f} {to_x:.1f} {to_y:.1f}"
            )
        x, y = to_x, to_y
    dash = ' stroke-dasharray="5 4"' if dashed else ""
    return (
        f'<path d="{" ".join(steps)}" fill="none" stroke="{INK}" stroke-width="1.4"{dash} '
        'marker-end="url(#tip)"/>'
    )


def _heading(scenario: Scenario, width: float) -> tuple[list[str], float]:
    """Return the heading and where the picture begins."""
    inner = (width - 2 * MARGIN) * SLACK
    y = MARGIN
    parts: list[str] = []
    for line in wrapped(scenario.title, inner, 22, bold=True):
        y += 22
        parts.append(_text(_Line(line, MARGIN, y, 22, "bold")))
        y += 6
    infant = scenario.infant
    clock = scenario.start.clock
    subtitle = (
        f"Version {scenario.version}. Baby of {gestation(infant.gestation_days)}, "
        f"{weight(infant.weight_g)}."
        + (f" The clock starts at “{clock.replace('_', ' ')}”." if clock is not None else "")
    )
    for line in wrapped(subtitle, inner, 13):
        y += 18
        parts.append(_text(_Line(line, MARGIN, y, 13, colour=SOFT)))
    return parts, y + 62


def _footing(scenario: Scenario, width: float, y: float) -> tuple[list[str], float]:
    """Return what stands under the picture and where the page ends."""
    protocol = scenario.protocol
    signed = "signed" if protocol.signed_by is not None else "unsigned"
    notes = [
        "Solid arrow: something has to happen. Dashed: time alone. Double frame: the session "
        "closes. A curve is 95 % of the way to its target after the time given.",
        f"Protocol: {protocol.title}, edition {protocol.edition}, {signed}."
        + (f" Superseded by: {protocol.superseded_by}." if protocol.superseded_by else ""),
        scenario.vocabulary.caution,
    ]
    parts = []
    for text in notes:
        for line in wrapped(text, (width - 2 * MARGIN) * SLACK, 13):
            parts.append(_text(_Line(line, MARGIN, y, 13, colour=SOFT)))
            y += 18
        y += 4
    return parts, y + MARGIN - 18


def _description(scenario: Scenario) -> str:
    """The picture in words, for who can't see it."""
    numbers = _numbers(scenario)
    sentences = []
    for name, state in scenario.states.items():
        ways = "; ".join(
            f"{numbers[name, transition.index]}: to {scenario.states[transition.to].title}, "
            f"{transition_words(transition, scenario.vocabulary)}"
            for transition in state.next
        )
        sentences.append(f"{state.title}: {ways or 'the session closes'}.")
    return " ".join(sentences)
