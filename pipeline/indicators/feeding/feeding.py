"""Nitrogen released against what warmth would let the grass use: information, never a requirement."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

import polars as pl

from pipeline.agronomy.soil.nutrients import nutrient_g_m2, released_g_m2
from pipeline.agronomy.weather import growth_potential, nitrogen_ceiling_g_m2
from pipeline.common.amounts import Amount, AmountText, joined, span
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.feeding.nutrients import fed
from pipeline.indicators.weather.growth import BY_MONTH, curve_in_words
from pipeline.indicators.weather.weather import daily

MONTHLY_MOST_G_M2 = 5.0
"""Nitrogen of a month of full growth, g/m²: the published maximum of a demand map (1 lb/1000 ft²; PACE Turf)."""
FEWEST_DAYS = 25
"""Days of temperature a month must have for its growth to be told: common practice, no source."""
COMPARED = (
    "Information only: 76 golf courses were found to use about 27 % of what this model allows (Bekken & Soldat 2022), "
    "so it asks for nothing."
)
"""Nitrogen efficiency score 0.27: Bekken & Soldat 2022, Quantifying golf course nitrogen use efficiency, Grassland
Research 1(3):174–186, doi 10.1002/glr2.12024, abstract."""

_FORMULAS = (nutrient_g_m2, released_g_m2, growth_potential, nitrogen_ceiling_g_m2)
OF_GROWTH = Description(
    "nitrogen_of_growth_pct", "Nitrogen against what warmth allows", "%", "nutrients",
    "Nitrogen released as a share of what growth by temperature would allow; information only.",
    "Nitrogen spread evenly over the stated release time (release_weeks), over the season's border too; on the day it "
    "was put on where none is stated. "
    f"Over growth potential × {MONTHLY_MOST_G_M2:g} g/m² a month, months with at least {FEWEST_DAYS} days of "
    "temperature.", decimals=0, formulas=_FORMULAS, beyond_season=True,
)  # fmt: skip
OF_GROWTH_MONTH = Description(
    "nitrogen_of_growth_month_pct", OF_GROWTH.label, "%", "nutrients", "The same month by month.", "As above.",
    band="month", decimals=0, formulas=_FORMULAS, monthly=True, beyond_season=True,
)  # fmt: skip


class _Month(NamedTuple):
    """A month with enough weather: its first day, the next one's, and the nitrogen that growth allows, g/m²."""

    first: date
    after: date
    allowed: float


def _warm_months(asked: Asked) -> dict[int, list[_Month]]:
    """Months with enough weather by green and season; growth of a month is the mean of its days."""
    days = asked.once(daily).drop_nulls("growth").group_by("of", BY_MONTH, maintain_order=True).agg("growth")
    found: dict[int, list[_Month]] = {}
    for of, month, growth in days.sort("of", "month", maintain_order=True).iter_rows():
        if len(growth) >= FEWEST_DAYS:
            allowed = nitrogen_ceiling_g_m2(math.fsum(growth) / len(growth), MONTHLY_MOST_G_M2)
            found.setdefault(of, []).append(_Month(month, _month_after(month), allowed))
    return found


def feeding(asked: Asked) -> Iterator[Indicator]:
    """Nitrogen released as a share of what growth would allow, in all and month by month (grain: indicator).

    What a feed releases in months without enough weather stands in neither of the two.
    """
    worked = set(asked.in_season(asked.jobs)["of"].unique())
    feeds = asked.so_far(asked.once(fed)).filter(pl.col("nitrogen") > 0)
    of_season = {rows.of: rows for rows in asked.each_season(feeds, "job", "date", "nitrogen", "release_weeks")}
    for of, months in _warm_months(asked).items():
        if of in worked:
            yield from _of_season(asked.each[of], months, of_season.get(of) or asked.no_rows(of, "job"))


def _of_season(records: GreenRecords, every: list[_Month], feeds: Rows) -> Iterator[Indicator]:
    by_month = [(row, [_released(row, month) for month in every]) for row in feeds]
    by_month = [(row, g_m2) for row, g_m2 in by_month if any(g_m2)]
    bands = [("", range(len(every))), *((f"{month.first:%B %Y}", range(at, at + 1)) for at, month in enumerate(every))]
    for band, months in bands:
        released = [(row, math.fsum(g_m2[months.start : months.stop])) for row, g_m2 in by_month]
        given = math.fsum(g_m2 for _, g_m2 in released)
        behind = feeds.these([row for row, g_m2 in released if g_m2 > 0])
        before = math.fsum(g_m2 for row, g_m2 in released if row["date"] < records.season.start)
        allowed = math.fsum(every[at].allowed for at in months)
        notes = _notes(given, allowed, behind, 0.0 if band else before, whole=not band)
        yield (OF_GROWTH_MONTH if band else OF_GROWTH).figure(
            100 * given / allowed if allowed else None,
            behind,
            band=band,
            note=joined(" ", list(filter(None, notes))),
            method="Nitrogen, spread evenly over the stated release time of its feed, over growth potential × "
            f"{MONTHLY_MOST_G_M2:g} g/m² a month; mean of daily growth potentials ({curve_in_words(records)}), months "
            f"with at least {FEWEST_DAYS} days of temperature.",
        )


def _released(feed: Row, month: _Month) -> float:
    """Nitrogen in g/m² that a feed releases in a month; on its own day where no time is stated."""
    nitrogen, weeks, day = feed["nitrogen"], feed["release_weeks"], feed["date"]
    if day >= month.after or (month.first - day).days >= 7 * (weeks or 0.0) > 0:
        return 0.0
    if not (weeks or 0.0) > 0:
        return float(nitrogen) if month.first <= day < month.after else 0.0
    to, since = (released_g_m2(nitrogen, max((at - day).days / 7, 0.0), weeks) for at in (month.after, month.first))
    return float(to - since)


def _month_after(day: date) -> date:
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def _notes(given: float, allowed: float, behind: Rows, before: float, *, whole: bool) -> Iterator[str]:
    """Both amounts; what of it was put on before the season; which feeds state no time; that it asks for nothing."""
    yield AmountText(span(given, allowed, "g/m²", ".1f", between=" of "), ".")
    if before > 0:
        yield AmountText(Amount(before, "g/m²", ".1f"), " of it by feeds of the season before.")
    said = behind.where(lambda row: (row["release_weeks"] or 0.0) > 0)
    yield lacking(behind, said, "feeds state no release time: set whole on their day.")
    if whole:
        yield COMPARED


FAMILY = Family((OF_GROWTH, OF_GROWTH_MONTH), feeding)
