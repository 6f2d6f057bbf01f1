"""The few operations that numbers, NumPy arrays and polars expressions each spell their own way.

Formulas elsewhere in this package use operators only, so that one function serves a scalar checked against a
handbook and a column of the store. A missing value stays missing: polars' own ``min_horizontal`` and
``max_horizontal`` skip nulls, which would make a figure out of a gap, so they are not used here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
import polars as pl

Quantity: TypeAlias = Any
"""A number, a NumPy array or a polars expression. The result is of the widest kind that went in.

Typed as ``Any`` on purpose: a formula may mix a column with a plain number in every argument, which no
combination of type variables describes without an overload for each mixture.
"""


def _elementwise(name: str, scalar: Callable[[float], float]) -> Callable[[Quantity], Quantity]:
    """One function over the three kinds: polars and NumPy share ``name``, a number goes to ``scalar``."""
    ufunc = getattr(np, name)

    def apply(value: Quantity) -> Quantity:
        if isinstance(value, pl.Expr):
            return getattr(value, name)()
        return ufunc(value) if isinstance(value, np.ndarray) else scalar(value)

    apply.__name__ = apply.__qualname__ = name
    apply.__doc__ = (
        f"The {name} of a number, an array or an expression.\n\nArgs:\n    value: the value.\n\nSource: definition.\n"
    )
    return apply


exp = _elementwise("exp", math.exp)
log = _elementwise("log", math.log)
sqrt = _elementwise("sqrt", math.sqrt)
sin = _elementwise("sin", math.sin)
cos = _elementwise("cos", math.cos)
tan = _elementwise("tan", math.tan)
arccos = _elementwise("arccos", math.acos)
ceil = _elementwise("ceil", math.ceil)


def where(condition: Quantity, yes: Quantity, no: Quantity) -> Quantity:
    """``yes`` where the condition holds, else ``no``; missing where the condition is missing.

    Args:
        condition: a truth value, an array or an expression of them.
        yes: the value where it holds.
        no: the value where it does not.

    Source: definition.
    """
    if isinstance(condition, pl.Expr):
        return pl.when(condition).then(_expression(yes)).when(condition.not_()).then(_expression(no))
    if isinstance(condition, np.ndarray):
        return np.where(condition, yes, no)
    return yes if condition else no


def maximum(left: Quantity, right: Quantity) -> Quantity:
    """The greater of two; missing where either is missing.

    Args:
        left: one value.
        right: the other, in the same unit.

    Source: definition.
    """
    if isinstance(left, pl.Expr) or isinstance(right, pl.Expr):
        a, b = _expression(left), _expression(right)
        return pl.when(a >= b).then(a).when(a < b).then(b)
    if isinstance(left, np.ndarray) or isinstance(right, np.ndarray):
        return np.maximum(left, right)
    return math.nan if math.isnan(left) or math.isnan(right) else max(left, right)


def minimum(left: Quantity, right: Quantity) -> Quantity:
    """The lesser of two; missing where either is missing.

    Args:
        left: one value.
        right: the other, in the same unit.

    Source: definition.
    """
    return -maximum(-left, -right)


def missing_for(value: Quantity) -> float | None:
    """What stands for a missing result beside a value: null in a polars column, else not-a-number.

    Args:
        value: the value whose kind decides.

    Source: definition.
    """
    return None if isinstance(value, pl.Expr) else math.nan


def _expression(value: Quantity) -> pl.Expr:
    return value if isinstance(value, pl.Expr) else pl.lit(value)


def _scalars(values: dict[str, Quantity]) -> list[tuple[str, float]]:
    """The plain numbers among named inputs: columns are validated before they come here."""
    numbers = {name: value for name, value in values.items() if isinstance(value, int | float | np.number)}
    return [(name.replace("_", " "), float(value)) for name, value in numbers.items()]


def require_positive(**values: Quantity) -> None:
    """Refuse any plain number that is not above zero.

    Args:
        **values: inputs by their name; arrays and expressions pass unseen.

    Raises:
        ValueError: naming the input and what it was.

    Source: definition.
    """
    for name, value in _scalars(values):
        if not value > 0:
            raise ValueError(f"{name} must be above zero, not {value:g}")


def require_not_negative(**values: Quantity) -> None:
    """Refuse any plain number below zero.

    Args:
        **values: inputs by their name; arrays and expressions pass unseen.

    Raises:
        ValueError: naming the input and what it was.

    Source: definition.
    """
    for name, value in _scalars(values):
        if not value >= 0:
            raise ValueError(f"{name} must not be below zero, not {value:g}")


def require_between(low: float, high: float, **values: Quantity) -> None:
    """Refuse any plain number outside two limits, both allowed.

    Args:
        low: the least allowed.
        high: the most allowed.
        **values: inputs by their name; arrays and expressions pass unseen.

    Raises:
        ValueError: naming the input and what it was.

    Source: definition.
    """
    for name, value in _scalars(values):
        if not low <= value <= high:
            raise ValueError(f"{name} must lie between {low:g} and {high:g}, not {value:g}")


def require_one_of(choices: tuple[str, ...], **values: str) -> None:
    """Refuse a named convention that does not exist.

    Args:
        choices: the conventions there are.
        **values: the chosen ones by argument name.

    Raises:
        ValueError: naming the argument, what it was and what it may be.

    Source: definition.
    """
    for name, value in values.items():
        if value not in choices:
            raise ValueError(f"{name.replace('_', ' ')} must be one of {', '.join(choices)}, not {value!r}")
