"""Words from a list of allowed ones, by any known spelling."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat
from pipeline.common.words import listed
from pipeline.profiles.style import Understood
from pipeline.standardise.cells.crew_words import OPERATIONS, Said, each_said, operations_said, said_again
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.cells.measured_words import UNITS_OF, measured
from schemas.codes import code_list, fold, spellings

UNKNOWN_WORD = FaultKind(
    "choice.unknown",
    "Word not in its list",
    "{column}: “{value}” is not a known {what}{closest}.",
    "Write one of the known words, or map it in the source profile under [aliases.{what_key}] (words FILE "
    "asks for each and writes it there): {allowed}.",
)
SEVERAL_OPERATIONS = FaultKind(
    "operation.several",
    "Several operations in one cell",
    "{column}: “{value}” names several operations: {operations}.",
    "Give each a line of its own, with what was put on and the time it took; or have the source profile part such "
    "cells (docs/profiles.md, [several.operation]).",
)
OPERATION_AND_AMOUNT = FaultKind(
    "operation.amount",
    "Operation with an amount",
    "{column}: “{value}” says {operation}, and beside it “{amount}”, which this column would lose.",
    "Write {operation} here, and “{amount}” into the column it belongs to: passes, depth_mm, cut_height_mm, "
    "quantity; or have the source profile read such cells (docs/profiles.md, [several.operation]).",
)
OPERATION_AGAIN = FaultKind(
    "operation.again",
    "One operation named again in one cell",
    "{column}: “{value}” names {operation} twice: it may be one job of two passes, or two jobs.",
    "Name it once, and say 2 passes (x2, or in the column of passes) where it was one job; give each a line of its own "
    "where they were two.",
)
PART_OF_GREEN = FaultKind(
    "operation.part",
    "Operation on a part of the green",
    "{column}: “{value}” was read as {operation}; “{part}” says that a part of the green was treated.",
    "Without the area treated, treated_area_m2, what was put on is counted over the whole green.",
    "warning",
)


def choice_column(source: Cells, list_name: str, aliases: Mapping[str, str]) -> Understood:
    """``value`` (String): the list's word for each cell; an unknown word is a fault with the closest ones.

    ``unit`` stands beside it where a word for what was measured says the unit of the result (``K mg/l``).

    Marks for missing are null already; ``aliases`` are the other spellings of the source profile, as written.
    """
    known = spellings(list_name)
    declared = {fold(word): known[fold(name)] for word, name in aliases.items() if fold(name) in known}
    unique = source.cells.drop_nulls().unique(maintain_order=True)
    table: dict[str, str | None] = {text: declared.get(fold(text), known.get(fold(text))) for text in unique}
    more = {text: measured(text, list_name) for text, word in table.items() if word is None and list_name in UNITS_OF}
    table |= {text: said.name for text, said in more.items() if said.name}
    phrases = {text: operations_said(text) for text, word in table.items() if word is None and list_name == OPERATIONS}
    phrases = {text: said for text, said in phrases.items() if said.operations}
    again = {text: name for text in phrases if (name := said_again(each_said(text)))}
    table |= {
        text: said.operations[0]
        for text, said in phrases.items()
        if len(said.operations) == 1 and not said.amounts and text not in again
    }
    values = source.cells.replace_strict(table, default=None, return_dtype=pl.String)
    faults = [
        _named_again(source, text, again[text])
        if text in again and len(said.operations) == 1
        else _of_phrase(source, text, said)
        for text, said in sorted(phrases.items(), key=lambda one: one[0])
    ]
    allowed = ", ".join(code_list(list_name))
    for text in sorted(text for text, word in table.items() if word is None and text not in phrases):
        here = source.where(source.cells == text)
        facts = {
            "what": list_name.replace("_", " "),
            "what_key": list_name,
            "closest": offered(text, [*known, *declared]),
            "allowed": allowed,
        }
        faults.append(UNKNOWN_WORD.frame(here.lines, here.cells, here.header, **facts))
    frame = pl.DataFrame({"value": values})
    units = {text: said.unit for text, said in more.items() if said.unit}
    if units:
        frame = frame.with_columns(
            source.cells.replace_strict(units, default=None, return_dtype=pl.String).alias("unit")
        )
    return Understood(frame, concat(faults))


def _named_again(source: Cells, text: str, name: str) -> pl.DataFrame:
    here = source.where(source.cells == text)
    label = code_list(OPERATIONS)[name].label.lower()
    return OPERATION_AGAIN.frame(here.lines, here.cells, here.header, operation=label)


def _of_phrase(source: Cells, text: str, said: Said) -> pl.DataFrame:
    """What a person is told of a phrase that was understood: nothing where it is the operation and no more."""
    labels = [code_list(OPERATIONS)[name].label.lower() for name in said.operations]
    here = source.where(source.cells == text)
    if len(labels) > 1:
        return SEVERAL_OPERATIONS.frame(here.lines, here.cells, here.header, operations=listed(labels))
    if said.amounts:
        facts = {"operation": labels[0], "amount": ", ".join(said.amounts)}
        return OPERATION_AND_AMOUNT.frame(here.lines, here.cells, here.header, **facts)
    if said.part:
        return PART_OF_GREEN.frame(here.lines, here.cells, here.header, operation=labels[0], part=" ".join(said.part))
    return concat([])
