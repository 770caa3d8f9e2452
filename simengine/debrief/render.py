"""From sessions to the bytes of both outputs."""

from __future__ import annotations

from collections.abc import Sequence

from simengine.debrief.build import debrief_page
from simengine.debrief.html import render_html
from simengine.debrief.page import DebriefPage
from simengine.debrief.pdf import render_pdf
from simengine.debrief.picture.compose import draw, svg
from simengine.debrief.picture.trend import draw_trend
from simengine.debrief.sighting import scene_of
from simengine.debrief.trend import held
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session

Scored = Sequence[tuple[Session, ScoreCard]]
"""Sessions with their score cards, the newest last."""


def page_and_pictures(scored: Scored, trainee: str | None) -> tuple[DebriefPage, dict[str, bytes]]:
    """Return the page of the last session and the SVG files of its pictures."""
    session, card = scored[-1]
    scene = scene_of(session, card)
    page = debrief_page(session, card, scene, trainee=trainee, earlier=scored[:-1])
    pictures = {"session": svg(draw(scene))}
    if page.trend is not None and trainee is not None:
        points = [held(each, marks, trainee) for each, marks in scored]
        pictures["trend"] = svg(draw_trend(points))
    return page, pictures


def render(scored: Scored, trainee: str | None) -> tuple[bytes, str]:
    """Return the PDF and the web page of the last session, with a trend over all of them."""
    page, pictures = page_and_pictures(scored, trainee)
    return render_pdf(page, pictures), render_html(page, pictures)
