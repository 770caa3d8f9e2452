"""The shipped sessions, each opened, scored and laid out once for all tests of this folder."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import DebriefPage
from simengine.debrief.picture.compose import draw
from simengine.debrief.scene import Scene
from simengine.debrief.scene_builder import scene_of
from simengine.report.drawing import svg
from simengine.scoring.card import ScoreCard
from simengine.session.record import Session
from tests import shipped

NAMES = shipped.SESSIONS


@dataclass(frozen=True)
class Laid:
    """One session with all that its debrief is made of."""

    session: Session
    card: ScoreCard
    scene: Scene
    page: DebriefPage


@cache
def laid(name: str) -> Laid:
    session, card = shipped.session(name), shipped.card(name)
    scene = scene_of(session, card)
    return Laid(session, card, scene, debrief_page(session, card, scene))


@cache
def picture(name: str) -> bytes:
    return svg(draw(laid(name).scene))
