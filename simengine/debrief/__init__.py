"""The debrief of a session: one typed page, shown as a web page and as a PDF."""

from simengine.debrief.write import DebriefFiles, write_debrief, write_scored

__all__ = ["DebriefFiles", "write_debrief", "write_scored"]
