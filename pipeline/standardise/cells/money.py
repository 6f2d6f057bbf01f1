"""Amounts of money: from cells to decimals, with no binary fraction between where a cell is a plain decimal."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.numbers import plain_texts
from schemas.field import MONEY_DECIMALS, MONEY_DIGITS

TOO_FINE = FaultKind(
    "money.too_fine",
    "Money with more decimals than are kept",
    "{column}: “{value}” has more than {decimals} decimals; it is not rounded in silence.",
    "Write it with {decimals} decimals at most; of a price of one small thing, write that of the pack.",
)
TOO_LARGE = FaultKind(
    "money.too_large",
    "Money larger than can be kept",
    "{column}: “{value}” is more money than can be kept exactly.",
    "Look whether two numbers ran together, and write the one that is meant.",
)
CURRENCY = FaultKind(
    "money.currency",
    "Sign of a currency beside a figure",
    "{column}: “{value}” names a currency, and money is kept in the workspace's own: nothing says that it is that.",
    "Write the figure alone; or, where the sign is that of the workspace's currency, declare it under flags in "
    "[values] of the profile.",
)
MONEY = pl.Decimal(MONEY_DIGITS, MONEY_DECIMALS)
_PLAIN = r"^[+-]?(?:\d+(?:\.\d*)?|\.\d+)$"
_FINER = rf"\.\d{{{MONEY_DECIMALS}}}\d*[1-9]"
_RESIDUE_DIGITS = 15
"""Digits from which on a figure may end in what binary arithmetic left (31.499999999999996): a decimal of fewer comes
back from a binary fraction unchanged (IEEE 754)."""
_LARGEST = 10.0 ** (MONEY_DIGITS - MONEY_DECIMALS)


_SIGN = r"[£$€¥]|[A-Z]{3}"
_FIGURE = r"[+\-−]?[\d.,' ]*\d[\d.,' ]*"
_BEFORE, _BEHIND = rf"^\s*({_SIGN})\s*({_FIGURE})$", rf"^\s*({_FIGURE})\s*({_SIGN})\s*$"


def without_signs(source: Cells, style: Style) -> tuple[Cells, pl.DataFrame]:
    """The cells without the signs that the profile declares, before a figure or behind it; faults of any other sign.

    A sign that is not declared is not taken off: a bill in another currency would be read as one in the workspace's.
    """
    if not source.cells.str.contains(_SIGN).any():
        return source, no_faults()
    before, behind = source.cells.str.extract_groups(_BEFORE), source.cells.str.extract_groups(_BEHIND)
    signs = pl.select(pl.coalesce(before.struct.field("1"), behind.struct.field("2"))).to_series()
    bare = pl.select(pl.coalesce(before.struct.field("2"), behind.struct.field("1"))).to_series().str.strip_chars()
    declared = signs.is_in(list(style.flags)).fill_null(value=False)
    other = signs.is_not_null() & ~declared
    cells = pl.select(pl.when(declared).then(bare).when(~other).then(source.cells)).to_series()
    told = CURRENCY.frame(source.lines.filter(other), source.cells.filter(other), source.header)
    return replace(source, cells=cells), told


def as_money(source: Cells, style: Style, values: pl.Series) -> tuple[pl.Series, pl.DataFrame]:
    """The amounts as decimals, and faults of those that cannot be kept as they are.

    Args:
        source: the cells.
        style: how they are written.
        values: what they were understood as; null stays null.
    """
    large = (values.abs() >= _LARGEST).fill_null(value=False)
    texts = _texts(source, style, pl.select(pl.when(~large).then(values)).to_series())
    fine = texts.str.contains(_FINER).fill_null(value=False)
    amounts = pl.select(pl.when(~fine).then(texts)).to_series().cast(MONEY, strict=False)
    assert (amounts.is_not_null() == (values.is_not_null() & ~fine & ~large)).all(), "an amount was lost"
    told = [
        kind.frame(source.lines.filter(met), source.cells.filter(met), source.header, decimals=MONEY_DECIMALS)
        for kind, met in ((TOO_FINE, fine), (TOO_LARGE, large))
    ]
    return amounts, concat(told)


def _texts(source: Cells, style: Style, values: pl.Series) -> pl.Series:
    """What each value says in decimal: the cell itself where it is a plain decimal, else the value's shortest text."""
    plain = plain_texts(source.cells, style)
    residue = plain.str.contains(_FINER) & (plain.str.count_matches(r"\d") >= _RESIDUE_DIGITS)
    as_it_stands = values.is_not_null() & (plain.str.contains(_PLAIN) & ~residue).fill_null(value=False)
    if source.scaled != (1.0, 0.0):
        as_it_stands = as_it_stands & False
    if as_it_stands.all():
        return plain
    others = values.filter(~as_it_stands).drop_nulls().unique()
    shortest = {one: _shortest(one) for one in others}
    by_value = values.replace_strict(shortest, default=None, return_dtype=pl.String)
    return pl.select(pl.when(as_it_stands).then(plain).otherwise(by_value)).to_series()


def _shortest(value: float) -> str:
    """The decimal that a binary fraction stands for, without what is left of sums in a spreadsheet."""
    text = f"{Decimal(repr(value)):f}"
    return text if sum(map(str.isdigit, text)) < _RESIDUE_DIGITS else f"{Decimal(f'{value:.12g}'):f}"
