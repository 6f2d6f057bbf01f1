"""A kind of record: its fields, and what is made from them (pandera schema, store columns, template)."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from schemas.codes import code_list
from schemas.field import Field

if TYPE_CHECKING:
    import pandera.polars as pa

    from schemas.field import PolarsType

ENDINGS = {
    "superseded": "another version took its place",
    "withdrawn": "the value was taken back: a later issue leaves the result blank",
    "closed": "a file declared complete for its days no longer holds it",
}
"""Ways in which a load ends a version of a record, and what each means."""

COUNTED_ONCE = "counted_once"
"""The way a decision ends a record: it and another line are one (pipeline/store/decisions.py)."""

PROVENANCE: tuple[tuple[str, str, str], ...] = (
    ("load_id", "BIGINT NOT NULL", "load that brought this version of the record (meta.load)"),
    ("line", "BIGINT NOT NULL", "line of the file the record stands on, as a text editor counts it"),
    ("written", "VARCHAR", "JSON: cells as the user wrote them, where they differ from what was understood"),
    ("ended_by", "BIGINT", "load or decision that ended this version; NULL while it is in force"),
    (
        "ended_as",
        "VARCHAR",
        "how it ended: "
        + "; ".join(f"{way} ({what})" for way, what in ENDINGS.items())
        + f"; {COUNTED_ONCE} (somebody decided that it and another line are one)",
    ),
)


@dataclass(frozen=True)
class Kind:
    """A kind of record.

    Attributes:
        name: store table and ``--kind`` (singular noun).
        title: what a person calls a list of them.
        grain: what one row is.
        fields: every field, in the order of the template.
        repeats: True where several records with the same natural key are real (two identical jobs on one day, several
            timed bowls on one rink); False where the same key twice with different values is a fault.
        register: True for lists that facts refer to; they are loaded first.
        value_field: field whose blank means "no result", or "". Of a kind that does not repeat, the record is then
            withdrawn if there was one.
        value_from: sets of fields any of which gives the value where it is blank: a file needs no column for it then.
        order: fields the stored facts are sorted by.
        told_by_headers: False where headers alone cannot tell it from another kind: it takes a profile or ``--kind``.
        suggested: False where a draft never takes a file for one of these, unless ``--kind`` says so.
        often_constant: fields that a file often leaves out because they are the same in every row; a draft offers them.
        draft_asks: fields that may be blank, and that a draft asks for all the same where no column says them, each with
            what a blank means.
        period: "day" or "month" where every figure is of one such period, "" elsewhere.
        attached: False where no figure rests on its records: they neither go with a report nor move its last day.
        ahead: True where its records are of what is to come and what that costs: no figure, no document of what was done
            and no last day rests on them, also where they name a green.
        figured: fields that figures are made from, where they are not all: read and attached are these alone.
    """

    name: str
    title: str
    grain: str
    fields: tuple[Field, ...]
    repeats: bool = False
    register: bool = False
    value_field: str = ""
    value_from: tuple[tuple[str, ...], ...] = ()
    order: tuple[str, ...] = ()
    told_by_headers: bool = True
    suggested: bool = True
    often_constant: tuple[str, ...] = ()
    draft_asks: tuple[tuple[str, str], ...] = ()
    period: Literal["", "day", "month"] = ""
    attached: bool = True
    ahead: bool = False
    figured: tuple[str, ...] = ()

    @property
    def dated(self) -> bool:
        """Whether its records are of a day: ``date`` says when, and the latest record is the one with the last."""
        return "date" in self.by_name

    @property
    def by_period(self) -> bool:
        """Whether a record of it may be known to the month or year only: then ``date_to`` says the last day."""
        return "date_to" in self.by_name

    @property
    def by_day(self) -> bool:
        """Whether several of its rows may be about one thing, each from its day until the next."""
        return "valid_from" in self.by_name

    @property
    def of_green(self) -> bool:
        """Whether its records are about a green as it was; where its ``green`` may be blank, some are about none."""
        return not (self.register or self.ahead) and "green" in self.by_name

    @property
    def pictured(self) -> bool:
        """Whether its records hold pictures, which lie in files beside theirs."""
        return any(field.type == "image" for field in self.fields)

    @cached_property
    def by_name(self) -> dict[str, Field]:
        """Fields by name."""
        return {field.name: field for field in self.fields}

    @cached_property
    def stored(self) -> tuple[Field, ...]:
        """Fields that are columns of the store."""
        return tuple(field for field in self.fields if field.stored)

    @cached_property
    def asked(self) -> tuple[Field, ...]:
        """Fields that a user's file may give."""
        return tuple(field for field in self.fields if field.asked)

    @cached_property
    def key(self) -> tuple[str, ...]:
        """Names of the natural key's fields."""
        return tuple(field.name for field in self.fields if field.key)

    @cached_property
    def reading_order(self) -> tuple[str, ...]:
        """Columns that records are read in the order of: the kind's own, its key, then where they stand."""
        return tuple(dict.fromkeys([*self.order, *self.key, "file", "line"]))

    @cached_property
    def required(self) -> tuple[str, ...]:
        """Names of the fields a row cannot do without."""
        return tuple(field.name for field in self.fields if field.required)

    @cached_property
    def needed(self) -> tuple[str, ...]:
        """Names of the fields a file must have a column for."""
        return (*self.required, *((self.value_field,) if self.value_field and not self.value_from else ()))

    def needed_beside(self, given: Collection[str]) -> tuple[str, ...]:
        """Names of the fields a file that gives these must have a column for.

        Rows that hold from a day on take the rest from the row before them (pipeline/validate/carried.py).
        """
        later = self.by_day and "valid_from" in given
        return tuple(name for name in self.needed if not later or self.by_name[name].key)

    @cached_property
    def frame_schema(self) -> dict[str, PolarsType]:
        """Columns and types of a standardised frame, without ``line``."""
        return {field.name: field.polars_type for field in self.stored}

    @cached_property
    def pandera(self) -> pa.DataFrameSchema:
        """The pandera schema a standardised frame must pass (eager frames only: a LazyFrame hides bad values)."""
        import pandera.polars as pa
        import polars as pl

        columns: dict[str, pa.Column] = {
            field.name: pa.Column(field.polars_type, _checks(field), nullable=not field.required)
            for field in self.stored
        }
        columns["line"] = pa.Column(pl.Int64, pa.Check.ge(1))
        return pa.DataFrameSchema(columns, strict=True, name=self.name)

    def rests_on(self, name: str) -> tuple[str, ...]:
        """Fields without which this one says nothing: a result anew is not that of the counts before."""
        ways = {one for way in self.value_from for one in way}
        return (*self.by_name[name].rests_on, *((self.value_field,) if name in ways else ()))

    def store_columns(self) -> list[tuple[str, str, str]]:
        """(name, type, comment) of each column of the store's table, provenance last."""
        columns = [
            (field.name, field.store_type + (" NOT NULL" if field.required else ""), _comment(field))
            for field in self.stored
        ]
        return columns + list(PROVENANCE)

    def template(self) -> str:
        """An empty CSV with this kind's headers."""
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerow([field.name for field in self.asked])
        return out.getvalue()


def _comment(field: Field) -> str:
    parts = [field.meaning]
    if field.unit:
        parts.append(f"Unit: {field.unit}.")
    if field.limits:
        parts.append(f"Limits: {field.limits}.")
    return " ".join(parts)


def _checks(field: Field) -> list[pa.Check]:
    import pandera.polars as pa

    checks: list[pa.Check] = []
    if field.above is not None:
        checks.append(pa.Check.gt(field.above))
    if field.low is not None or field.high is not None:
        low = -float("inf") if field.low is None else field.low
        high = float("inf") if field.high is None else field.high
        checks.append(pa.Check.in_range(low, high))
    if field.choices:
        checks.append(pa.Check.isin(list(code_list(field.choices))))
    return checks
