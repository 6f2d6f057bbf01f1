"""A programme as rows of planned works: written for a person to edit, and read back as the same works."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from pipeline.plan.entries import PUT_ON, Entry
from pipeline.plan.programme import Programme
from pipeline.plan.works import Planned, Unit

Cell = str | int | float | None
Row = Mapping[str, Cell]

COLUMNS = {
    "programme": "programme",
    "green": "green",
    "operation": "operation",
    "material": "material",
    "reference": "reference",
    "first": "window_from",
    "last": "window_to",
    "times": "times",
    "kg": "mass_kg",
    "l": "volume_l",
    "g_m2": "rate_g_m2",
    "ml_m2": "rate_ml_m2",
    "depth": "depth_mm",
    "passes": "passes",
    "hours": "hours",
    "basis": "basis",
    "note": "note",
}
"""What a row says, and the field of the kind ``planned_work`` that holds it, in the order of the columns."""
KIND = "planned_work"
DIGITS = 3
"""Digits after the point of a mass, volume or rate in the sheet: grams and millilitres are as fine as anything is
weighed on a green."""


def rows(programme: Programme) -> list[dict[str, Cell]]:
    """The lines of a programme as rows under the fields of the kind; amounts are of one time, as that kind has them."""
    references = _references(programme.entries)
    return [_row(one, reference) for one, reference in zip(programme.entries, references, strict=True)]


def _references(entries: Iterable[Entry]) -> Iterator[str]:
    """A name for each line by the first day of its window: one operation and material may have several windows.

    Made anew from later records, a line keeps its name, and with it the record that a load changes.
    """
    seen: Counter[tuple[str, str, str, str]] = Counter()
    for one in entries:
        work = one.work
        name = f"from {work.first.day} {work.first:%B}"
        key = (work.green, work.operation, work.material, name)
        seen[key] += 1
        yield name if seen[key] == 1 else f"{name} ({seen[key]})"


def _row(one: Entry, reference: str) -> dict[str, Cell]:
    work = one.work
    times = round(work.size) if work.unit == "times" and work.size is not None else round(one.times)
    said: dict[str, Cell] = {
        "programme": work.programme,
        "green": work.green,
        "operation": work.operation,
        "material": work.material or None,
        "reference": reference,
        "first": work.first.isoformat(),
        "last": work.last.isoformat(),
        "times": times,
        "depth": work.depth_mm,
        "passes": work.passes,
        "hours": None if work.hours is None else round(work.hours / times, DIGITS),
        "basis": work.basis,
        "note": note_of(one) or None,
        **_amount(one, times),
    }
    return {field: said.get(name) for name, field in COLUMNS.items()}


def _amount(one: Entry, times: int) -> dict[str, Cell]:
    """How much at one time: by mass or volume where that is known, else by its rate."""
    work = one.work
    if work.unit == "times":
        return {}
    if work.size is not None:
        return {work.unit: round(work.size / times, DIGITS)}
    if one.rate is not None:
        return {"ml_m2" if one.rate_unit == "ml/m²" else "g_m2": round(one.rate, DIGITS)}
    return {}


def note_of(one: Entry) -> str:
    """What stands beside a line: its note, why its amount is not known, its cautions."""
    lacking = f"Amount: {one.lacking.rstrip('.')}." if one.lacking else ""
    return " ".join(part for part in (one.note, lacking, *one.cautions) if part)


def planned(read: Iterable[Row], areas: Mapping[str, float | None]) -> tuple[Planned, ...]:
    """The works that rows say, amounts over all their times; areas of greens turn a rate into an amount."""
    return tuple(_work({name: row.get(field) for name, field in COLUMNS.items()}, areas) for row in read)


def _work(said: Row, areas: Mapping[str, float | None]) -> Planned:
    times = 1 if said["times"] in (None, "") else int(float(str(said["times"])))
    operation, green = str(said["operation"]), str(said["green"])
    unit, each = _each(said, operation, areas.get(green))
    hours = _number(said["hours"])
    return Planned(
        green=green,
        operation=operation,
        first=date.fromisoformat(str(said["first"])),
        last=date.fromisoformat(str(said["last"])),
        unit=unit,
        size=None if each is None else each * times,
        material=str(said["material"] or ""),
        depth_mm=_number(said["depth"]),
        passes=_number(said["passes"]),
        hours=None if hours is None else hours * times,
        programme=str(said["programme"] or ""),
        basis=str(said["basis"] or ""),
    )


def _each(said: Row, operation: str, area_m2: float | None) -> tuple[Unit, float | None]:
    """What a row is counted in, and how much of it at one time."""
    units: tuple[tuple[Unit, str, str], ...] = (("kg", "kg", "g_m2"), ("l", "l", "ml_m2"))
    for unit, amount, rate in units:
        if (value := _number(said[amount])) is not None:
            return unit, value
        if (value := _number(said[rate])) is not None:
            return unit, None if area_m2 is None else value * area_m2 / 1000
    return ("kg", None) if operation in PUT_ON else ("times", 1.0)


def _number(cell: Cell) -> float | None:
    return None if cell in (None, "") else float(str(cell))
