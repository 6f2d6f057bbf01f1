"""Corrections of known errors in a source: every key, and an example that is read to make the page."""

from __future__ import annotations

import tomllib

from pipeline.profiles.corrections import Correction
from scripts.docs import markdown as md
from scripts.docs.typewords import limits, type_words

OPENING = """\
A source that cannot be mended where it was made (a laboratory's sheet, an old log) is corrected in the workspace's
`corrections/` folder: any number of TOML files, each with `[[correction]]` tables. A correction names one cell of one
file, by its line or by what other cells of its row say, and what the cell holds now. It is made before the cell is
understood, and told as a note when the file is loaded. Once the source is mended it no longer fits, and that is a
[fault](faults.md#correction-corrections-of-known-mistakes-in-a-source): nothing is corrected twice, and nothing in
silence.

A warning that asks about a value which is right is settled in the same way: a correction whose `to` is what the cell
holds confirms it. Load the file again; figures that rest on the row lose their mark, and the entry is no longer listed
among those to be checked first."""

KEYS = {
    "file": "name of the file, as it is shown when loaded, or its last part",
    "sheet": "sheet of the workbook, where several of its sheets are read",
    "line": "line of the row, as a text editor counts it; needed where there is no `where`",
    "where": "header = what the cell under it says, as many as tell one row from the others",
    "column": "header of the column to correct",
    "from": "what the cell holds now",
    "to": "what it should hold; blank takes the value out, and the same as `from` confirms it",
    "why": "the reason; printed with the note",
    "who": "who says so",
}

EXAMPLE = """\
[[correction]]
file = "lab_tarnfold_nutrients_2026.csv"
where = { "Lab no" = "T26-0417" }
column = "K"
from = "1120"
to = "112"
why = "slip of the keyboard, confirmed by the laboratory"
who = "office, 3 March 2026"
"""
NOT_WRITTEN = {"source"}


def page() -> str:
    """docs/corrections.md."""
    for one in tomllib.loads(EXAMPLE)["correction"]:
        Correction.model_validate(one)
    rows = []
    for key, name in keys().items():
        field = Correction.model_fields[name]
        words = ", ".join(part for part in (type_words(field.annotation), limits(field)) if part)
        rows.append((md.code(key), words, "needed" if field.is_required() else "", KEYS[key]))
    table = md.table(("key", "type", "needed", "meaning"), rows)
    return md.page(
        "Corrections", OPENING, table, "For example, `corrections/laboratory.toml`:", md.block(EXAMPLE, "toml")
    )


def keys() -> dict[str, str]:
    """Keys as a file writes them, each with the model's name for it."""
    return {field.alias or name: name for name, field in Correction.model_fields.items() if name not in NOT_WRITTEN}
