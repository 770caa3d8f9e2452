"""The sums for one baby, each shown in full: what goes in, how, what comes out, and whose it is.

Rules of this file:

- Nothing is worked out here but by ``simengine.scenario.equations``, rounded as it says.
- Where the protocol gives a range, both ends are worked out.
- A sum whose value the protocol does not give for this baby is told as such, not left out.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass
from math import isinf

from simengine.quantities import Quantity, Range, format_quantity
from simengine.quantities.units import convert
from simengine.scenario.equations import FormulaError, evaluate
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.protocol import ProtocolValue
from simengine.scenario.vocabulary import Equation
from simengine.setup_pack.contents import FromProtocol, FromSetting, Given, Sum
from simengine.setup_pack.equipment_asked import AsItShouldBe, row_for
from simengine.setup_pack.pack_sentences import say

NOT_GIVEN = say("not_given")
_SIGNS = {ast.Add: "+", ast.Sub: "−", ast.Mult: "×", ast.Div: "÷"}


@dataclass(frozen=True, slots=True)
class Worked:
    """A sum worked out: ``how`` in figures and units, ``result``, and where both are from."""

    title: str
    how: str
    result: str
    source: str


def worked(scenario: Scenario, sum_: Sum, as_set: Mapping[str, AsItShouldBe]) -> Worked:
    """Work out a sum for the scenario's baby."""
    equation = scenario.vocabulary.equations[sum_.equation]
    ends: list[dict[str, Quantity]] = [{}, {}]
    sources = [equation.source]
    for name, unit in equation.inputs.items():
        amount = _input(scenario, name, unit, sum_.given.get(name), as_set)
        if amount is None:
            return Worked(sum_.title, "", NOT_GIVEN, equation.source)
        pair, source = amount
        if source:
            sources.append(source)
        for end, quantity in zip(ends, pair, strict=True):
            end[name] = quantity
    try:
        results = [evaluate(equation, end) for end in ends]
    except FormulaError:
        return Worked(sum_.title, "", NOT_GIVEN, equation.source)
    hows = [_shown(equation, end) for end in ends]
    same = hows[0] == hows[1]
    low, high = results
    result = str(low) if same else say("worked_to", low=format_quantity(low.value, ""), high=high)
    return Worked(
        sum_.title,
        hows[0] if same else say("worked_from_to", low=hows[0], high=hows[1]),
        result,
        "; ".join(dict.fromkeys(sources)),
    )


def _input(
    scenario: Scenario,
    name: str,
    unit: str,
    given: Given | None,
    as_set: Mapping[str, AsItShouldBe],
) -> tuple[tuple[Quantity, Quantity], str] | None:
    """Return the lower and upper end of an input, and its source."""
    match given:
        case None:
            quantity = _of_baby(scenario.infant, name)
            return None if quantity is None else ((quantity, quantity), "")
        case Quantity():
            return (given, given), ""
        case FromProtocol(value):
            return _of_protocol(scenario.protocol.values[value], scenario.infant)
        case FromSetting(setting):
            return _of_setting(scenario, setting, as_set)


def _of_baby(infant: Infant, name: str) -> Quantity | None:
    if name == "weight":
        return Quantity(convert(infant.weight_g, "g", "kg"), "kg")
    if name == "gestation":
        return Quantity(convert(infant.gestation_days, "d", "wk"), "wk")
    return None


def _of_protocol(
    value: ProtocolValue, infant: Infant
) -> tuple[tuple[Quantity, Quantity], str] | None:
    row = row_for(value, infant)
    if row is None or isinf(row.range.low) or isinf(row.range.high):
        return None
    ends = (Quantity(row.range.low, value.unit), Quantity(row.range.high, value.unit))
    return ends, source_of(value, infant)


def _of_setting(
    scenario: Scenario, name: str, as_set: Mapping[str, AsItShouldBe]
) -> tuple[tuple[Quantity, Quantity], str] | None:
    """A setting as it should be, else as found; the middle of a range that is a tolerance."""
    setting = scenario.vocabulary.settings[name]
    should_be = as_set.get(name)
    unit = setting.unit or ""
    value = scenario.start.settings.get(name)
    source = say("of_setting_as_found")
    if should_be is not None and isinstance(should_be.wanted, Range):
        wanted = should_be.wanted
        if not isinf(wanted.low) and not isinf(wanted.high):
            value, source = (wanted.low + wanted.high) / 2, say("of_setting_as_should_be")
    if value is None or isinstance(value, str):
        return None
    quantity = Quantity(value, unit)
    return (quantity, quantity), f"{setting.label} {source}"


def source_of(value: ProtocolValue, infant: Infant) -> str:
    """Tell a protocol value's source for this baby, and how good it is."""
    row = row_for(value, infant)
    source = row.source if row is not None and row.source else value.rows[0].source
    if value.evidence == "common practice":
        return say("source_of_common_practice_no")
    return source if value.evidence == "read" else f"{source} ({value.evidence})"


def _shown(equation: Equation, inputs: Mapping[str, Quantity]) -> str:
    """Tell the sum in figures: ``3.4 kg × 20 mcg/kg ÷ 0.1 mg/mL``."""
    words = {
        name: _operand(inputs[name].to(unit), equation.plain)
        for name, unit in equation.inputs.items()
    }
    words |= dict(equation.constants)
    return _told(ast.parse(equation.formula, mode="eval").body, words)


def _operand(quantity: Quantity, plain: bool) -> str:
    return format_quantity(quantity.value, "" if plain else quantity.unit)


def _told(node: ast.expr, words: Mapping[str, str]) -> str:
    match node:
        case ast.Name(id=name):
            return words[name]
        case ast.Constant(value=value):
            return f"{value:g}" if isinstance(value, int | float) else str(value)
        case ast.UnaryOp(operand=operand):
            return f"−{_told(operand, words)}"
        case ast.Call(func=ast.Name(id=name), args=args):
            return f"{name}({', '.join(_told(part, words) for part in args)})"
        case ast.BinOp(left=left, op=op, right=right):
            if isinstance(op, ast.Pow):
                return f"{_within(left, words)}^{_within(right, words)}"
            tight = isinstance(op, ast.Mult | ast.Div)
            left_words = _within(left, words) if tight else _told(left, words)
            other = _within(right, words) if tight else _told(right, words)
            if isinstance(op, ast.Div | ast.Sub) and isinstance(right, ast.BinOp):
                other = f"({_told(right, words)})"
            return f"{left_words} {_SIGNS[type(op)]} {other}"
    return ast.unparse(node)


def _within(node: ast.expr, words: Mapping[str, str]) -> str:
    inner = _told(node, words)
    loose = isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub)
    return f"({inner})" if loose else inner
