"""Lines parted into the records they hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import polars as pl

from pipeline.common.faults import concat, no_faults
from pipeline.standardise.cells.distinct import Cells


@dataclass(frozen=True)
class Parted:
    """Lines parted into records.

    Attributes:
        rows: place of the line that each record is of.
        texts: by field that was parted, what each record's own part says.
        whole: by the same field, the cell where it says more than the part; null elsewhere.
        added: by field, what the part says of it beside.
        keep: by field with a column of its own, whether the line's cell is this record's.
        faults: FAULT_SCHEMA.
    """

    rows: pl.Series
    texts: Mapping[str, pl.Series]
    whole: Mapping[str, pl.Series]
    added: Mapping[str, pl.Series] = field(default_factory=dict)
    keep: Mapping[str, pl.Series] = field(default_factory=dict)
    faults: pl.DataFrame = field(default_factory=no_faults)

    def of(self, name: str, source: Cells) -> Cells:
        """The cells of a field, one a record: its own part, or the line's where that is its own."""
        text = self.texts[name] if name in self.texts else source.cells[self.rows]
        if name in self.keep:
            text = pl.select(pl.when(self.keep[name]).then(text)).to_series()
        units = None if source.row_units is None else source.row_units[self.rows]
        return replace(source, lines=source.lines[self.rows], cells=text, row_units=units)

    def with_faults(self, faults: pl.DataFrame) -> Parted:
        """The same, with further faults."""
        return replace(self, faults=concat([self.faults, faults]))

    def then(self, other: Parted) -> Parted:
        """The same, parted once more."""
        texts = {name: text[other.rows] for name, text in self.texts.items()}
        whole = {name: text[other.rows] for name, text in self.whole.items()}
        return Parted(
            self.rows[other.rows],
            {**texts, **other.texts},
            {**whole, **other.whole},
            other.added,
            other.keep,
            concat([self.faults, other.faults]),
        )
