"""Every fault a user's file can cause, as data.

A :class:`FaultKind` describes one way a file can be wrong; a row of a fault frame is one instance. Frames, not
objects, carry them, so that half a million bad rows cost no more than half a million good ones. The catalogue in
docs/faults.md is made from this module.
"""

from __future__ import annotations

import string
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import polars as pl


Severity = Literal["error", "warning", "note"]

FAULT_SCHEMA: dict[str, type[int] | type[str]] = {
    "line": int,
    "column": str,
    "value": str,
    "code": str,
    "severity": str,
    "message": str,
    "hint": str,
}
"""Columns of a frame of faults: whole numbers are of 64 bits."""

_CATALOGUE: dict[str, FaultKind] = {}


@dataclass(frozen=True)
class FaultKind:
    """One way a user's file can be wrong.

    Attributes:
        code: stable machine name, ``stage.what``.
        title: what a person calls it.
        template: message; ``{value}`` is the cell as written, other names are facts given by the caller.
        hint: what to do about it; may use the same names.
        severity: an ``error`` rejects the row (or the file, where it has no line); a ``warning`` lets it in.
    """

    code: str
    title: str
    template: str
    hint: str
    severity: Severity = "error"

    def __post_init__(self) -> None:
        assert self.code not in _CATALOGUE, f"fault code {self.code} is defined twice"
        _CATALOGUE[self.code] = self

    def frame(self, lines: pl.Series, values: pl.Series, column: str = "", **facts: object) -> pl.DataFrame:
        """One fault a line: the same facts for all, ``{value}`` from each.

        Args:
            lines: physical line numbers, Int64.
            values: the cells as written, or typed values, same length; null prints as nothing.
            column: header of the column as the person sees it.
            **facts: what the template and the hint name beside ``{value}``; a series has one for each line.
        """
        import polars as pl

        if not lines.len():
            return no_faults()  # most checks of most files
        own = {f"of {name}": fact.cast(pl.String) for name, fact in facts.items() if isinstance(fact, pl.Series)}
        data = pl.DataFrame({"line": lines.cast(pl.Int64), "value": _as_written(values), **own})
        shown = pl.col("value").fill_null("").str.slice(0, 120)
        return data.select(
            "line",
            pl.lit(column).alias("column"),
            "value",
            pl.lit(self.code).alias("code"),
            pl.lit(self.severity).alias("severity"),
            _filled(self.template, shown, {"column": column, **facts}).alias("message"),
            _filled(self.hint, shown, {"column": column, **facts}).alias("hint"),
        )

    def of(self, records: pl.DataFrame, column: str, value: pl.Expr | None = None, **facts: object) -> pl.DataFrame:
        """One fault a record, at its ``line``: the same facts for all, ``{value}`` the column's where none is given."""
        import polars as pl

        data = records.select("line", (pl.col(column) if value is None else value).alias("value"))
        return self.frame(data["line"], data["value"], column, **facts)

    def at(self, line: int | None = None, value: str | None = None, column: str = "", **facts: object) -> pl.DataFrame:
        """One fault, as a frame of one row."""
        import polars as pl

        return self.frame(pl.Series([line], dtype=pl.Int64), pl.Series([value], dtype=pl.String), column, **facts)

    def rows(self, cells: Iterable[tuple[int, str | None]], column: str = "", **facts: object) -> pl.DataFrame:
        """One fault for each (line, value)."""
        import polars as pl

        pairs = list(cells)
        lines = pl.Series([line for line, _ in pairs], dtype=pl.Int64)
        return self.frame(lines, pl.Series([value for _, value in pairs], dtype=pl.String), column, **facts)


def _as_written(values: pl.Series) -> pl.Series:
    """Values as a person writes them: 33, not 33.0."""
    import polars as pl

    if values.dtype.is_decimal():  # without the zeros it is kept with
        values = values.cast(pl.Float64)
    text = values.cast(pl.String)
    return text.str.strip_suffix(".0") if values.dtype.is_float() else text


def _filled(template: str, value: pl.Expr, facts: dict[str, object]) -> pl.Expr:
    import polars as pl

    parts: list[pl.Expr] = []
    for text, name, _, _ in string.Formatter().parse(template):
        if text:
            parts.append(pl.lit(text))
        if name == "value":
            parts.append(value)
        elif name:
            of_each = isinstance(facts[name], pl.Series)
            parts.append(pl.col(f"of {name}").fill_null("") if of_each else pl.lit(str(facts[name])))
    return pl.concat_str(parts) if parts else pl.lit("")


@cache
def no_faults() -> pl.DataFrame:
    """An empty fault frame, one for all: a load asks for hundreds, and no frame is written into."""
    import polars as pl

    return pl.DataFrame(schema=FAULT_SCHEMA)


def concat(frames: Iterable[pl.DataFrame]) -> pl.DataFrame:
    """All faults of several frames, in the order of their lines; faults of the whole file come first."""
    import polars as pl

    kept = [frame for frame in frames if frame.height]
    if not kept:
        return no_faults()
    return pl.concat(kept, how="vertical").sort("line", nulls_last=False, maintain_order=True)


def errors(faults: pl.DataFrame) -> pl.DataFrame:
    """Those that reject a row, or the file."""
    import polars as pl

    return faults.filter(pl.col("severity") == "error")


def refuse_file(faults: pl.DataFrame) -> bool:
    """Whether an error concerns the whole file, so that none of its rows is taken."""
    return errors(faults)["line"].null_count() > 0


def catalogue() -> Iterator[FaultKind]:
    """Every kind of fault, by code."""
    return iter(sorted(_CATALOGUE.values(), key=lambda kind: kind.code))


def kind_of(code: str) -> FaultKind:
    """The kind with this code."""
    return _CATALOGUE[code]
