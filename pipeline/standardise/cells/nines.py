"""Rows of nines, the marks by which many sources say that nothing was measured, where the profile does not say so."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted
from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells import units
from pipeline.standardise.cells.distinct import Cells
from schemas.field import Field

NOT_MEASURED = FaultKind(
    "number.not_measured",
    "Mark for “not measured” among figures",
    "{column}: {value} is no figure of it: many sources write a row of nines where nothing was measured, and the "
    "profile does not say so.",
    'If it stands for that, say missing = ["{value}"] for this field in a source profile (under [fields], or in '
    "[values] for every column); else mend the figure.",
)
PERHAPS_NOT_MEASURED = FaultKind(
    "number.perhaps_not_measured",
    "Figure that may be a mark for “not measured”",
    "{column}: {value} ({rows}) is kept as a figure; many sources write a row of nines where nothing was measured.",
    'If it stands for that, say missing = ["{value}"] for this field in a source profile (under [fields], or in '
    "[values] for every column), take this load back and load again; if it is a figure, nothing need be done.",
    severity="warning",
)
MARKS = tuple(
    f"{sign}{whole}{point}"
    for sign, whole, point in product(("", "-"), ("99", "999", "9999", "99999"), ("", ".0", ".00", ".9", ".99", ".90"))
)
"""How programs and services write it (the layouts of open station data in tests/outside; common practice)."""
_LONG = 3
"""Nines from which on a figure that is possible is asked about; two are a usual figure."""
_BEYOND = {"wind_m_s": 60.0}
"""Past this a mean is none: nearer than the limits of the field, which let a gust through (common practice)."""


def taken_out(source: Cells, field: Field, style: Style) -> tuple[Cells, pl.DataFrame]:
    """The cells without rows of nines that no figure of the field can be, and what is said of them and of others."""
    if not field.nines:
        return source, no_faults()
    found = source.cells.filter(source.cells.is_in(_written(style)).fill_null(value=False))
    told, out = [], []
    for text in found.unique(maintain_order=True):
        if style.is_missing(text) or style.is_below(text):
            continue
        here = source.where(source.cells == text)
        if _no_figure(text, field, source, style):
            out.append(text)
            told.append(NOT_MEASURED.frame(here.lines, here.cells, source.header))
        elif _asked(text, field):
            rows = counted(len(here.lines), "row")
            told.append(PERHAPS_NOT_MEASURED.at(here.lines[0], text, source.header, rows=rows))
    if not told:
        return source, no_faults()
    cells = pl.select(pl.when(~source.cells.is_in(out)).then(source.cells)).to_series() if out else source.cells
    return replace(source, cells=cells), concat(told)


def _written(style: Style) -> list[str]:
    return [mark.replace(".", style.decimal) for mark in MARKS]


def _no_figure(text: str, field: Field, source: Cells, style: Style) -> bool:
    """Whether the field cannot have the figure, in the unit that the column is in."""
    figure = float(text.replace(style.decimal, "."))
    if (
        (figure < 0 and field.nines != "long")
        or (field.nines == "refused" and _nines(text) >= _LONG)
        or field.nines == "never"
    ):
        return True
    most = min(field.high or math.inf, _BEYOND.get(field.name, math.inf))
    return any(value > most for value in _kept(figure, field, source, style))


def _kept(figure: float, field: Field, source: Cells, style: Style) -> Iterator[float]:
    """The figure in the field's unit, as the profile scales it; nothing where the unit does not fit."""
    factor, offset = source.scaled
    try:
        own, shift = units.scale(source.unit or field.unit, field.unit, style) if field.unit else (1.0, 0.0)
    except Refused:
        return
    yield (figure * factor + offset) * own + shift


def _asked(text: str, field: Field) -> bool:
    """Whether a figure that is possible may be a mark: three nines and more, or so much rain to a tenth."""
    least = _LONG + 1 if field.nines == "long" else _LONG
    return _nines(text) >= least or (field.name == "rain_mm" and text.endswith("9") and not text.isdigit())


def _nines(text: str) -> int:
    """Nines before the decimal mark."""
    return len(re.split("[.,]", text.removeprefix("-"))[0])
