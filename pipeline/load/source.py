"""Which files are issues of one export: the one rule, by profile and by name."""

from __future__ import annotations

import calendar
import re
from collections.abc import Sequence

from pipeline.common.file_names import last_part
from pipeline.store.store import Store
from schemas import Kind

_MONTHS = frozenset(name.casefold() for names in (calendar.month_name, calendar.month_abbr) for name in names)
_ENDINGS = {"csv", "txt", "tsv", "xlsx", "xlsm", "xls", "ods"}
"""Endings within a name: a file of rejected rows is named after the whole name of a workbook."""
_OF_AN_ISSUE = (
    _MONTHS | _ENDINGS | {"sept", "rejected", "again", "copy", "final", "corrected", "new", "version", "v", "to"}
)
"""Words of a file's name that tell one issue of an export from another, not one source from another."""
OF_A_WHOLE = {"complete", "full", "whole", "all"}
"""Words of the name of an export that repeats what its parts said."""


def same_source(file: str, profile: str, other: str, other_profile: str) -> bool:
    """Whether two files are issues of one export: read with the same profile, or named alike but for dates."""
    return (profile == other_profile != "") or issue(file) == issue(other)


def issue(file: str) -> frozenset[str]:
    """Words of a file's name without what tells one issue from the next."""
    return _words(last_part(file).rpartition(".")[0])


def _words(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W\d_]+", text.casefold())) - _OF_AN_ISSUE


def loads_of_source(store: Store, kind: Kind, file: str, profile: str) -> tuple[int, ...]:
    """Loads in force of the source of a file: those read by its profile; without one, of files named alike.

    Of files named alike in folders whose names are known and are not alike, each is a source of its own.
    """
    loads = store.rows("SELECT load_id, file FROM meta.load WHERE kind = ? AND profile = ?", [kind.name, profile])
    return tuple(sorted(one for one, other in loads if profile or _named_alike(file, other)))


def _named_alike(file: str, other: str) -> bool:
    folders = [one.replace("\\", "/").rpartition("/")[0] for one in (file, other)]
    alike = issue(file) - OF_A_WHOLE == issue(other) - OF_A_WHOLE
    return alike and (not all(folders) or _words(folders[0]) == _words(folders[1]))


def source_in_words(file: str, profile: str) -> str:
    """What the source of a file is, in words."""
    return f"profile “{profile}”" if profile else f"files named like {last_part(file)} but for dates and numbers"


def named(places: Sequence[tuple[str, int]], most: int = 10) -> str:
    """Lines of files, the first of many: "line 2 of crew.csv, line 4 of crew.csv and 3 more"."""
    first = ", ".join(f"line {line} of {file}" for file, line in places[:most])
    return f"{first} and {len(places) - most:,} more" if len(places) > most else first
