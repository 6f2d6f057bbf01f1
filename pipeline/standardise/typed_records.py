"""Records growing field by field: typed columns, what was written, faults (immutable, each step gives a new one)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import polars as pl

from pipeline.common.faults import FaultKind, concat, errors, no_faults
from pipeline.common.side_by_side import side_by_side
from pipeline.profiles.style import Style, Understood
from pipeline.standardise import finish, labels
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.written import written_column, written_json
from pipeline.standardise.fields import understand
from schemas import Kind
from schemas.field import Field

Aliases = Mapping[str, Mapping[str, str]]

SHORTHAND_DIFFERS = FaultKind(
    "shorthand.differs",
    "Two columns of one row contradict each other",
    "{column} says “{value}”, but {field} in the same row says something else.",
    "Keep one of the two, or make them agree.",
)


CONSTANT_WRONG = FaultKind(
    "profile.constant",
    "Constant of a profile not understood",
    "The profile sets {field} = “{value}”: {why}",
    "Mend it in the profile, under [constants] or set.",
)


@dataclass(frozen=True)
class Records:
    """Columns understood so far for the rows of a sheet.

    Attributes:
        lines: physical line of each record.
        columns: typed columns by field name; ``NAME.below`` beside a number of which a cell only said "less than".
        written: cells as written, by field, where they say more than the value.
        marks: declared marks glued to the numbers of a field, null where there is none.
        faults: faults met so far.
        bad_lines: lines an error concerns.
        cell: column of a wide sheet the records come from, "" elsewhere.
        beside: fields that the cells of another field fill, with that one's column.
    """

    lines: pl.Series
    columns: Mapping[str, pl.Series] = field(default_factory=dict)
    written: Mapping[str, pl.Series] = field(default_factory=dict)
    faults: tuple[pl.DataFrame, ...] = ()
    bad_lines: frozenset[int] = frozenset()
    marks: Mapping[str, pl.Series] = field(default_factory=dict)
    cell: str = ""
    beside: Mapping[str, str] = field(default_factory=dict)

    def where(self, keep: pl.Series) -> Records:
        """The records for which ``keep`` is true."""
        columns = {name: cells.filter(keep) for name, cells in self.columns.items()}
        written = {name: cells.filter(keep) for name, cells in self.written.items()}
        marks = {name: cells.filter(keep) for name, cells in self.marks.items()}
        return replace(self, lines=self.lines.filter(keep), columns=columns, written=written, marks=marks)

    def with_faults(self, faults: pl.DataFrame) -> Records:
        """The records with faults met before a field was understood."""
        return replace(self, faults=(*self.faults, faults), bad_lines=self.bad_lines | error_lines(faults))

    def plus_all(self, kind: Kind, sources: Mapping[str, Cells], style: Style, aliases: Aliases) -> Records:
        """The records with these fields understood, by name."""
        fields = [(kind.by_name[name], source) for name, source in sources.items()]
        found = side_by_side(lambda one: understand(*one, style, aliases), fields, len(self.lines))
        done = self
        for (what, source), understood in zip(fields, found, strict=True):
            done = done._joined(what, source, understood, style, aliases)
        return done

    def plus(self, what: Field, source: Cells, style: Style, aliases: Aliases) -> Records:
        """The records with one more field understood."""
        return self._joined(what, source, understand(what, source, style, aliases), style, aliases)

    def _joined(self, what: Field, source: Cells, done: Understood, style: Style, aliases: Aliases) -> Records:
        """The records with one more field, as it was understood."""
        columns = dict(self.columns)
        found = [done.faults]
        for series in done.values:
            name = f"{what.name}.below" if series.name == "below" else series.name
            if name in columns:
                both = columns[name].is_not_null() & series.is_not_null() & (columns[name] != series)
                at = (source.lines.filter(both), source.cells.filter(both))
                where = self.beside.get(name, name) if series.name == what.name else name
                found.append(SHORTHAND_DIFFERS.frame(*at, source.header, field=where))
                columns[name] = pl.select(pl.coalesce(series, columns[name])).to_series().alias(name)
            else:
                columns[name] = series.alias(name)
        same = done.as_written and what.name not in aliases
        kept = None if same else written_column(what, source.cells, done.values)
        if kept is not None and what.name in self.written:
            kept = pl.select(pl.coalesce(kept, self.written[what.name])).to_series()
        written = self.written if kept is None else {**self.written, what.name: kept}
        marks = self.marks
        if style.flags and what.numeric:
            marks = {**marks, what.name: _glued(source.cells, style.flags)}
        beside = {name: source.header for name in columns if name not in {*self.columns, what.name}}
        done_so_far = replace(self, columns=columns, written=written, marks=marks, beside={**self.beside, **beside})
        return done_so_far.with_faults(concat(found))

    def with_constants(self, kind: Kind, constants: Mapping[str, object], style: Style, aliases: Aliases) -> Records:
        """The records with fields that are the same in every one; one not understood is a fault of the whole file."""
        done = self
        plain = style.model_copy(update={"decimal": ".", "thousands": ""})
        for name, value in constants.items():
            text = str(value).lower() if isinstance(value, bool) else str(value)
            one = Cells(pl.Series([0], dtype=pl.Int64), pl.Series([text]), name)
            understood = understand(kind.by_name[name], one, plain, aliases)
            why = errors(understood.faults)["message"]
            if len(why):
                fault = CONSTANT_WRONG.at(None, text, name, field=name, why=why[0])
                done = replace(done, faults=(*done.faults, fault))
            for series in understood.values.drop("below", strict=False):
                done = done._with_constant(series, name, text)
        return done

    def _with_constant(self, series: pl.Series, name: str, text: str) -> Records:
        """The records with one field the same in all; what another field's cell or constant said of it must agree."""
        column = series.new_from_index(0, len(self.lines))
        there, beside = self.columns.get(series.name), self.beside
        faults = no_faults()
        if there is not None and (series.name in beside or series.name != name):
            lines = self.lines.filter((there != column).fill_null(value=False))
            said = pl.Series([text], dtype=pl.String).new_from_index(0, len(lines))
            faults = SHORTHAND_DIFFERS.frame(lines, said, name, field=beside.get(series.name, series.name))
            column = pl.select(pl.coalesce(there, column)).to_series()
        beside = beside if series.name == name else {**beside, series.name: name}
        columns = {**self.columns, series.name: column.alias(series.name)}
        return replace(self, columns=columns, beside=beside).with_faults(faults)

    def finish(self, kind: Kind, start: int, names: Mapping[str, str]) -> tuple[pl.DataFrame, pl.Series, pl.DataFrame]:
        """The records' frame, numbers of the rejected, and the faults with the columns a person sees."""
        height = len(self.lines)
        given = self.columns
        if "marks" in kind.by_name and "marks" not in given and self.marks:
            given = {**given, "marks": _marks_in_words(self.marks)}
        frame = pl.DataFrame({"line": self.lines}).with_columns(
            pl.int_range(start, start + height, dtype=pl.Int64).alias("record"),
            # A literal is kept as one value, however many rows it stands for: most fields of a sheet are not in it.
            *(_column(given, one) for one in kind.stored),
            pl.lit(self.cell or None, dtype=pl.String).alias("cell"),
        )
        frame = frame.select(*kind.frame_schema, "line", "record", "cell")
        below = {name.removesuffix(".below"): s for name, s in given.items() if name.endswith(".below")}
        frame, extra = finish.finish(kind, frame, below)
        if kind.name == "material":
            extra = concat([extra, labels.contradictions(frame, names, self.written)])
        bad = self.bad_lines | error_lines(extra)
        rejected = frame.filter(pl.col("line").is_in(sorted(bad)))["record"] if bad else frame["record"].clear()
        frame = frame.with_columns(written_json(self.written, height))
        extra = extra.with_columns(pl.col("column").replace(dict(names)))
        return frame, rejected, concat([*self.faults, extra])


def _glued(cells: pl.Series, flags: tuple[str, ...]) -> pl.Series:
    """The declared mark that is glued to each number, null where there is none."""
    either = "|".join(re.escape(flag) for flag in sorted(flags, key=len, reverse=True))
    return cells.str.extract(rf"\d\s*({either})$")


def _marks_in_words(marks: Mapping[str, pl.Series]) -> pl.Series:
    """Marks by field, such as ``tmax_c *, sun_h $``; null where no number has one."""
    words = [pl.lit(f"{name} ") + series for name, series in marks.items()]
    joined = pl.select(pl.concat_str(words, separator=", ", ignore_nulls=True)).to_series()
    return joined.replace("", None)


def error_lines(faults: pl.DataFrame) -> frozenset[int]:
    """Lines an error concerns."""
    return frozenset(errors(faults)["line"].drop_nulls())


def _column(given: Mapping[str, pl.Series], field: Field) -> pl.Expr:
    """The field's values, null where the sheet has no column for it."""
    values = pl.lit(given.get(field.name), dtype=None if field.name in given else field.polars_type)
    return values.cast(field.polars_type).alias(field.name)
