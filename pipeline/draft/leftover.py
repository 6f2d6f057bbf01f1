"""Columns that no field was found for: which of them a person must look at, and which may be passed over."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.draft.document import UNDECIDED, Ask, Entry, Part
from pipeline.draft.headings import Column
from pipeline.draft.layout import Layout
from pipeline.profiles.profile import IGNORED


def offered(layout: Layout, columns: Sequence[Column]) -> list[Column]:
    """Those that a needed field's question offers already: the one that is not taken is named when loading."""
    lacking = set(layout.lacking)
    headers = {column.header for name in lacking for column in layout.matches.open.get(name, [])}
    wants_date = any(layout.kind.by_name[name].type == "date" for name in lacking)
    return [column for column in columns if column.header in headers or (wants_date and column.dated)]


def passed_over(layout: Layout, column: Column) -> bool:
    """Whether a column may be left out unasked: it is empty, or holds words and is named like no field."""
    if not column.words:
        return True
    if offered(layout, [column]) or _near(layout, column):
        return False
    return not (column.measured or column.figured or column.dated)


def columns_part(layout: Layout, left: Sequence[Column]) -> Part:
    """Entries of [columns]: each column left over that is not passed over, to be decided by a person."""
    known = {column.header for column in offered(layout, left)}
    some = [column for column in left if column.header not in known and not passed_over(layout, column)]
    return sum((_asked(layout, column) for column in some), Part())


def _asked(layout: Layout, column: Column) -> Part:
    line, cell = column.filled.row(0)
    near = _near(layout, column)
    why = f"named like {' and '.join(near)}" if near else "it holds figures or codes and is named like no field"
    what = f'{why}: write the field it is, or "{IGNORED}"'
    value: object = {"field": UNDECIDED, "unit": column.unit} if column.unit else UNDECIDED
    entry = Entry(column.header, value, f"line {line}: {cell if len(cell) <= 30 else cell[:29] + '…'}: {what}")
    return Part((entry,), (Ask("columns", what, column.header),))


def _near(layout: Layout, column: Column) -> list[str]:
    """Fields without a column whose names are near the header."""
    found = layout.matches.found
    return [name for name, some in layout.matches.open.items() if column in some and name not in found]
