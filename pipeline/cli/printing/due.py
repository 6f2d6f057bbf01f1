"""The due list as a person reads it: green by green, then totals."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pipeline.cli.printing.columns import hanging
from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out, screen_width
from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.words import counted, long_date

if TYPE_CHECKING:
    from pipeline.plan.due_list import DueItem, DueList, GreenDue, Total
    from pipeline.plan.rates import Figure
    from pipeline.publish.due import DueDone


STATES = {"overdue": "overdue", "due": "due now", "not due yet": "to come", "not known": "done already?", "": ""}
"""Words of a state as printed."""


def due(done: DueDone, *, quiet: bool) -> None:
    """The greens with what is due, what has nothing due, totals, hours and cost, and what is missing."""
    found, width = done.due, screen_width()
    known = f"{'as of' if found.look.as_of else 'records up to'} {long_date(found.day)}"
    known = known if found.on_record else "nothing on record"
    out(f"Due to {long_date(found.until)}; {known}")
    for green in found.greens:
        if green.items:
            for line in _green(green, found, width):
                out(line)
    bare = [green.green for green in found.greens if not green.items]
    if bare:
        for line in hanging(f"Nothing is due on {counted(len(bare), 'green')}: {', '.join(bare)}.", width):
            out(line)
    _weather(found, width)
    _in_all(found, width)
    if not quiet:
        for text in found.missing:
            err(text)
    if done.written and done.written.fault:
        err(f"Not written: {done.written.fault}.")
    for path in done.files:
        out(str(path))


def _green(green: GreenDue, found: DueList, width: int) -> Iterator[str]:
    known = f"records up to {long_date(green.day)}" if green.day else "nothing on record"
    day = "" if green.day == found.day else f", {known}"
    yield ""
    yield from hanging(f"{green.green} ({green.name}, {green.club_name}){day}", width)
    for item in green.items:
        yield from _item(item, found.currency, width)


def _item(item: DueItem, currency: str, width: int) -> Iterator[str]:
    one = item.due
    state = STATES["overdue" if one.overdue else one.state]
    head = f"{one.what}: {one.quantity}; {one.by}"
    yield from hanging(f"{f'[{state}] ' if state else ''}{head}", width, 2)
    yield from hanging(f"why: {one.why}", width, 6)
    if item.against:
        yield from hanging(f"against: {' '.join(item.against)}", width, 6)
    if one.operation:
        yield from hanging(_priced(item, currency), width, 6)


def _priced(item: DueItem, currency: str) -> str:
    """Hours and cost; why they are not known, the same reason once."""
    if item.hours.value is None and item.cost.value is None and item.hours.why in item.cost.why:
        return f"hours and cost not known: {item.cost.why}"
    return f"{_told('hours', item.hours, 'h')}; {_told('cost', item.cost, currency)}"


def _told(what: str, one: Figure, unit: str) -> str:
    if one.value is None:
        return f"{what} not known: {one.why}"
    why = f", {one.why}" if one.why.startswith("without") else ""
    return f"{what} {rounded(one.value):,} {unit} ({one.how}{why})"


def _weather(found: DueList, width: int) -> None:
    """The weather on record, once for all greens of which it is the same."""
    alike = grouped((green for green in found.greens if green.items), lambda green: str(green.weather))
    if alike:
        out()
    for weather, greens in alike.items():
        of = "" if len(alike) == 1 else f" ({', '.join(green.green for green in greens)})"
        for line in hanging(f"Weather: {weather}{of}", width):
            out(line)


def _in_all(found: DueList, width: int) -> None:
    if not found.items:
        return
    out()
    out("In all")
    if found.totals:
        rows = [(one.what, _amount(one), one.held, str(one.greens), _unknown(one)) for one in found.totals]
        natural = sum(max(len(row[at]) for row in rows) for at in range(5)) + 8
        if not width or natural <= width:
            table(("material", "amount", "packs", "greens", "not known"), rows, frozenset({1, 3}))
        else:
            for what, amount, packs, greens, unknown in rows:
                said = ", ".join(
                    filter(None, (amount, packs, f"on {greens} {'green' if greens == '1' else 'greens'}", unknown))
                )
                for line in hanging(f"{what}: {said}", width, 2):
                    out(line)
    for what, whole, unit in (("Hours", found.hours, "h"), ("Cost", found.cost, found.currency)):
        value = "not known" if whole.value is None else f"{rounded(whole.value):,} {unit}"
        said = f" ({whole.said})" if whole.said else ""
        for line in hanging(f"{what}: {value}{said}", width):
            out(line)


def _amount(one: Total) -> str:
    if one.amount is None:
        return "not known"
    if one.unit != "t":
        return f"{one.amount:,.1f} {one.unit}"
    return f"{one.amount:,.3f}".rstrip("0").rstrip(".") + " t"  # to the kilogram: 4.004 t are 5 packs of a tonne


def _unknown(one: Total) -> str:
    return f"{one.unknown} of {counted(one.lines, 'line')}" if one.unknown else ""
