"""A column's cells, parsed by distinct texts: a million rows hold few different ones, and each is parsed once."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from pipeline.common.faults import FAULT_SCHEMA, FaultKind, concat, no_faults
from pipeline.profiles.style import MISSING, Problem, Refused, Style, Understood

Parse = Callable[[str, list[Problem]], Sequence[object]]
"""Takes a cell without odd blanks and a list to put warnings and notes in; gives the values, or raises ``Refused``."""

SHOWN_OTHERWISE = FaultKind(
    "cell.shown_otherwise",
    "Cell of a workbook that shows another figure than it holds",
    "{column}: the cell shows {shown} and holds {stored}: its number format hides the figure or a part of it.",
    "Look which of the two is meant; then give the cell a plain number format (a length of time one that shows all its "
    "hours, [h]:mm), write the figure that is meant, and load again.",
)

SHOWN = r"^shown (.+), stored (-?\d[\d.:]*)$"
"""What a workbook's reader makes of such a cell (``pipeline/read/workbook/cell_formats.py``)."""
_ODD = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})


@dataclass(frozen=True)
class Cells:
    """The cells of one field as they stand in the file.

    Attributes:
        lines: physical lines, Int64.
        cells: text, null where blank.
        header: column as the person sees it.
        unit: unit of numbers that have none in the cell, "" where the source declares none.
        missing: marks for missing that hold for this column alone.
        limit: the laboratory's limit, in the cells' unit; a figure under it says only "less than" that.
        row_limits: the same of each row, from a column of its own; null where it is blank. None where there is no such.
        row_units: unit as each row's own unit field writes it, None where the field's unit is fixed. A unit in a cell
            (``4.8%``, ``9'6"``) is turned into that.
        scaled: factor and offset that turn a figure as it stands into one in ``unit`` (tenths of a millimetre).
    """

    lines: pl.Series
    cells: pl.Series
    header: str
    unit: str = ""
    missing: tuple[str, ...] = ()
    limit: float | None = None
    row_units: pl.Series | None = None
    scaled: tuple[float, float] = (1.0, 0.0)
    row_limits: pl.Series | None = None

    def where(self, keep: pl.Series) -> Cells:
        """The cells for which ``keep`` is true."""
        return replace(
            self, lines=self.lines.filter(keep), cells=self.cells.filter(keep), row_units=None, row_limits=None
        )


def plain(text: str) -> str:
    """The text in NFC, without control and direction marks, with single ordinary spaces."""
    if text.isascii() and text.isprintable() and "  " not in text:
        return text.strip()
    composed = unicodedata.normalize("NFC", text)
    kept = "".join(
        char if char.isspace() or unicodedata.category(char) not in _ODD else "" for char in composed
    )  # fmt: skip
    return " ".join(kept.split())


def short_texts(cells: pl.Series, style: Style, least: int = 0) -> pl.Series:
    """The distinct cells that are no longer than a mark for "no value", or than ``least`` characters."""
    longest = max(least, *(len(mark) for mark in (*MISSING, *style.missing)))
    return cells.filter(cells.str.len_chars() <= longest).unique()


def missing_out(cells: pl.Series, style: Style, short: pl.Series | None = None) -> pl.Series:
    """The cells, with marks for "no value" made null; ``short`` are their :func:`short_texts`, where known already."""
    short = short_texts(cells, style) if short is None else short
    marks = short.filter(short.str.to_lowercase().is_in(list(MISSING)) | short.is_in(list(style.missing)))
    if not len(marks):
        return cells
    return pl.select(pl.when(cells.is_in(marks.implode())).then(None).otherwise(cells)).to_series()


def completed(
    values: pl.DataFrame, hard: pl.Series, source: Cells, parse: Parse, style: Style | None = None
) -> Understood:
    """What was understood all at once, and in it the cells that ``hard`` marks, each as :func:`understood` gives it."""
    if not hard.any():
        return Understood(values, no_faults())
    done = understood(source.where(hard), values.schema, parse, style)
    return Understood(
        values.with_columns(values[name].scatter(hard.arg_true(), done.values[name]) for name in values.columns),
        done.faults,
    )


def understood(
    source: Cells, schema: Mapping[str, pl.DataType | type[pl.DataType]], parse: Parse, style: Style | None = None
) -> Understood:
    """What a column's cells are understood as: one row a cell, with columns of this schema.

    Null cells stay null, and where a style is given, its marks for missing become so.
    """
    texts: list[str] = source.cells.unique(maintain_order=True).drop_nulls().to_list()
    parsed: list[Sequence[object]] = []
    problems: list[tuple[str, Problem]] = []
    blank = (None,) * len(schema)
    for text in texts:
        notes: list[Problem] = []
        bare = plain(text)
        try:
            refuse_shown_otherwise(bare)
            parsed.append(blank if style and style.is_missing(bare) else parse(bare, notes))
        except Refused as refused:
            parsed.append(blank)
            notes = [refused.problem]
        problems += [(text, note) for note in notes]
    columns = list(zip(*parsed, strict=True)) if parsed else [()] * len(schema)
    known = pl.DataFrame([texts, *map(list, columns)], schema={"cell": pl.String, **schema})
    rows = pl.DataFrame({"line": source.lines, "cell": source.cells})
    values = rows.select("cell").join(known, on="cell", how="left", maintain_order="left").drop("cell")
    return Understood(values, _faults(rows, source.header, problems))


def refuse_shown_otherwise(text: str) -> None:
    """Refuses a cell of a workbook in which another figure is seen than it holds.

    Raises:
        Refused: for "shown 1.7, stored 1700" and the like.
    """
    if met := re.fullmatch(SHOWN, text):
        shown, stored = met.groups()
        raise Refused(SHOWN_OTHERWISE, shown="nothing" if shown == "blank" else f"“{shown}”", stored=stored)


def _faults(rows: pl.DataFrame, header: str, problems: list[tuple[str, Problem]]) -> pl.DataFrame:
    schema = ("cell", *list(FAULT_SCHEMA)[3:])
    told = pl.DataFrame(
        [_told(text, header, problem) for text, problem in problems],
        schema=dict.fromkeys(schema, pl.String),
        orient="row",
    )
    met = rows.join(told, on="cell", how="inner", maintain_order="left_right").rename({"cell": "value"})
    return concat([met.with_columns(pl.lit(header).alias("column")).select(list(FAULT_SCHEMA))])


def _told(text: str, header: str, problem: Problem) -> tuple[str, str, str, str, str]:
    """A text, and the rest of a fault frame's row as ``FaultKind.frame`` writes it."""
    facts = {"value": text[:120], "column": header, **dict(problem.facts)}
    kind = problem.kind
    return text, kind.code, kind.severity, kind.template.format(**facts), kind.hint.format(**facts)
