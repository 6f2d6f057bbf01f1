"""Tables [fields], [constants] and [columns] of a draft: where each field comes from, and which columns are left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from pipeline.draft.as_above import blanks_above, with_marks
from pipeline.draft.columns import HALF, Column, bare
from pipeline.draft.dates import origin_of
from pipeline.draft.document import Ask, Entry, Part, shortened
from pipeline.draft.layout import Layout
from pipeline.draft.matching import Found, candidates, says_unit
from pipeline.draft.results import names_of_results, result_of
from pipeline.profiles.profile import IGNORED, UNDECIDED
from pipeline.read.text.messages import SENT_AT
from pipeline.standardise.cells import units
from pipeline.standardise.cells.header_units import parted
from pipeline.standardise.field_units import unit_fits, without_period
from schemas import Kind
from schemas.codes import fold, spellings
from schemas.field import Field

_HOW = {
    "name": "",
    "like": "guessed from the header: check",
    "cells": "guessed from the cells: check",
    "message": "what a message says beyond operations and their amounts is refused, with its line",
}
_BARE_FIGURE = r"^[-+]?[\d½¼¾][\d.,½¼¾/ -]*$"
_MOST = 12
_MOST_UNUSED = 60
_WORDS = frozenset({"text", "code", "choice", "flag"})
_SOLE = frozenset({"m/s²", "°", "%", "weeks"})
"""Units that nobody writes these figures in another one of: not asked for."""
TEMPERATURES = "temperatures"
"""What [units] calls the unit that a station writes all its temperatures in."""
DISTANCES = "distances"
"""What [units] calls the unit of both distances of a place."""
MATERIAL = "material"
AMOUNTS = frozenset({"quantity", "mass_kg", "volume_l", "packs", "rate", "rate_g_m2", "rate_ml_m2"})
"""Fields that say how much was put on."""
_PLACE = frozenset({"x_m", "y_m"})
_UNITS = {TEMPERATURES: "°C or °F", DISTANCES: "m is what is stored"}
_SOLE_FIELDS = frozenset({"burn_c"})
"""Fields for which the same holds, though others in their unit are asked for: soil is burnt in °C everywhere."""


def shared_units(layout: Layout) -> dict[str, list[Column]]:
    """Name in [units] → the columns whose unit nothing says and that are written in one: a station's, a place's."""
    named = [(layout.kind.by_name[name], found.column) for name, found in layout.matches.found.items()]
    lacking = [(one, column) for one, column in named if _unit(layout.kind, one, column, {})[0] == UNDECIDED]
    groups = {
        TEMPERATURES: [column for one, column in lacking if layout.kind.period and one.unit == "°C"],
        DISTANCES: [column for one, column in lacking if one.name in _PLACE],
    }
    return {name: columns for name, columns in groups.items() if len(columns) > 1}


def units_part(shared: Mapping[str, Sequence[Column]]) -> Part:
    """Entries of [units] for columns of fields that share a unit which nothing says."""
    parts = []
    for name, columns in shared.items():
        seen = ", ".join(f"{column.header} (line {line}: {cell})" for column, line, cell in map(_first_figure, columns))
        why = f"nothing says the unit of {seen}: write it ({_UNITS[name]})"
        parts.append(Part((Entry(name, UNDECIDED, why),), (Ask(f"units.{name}", why),)))
    return sum(parts, Part())


def _first_figure(column: Column) -> tuple[Column, int, str]:
    line, cell = column.filled.filter(pl.col("text").str.contains(_BARE_FIGURE)).row(0)
    return column, line, cell


def fields_part(
    layout: Layout,
    left: Sequence[Column],
    unitless: Mapping[str, tuple[int, str]],
    shared: Mapping[str, Sequence[Column]],
) -> Part:
    """Entries of [fields]; ``left`` are the columns that nothing was found in.

    ``unitless`` are columns of amounts whose cells hold bare figures, with line and cell of the first; ``shared`` those
    whose unit has a name in [units].
    """
    parts = []
    names = {column.header: name for name, columns in shared.items() for column in columns}
    for one in layout.kind.fields:
        found = layout.matches.found.get(one.name)
        if one.name == "date" and layout.parts:
            comment = "joined from its parts, which stand in columns of their own: check"
            parts.append(Part((Entry(one.name, origin_of(layout.parts), comment),)))
        elif one.name == "date" and layout.months:
            comment = "each column of months says its month, under [[long]]: check"
            parts.append(Part((Entry(one.name, layout.months.origin, comment),)))
        elif found:
            parts.append(_found(layout.kind, one, found, unitless, names))
        elif one.name in layout.lacking and (words := _welded(layout, one)):
            parts.append(_unit_in_words(layout, words))
        elif one.name in layout.lacking and _from_a_column(layout, one, left):
            parts.append(_open(one, candidates(_fitting(left, one), one, layout.matches.open)))
        elif one.name == MATERIAL and (of_what := _of_what(layout, left)):
            parts.append(_material(one, of_what))
        elif one.name in layout.matches.asked:
            parts.append(_amount(one, [column.header for column in layout.matches.open[one.name]]))
        elif one.name not in layout.wide and layout.matches.open.get(one.name):
            parts.append(_near(layout, one))
    return sum(parts, Part())


def constants_part(layout: Layout, left: Sequence[Column]) -> Part:
    """Entries of [constants]: needed fields that no column can be, and what else a draft asks for once."""
    parts, blank = [], dict(layout.kind.draft_asks)
    for name in (*layout.lacking, *(name for name in blank if name not in layout.matches.found)):
        one = layout.kind.by_name[name]
        if name not in blank and _from_a_column(layout, one, left):
            continue
        if _welded(layout, one):
            continue
        if unit := _unit_of_value(layout, one):
            parts.append(Part((Entry(name, unit, "said by the header of the results"),)))
            continue
        why = _constant(one, left)
        why += f"; delete the line where {blank[name]}" if name in blank else ""
        parts.append(Part((Entry(name, UNDECIDED, why),), (Ask(f"constants.{name}", why),)))
    return sum(parts, Part())


def _constant(one: Field, left: Sequence[Column]) -> str:
    """Why a field is asked for under [constants], and how else it may be said."""
    if one.type == "date":
        why = f"no column says it ({one.meaning.split(';')[0].rstrip('.')}): write the day of every row, as 2027-02-12"
    else:
        why = f"no column says it: write the {one.name.replace('_', ' ')} of every row"
    if one.choices:
        return f"{why}, one of {', '.join(dict.fromkeys(spellings(one.choices).values()))}"
    left = days_of(left) if one.type == "date" else left
    ways = [f"name its column under [fields]: {_listed([column.header for column in left])}"] if left else []
    if one.type == "date":
        ways.append(f"say under [given.{one.name}] how a title line or the file’s name has it, in place of this")
    return ", or ".join([why, *ways])


def often_constant(layout: Layout, given: set[str]) -> list[Entry]:
    """Entries to be taken up where the same holds for every row; written as comments."""
    names = [name for name in layout.kind.often_constant if name not in given]
    fields = [layout.kind.by_name[name] for name in names]
    return [
        Entry(one.name, 0 if one.unit else "…", f"where it is the same in every row: {one.meaning}", off=True)
        for one in fields
    ]


def _from_a_column(layout: Layout, one: Field, left: Sequence[Column]) -> bool:
    """Whether the field must have a column: a date, a result, or one that near columns are offered for.

    A day that is often the same in every row is said once, where no column left over holds days.
    """
    if one.type == "date" and one.name in layout.kind.often_constant and not days_of(left):
        return bool(layout.matches.open.get(one.name))
    if one.type == "money" and _figures(left):
        return True
    return one.type == "date" or one.name == layout.kind.value_field or bool(layout.matches.open.get(one.name))


def _found(
    kind: Kind, one: Field, found: Found, unitless: Mapping[str, tuple[int, str]], shared: Mapping[str, str]
) -> Part:
    header, comment = found.column.header, _HOW[found.how]
    if _unit_to_come(kind, one, found.column):
        why = "empty in this file: take it up with its unit once there are figures"
        return Part((Entry(one.name, {"from": header, "unit": "…"}, why, off=True),))
    if header in shared:
        return Part((Entry(one.name, {"from": header, "unit": shared[header]}, comment),))
    unit, why = _unit(kind, one, found.column, unitless)
    if why:
        comment = "; ".join(filter(None, (comment, why)))
    asks = (Ask(f"fields.{one.name}.unit", why, header),) if why else ()
    plain: object = {"from": header, "unit": unit} if unit else header
    origin, marked = with_marks(plain, found.column)
    blanks = blanks_above(one.name, plain, found.column) if one.name in kind.required else ()
    return Part((Entry(one.name, origin, "; ".join(filter(None, (comment, marked)))), *blanks), asks)


def _unit_to_come(kind: Kind, one: Field, column: Column) -> bool:
    """Whether the column has no figures yet, and nothing says the unit that they will be in."""
    return not column.words and _wants_unit(kind, one, column)


def _wants_unit(kind: Kind, one: Field, column: Column) -> bool:
    """Whether the field's figures come in several units, and the header says none."""
    wanted = bool(one.unit) and one.numeric and one.unit not in _SOLE
    wanted = wanted and one.name not in _SOLE_FIELDS and units.is_known(one.unit)
    said = column.unit and unit_fits(one, column.unit)
    in_row = unit_fits(one, without_period(column.row_unit or column.row_said, kind, one.name))
    return wanted and not (said or in_row or bare(column.header) == bare(one.name) or says_unit(column, one))


def _unit(kind: Kind, one: Field, column: Column, unitless: Mapping[str, tuple[int, str]]) -> tuple[str, str]:
    """The unit to declare ("" where none need be), and why it must be decided where nothing says it."""
    if column.unit and unit_fits(one, column.unit) and one.name != "value":
        return ("" if bare(column.header) == bare(one.name) else column.unit), ""
    if one.type == "shorthand":
        line, cell = unitless.get(column.header, (0, ""))
        return (UNDECIDED, f"line {line}: {cell}: figures without a unit; write it") if line else ("", "")
    if not _wants_unit(kind, one, column):
        return "", ""
    figures = column.filled.filter(pl.col("text").str.contains(_BARE_FIGURE))
    if not figures.height:
        return "", ""
    line, cell = figures.row(0)
    return UNDECIDED, f"line {line}: {cell}: nothing says the unit; write it ({one.unit} is what is stored)"


def _welded(layout: Layout, one: Field) -> list[str]:
    """Words for what was measured that end in a unit (``totalN_%``), where the field is the unit that has no column."""
    found = layout.matches.found.get("analyte")
    if one.name != "unit" or found is None:
        return []
    return [word for word in found.column.words if parted(word)[1]]


def _unit_in_words(layout: Layout, words: Sequence[str]) -> Part:
    header = layout.matches.found["analyte"].column.header
    why = (
        f"the words of “{header}” name their own units ({', '.join(words[:3])}), so no one unit holds for every row: "
        f'where all are written so, write {{ from = "{header}", split = "_", part = 2 }} here and the same with '
        "part = 1 for analyte, and what each unit is under [aliases.soil_unit]; else add a column of units"
    )
    return Part((Entry("unit", UNDECIDED, why),), (Ask("fields.unit", why),))


def _open(one: Field, offered: list[str]) -> Part:
    what = one.meaning.rstrip(".")
    if offered:
        why = f"needed ({what}): write its column, one of {_listed(offered)}"
    else:
        why = (
            f"needed ({what}), and no column is left for it: add one to the file, or say it under [constants], or "
            "where a title line or the file's name has it, how it is found there under "
            f"[given.{one.name}]"
        )
    return Part((Entry(one.name, UNDECIDED, why),), (Ask(f"fields.{one.name}", why),))


def _near(layout: Layout, one: Field) -> Part:
    """The empty column whose name is nearest to an optional field's, to be taken up; filled ones are asked about."""
    taken = layout.matches.taken
    free = [column for column in layout.matches.open[one.name] if column.header not in taken and not column.words]
    if not free:
        return Part()
    header, unit = free[0].header, free[0].unit
    origin: object = {"from": header, "unit": unit} if unit_fits(one, unit) else header
    return Part((Entry(one.name, origin, "a name that is near: take it up if this is it", off=True),))


def _of_what(layout: Layout, left: Sequence[Column]) -> list[Column]:
    """Columns of words that may name what was put on, where amounts have a column and what they are of has none."""
    matches = layout.matches
    amounts = "quantity" in matches.asked or AMOUNTS & set(matches.found)
    if MATERIAL not in layout.kind.by_name or MATERIAL in (*matches.found, *layout.lacking) or not amounts:
        return []
    return [column for column in left if column.words and _is_words(column) and column.header != SENT_AT]


def _material(one: Field, columns: Sequence[Column]) -> Part:
    said = _listed([column.header for column in columns])
    why = f"amounts have a column and what they are of has none: write its column, one of {said}, or delete the line"
    return Part((Entry(one.name, UNDECIDED, why),), (Ask(f"fields.{one.name}", why),))


def _amount(one: Field, offered: list[str]) -> Part:
    said = _listed(offered)
    why = f"amounts stand in {said}: write the column that is this ({one.meaning.rstrip('.')}), or delete the line"
    return Part((Entry(one.name, UNDECIDED, why),), (Ask(f"fields.{one.name}", why),))


def _fitting(left: Sequence[Column], one: Field) -> Sequence[Column]:
    """Of the columns left over those whose cells look like the field's, or all where none does."""
    some = [column for column in left if column.words]
    if one.type == "date":
        some = days_of(some) or [column for column in some if not column.unit]
    elif one.type == "money":
        some = _figures(some)
    elif one.numeric:
        some = [column for column in some if column.numeric]
    return some or left


def days_of(columns: Sequence[Column]) -> list[Column]:
    """Of columns left over those whose cells are days; where there is none, those of which half are."""
    return [one for one in columns if one.dated] or [one for one in columns if not one.unit and one.days >= HALF]


def _unit_of_value(layout: Layout, one: Field) -> str:
    """The word for the unit that the header of the results says, "" where it says none."""
    found = layout.matches.found.get(layout.kind.value_field)
    if one.name != "unit" or found is None:
        return ""
    known = spellings(one.choices)
    return known.get(fold(found.column.unit), "") or known.get(fold(found.column.header), "")


def _listed(headers: Sequence[str]) -> str:
    more = f" and {len(headers) - _MOST} more" if len(headers) > _MOST else ""
    return ", ".join(f"“{header}”" for header in headers[:_MOST]) + more


def offered(layout: Layout, columns: Sequence[Column]) -> list[Column]:
    """Those that a needed field's question offers already: the one that is not taken is named when loading."""
    lacking = set(layout.lacking)
    headers = {column.header for name in lacking for column in layout.matches.open.get(name, [])}
    wants_date = any(layout.kind.by_name[name].type == "date" for name in lacking)
    found = days_of(columns) if wants_date else []
    if any(layout.kind.by_name[name].type == "money" for name in lacking):
        found += _figures(columns)
    return [column for column in columns if column.header in headers or column in found]


def _figures(columns: Sequence[Column]) -> list[Column]:
    """Of columns left over those that may be money: they hold figures, with or without a sign."""
    return [column for column in columns if column.words and not (_is_words(column) or column.dated)]


def passed_over(layout: Layout, column: Column) -> bool:
    """Whether a column may be put under [ignore] unasked: it holds words, and is named like nothing.

    An empty one may not: what stands in it one day would be left out without a word. Nor may any while a needed word or
    name has no column.
    """
    if column.header == SENT_AT:
        return True
    if not column.words or offered(layout, [column]) or _named_like(layout, column) or _of_what(layout, [column]):
        return False
    names = names_of_results(layout.kind)
    if names and result_of(column, names):
        return False
    lacking = [layout.kind.by_name[name] for name in layout.lacking]
    return _is_words(column) and not any(one.type == "choice" and one.name != "unit" for one in lacking)


def _is_words(column: Column) -> bool:
    return not (column.measured or column.figured or column.dated)


def is_asked(layout: Layout, column: Column) -> bool:
    """Whether a column left over must be decided, for without it a record would say something else.

    That is one named like a field of the kind's key or one that is needed, and where amounts are put on, any that
    holds figures: a dose that nobody was asked about is not missed until the report. Others may be left out: each
    record holds what it says without them, and loading names them.
    """
    if not column.words or offered(layout, [column]) or passed_over(layout, column):
        return False
    kind = layout.kind
    if any(one.type == "shorthand" for one in kind.fields) and not _is_words(column):
        return True
    near = [kind.by_name[name] for name in _named_like(layout, column)]
    return any(one.name in layout.lacking or (one.key and one.type not in _WORDS) for one in near)


def columns_part(layout: Layout, left: Sequence[Column]) -> Part:
    """Entries of [columns]: each column left over that must be decided by a person."""
    return sum((_asked(layout, column) for column in left if is_asked(layout, column)), Part())


def unused(layout: Layout, left: Sequence[Column]) -> list[Column]:
    """The columns left over that are neither decided, nor asked about, nor under [ignore]: loading names them."""
    known = {column.header for column in offered(layout, left)}
    return [
        column
        for column in left
        if column.header not in known and not is_asked(layout, column) and not passed_over(layout, column)
    ]


def unused_note(layout: Layout, left: Sequence[Column]) -> str:
    """A sentence on the columns that are not used, "" where there are none."""
    some = [column for column in unused(layout, left) if column.words]
    if not some:
        return ""
    told = []
    for column in some[:_MOST_UNUSED]:
        near = _named_like(layout, column)
        told.append(f"“{column.header}”{f' (may be {near[0]})' if near else ''}")
    more = f" and {len(some) - _MOST_UNUSED} more" if len(some) > _MOST_UNUSED else ""
    return (
        f"Not used: {', '.join(told)}{more}. Loading names them each time; map one that is wanted under [columns], "
        "list the others under [ignore]."
    )


def _asked(layout: Layout, column: Column) -> Part:
    line, cell = column.filled.row(0)
    near = _named_like(layout, column)
    why = f"named like {' and '.join(near)}" if near else "it holds figures or codes and is named like no field"
    what = f'{why}: write the field it is, or "{IGNORED}"'
    value: object = {"field": UNDECIDED, "unit": column.unit} if column.unit else UNDECIDED
    entry = Entry(column.header, value, f"line {line}: {shortened(cell)}: {what}")
    return Part((entry,), (Ask("columns", what, column.header),))


def _named_like(layout: Layout, column: Column) -> list[str]:
    """Fields without a column whose names are near the header."""
    found = layout.matches.found
    return [name for name, some in layout.matches.open.items() if column in some and name not in found]
