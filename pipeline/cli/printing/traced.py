"""A figure with how it was made and every record behind it, as ``show --evidence`` prints it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from pipeline.cli.printing.columns import fits, hanging, whole
from pipeline.cli.printing.figures import figure, head, target
from pipeline.cli.printing.table import banded, table
from pipeline.cli.terminal import err, out, screen_width
from pipeline.common.money import plain
from pipeline.indicators.base.judgement import judgement

if TYPE_CHECKING:
    from pipeline.indicators.base.green_season import Shown
    from pipeline.indicators.tracing import Trace, Traced


def traces(season: Shown, found: Sequence[Trace], *, quiet: bool, newer: str = "") -> None:
    """Each indicator with how it was made, then every record behind it."""
    columns = screen_width()
    _text(head(season), columns, inset=0)
    for one in found:
        out()
        _trace(one, columns)
    if newer and not quiet:
        err(newer)


def _trace(one: Trace, columns: int) -> None:
    told = one.indicator
    _text(f"{banded(told.label, told.band)} ({told.name}): {' '.join(figure(told))}", columns, inset=0)
    interval = f"{told.low:g} to {told.high:g}" if told.low is not None and told.high is not None else "none"
    goal = f"{target(told)} {told.unit}".rstrip() + f" ({told.target_source})" if target(told) else "none"
    facts = {
        "method": told.method,
        "formula": ", ".join(one.formulas) or "none of its own: the method says it all",
        "interval": interval,
        "target": goal,
        "standing": told.standing,
        "judgement": judgement(told),
        "verdict": told.verdict.word if told.verdict else "",
        "n": told.n,
        "note": told.note,
        "check first": "; ".join(f"{place.file}, line {place.line}" for place in told.questioned),
    }
    for name, text in facts.items():
        if text != "":
            _text(f"{name}: {text}", columns)
    _records("records behind it", one.records, columns)
    _records("registers they name", one.registers, columns)


def _records(title: str, records: Sequence[Traced], columns: int) -> None:
    """A line for each record; on a terminal that it does not fit, its cells below its place."""
    if not records:
        out(f"  {title}: none")
        return
    out(f"  {title}: {len(records):,}")
    headers = ("kind", "file", "line", "load", "date", "as stored", "as written")
    rows = [
        (one.kind, one.file, one.line, one.load_id, one.date or "", _cells(one.stored), _cells(one.written))
        for one in records
    ]
    if fits([[whole(str(cell)) for cell in row] for row in (headers, *rows)], columns, inset=0):
        table(headers, rows, frozenset({2, 3}))
        return
    for kind, file, line, load, day, stored, written in rows:
        when = f", {day}" if day else ""
        _text(f"{kind}: {file}, line {line}, load {load}{when}", columns, inset=4)
        for name, cells in (("as stored", stored), ("as written", written)):
            if cells:
                _text(f"{name}: {cells}", columns, inset=6)


def _text(text: str, columns: int, inset: int = 2) -> None:
    for line in hanging(text, columns, inset):
        out(line)


def _cells(cells: dict[str, Any]) -> str:
    """Cells of a record on one line; its day stands in a column of its own."""
    shown = {name: _cell(cell) for name, cell in cells.items()}
    return "; ".join(f"{name}={' '.join(text.split())}" for name, text in shown.items() if name != "date")


def _cell(cell: object) -> str:
    if isinstance(cell, Decimal):
        return plain(cell)
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)
