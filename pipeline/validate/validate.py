"""Typed records to accepted ones: the schema of their kind, then keys, references and rules across records."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat, errors, no_faults
from pipeline.standardise.frame import Standard, once
from pipeline.store.register import Register
from pipeline.validate import rules
from schemas import Kind
from schemas.material import UNREGISTERED

if TYPE_CHECKING:
    from pandera.errors import SchemaErrors

VALUE_MISSING = FaultKind(
    "value.missing",
    "Needed value is blank",
    "{column} is blank.",
    "Fill it in; a {kind} cannot be kept without it.",
)
VALUE_LIMITS = FaultKind(
    "value.limits",
    "Value outside what is possible",
    "{column}: {value} is not possible ({limits}).",
    "Check the figure and its unit ({column} is kept in {unit}).",
)
KEY_TWICE = FaultKind(
    "key.twice",
    "The same record twice with different values",
    "Line {value} holds the same record ({key}) with other values.",
    "Keep the one that is right, or give each its own reference. Where a column that is not used tells them apart, "
    "such as the depth of a sample, say in a source profile which field it is (profile FILE drafts one).",
)
SAME_LINE_TWICE = FaultKind(
    "key.repeated",
    "The same record twice",
    "Line {value} already holds this very record; it was counted once.",
    "Nothing need be done.",
    severity="note",
)
UNKNOWN_REFERENCE = FaultKind(
    "reference.unknown",
    "Name not in its register",
    "{column}: “{value}” is not in the register of {register}{closest}.",
    "Add it to the {register} file and load that first, or map the name in the source profile under "
    "[aliases.{refers}] (words FILE asks for it and writes it there){several}.",
)
OF_GREENS = (
    "; of several greens, say which under [several.green]. A green is known by its code and aliases, not by its name"
)
"""What the hint adds where the unknown name is a green's: clubs call their greens alike."""
UNKNOWN_MATERIAL = FaultKind(
    "reference.material",
    "Material not in the register",
    "Material “{value}” is not in the register of materials{closest}; the job is kept, its nutrients are not counted.",
    "Add it to the materials file; nothing need be loaded again then. If it is another name of one that is there, map "
    "it in the source profile under [aliases.material] (words FILE asks for it), take the load back (undo LOAD) and "
    "load again.",
    severity="warning",
)


UNKNOWN_TO_COME = FaultKind(
    "reference.material_to_come",
    "Material of a plan, price or stock that is not in the register",
    f"Material “{{value}}” is not in the register of materials{{closest}}; the line is kept: {UNREGISTERED}. It may be "
    "another name of one that is there.",
    "Add it to the materials file, or write the name as that has it and load the file again.",
    severity="warning",
)


Check = Callable[[Kind, pl.DataFrame, Register, date], pl.DataFrame]
"""A check across records: kind, records, register and day of loading to faults."""


@dataclass(frozen=True)
class Checked:
    """What validation yields: accepted records, and who was left out and why.

    Attributes:
        accepted: typed records with ``line``, ``record``, ``written``.
        rejected: typed records an error concerns, same columns.
        repeated: records left out because the file holds them twice (not an error).
        faults: FAULT_SCHEMA.
    """

    accepted: pl.DataFrame
    rejected: pl.DataFrame
    repeated: pl.DataFrame
    faults: pl.DataFrame


def validate(standard: Standard, register: Register, today: date) -> Checked:
    """The records a file may put into the store; one after ``today``, the day of loading, is a fault."""
    kind, records = standard.kind, standard.records
    fresh = _without(records, standard.rejected)
    schema_faults, schema_bad = _schema(kind, fresh)
    schema_bad = _whole_lines(fresh, schema_bad)
    faults = [standard.faults, _named(schema_faults, standard)]
    bad = [standard.rejected, schema_bad]
    fresh = _without(fresh, schema_bad)
    for check in (_references, rules.check):
        found = check(kind, fresh, register, today)
        faults.append(_named(found, standard))
        hit = _concerned(found, fresh, lambda part, check=check: check(kind, part, register, today))  # type: ignore[misc]
        bad.append(hit)
        fresh = _without(fresh, hit)
    none = records["record"].clear()
    key_faults, key_bad, repeated = (no_faults(), none, none) if kind.repeats else _keys(kind, fresh)
    key_bad = _whole_lines(fresh, key_bad)
    return Checked(
        accepted=_without(fresh, pl.concat([key_bad, repeated])),
        rejected=_only(records, pl.concat([*bad, key_bad])),
        repeated=_only(fresh, repeated),
        faults=once(concat([*faults, key_faults])),
    )


def _whole_lines(records: pl.DataFrame, bad: pl.Series) -> pl.Series:
    """These records with the others of their lines: half a line in the store would be there twice once it is mended.

    A cell of a wide sheet stands for itself.
    """
    if not len(bad):
        return bad
    lines = records.filter(pl.col("record").is_in(bad.implode()) & pl.col("cell").is_null())["line"].unique()
    others = records.filter(pl.col("cell").is_null() & pl.col("line").is_in(lines.implode()))["record"]
    return pl.concat([bad, others]).unique(maintain_order=True)


def _only(records: pl.DataFrame, numbers: pl.Series) -> pl.DataFrame:
    """The records that have these numbers."""
    return records.filter(pl.col("record").is_in(numbers.implode())) if len(numbers) else records.clear()


def _without(records: pl.DataFrame, numbers: pl.Series) -> pl.DataFrame:
    """The records that have other numbers; where there are none to leave out, nothing is copied."""
    return records.filter(~pl.col("record").is_in(numbers.implode())) if len(numbers) else records


def _concerned(faults: pl.DataFrame, records: pl.DataFrame, check: Callable[[pl.DataFrame], pl.DataFrame]) -> pl.Series:
    """Numbers of the records that errors concern.

    A fault knows its line. In a wide sheet a line holds a record a column, so there each column is checked by itself:
    an error of one green does not cost the others their readings.
    """
    if errors(faults).is_empty():
        return records["record"].clear()
    parts = [(records, faults)]
    if records["cell"].null_count() < records.height:
        parts = [(part, check(part)) for part in records.partition_by("cell")]
    hits = []
    for part, found in parts:
        lines = errors(found)["line"].unique()
        hits.append(part.filter(pl.col("line").is_in(lines.implode()))["record"])
    return pl.concat(hits)


def _named(faults: pl.DataFrame, standard: Standard) -> pl.DataFrame:
    """Faults with the columns a person sees in the file, not the kind's fields, also where the message begins so."""
    header = pl.col("column").replace(dict(standard.columns))
    begins = pl.col("message").str.starts_with(pl.col("column") + ":") & (pl.col("column") != "")
    rest = pl.col("message").str.slice(pl.col("column").str.len_chars())
    message = pl.when(begins).then(pl.concat_str(header, rest)).otherwise(pl.col("message"))
    return faults.with_columns(header.alias("column"), message.alias("message"))


def filled(kind: Kind, records: pl.DataFrame) -> list[str]:
    """The kind's fields that a record of these cannot do without, or in which one has a value."""
    names = list(kind.frame_schema)
    some = records.select(pl.col(names).null_count() < pl.len()).row(0)
    return [name for name, has in zip(names, some, strict=True) if has or name in kind.required]


def _schema(kind: Kind, records: pl.DataFrame) -> tuple[pl.DataFrame, pl.Series]:
    """Faults of the pandera schema, and numbers of the records they concern."""
    from pandera.errors import SchemaErrors

    typed = records.select(*filled(kind, records), "line")
    try:
        kind.pandera.select_columns(typed.columns).validate(typed, lazy=True)
    except SchemaErrors as error:
        return _from_pandera(kind, records, error)
    return no_faults(), records["record"].clear()


def _from_pandera(kind: Kind, records: pl.DataFrame, error: SchemaErrors) -> tuple[pl.DataFrame, pl.Series]:
    cases = pl.DataFrame(error.failure_cases)
    # A check that raises, or a wrong type, has no row: that is our own fault, never the file's.
    assert cases["index"].null_count() == 0, f"schema of {kind.name} failed without a row: {cases}"
    faults = []
    cells = records["cell"].gather(cases["index"].cast(pl.Int64))
    cases = cases.with_columns(cells)
    for (column, check, cell), part in cases.group_by("column", "check", "cell", maintain_order=True):
        field = kind.by_name[str(column)]
        shown = str(cell) if cell and field.name == kind.value_field else field.name
        rows = part["index"].cast(pl.Int64)
        lines = records["line"].gather(rows)
        values = records[field.name].gather(rows)
        if str(check).startswith("not_nullable"):
            faults.append(VALUE_MISSING.frame(lines, values, shown, kind=kind.name.replace("_", " ")))
        else:
            limits = field.limits or f"one of the words in {field.choices}"
            unit = field.unit or "its own number"
            faults.append(VALUE_LIMITS.frame(lines, values, shown, limits=limits, unit=unit))
    return concat(faults), records["record"].gather(cases["index"].cast(pl.Int64))


def _references(kind: Kind, records: pl.DataFrame, register: Register, _today: date) -> pl.DataFrame:
    faults = []
    for field in kind.stored:
        if not field.refers or field.refers == kind.name:
            continue
        known = register.names(field.refers)
        unknown = records.filter(~pl.col(field.name).is_in(sorted(known)) & pl.col(field.name).is_not_null())
        for name in unknown[field.name].unique().sort():
            here = unknown.filter(pl.col(field.name) == name)
            fault = (UNKNOWN_TO_COME if kind.ahead else UNKNOWN_MATERIAL) if field.open else UNKNOWN_REFERENCE
            near = offered(name, register.spelt(field.refers))
            facts: dict[str, Any] = {"register": f"{field.refers}s", "refers": field.refers, "closest": near}
            facts["several"] = OF_GREENS if field.refers == "green" else ""
            faults.append(fault.of(here, field.name, **facts))
    return concat(faults)


def _keys(kind: Kind, records: pl.DataFrame) -> tuple[pl.DataFrame, pl.Series, pl.Series]:
    """Faults for keys met twice; records with other values are bad, true copies are left out once."""
    key = list(kind.key)
    twice = records.filter(pl.len().over(key) > 1)
    if not twice.height:
        return no_faults(), records["record"].clear(), records["record"].clear()
    values = [field.name for field in kind.stored if not field.key]
    first = twice.with_columns(
        pl.struct(values).first().over(key).alias("first_values"), pl.col("line").first().over(key).alias("first_line")
    ).with_columns((pl.struct(values) != pl.col("first_values")).any().over(key).alias("differs"))
    shown = ", ".join(name.replace("_", " ") for name in key)
    differing = first.filter("differs").with_columns(
        pl.when(pl.col("line") == pl.col("first_line"))
        .then(pl.col("line").last().over(key))
        .otherwise(pl.col("first_line"))
        .alias("other")
    )
    copies = first.filter(~pl.col("differs") & (pl.col("record") != pl.col("record").first().over(key)))
    faults = concat(
        [
            KEY_TWICE.of(differing, kind.key[0], pl.col("other"), key=shown),
            SAME_LINE_TWICE.of(copies, kind.key[0], pl.col("first_line")),
        ]
    )
    return faults, differing["record"], copies["record"]
