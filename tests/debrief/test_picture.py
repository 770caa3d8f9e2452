"""The picture: nothing overlaps, it repeats, and it shows what the session holds."""

from __future__ import annotations

import re
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_rgb

from simengine.debrief.lanes import overlap, pack, spots
from simengine.debrief.picture.compose import draw
from simengine.debrief.scene import Band, Entry, Row, Scene, Strip
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.words import SIGNS
from simengine.font_metrics import width
from simengine.report import look
from simengine.report.drawing import MARKS, WIDTH, svg
from simengine.report.look import PATHS, sign_svg
from simengine.session.dynamics import curve_at
from tests.amount import examples
from tests.debrief import fixture
from tests.debrief.laid_out import NAMES, laid, picture
from tests.report.text_boxes import text_boxes


@pytest.mark.parametrize("name", NAMES)
def test_no_two_labels_overlap_and_none_leaves_the_picture(name: str) -> None:
    figure = draw(laid(name).scene)
    # measured by the plotting library on the figure as drawn, not by what placed the labels
    boxes = text_boxes(figure)
    assert len(boxes) > 30
    crossed = [(a, b) for (a, box), (b, two) in combinations(boxes, 2) if overlap(box, two)]
    assert crossed == []
    height = figure.get_size_inches()[1] * 72
    for words, (left, bottom, right, top) in boxes:
        assert left >= -0.5, words
        assert right <= WIDTH + 0.5, words
        assert bottom >= -0.5, words
        assert top <= height + 0.5, words


words = st.text(alphabet="abcdefgh WÅy", min_size=1, max_size=60)
seconds = st.floats(0, 600)


@st.composite
def scenes(draw_: st.DrawFn) -> Scene:
    marks = draw_(
        st.lists(st.tuples(seconds, seconds, words, st.booleans()), min_size=1, max_size=25)
    )
    entries = tuple(
        Entry(start, min(start + length, 600.0) if bar else None, SIGNS["late"], text, bar=bar)
        for start, length, text, bar in marks
    )
    edges = sorted({0.0, 600.0, *draw_(st.lists(st.integers(1, 599).map(float), max_size=8))})
    bands = tuple(Band(start, end, draw_(words)) for start, end in pairwise(edges))
    return Scene(
        start=0.0,
        end=600.0,
        zero="birth",
        axis="the clock",
        states=Strip("State", bands),
        strips=(),
        curves=(),
        settings=(),
        unchanged="",
        rows=(Row("A phase", entries),),
        signs=(SIGNS["late"],),
    )


@examples(25)
@given(scenes())
def test_no_two_labels_overlap_whatever_the_session(scene: Scene) -> None:
    boxes = text_boxes(draw(scene))
    crossed = [(a, b) for (a, box), (b, two) in combinations(boxes, 2) if overlap(box, two)]
    assert crossed == []


@given(st.lists(st.tuples(st.floats(0, 400), st.floats(0, 200), words), max_size=30))
def test_lanes_keep_their_gap_and_lose_nobody(marks: list[tuple[float, float, str]]) -> None:
    choices = [
        spots(
            start,
            start,
            start + length,
            text,
            lambda words_: width(words_, 8.0),
            lambda words_, _: words_,
            mark=4.0,
            low=-1e6,
            high=1e6,
        )
        for start, length, text in marks
    ]
    placed = pack(choices, 6.0)
    assert len(placed) == len(marks)
    for (lane, first), (other_lane, two) in combinations(placed, 2):
        if lane == other_lane:
            assert first.right + 6.0 <= two.left or two.right + 6.0 <= first.left


def test_each_verdict_can_be_told_without_colour() -> None:
    drawn = {shape: str(MARKS[shape].vertices) for shape in MARKS}
    kinds = {"disc", "diamond", "triangle down", "triangle up", "triangle right", "square", "cross"}
    assert len({drawn[shape] for shape in kinds if shape in drawn}) == len(kinds)
    # open ones differ from the filled one of the same outline by their fill
    for open_, filled in (("ring", "disc"), ("open square", "square"), ("open diamond", "diamond")):
        assert look.FILLS[open_] == look.CARD  # type: ignore[index]
        assert grey(look.FILLS[filled]) < 0.75  # type: ignore[index]
    assert set(PATHS) == set(MARKS)
    assert len({sign_svg(shape) for shape in PATHS}) == len(PATHS)
    assert len({sign.word for sign in SIGNS.values()}) == len(SIGNS)


def grey(colour: str) -> float:
    """Return relative luminance (WCAG 2.2, from the definition there), 0 black to 1 white."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)

    red, green, blue = (linear(part) for part in to_rgb(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("ground", [look.GROUND, look.CARD, look.WASH])
@pytest.mark.parametrize("ink", [look.INK, look.SOFT, look.ACCENT])
def test_text_stands_out_from_its_ground(ink: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1
    light, dark = grey(ground), grey(ink)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_words_on_lines_of_their_own_colour_stand_out() -> None:
    # WCAG 2.2, 1.4.3, for the words beside settings and targets
    for ink in (look.BLUE, look.ACCENT):
        assert 1.05 / (grey(ink) + 0.05) >= 4.5


@pytest.mark.parametrize("name", NAMES)
def test_the_same_session_gives_the_same_bytes(name: str) -> None:
    assert svg(draw(laid(name).scene)) == picture(name)
    assert b"<dc:date>" not in picture(name)


def test_a_curve_is_solid_only_where_a_sensor_read_it() -> None:
    session = fixture.session()
    scene = scene_of(session, fixture.card(session))
    heart = next(curve for curve in scene.curves if curve.unit == "/min")
    # the oximeter goes on at 1:20; the vocabulary lets it read a minute later
    assert [(piece.known, round(piece.times[0])) for piece in heart.pieces] == [
        (False, 0),
        (True, 140),
    ]
    # two listens, 6 s each by the vocabulary, are two single readings of the curve
    assert [round(time) for time, _ in heart.readings] == [53, 146]
    name = next(
        n for n, o in session.scenario.vocabulary.observations.items() if o.label == heart.label
    )
    for time, value in heart.readings:
        true = curve_at(session.curves[name], fixture.BIRTH_MS + round(1000 * time))
        assert true == pytest.approx(value)


def test_thresholds_and_targets_come_from_the_scenario_and_the_protocol() -> None:
    session = fixture.session()
    scene = scene_of(session, fixture.card(session))
    heart, oxygen = scene.curves[:2]
    sentences = {threshold.words for threshold in heart.thresholds}
    assert any(re.match(r"below 60 /min: .*compressions", text, re.I) for text in sentences)
    assert oxygen.target is not None
    # ERC 2021, acceptable SpO2 (from memory): 65 % from 2 min, 85 % from 5 min, 90 % from 10 min
    assert [(step.start, step.low) for step in oxygen.target.steps] == [
        (120.0, 65.0),
        (300.0, 85.0),
    ]
    assert "edition 2021" in oxygen.target.words
    assert "unsigned" in oxygen.target.words


def test_every_verdict_of_the_card_has_its_mark() -> None:
    session = fixture.session()
    card = fixture.card(session)
    scene = scene_of(session, card)
    signs = {entry.sign.word for row in scene.rows for entry in row.entries}
    signs_due = {
        SIGNS[occasion.verdict].word
        for item in card.items
        for occasion in item.occasions
        if occasion.verdict != "not reached"
    }
    assert signs_due <= signs
    assert "not advised here" in signs
    legend = {sign.word for sign in scene.signs}
    assert signs == legend


def test_a_mark_stands_at_the_time_on_the_teams_clock() -> None:
    laid_ = laid("term-not-breathing-steady")
    item = next(item for item in laid_.card.items if item.id == "first-ventilation")
    done = item.occasions[0].done_ms
    assert done is not None
    assert laid_.session.record.clock_ms is not None
    at = (done - laid_.session.record.clock_ms) / 1000
    entries = [entry for row in laid_.scene.rows for entry in row.entries if entry.bar]
    assert any(entry.start == at for entry in entries)


def test_the_alternative_text_states_figures_and_times() -> None:
    page, scene = laid("term-not-breathing-steady").page, laid("term-not-breathing-steady").scene
    alt = page.picture.alt
    for row in scene.rows:
        assert f"{row.label}: " in alt
        for entry in row.entries:
            assert entry.words in alt
    for curve in scene.curves:
        assert f"{curve.label} was lowest at " in alt
    assert re.search(r"A monitor could show it from \d+:\d\d", alt)
