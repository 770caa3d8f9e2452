"""From sessions to the bytes of both outputs."""

from __future__ import annotations

from collections.abc import Sequence

from simengine.debrief.artist import Artist
from simengine.debrief.build import debrief_page
from simengine.debrief.page import report_of
from simengine.debrief.scene import Scene
from simengine.debrief.trend import held
from simengine.report.html import render_html
from simengine.report.pdf import render_pdf
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session

Scored = Sequence[tuple[Session, ScoreCard]]
"""Sessions with their score cards, the newest last."""


def render(scored: Scored, trainee: str | None, scene: Scene, artist: Artist) -> tuple[bytes, str]:
    """Return the PDF and the web page of the last session, with a trend over all of them.

    ``artist`` was shown ``scene``, that of the last session, before.
    """
    session, card = scored[-1]
    page = debrief_page(session, card, scene, trainee=trainee, earlier=scored[:-1])
    if page.trend is not None and trainee is not None:
        artist.show([held(each, marks, trainee) for each, marks in scored])
    pictures = {"session": artist.picture()}
    if page.trend is not None:
        pictures["trend"] = artist.picture()
    report = report_of(page)
    return render_pdf(report, pictures), render_html(report, pictures)
