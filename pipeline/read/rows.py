"""Rows of a text table with the physical line each begins on.

A clean table is read by polars and then proved: its delimiters, line ends and quotes must add up. If they do not, the
lines that are plainly rows are still read so, and the others one by one by the standard library's reader.
"""

from __future__ import annotations

import csv

import polars as pl

from pipeline.read.bytes import LONGEST_LINE, has_long_line
from pipeline.read.layout import BLANKS, Layout, split
from pipeline.read.odd_rows import LONG, QUOTE, SHORT, TOO_LONG, Odd, Rows, frame_of, odd_frame
from pipeline.read.slow_rows import by_place, fits, over_line_ends


def rows_of(data: bytes, layout: Layout) -> Rows:
    """The rows under the header.

    Args:
        data: the whole text, UTF-8, lines ended by a line feed.
        layout: where the table stands.
    """
    end = len(data)
    while end and data[end - 1] == 10:
        end -= 1
    body = data[_offset(data, layout.body_line) : end]
    if layout.delimiter == BLANKS:
        return by_place(body.decode(), layout)
    return _by_polars(body, layout) or _by_line(body, layout)


def _offset(data: bytes, line: int) -> int:
    """Where a physical line begins."""
    at = 0
    for _ in range(line - 1):
        end = data.find(b"\n", at)
        if end < 0:
            return len(data)
        at = end + 1
    return at


def _by_polars(body: bytes, layout: Layout) -> Rows | None:
    """The rows, or None where they do not add up.

    A row that polars has padded lacks delimiters, and a quote that stands inside a cell is kept there or was written
    twice: each makes the body shorter than its cells, delimiters, line ends and quotes together, and nothing makes it
    longer. So equal lengths prove that every byte was read as what it is.
    """
    width, quotes = len(layout.cells), body.count(b'"')
    if not body or not layout.delimiter.isascii() or quotes % 2 or b"\0" in body or has_long_line(body):
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
    broken = body.count(b"\n") >= frame.height
    lines = pl.int_range(layout.body_line, layout.body_line + frame.height, eager=True, dtype=pl.Int64)
    if broken:
        ends = frame.select(pl.sum_horizontal(pl.all().str.count_matches("\n", literal=True).fill_null(0)).alias("n"))
        lines = lines + ends["n"].cum_sum().shift(1, fill_value=0).cast(pl.Int64)
    return Rows(frame.insert_column(0, lines.alias("line")), broken=broken)


def _by_line(body: bytes, layout: Layout) -> Rows:
    """The rows, each line for itself; where a line's quotes do not pair up, a cell may run on into the next lines."""
    width, mark = len(layout.cells), layout.delimiter
    lines = pl.DataFrame({"text": pl.Series([body.decode()]).str.split("\n").explode()})
    lines = lines.select(
        pl.int_range(layout.body_line, layout.body_line + pl.len(), dtype=pl.Int64).alias("line"),
        "text",
        pl.col("text").str.count_matches('"', literal=True).alias("quotes"),
        pl.col("text").str.count_matches(mark, literal=True).alias("marks"),
        (pl.col("text").str.len_bytes() > LONGEST_LINE).alias("long"),
    )
    unpaired = lines.select((pl.col("quotes") % 2 == 1) & ~pl.col("long")).to_series().arg_true().to_list()
    over, taken = over_line_ends(lines["text"], unpaired, layout)
    if taken:
        lines = lines.filter(~pl.int_range(pl.len()).is_in(taken))
    simple = (pl.col("quotes") == 0) & ~pl.col("long")
    ragged, kept_ragged = _unfit(lines.filter(simple, pl.col("marks") != width - 1), width, mark)
    quoted, kept_quoted = _quoted(lines.filter(pl.col("quotes") > 0, ~pl.col("long")), width, mark)
    good = [_joined(lines.filter(simple, pl.col("marks") == width - 1), layout), kept_ragged, kept_quoted, over.cells]
    long = odd_frame([(line, [text[:1000]], TOO_LONG) for line, text in lines.filter("long")["line", "text"].rows()])
    odd = pl.concat([ragged, quoted, over.odd, long])
    return Rows(pl.concat(good).sort("line"), odd.sort("line"), broken=bool(taken))


def _joined(fit: pl.DataFrame, layout: Layout) -> pl.DataFrame:
    """Rows of lines that have the right number of cells and no quotes."""
    width = len(layout.cells)
    text = "\n".join(fit["text"]).encode() if fit.height else b""
    found = _by_polars(text, layout)
    if found is None:
        return frame_of(fit["line"].to_list(), [line.split(layout.delimiter) for line in fit["text"]], width)
    return found.cells.with_columns(fit["line"])


def _unfit(lines: pl.DataFrame, width: int, mark: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Odd rows of quoteless lines with too few or too many cells, and those where the spare ones are empty."""
    cells = lines.select("line", pl.col("text").str.split(mark).alias("cells"))
    spare = pl.col("cells").list.slice(width).list.join("").str.strip_chars() == ""
    trimmed = cells.filter(pl.col("cells").list.len() > width, spare)
    names = [f"c{index}" for index in range(width)]
    fields = [pl.col("cells").list.get(index).alias(name) for index, name in enumerate(names)]
    odd = cells.join(trimmed, on="line", how="anti").select(
        "line",
        "cells",
        pl.when(pl.col("cells").list.len() > width).then(pl.lit(LONG.code)).otherwise(pl.lit(SHORT.code)).alias("code"),
    )
    return odd, trimmed.select("line", *fields)


def _quoted(lines: pl.DataFrame, width: int, mark: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Odd rows and rows of lines whose quotes pair up, each read for itself."""
    numbers: list[int] = []
    kept: list[list[str]] = []
    odd: list[Odd] = []
    for line, text in lines["line", "text"].iter_rows():
        try:
            cells = next(csv.reader([text], delimiter=mark, strict=True, skipinitialspace=mark != "\t"))
        except csv.Error:
            odd.append((line, split(text, mark), QUOTE))
            continue
        if fits(cells, width):
            numbers.append(line)
            kept.append(cells[:width])
        else:
            odd.append((line, cells, LONG if len(cells) > width else SHORT))
    return odd_frame(odd), frame_of(numbers, kept, width)
