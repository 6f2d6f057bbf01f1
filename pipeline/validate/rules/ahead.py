"""Rules for what is to come and what it costs: planned works, prices, stock, rates, the calendar."""

from __future__ import annotations

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.store.register import Register
from schemas import planned_work, price, stock

PLAN_FOR_NOTHING = FaultKind(
    "plan.for_nothing",
    "Planned work for no green, club or template",
    "The line says neither a green, nor a club, nor a template.",
    "Fill in one of the three.",
)
PLAN_FOR_TWO = FaultKind(
    "plan.for_two",
    "Planned work for more than one of green, club and template",
    "The line is for {value}: it can be of one of them alone.",
    "Leave one; a club's line is for each of its greens, so a green of it needs none of its own beside it.",
)
PLAN_UNNAMED = FaultKind(
    "plan.unnamed",
    "Planned work of a programme without a name",
    "The line of {value} names no programme: next season's line of the same work would take its place.",
    "Fill in programme, such as 2027; in a profile it may be a constant of the whole file.",
)
WINDOW_BACKWARDS = FaultKind(
    "plan.window",
    "Window that ends before it begins",
    "The window ends on {value}, before it begins on {start}.",
    "Swap the two days, or mend the year.",
)
WINDOW_LONG = FaultKind(
    "plan.window_long",
    "Window of more than a year",
    "The window to {value} is {days} days long: most of that time the work is neither early nor late.",
    "Check the years. For a work of every season write a line for each (more than 366 days is asked about: common "
    "practice, no source).",
    severity="warning",
)
PLAN_AMOUNTS = FaultKind(
    "plan.amounts",
    "Planned work with more than one amount",
    "The line says how much in more than one way: {value}.",
    "Leave one of them: what the others come to is worked out from the green's area and the material's pack.",
)
PLAN_TOTAL = FaultKind(
    "plan.total",
    "Whole amount where the greens are not one",
    "{value} is said of {whom}, and it may be of each green or of all together.",
    "Write it as a rate (kg/m², g/m², ml/m²), or write a line for each green.",
)
PRICE_PACK = FaultKind(
    "price.pack",
    "Price without one pack size",
    "{value} of the two pack sizes are given: the price is of one pack, and one of mass and volume says how large.",
    "Fill in pack_kg or pack_l (or pack, such as 25 kg or 10 t), and not both.",
)
STOCK_AMOUNT = FaultKind(
    "stock.amount",
    "Stock without one amount",
    "{value} of mass, volume and packs are given: the row must say how much there is in one way.",
    "Fill in one of the three, 0 where there is none left.",
)
STOCK_EXPECTED = FaultKind(
    "stock.expected",
    "Day of arrival of what is not on order",
    "What is counted as here is expected on {value}.",
    "Write yes into on_order, or leave the day blank.",
)
RATE_AMOUNT = FaultKind(
    "rate.amount",
    "Rate without its figure, or with another's",
    "A rate of {value} has {needs}, and no other figure.",
    "Fill in the one, and leave the other blank.",
)
RATE_OPERATION = FaultKind(
    "rate.operation",
    "Output without the work it is of",
    "An output of {value} m²/h says nothing without the work that is done.",
    "Fill in operation.",
)
CALENDAR_BACKWARDS = FaultKind(
    "calendar.backwards",
    "Days of the calendar that end before they begin",
    "The last day {value} lies before the first, {start}.",
    "Swap the two days, or mend the year.",
)
CALENDAR_FOR_TWO = FaultKind(
    "calendar.for_two",
    "Calendar line with a green and a club",
    "The line names green {value} and a club: it may be about the one green or about all of the club's.",
    "Leave the green, or the club.",
)
LONGEST_WINDOW = 366
"""Days of a window beyond which it is asked about: common practice, no source."""
_WHOSE = ("green", "club", "template")
_TOTALS = ("mass_kg", "volume_l", "packs")


def _given(names: tuple[str, ...]) -> pl.Expr:
    return pl.sum_horizontal(pl.col(name).is_not_null() for name in names)


def _words(names: tuple[str, ...]) -> pl.Expr:
    """Which of the fields a row gives, in words."""
    said = [pl.when(pl.col(name).is_not_null()).then(pl.lit(name)) for name in names]
    return pl.concat_str(said, separator=", ", ignore_nulls=True)


def check_planned(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of planned works: whom they are for, their window, and amounts that may be of two things."""
    whose = _given(_WHOSE)
    days = (pl.col("window_to") - pl.col("window_from")).dt.total_days() + 1
    long = records.filter(days > LONGEST_WINDOW)
    backwards = records.filter(days < 1)
    unnamed = pl.col("programme").is_null() & pl.col("template").is_null() & (whose == 1)
    return concat(
        [
            PLAN_FOR_NOTHING.of(records.filter(whose == 0), "green"),
            PLAN_FOR_TWO.of(records.filter(whose > 1), "green", _words(_WHOSE)),
            PLAN_UNNAMED.of(records.filter(unnamed), "programme", pl.coalesce("green", "club")),
            WINDOW_BACKWARDS.of(backwards, "window_to", start=backwards["window_from"]),
            WINDOW_LONG.of(long, "window_to", days=long.select(days.alias("days"))["days"]),
            PLAN_AMOUNTS.of(records.filter(_given(planned_work.AMOUNTS) > 1), "quantity", _words(planned_work.AMOUNTS)),
            *_totals(records, register),
        ]
    )


def _totals(records: pl.DataFrame, register: Register) -> list[pl.DataFrame]:
    """Faults of whole amounts of a template, which has no green, and of a club that has not one green."""
    of_club = register.greens.group_by("club", maintain_order=True).len()
    several = of_club.filter(pl.col("len") != 1)["club"].to_list()
    whole = _given(_TOTALS) > 0
    cases = (
        (pl.col("template").is_not_null() & whole, "a template"),
        (pl.col("club").is_in(several) & whole, "a club of several greens"),
    )
    return [PLAN_TOTAL.of(records.filter(met), "quantity", _words(_TOTALS), whom=whom) for met, whom in cases]


def check_prices(records: pl.DataFrame, _register: Register) -> pl.DataFrame:
    """Faults of prices of no pack, or of one that is told twice."""
    given = _given(price.PACK)
    return PRICE_PACK.of(records.filter(given != 1), "pack_kg", _count(given))


def check_stock(records: pl.DataFrame, _register: Register) -> pl.DataFrame:
    """Faults of stock that says no amount, or several, and of arrivals of what is here."""
    given = _given(stock.AMOUNT)
    here = pl.col("expected").is_not_null() & ~pl.col("on_order").fill_null(value=False)
    return concat(
        [
            STOCK_AMOUNT.of(records.filter(given != 1), "mass_kg", _count(given)),
            STOCK_EXPECTED.of(records.filter(here), "expected"),
        ]
    )


def _count(given: pl.Expr) -> pl.Expr:
    return pl.when(given == 0).then(pl.lit("None")).otherwise(given.cast(pl.String))


def check_rates(records: pl.DataFrame, _register: Register) -> pl.DataFrame:
    """Faults of rates without their figure: money of an hour or kilometre, area of an output."""
    output = pl.col("rate_of") == "output"
    money, area = pl.col("amount").is_not_null(), pl.col("output_m2_h").is_not_null()
    bare = output & area & pl.col("operation").is_null()
    return concat(
        [
            RATE_AMOUNT.of(records.filter(output & (~area | money)), "output_m2_h", pl.col("rate_of"),
                           needs="an area in output_m2_h"),
            RATE_AMOUNT.of(records.filter(~output & (~money | area)), "amount", pl.col("rate_of"),
                           needs="money in amount"),
            RATE_OPERATION.of(records.filter(bare), "operation", pl.col("output_m2_h")),
        ]
    )  # fmt: skip


def check_calendar(records: pl.DataFrame, _register: Register) -> pl.DataFrame:
    """Faults of days of the calendar that run backwards or are said of two things."""
    backwards = records.filter(pl.col("to_day") < pl.col("from_day"))
    both = records.filter(pl.col("green").is_not_null() & pl.col("club").is_not_null())
    return concat(
        [
            CALENDAR_BACKWARDS.of(backwards, "to_day", start=backwards["from_day"]),
            CALENDAR_FOR_TWO.of(both, "green"),
        ]
    )


RULES = {
    "planned_work": check_planned,
    "price": check_prices,
    "stock": check_stock,
    "rate": check_rates,
    "calendar": check_calendar,
}
"""Rules by kind."""
