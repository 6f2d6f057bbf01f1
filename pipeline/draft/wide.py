"""Wide sheets: a column an analyte or a thing observed, a column a green."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.common.closest import closest
from pipeline.common.grouped import grouped
from pipeline.draft.columns import Column
from pipeline.draft.document import Ask, Entry, Part, Table
from pipeline.draft.known import Known
from pipeline.draft.results import EXTRACTED, FIRED, RESULTS, Result, is_part, result_of
from pipeline.profiles.profile import UNDECIDED
from pipeline.standardise.cells import units
from pipeline.standardise.observed import species_listed, species_named
from schemas import Kind
from schemas.codes import code_list, fold, spellings

FEWEST = 2
"""Columns named after greens, or after things observed, from which on a sheet is held to have a column of each."""
_GROUPS = {
    "mg/kg": "nutrients",
    "%": "shares",
    "meq/100g": "exchange capacity",
    "dS/m": "conductivity",
    "t/m3": "bulk density",
    "mm": "thicknesses",
    "gravities": "hardness readings",
    "mm/h": "infiltration rates",
}
"""What [units] calls the unit of the results that are stored in this one."""
_SHOWN = 12


def results_of(columns: Sequence[Column], names: str) -> list[Result]:
    """Every column of results of a wide sheet; ``names`` is the field that its headers give.

    Of columns that measure the same, the one in the unit the store keeps is taken, else the only one that holds
    anything. One that is empty, and says no unit, is left: what has no figure needs no unit.
    """
    found = [result for column in columns if (result := result_of(column, names)) and not is_part(result, columns)]
    if names == "observed" and len(found) < FEWEST:
        return []
    found = [one for one in found if one.column.words or one.unit or one.word == "ph"]
    kept = []
    for twins in _twins(found):
        filled = [one for one in twins if one.column.words]
        own = [one for one in filled or twins if one.unit and one.unit == one.facts.get("unit")]
        kept += own if len(own) == 1 else (filled or twins[:1])
    return [one for one in found if one in kept]


def long_tables(results: Sequence[Result]) -> tuple[list[Table], Part]:
    """One [[long]] table a column of results, with what must be decided in them, and the entries of [units].

    Of columns that measure the same there is one table, whose column is to be decided.
    """
    shared = _shared_units(results)
    asked = Part()
    for name, group in grouped([one for one in results if shared.get(one.column.header)], _group).items():
        if name:
            asked += _unit_asked(name, group)
    tables, asks = [], []
    for twins in _twins(results):
        table, questions = _long(twins, shared)
        tables.append(table)
        asks += questions
    return tables, asked + Part((), tuple(asks))


def _twins(results: Sequence[Result]) -> list[list[Result]]:
    """Columns that measure the same, together; species of one kind add up and stand each for itself.

    Where one of them names the whole kind (``Fescue``), it may be their sum, and is asked about with them.
    """
    found = []
    for twins in grouped(results, lambda one: one.same).values():
        # a header with more words than the list's (Fescue mean) may be the same once more
        listed = all(fold(one.column.name) in spellings("observation") for one in twins)
        species = {species_named(one.column.name) for one in twins} if listed else {None}
        apart = None not in species and len(species) == len(twins)
        found += [[one] for one in twins] if apart else [twins]
    return found


def _shared_units(results: Sequence[Result]) -> dict[str, str]:
    """Header → name in [units], of the results whose unit nothing says and that share it with others."""
    lacking = [one for one in results if not one.unit and one.word != "ph" and not _foreign(one)]
    return {
        one.column.header: name
        for name, group in grouped(lacking, _group).items()
        if name and len(group) > 1
        for one in group
    }


def _group(result: Result) -> str:
    return _GROUPS.get(str(result.facts.get("unit")), "")


def _foreign(result: Result) -> bool:
    """Whether a units row says a unit in words that are not in the list: a question of that column alone."""
    return bool(result.said)


def _unit_asked(name: str, group: Sequence[Result]) -> Part:
    headers = [one.column.header for one in group]
    more = f" and {len(headers) - _SHOWN} more" if len(headers) > _SHOWN else ""
    first = next((one.column for one in group if one.column.words), None)
    seen = f" (line {first.filled['line'][0]}, “{first.header}”: {first.filled['text'][0]})" if first else ""
    why = (
        f"nothing says the unit of {', '.join(headers[:_SHOWN])}{more}{seen}: write one of "
        f"{', '.join(code_list(RESULTS[group[0].names][1]))}; a column in another unit gets its own in its table"
    )
    return Part((Entry(name, UNDECIDED, why),), (Ask(f"units.{name}", why),))


def _long(twins: Sequence[Result], shared: dict[str, str]) -> tuple[Table, list[Ask]]:
    result = twins[0]
    header = result.column.header
    given: dict[str, object] = {result.names: result.word}
    if result.names == "observed" and (species := species_listed(result.column.name)):
        given["species_named"] = species
    asks = []
    if result.layer:
        ends, why = _ends(result.layer)
        given |= ends
        asks += [Ask("long.set.depth_to_mm", why, header)] if why else []
    if several := result.facts.get("either"):
        why = f"“{header}” may mean one of several to a laboratory: write one of {', '.join(several)}"
        given[result.names] = UNDECIDED
        asks.append(Ask(f"long.set.{result.names}", why, header))
    given["unit"] = _unit_of(twins, shared)
    if given["unit"] == UNDECIDED:
        asks.append(Ask("long.set.unit", _why_unit(result), header))
    more = {"drop": result.drop, "extractant": result.extractant, "burn_c": result.burn_c}
    given |= {name: said for name, said in more.items() if said}
    entry = Entry("from", header)
    if len(twins) > 1:
        why = f"columns that measure the same: write one of {', '.join(f'“{one.column.header}”' for one in twins)}"
        asks.append(Ask("long.from", why, header))
        entry = Entry("from", UNDECIDED, why)
    return Table("long", (entry, Entry("set", given, _note(result))), many=True), asks


def _unit_of(twins: Sequence[Result], shared: dict[str, str]) -> str:
    """The unit that all of these say, or the name in [units] of what is asked once."""
    result = twins[0]
    if result.unit and len({one.unit for one in twins}) == 1:
        return result.unit
    return "pH" if result.word == "ph" else shared.get(result.column.header, UNDECIDED)


def _note(result: Result) -> str:
    """What may be added where the report says it."""
    if result.word in EXTRACTED and not result.extractant:
        return 'add extractant = "…" if the report names it'
    if result.word == FIRED and not result.burn_c:
        return "add burn_c = … if the report says how hot it was burnt"
    return ""


def _why_unit(result: Result) -> str:
    why = f"the unit “{result.said}” is not one of the list" if result.said else "nothing says the unit"
    listed = RESULTS[result.names][1]
    words = f", and what the units row says under [aliases.{listed}]" if result.column.row_said else ""
    return f"{why}: write one of {', '.join(code_list(listed))}{words}"


def _ends(layer: tuple[int, int, str]) -> tuple[dict[str, object], str]:
    """Ends of the sampled layer in mm, and why they must be decided where no unit is said (0 is 0 in any)."""
    low, high, unit = layer
    if unit:
        factor = units.scale(unit, "mm")[0]
        return {"depth_from_mm": _whole(low * factor), "depth_to_mm": _whole(high * factor)}, ""
    ends = {"depth_from_mm": low or 0, "depth_to_mm": UNDECIDED}
    if low:
        ends["depth_from_mm"] = UNDECIDED
    return ends, "the header says the layer without a unit: write both ends in mm"


def _whole(value: float) -> int | float:
    return int(value) if value == int(value) else value


def green_columns(columns: Sequence[Column], known: Known) -> list[Column]:
    """Columns named after greens, and the columns of numbers between them; none where it is no such sheet.

    A column of dates must stand before the first.
    """
    names = known.folded("green")
    places = [i for i, column in enumerate(columns) if fold(column.header) in names]
    if len(places) < FEWEST or not any(column.dated for column in columns[: places[0]]):
        return []
    between = range(places[0], places[-1] + 1)
    return [columns[i] for i in between if i in places or columns[i].numeric]


def green_tables(columns: Sequence[Column], kind: Kind, known: Known) -> tuple[list[Table], list[Ask]]:
    """One [[long]] table a green, with what must be decided in them."""
    names = known.folded("green")
    tables, asks = [], []
    for column in columns:
        green = names.get(fold(column.header), UNDECIDED)
        entries = [Entry("from", column.header)]
        if not kind.value_field:
            why = f"which field of {kind.name} the cells under the greens' names are is not said"
            asks.append(Ask("long.into", why, column.header))
            entries.append(Entry("into", UNDECIDED, "the field its cells go to"))
        comment = ""
        if green == UNDECIDED:
            near = closest(column.header, known.names["green"])
            comment = f"closest: {', '.join(near)}" if near else "no name of a green is near"
            asks.append(Ask("long.set.green", "not among the greens of the store: write the code", column.header))
        entries.append(Entry("set", {"green": green}, comment))
        tables.append(Table("long", tuple(entries), many=True))
    return tables, asks
