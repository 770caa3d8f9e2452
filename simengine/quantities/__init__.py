"""Quantities with units, and ranges of them: the one place where units are read and converted."""

from simengine.quantities.ranges import Range

__all__ = ["Range"]
