"""A programme with its price as CSV: every line, what it is priced by, and what was not planned; never to be loaded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pipeline.plan.priced import PricedProgramme, unknown_parts
from pipeline.plan.quotation import QuotedLine
from pipeline.plan.rates import times_of
from reports.page.attachments import Cell, CsvFile, tables
from reports.programme.wording import noted

LINES = {
    "green": "code of the green",
    "operation": "what is done",
    "material": "what is put on; empty where nothing is, or it is left open",
    "first_day": "first day of its window",
    "last_day": "last day of its window",
    "times": "how often within the window; empty where it is not said",
    "amount": "how much over all times; empty where it is not known, or where only times are counted",
    "unit": "kg or l",
    "hours": "hours of all people over all times; empty where they are not known",
    "hours_are": "where the hours come from: planned, by rate, or why they are not known",
    "labour": "money of these hours, without VAT; empty where it is not known",
    "machines": "money of the machine's hours, likewise",
    "material_price": "money of what is put on, likewise",
    "material_by": "by which pack that is priced",
    "price": "sum of what is known of the three",
    "without": "what the price does not have in it",
    "currency": "of the money",
    "basis": "why it is planned, and who says so",
    "note": "what stands beside it",
}
PRICES = {
    "material": "as the register of materials has it",
    "supplier": "who sells it",
    "pack": "what the pack holds",
    "unit": "kg or l",
    "price": "of that pack, without VAT and delivery",
    "price_each": "of one kg or l, rounded here only",
    "holds_from": "first day of the price; empty from the start",
    "currency": "of the money",
}
RATES = {
    "rate_of": "labour, machine, mileage or output",
    "operation": "work it holds for; empty for any",
    "machine": "machine it holds for; empty for any",
    "amount": "money an hour or kilometre, without VAT",
    "output_m2_h": "area of green that an hour's work does, m²",
    "holds_from": "first day; empty from the start",
    "file": "file it was read from",
    "line": "line of that file",
}
NOT_PLANNED = {
    "green": "code of the green",
    "operation": "what a source asks for",
    "source": "which",
    "why": "why it is not planned",
}


def csv_files(made: PricedProgramme) -> tuple[CsvFile, ...]:
    """The tables of the document, in order of their names."""
    return tables(
        {
            "lines.csv": ("Every line of the programme with its price", LINES),
            "not-planned.csv": ("What sources ask for and is not planned", NOT_PLANNED),
            "prices.csv": ("Prices of materials that were used", PRICES),
            "rates.csv": ("Rates that were used", RATES),
        },
        {
            "lines.csv": line_rows(made),
            "not-planned.csv": ((one.green, one.operation, one.source, one.why) for one in made.not_planned),
            "prices.csv": _prices(made),
            "rates.csv": _rates(made),
        },
    )


def line_rows(made: PricedProgramme) -> Iterable[tuple[Cell, ...]]:
    """A row for every line, under the columns of ``LINES``."""
    return (_line(line, made.currency) for line in made.lines)


def _line(line: QuotedLine, currency: str) -> tuple[Cell, ...]:
    one = line.planned
    amount = (None, None) if one.unit == "times" else (one.size, one.unit)
    hours = None if line.hours.value is None else round(line.hours.value, 2)
    return (
        one.green, one.operation, one.material or None, one.first.isoformat(), one.last.isoformat(), times_of(one),
        *amount, hours, line.hours.how if line.hours.known else line.hours.why, line.labour, line.machine,
        line.material, line.material_by or None, line.price, "; ".join(unknown_parts(line)) or None, currency,
        one.basis or None, noted(one) or None,
    )  # fmt: skip


def _prices(made: PricedProgramme) -> Iterator[tuple[Cell, ...]]:
    for one in made.prices:
        since = one.holds_from.isoformat() if one.holds_from else None
        yield (one.material, one.supplier, one.pack, one.unit, one.price, round(one.each, 6), since, made.currency)


def _rates(made: PricedProgramme) -> Iterator[tuple[Cell, ...]]:
    for one in made.rates:
        since = one.holds_from.isoformat() if one.holds_from else None
        place = getattr(one, "place", None)
        where = (None, None) if place is None else (place.file, place.line)
        yield (one.of, one.operation or None, one.machine or None, one.amount, one.output_m2_h, since, *where)
