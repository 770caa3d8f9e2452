"""Draw one person's sessions side by side: points as JSON come in, an SVG file goes out."""

from __future__ import annotations

import sys

import orjson

from simengine.debrief.picture.trend import draw_trend
from simengine.debrief.trend import Held
from simengine.report.drawing import svg


def main() -> None:
    """Read, draw, write."""
    points = [
        Held(**{**point, "interval": tuple(point["interval"]) if point["interval"] else None})
        for point in orjson.loads(sys.stdin.buffer.read())
    ]
    sys.stdout.buffer.write(svg(draw_trend(points)))
