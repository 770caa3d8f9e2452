"""The debrief of a session: what is to take home and the whole, as web pages and as PDFs."""

from __future__ import annotations

from simengine.debrief.write_debrief import write_debrief, write_scored

__all__ = ["write_debrief", "write_scored"]
