"""The data dictionary: every kind of record, every field."""

from __future__ import annotations

from pipeline.survey.visit_notes import EXAMPLE, VisitNotes
from schemas import KINDS, Kind
from schemas.field import Field
from schemas.kind import PROVENANCE
from scripts.docs import markdown as md
from scripts.docs.docstring import docstring_of

OPENING = """\
One section a kind of record, registers first: the order in which a folder is loaded. A file whose headers are the
names below, or any of the other headers, needs no [source profile](profiles.md). Headers are compared without regard
to capitals, hyphens, underscores and repeated spaces.

- **needed**: a row without it is rejected. **key**: part of what makes two rows the same record.
- **unit**: what the figure is kept in. A cell may carry another unit of its own (`3/4 in`), a header may end in one
  (`Depth cm`, `Qty kg`), or a profile may name one.
- **type**: text · code (kept as written: `01` is not `1`) · choice (one of a [list of words](codes.md)) · number ·
  whole number · money (in the workspace's currency, kept in decimal with four decimals at most; more are refused, not
  rounded) · date · flag (yes or no) · shorthand (what a crew writes in one cell; it fills the fields named).
- **limits** are physical: outside them a row is rejected. What is merely odd is a warning: see
  [faults](faults.md)."""

SAME_KEY = {
    True: "Two rows with the same key are two records: both are real.",
    False: "Two rows with the same key are one record: in one file they must agree, in a later file the newer stands "
    "and the former version is kept.",
}


TO_COME = "It is of what is to come, or what that costs: no figure, and no document of what was done, rests on it."


def page() -> str:
    """docs/records.md."""
    links = "\n".join(f"- [{kind.name}](#{md.anchor(kind.name)}): one row is {kind.grain}" for kind in KINDS.values())
    return md.page("Records", OPENING, links, *(_kind(kind) for kind in KINDS.values()), _visit_notes(), _provenance())


def _visit_notes() -> str:
    told = docstring_of(VisitNotes).lists["Attributes"]
    text = (
        "What a condition survey prints of a visit and no record holds stands in the workspace, in "
        "`surveys/GREEN-DATE.toml` beside the consultant's own text (`surveys/GREEN-DATE.md`), which may show "
        "pictures that lie beside it, as Markdown has them (PNG, JPEG or SVG, 1 MB at most, each with words that "
        "say what it shows); one that is missing, or lies outside the folder, is refused with file and line. Every "
        "key of the notes may be left out, and the file too: what nobody noted is printed as not recorded. "
        "Instrument, benchmark and standard error of levels come from the records of [levels](#level), the weather "
        "from the green's station."
    )
    table = md.table(("key", "meaning"), ((md.code(name), meaning) for name, meaning in told.items()))
    return "\n\n".join(["## Notes of a visit", text, md.block(EXAMPLE, "toml"), table])


def _kind(kind: Kind) -> str:
    rows = [
        (
            md.code(field.name),
            _type(field),
            field.unit,
            "needed" if field.required else _column_needed(kind, field),
            "key" if field.key else "",
            field.limits,
            md.codes(field.also),
            md.code(field.example),
            field.meaning + (" Kept out of reports." if field.private and "out of" not in field.meaning else ""),
        )
        for field in kind.fields
    ]
    headers = ("field", "type", "unit", "needed", "key", "limits", "other headers", "example", "meaning")
    blank = f" A blank `{kind.value_field}` means that there is no result." if kind.value_field else ""
    if kind.value_field and not kind.repeats:
        blank += " A result given earlier is then withdrawn."
    if kind.ahead:
        blank += f" {TO_COME}"
    return "\n\n".join(
        [f"## {kind.name}", f"One row is {kind.grain}. {SAME_KEY[kind.repeats]}{blank}", md.table(headers, rows)]
    )


def _column_needed(kind: Kind, field: Field) -> str:
    return "column needed, cell may be blank" if field.name == kind.value_field else ""


def _type(field: Field) -> str:
    if field.choices:
        return f"[choice](codes.md#{md.anchor(field.choices)})"
    if field.fills and not field.stored:
        return f"shorthand for {md.codes(field.fills)}"
    if field.refers:
        return f"{field.type}, in the register of [{field.refers}s](#{field.refers})"
    return {"whole": "whole number"}.get(field.type, field.type)


def _provenance() -> str:
    rows = [(md.code(name), md.code(kind), meaning) for name, kind, meaning in PROVENANCE]
    text = (
        "Beside its fields every record in the store keeps where it came from. Tables in the store's schema `history` "
        "hold every version; the view of the same name shows the ones in force, with the file's name."
    )
    return "\n\n".join(["## Where a record came from", text, md.table(("column", "type", "meaning"), rows)])
