"""Words from a list of allowed ones, by any known spelling."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Understood
from pipeline.standardise.cells.distinct import Cells
from schemas.codes import code_list, fold, spellings

UNKNOWN_WORD = FaultKind(
    "choice.unknown",
    "Word not in its list",
    "{column}: “{value}” is not a known {what}{closest}.",
    "Write one of the known words, or map it in the source profile under [aliases.{what_key}]: {allowed}.",
)


def choice_column(source: Cells, list_name: str, aliases: Mapping[str, str]) -> Understood:
    """``value`` (String): the list's word for each cell; an unknown word is a fault with the closest ones.

    Marks for missing are null already; ``aliases`` are the other spellings of the source profile, as written.
    """
    known = spellings(list_name)
    declared = {fold(word): known[fold(name)] for word, name in aliases.items() if fold(name) in known}
    unique = source.cells.drop_nulls().unique(maintain_order=True)
    table: dict[str, str | None] = {text: declared.get(fold(text), known.get(fold(text))) for text in unique}
    values = source.cells.replace_strict(table, default=None, return_dtype=pl.String)
    faults = []
    allowed = ", ".join(code_list(list_name))
    for text in sorted(text for text, word in table.items() if word is None):
        here = source.where(source.cells == text)
        facts = {
            "what": list_name.replace("_", " "),
            "what_key": list_name,
            "closest": offered(text, [*known, *declared]),
            "allowed": allowed,
        }
        faults.append(UNKNOWN_WORD.frame(here.lines, here.cells, here.header, **facts))
    return Understood(pl.DataFrame({"value": values}), concat(faults))
