"""Quantities with units, and ranges of them: the one place where units are read and converted."""

from simengine.quantities.parsing import (
    Quantity,
    QuantityError,
    format_duration,
    format_quantity,
    format_range,
    parse_difference,
    parse_duration,
    parse_in,
    parse_quantity,
    parse_range,
)
from simengine.quantities.ranges import Range

__all__ = [
    "Quantity",
    "QuantityError",
    "Range",
    "format_duration",
    "format_quantity",
    "format_range",
    "parse_difference",
    "parse_duration",
    "parse_in",
    "parse_quantity",
    "parse_range",
]
