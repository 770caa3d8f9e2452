"""Bedside sums: the equations of a vocabulary, worked out with units.

Rules of this file:

- A formula is read as a tree and only numbers, names, ``+ - * / **``, brackets and the functions
  ``ln``, ``min`` and ``max`` are taken; nothing is ever run as Python.
- Units are carried through (``weight * dose / strength``), unless the equation is ``plain``: an
  empirical formula takes bare numbers in the units stated and gives one in its own unit.
- The result is rounded to ``round_to`` in decimal, halves up, as printed tables do.
"""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from simengine.quantities import Quantity, parse_quantity
from simengine.quantities.units import pint_text, unit_registry

if TYPE_CHECKING:
    from simengine.scenario.vocabulary import Equation

MAX_LENGTH = 500

_OPERATORS: dict[type[ast.AST], Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}


class FormulaError(ValueError):
    """A formula that can't be read or worked out; ``expected`` and ``found`` are for people."""

    def __init__(self, expected: str, found: str) -> None:
        self.expected = expected
        self.found = found
        super().__init__(f"expected {expected}, found {found}")


def names_in(formula: str) -> set[str]:
    """Return the names that a formula uses. Raises ``FormulaError`` if it is not a sum."""
    names: set[str] = set()
    _walk(_tree(formula), names)
    return names


def evaluate(equation: Equation, inputs: Mapping[str, Quantity]) -> Quantity:
    """Work out an equation and return the result in its unit, rounded as it says.

    ``inputs``: one quantity for each of ``equation.inputs``, in any unit of the right dimension.
    Raises ``FormulaError`` for inputs that are missing or of another dimension, and where the sum
    has no value (a division by zero, units that don't go together).
    """
    values: dict[str, Any] = {}
    for name, unit in equation.inputs.items():
        if name not in inputs:
            raise FormulaError(f"a value for '{name}' in {unit}", "none")
        try:
            values[name] = _operand(inputs[name].to(unit), equation.plain)
        except ValueError as error:
            raise FormulaError(f"'{name}' in {unit}", str(inputs[name])) from error
    for name, text in equation.constants.items():
        values[name] = _operand(parse_quantity(text), equation.plain)
    try:
        result = _value(_tree(equation.formula), values)
        number = float(result) if equation.plain else _in_unit(result, equation.unit)
    except FormulaError:
        raise
    except Exception as error:
        from pint import PintError

        if not isinstance(error, (ArithmeticError, ValueError, TypeError, PintError)):
            raise
        raise FormulaError(f"a result in {equation.unit}", f"'{equation.formula}'") from error
    return Quantity(_rounded(number, equation.round_to), equation.unit)


def _operand(quantity: Quantity, plain: bool) -> Any:
    if plain:
        return quantity.value
    return unit_registry().Quantity(quantity.value, pint_text(quantity.unit))


def _in_unit(result: Any, unit: str) -> float:
    return (
        float(unit_registry().Quantity(result, None).to(pint_text(unit)).magnitude)
        if isinstance(result, (int, float))
        else float(result.to(pint_text(unit)).magnitude)
    )


def _rounded(number: float, step: float | None) -> float:
    if step is None:
        return number
    # Twelve figures first: 0.285 reached by way of units may be held as 0.28499999999999998.
    exact, size = Decimal(f"{number:.12g}"), Decimal(repr(step))
    return float((exact / size).quantize(Decimal(1), ROUND_HALF_UP) * size)


def _tree(formula: str) -> ast.expr:
    if len(formula) > MAX_LENGTH:
        raise FormulaError(f"a formula of at most {MAX_LENGTH} characters", "a longer one")
    try:
        return ast.parse(formula.strip(), mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        raise FormulaError("a sum such as weight * dose / strength", f"'{formula}'") from None


def _walk(node: ast.expr, names: set[str]) -> None:
    """Collect names; refuse all that is no arithmetic."""
    match node:
        case ast.Name(id=name):
            names.add(name)
        case ast.Constant(value=value) if type(value) in (int, float):
            pass
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            _walk(left, names)
            _walk(right, names)
        case ast.UnaryOp(op=op, operand=operand) if type(op) in _OPERATORS:
            _walk(operand, names)
        case ast.Call(func=ast.Name(id="ln"), args=[argument], keywords=[]):
            _walk(argument, names)
        case ast.Call(func=ast.Name(id="min" | "max"), args=[_, _, *_] as several, keywords=[]):
            for part in several:
                _walk(part, names)
        case _:
            raise FormulaError(
                "numbers, names, + - * / ** and ln, min or max", f"'{ast.unparse(node)}'"
            )


def _value(node: ast.expr, values: Mapping[str, Any]) -> Any:
    match node:
        case ast.Name(id=name):
            if name not in values:
                raise FormulaError("names from 'inputs' or 'constants'", f"'{name}'")
            return values[name]
        case ast.Constant(value=value) if type(value) in (int, float):
            return value
        case ast.BinOp(left=left, op=ast.Pow(), right=right):
            power = _value(right, values)
            if not isinstance(power, (int, float)) or abs(power) > 10:
                raise FormulaError("a power from -10 to 10", f"'{ast.unparse(node)}'")
            return _value(left, values) ** power
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(left, values), _value(right, values))
        case ast.UnaryOp(op=op, operand=operand) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_value(operand, values))
        case ast.Call(func=ast.Name(id="ln"), args=[argument], keywords=[]):
            return math.log(_value(argument, values))
        case ast.Call(func=ast.Name(id="min" | "max" as name), args=several, keywords=[]):
            return (min if name == "min" else max)(_value(part, values) for part in several)
        case _:
            raise FormulaError(
                "numbers, names, + - * / ** and ln, min or max", f"'{ast.unparse(node)}'"
            )
