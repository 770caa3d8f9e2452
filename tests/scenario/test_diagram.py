"""The picture of the states: complete, without overlaps, readable, the same each time."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simengine.font_metrics import width as text_width
from simengine.font_metrics import wrapped
from simengine.resources import scenarios_dir
from simengine.scenario import load_scenario
from simengine.scenario.diagram import mermaid, svg
from simengine.scenario.layered import Arrow, layered
from simengine.scenario.model import Scenario

SVG = "{http://www.w3.org/2000/svg}"
FILES = [
    Path(__file__).parents[1] / "scenarios" / "valid" / "small.yaml",
    *sorted(scenarios_dir().glob("*.yaml")),
]


@pytest.fixture(scope="module", params=FILES, ids=lambda path: path.stem)
def scenario(request: pytest.FixtureRequest) -> Scenario:
    return load_scenario(request.param)


def test_every_state_and_way_out_is_drawn(scenario: Scenario) -> None:
    drawn = ElementTree.fromstring(svg(scenario))
    texts = [element.text or "" for element in drawn.iter(f"{SVG}text")]
    count = sum(len(state.next) for state in scenario.states.values())
    for number in range(1, count + 1):
        assert texts.count(str(number)) == 2, "once in the box and once on the arrow"
    arrows = [path for path in drawn.iter(f"{SVG}path") if path.get("marker-end")]
    assert len(arrows) == count + 1
    joined = " ".join(texts).replace("\u00a0", " ")
    for state in scenario.states.values():
        assert state.title in joined
    assert scenario.vocabulary.caution.split(".")[0] in joined
    assert scenario.protocol.title in joined


def test_a_dashed_arrow_is_time_alone(scenario: Scenario) -> None:
    drawn = ElementTree.fromstring(svg(scenario))
    dashed = [path for path in drawn.iter(f"{SVG}path") if path.get("stroke-dasharray")]
    alone = [
        transition
        for state in scenario.states.values()
        for transition in state.next
        if transition.when is None and transition.on is None
    ]
    assert len(dashed) == len(alone)


def test_no_text_is_small_and_none_leaves_the_picture(scenario: Scenario) -> None:
    drawn = ElementTree.fromstring(svg(scenario))
    width = float(drawn.get("width", 0))
    for element in drawn.iter(f"{SVG}text"):
        size = float(element.get("font-size", 0))
        assert size >= 12
        assert text_width(element.text or "", size, bold=True) < width


def test_the_picture_says_in_words_what_it_shows(scenario: Scenario) -> None:
    drawn = ElementTree.fromstring(svg(scenario))
    words = drawn.find(f"{SVG}desc")
    assert words is not None
    assert words.text is not None
    for state in scenario.states.values():
        assert f"{state.title}: " in words.text
    assert drawn.get("role") == "img"


def test_the_same_scenario_gives_the_same_picture(scenario: Scenario) -> None:
    assert svg(scenario) == svg(scenario)


def test_hostile_titles_stay_text(tmp_path: Path) -> None:
    text = FILES[0].read_text(encoding="utf-8")
    bad = """'</text><script>alert(1)</script> "x" & ]]>; #1: {y}'"""
    file = tmp_path / "bad.yaml"
    file.write_text(text.replace("title: Limp", f"title: {bad}"), encoding="utf-8")
    scenario = load_scenario(file, search=[FILES[0].parent])
    drawn = ElementTree.fromstring(svg(scenario))
    assert list(drawn.iter(f"{SVG}script")) == []
    line = next(line for line in mermaid(scenario).splitlines() if " as s_limp" in line)
    quoted = re.fullmatch(r'    state "([^"]*)" as s_limp', line)
    assert quoted is not None
    assert not set(re.sub(r"#\d+;", "", quoted[1])) & set('<>";#:{}')


def test_mermaid_has_a_line_for_each_transition(scenario: Scenario) -> None:
    lines = mermaid(scenario).splitlines()
    assert lines[0] == "stateDiagram-v2"
    matches = [re.fullmatch(r"    (\w+) --> (\w+) : ([^:]+)", line) for line in lines]
    expected = [
        # a complication's copy of a state has a dash in its name, which the language does not take
        (f"s_{name}".replace("-", "_"), f"s_{transition.to}".replace("-", "_"))
        for name, state in scenario.states.items()
        for transition in state.next
    ]
    assert [(match[1], match[2]) for match in matches if match] == expected
    assert f"    [*] --> s_{scenario.start.state}" in lines
    for name, state in scenario.states.items():
        ended = f"    s_{name} --> [*]".replace(" s_" + name, " s_" + name.replace("-", "_"))
        assert (ended in lines) is state.ends


@st.composite
def graphs(draw: st.DrawFn) -> tuple[dict[str, tuple[float, float]], list[Arrow]]:
    count = draw(st.integers(min_value=1, max_value=9))
    names = [f"n{number}" for number in range(count)]
    size = st.tuples(st.integers(20, 300), st.integers(20, 200))
    sizes = {name: (float(w), float(h)) for name, (w, h) in ((n, draw(size)) for n in names)}
    pairs = draw(st.lists(st.tuples(st.sampled_from(names), st.sampled_from(names)), max_size=18))
    return sizes, [Arrow(number, *pair) for number, pair in enumerate(pairs)]


@given(graphs())
def test_boxes_keep_apart_and_arrows_go_down_unless_they_close_a_circle(
    graph: tuple[dict[str, tuple[float, float]], list[Arrow]],
) -> None:
    sizes, arrows = graph
    layout = layered(sizes, arrows, "n0", gap=20.0, layer_gap=40.0)
    boxes = {name: (*layout.boxes[name], *sizes[name]) for name in sizes}
    for (x, y, w, h), (u, v, a, b) in combinations(boxes.values(), 2):
        assert x + w + 19.9 <= u or u + a + 19.9 <= x or y + h + 39.9 <= v or v + b + 39.9 <= y
    for x, y, w, h in boxes.values():
        assert x >= -1e-6
        assert x + w <= layout.width + 1e-6
        assert y + h <= layout.height + 1e-6
    for arrow in arrows:
        if arrow.start == arrow.end:
            continue
        upward = arrow.name in layout.upward
        assert (layout.boxes[arrow.end][1] < layout.boxes[arrow.start][1]) is upward
        for x, y in layout.routes[arrow.name]:
            for left, top, w, h in boxes.values():
                assert not (left < x < left + w and top < y < top + h), "it crosses a box"
    assert layered(sizes, arrows, "n0", gap=20.0, layer_gap=40.0) == layout


@given(graphs())
def test_only_arrows_that_close_a_circle_are_turned(
    graph: tuple[dict[str, tuple[float, float]], list[Arrow]],
) -> None:
    sizes, arrows = graph
    layout = layered(sizes, arrows, "n0", gap=20.0, layer_gap=40.0)
    for arrow in arrows:
        if arrow.name not in layout.upward or arrow.start == arrow.end:
            continue
        reached, todo = {arrow.end}, [arrow.end]
        while todo:
            here = todo.pop()
            for other in arrows:
                if other.start == here and other.end not in reached:
                    reached.add(other.end)
                    todo.append(other.end)
        assert arrow.start in reached


@given(st.text(alphabet="abc W\u00a0", max_size=80), st.integers(20, 200))
def test_wrapped_lines_fit_and_keep_every_letter(text: str, width: int) -> None:
    lines = wrapped(text, width, 12.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(text_width(line, 12.0) <= max(width, 12.12) for line in lines)
