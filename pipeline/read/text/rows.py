"""Rows of a text table with the physical line each begins on.

A clean table is read by polars and then proved: its delimiters, line ends and quotes must add up. If they do not, the
lines that are plainly rows are still read so, and the others one by one by the standard library's reader.
"""

from __future__ import annotations

import polars as pl

from pipeline.common.limits import STANDARD, Limits
from pipeline.read.text.bytes import count_of, has_long_line
from pipeline.read.text.fallback import by_place, quoted_rows
from pipeline.read.text.layout import BLANKS, Layout
from pipeline.read.text.ragged import LONG, SHORT, TOO_LONG, Rows, frame_of, ragged_frame, refuse_odd


def rows_of(data: bytes, layout: Layout, limits: Limits = STANDARD) -> Rows:
    """The rows under the header, in a whole text of UTF-8 whose lines end in a line feed.

    Raises:
        TooLarge: reading takes too long.
    """
    end = len(data)
    while end and data[end - 1] == 10:
        end -= 1
    body = data[_offset(data, layout.body_line) : end]
    if layout.delimiter == BLANKS:
        return by_place(body.decode(), layout, limits)
    return _by_polars(body, layout, limits) or _by_line(body, layout, limits)


def _offset(data: bytes, line: int) -> int:
    """Where a physical line begins."""
    at = 0
    for _ in range(line - 1):
        end = data.find(b"\n", at)
        if end < 0:
            return len(data)
        at = end + 1
    return at


def _by_polars(body: bytes, layout: Layout, limits: Limits) -> Rows | None:
    """The rows, or None where they do not add up.

    A row that polars has padded lacks delimiters, and a quote that stands inside a cell is kept there or was written
    twice: each makes the body shorter than its cells, delimiters, line ends and quotes together, and nothing makes it
    longer. So equal lengths prove that every byte was read as what it is.
    """
    width, quotes = len(layout.cells), count_of(body, b'"')
    if (
        not body
        or not layout.delimiter.isascii()
        or quotes % 2
        or b"\0" in body
        or has_long_line(body, limits.line_kb * 1_000)
    ):
        return None
    schema = {f"c{index}": pl.String for index in range(width)}
    try:
        frame = pl.read_csv(body, has_header=False, separator=layout.delimiter, schema=schema)
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException):
        return None
    if not frame.height:
        return None
    inside = sum(int(size or 0) for size in frame.select(pl.all().str.len_bytes().cast(pl.Int64).sum()).row(0))
    if inside + (width - 1) * frame.height + (frame.height - 1) + quotes != len(body):
        return None
    broken = count_of(body, b"\n") >= frame.height
    lines = pl.int_range(layout.body_line, layout.body_line + frame.height, eager=True, dtype=pl.Int64)
    if broken:
        ends = frame.select(pl.sum_horizontal(pl.all().str.count_matches("\n", literal=True).fill_null(0)).alias("n"))
        lines = lines + ends["n"].cum_sum().shift(1, fill_value=0).cast(pl.Int64)
    return Rows(frame.insert_column(0, lines.alias("line")), broken=broken)


def _by_line(body: bytes, layout: Layout, limits: Limits) -> Rows:
    """The rows, each line for itself; a line with quotes may run on into the next ones."""
    width, mark = len(layout.cells), layout.delimiter
    lines = pl.DataFrame({"text": pl.Series([body.decode()]).str.split("\n").explode()})
    lines = lines.select(
        pl.int_range(layout.body_line, layout.body_line + pl.len(), dtype=pl.Int64).alias("line"),
        "text",
        pl.col("text").str.contains('"', literal=True).alias("quoted"),
        pl.col("text").str.count_matches(mark, literal=True).alias("marks"),
        (pl.col("text").str.len_bytes() > limits.line_kb * 1_000).alias("long"),
    )
    begins = lines.select(pl.col("quoted") & ~pl.col("long")).to_series().arg_true().to_list()
    quoted, taken = quoted_rows(lines["text"], begins, layout, limits)
    lines = lines.filter(~pl.int_range(pl.len()).is_in(taken)) if taken else lines
    long = lines.filter("long")["line", "text"].rows()
    refuse_odd(lines.filter(pl.col("marks") < width - 1, pl.col("text").str.strip_chars() != "").height, limits)
    ragged, trimmed = _unfit(lines.filter(~pl.col("long"), pl.col("marks") != width - 1), width, mark)
    fit = _joined(lines.filter(~pl.col("long"), pl.col("marks") == width - 1), layout, limits)
    unfit = [ragged, quoted.ragged, ragged_frame([(line, [text[:1000]], TOO_LONG) for line, text in long])]
    return Rows(
        pl.concat([fit, trimmed, quoted.cells]).sort("line", maintain_order=True),
        pl.concat(unfit).sort("line", maintain_order=True),
        quoted.broken,
    )


def _joined(fit: pl.DataFrame, layout: Layout, limits: Limits) -> pl.DataFrame:
    """Rows of lines that have the right number of cells and no quotes."""
    width = len(layout.cells)
    text = "\n".join(fit["text"]).encode() if fit.height else b""
    found = _by_polars(text, layout, limits)
    if found is None:
        return frame_of(fit["line"].to_list(), [line.split(layout.delimiter) for line in fit["text"]], width)
    return found.cells.with_columns(fit["line"])


def _unfit(lines: pl.DataFrame, width: int, mark: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Ragged rows of quoteless lines with too few or too many cells, and those where the spare ones are empty."""
    cells = lines.select("line", pl.col("text").str.split(mark).alias("cells"))
    spare = pl.col("cells").list.slice(width).list.join("").str.strip_chars() == ""
    trimmed = cells.filter(pl.col("cells").list.len() > width, spare)
    names = [f"c{index}" for index in range(width)]
    fields = [pl.col("cells").list.get(index).alias(name) for index, name in enumerate(names)]
    unfit = cells.join(trimmed, on="line", how="anti", maintain_order="left").select(
        "line",
        "cells",
        pl.when(pl.col("cells").list.len() > width).then(pl.lit(LONG.code)).otherwise(pl.lit(SHORT.code)).alias("code"),
    )
    return unfit, trimmed.select("line", *fields)
