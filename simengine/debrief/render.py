"""From sessions to the bytes of both outputs, to take home and whole."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import take_home_of, whole_of, without_asking
from simengine.debrief.picture.compose import HALF_A_PAGE, draw
from simengine.debrief.picture.trend import draw_trend
from simengine.debrief.scene import Scene
from simengine.debrief.scene_builder import in_brief
from simengine.debrief.trend import held
from simengine.debrief.what_if import WhatIf
from simengine.debrief.wrote import Wrote
from simengine.report.drawing import svg
from simengine.report.html import render_html
from simengine.report.pdf import render_pdf
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session

Scored = Sequence[tuple[Session, ScoreCard]]
"""Sessions with their score cards, the newest last."""


class Printed(NamedTuple):
    """A report as a PDF and as a web page."""

    pdf: bytes
    html: str


def render(
    scored: Scored,
    trainee: str | None,
    scene: Scene,
    what_if: Sequence[WhatIf] = (),
    first_try: tuple[Session, ScoreCard] | None = None,
    wrote: Wrote | None = None,
    ask_at: str = "",
) -> tuple[Printed, Printed]:
    """Return the debrief of the last session, to take home and whole.

    ``scene``: what its picture shows. With a trend over all sessions where there are several of a
    trainee. ``what_if``: what would have come of some items in time; the scene shows the first.
    ``first_try``: what the last session is a retry of. ``wrote``: what the trainee wrote of it.
    ``ask_at``: where a server answers "what if?", to which the web page then leads.
    """
    session, card = scored[-1]
    page = debrief_page(
        session,
        card,
        scene,
        trainee=trainee,
        earlier=scored[:-1],
        what_if=what_if,
        first_try=first_try,
        wrote=wrote,
        ask_at=ask_at,
    )
    paper = without_asking(page)
    trend: dict[str, bytes] = {}
    if page.trend is not None and trainee is not None:
        trend["trend"] = svg(draw_trend([held(each, marks, trainee) for each, marks in scored]))
    # Typst runs beside Python, so each PDF is made while the next picture or page is.
    with ThreadPoolExecutor(1) as beside:
        full = {"session": svg(draw(scene)), **trend}
        whole_pdf = beside.submit(render_pdf, whole_of(paper), full)
        brief = {"brief": svg(draw(in_brief(scene), HALF_A_PAGE)), **trend}
        home_pdf = beside.submit(render_pdf, take_home_of(paper), brief)
        pages = render_html(take_home_of(page), brief), render_html(whole_of(page), full)
        return Printed(home_pdf.result(), pages[0]), Printed(whole_pdf.result(), pages[1])
