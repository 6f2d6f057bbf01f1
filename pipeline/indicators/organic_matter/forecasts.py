"""What follows from the balance of a layer: where it goes under each programme, what dressing holds or mends it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.agronomy import dressing as formula
from pipeline.agronomy.soil.organic_matter import layer_bulk_density_t_m3
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import Description, Family
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.programmes import PLAN, goal, planned, season_on
from pipeline.indicators.base.rows import Rows
from pipeline.indicators.organic_matter import refill
from pipeline.indicators.organic_matter.balance import LayerBalance, NoBalance, fitted
from pipeline.indicators.soil.soil import ORGANIC_MATTER, basis_of, season_rule
from pipeline.statistics.accumulation import fit_balance
from pipeline.statistics.balance import ASSUMPTIONS
from pipeline.statistics.forecast import dressing_needed, forecast
from pipeline.statistics.interval import Estimate, Refused
from pipeline.statistics.series import in_years

GAIN = Description(
    "organic_matter_gain_kg_m2_year", "Organic matter gathered", "kg/m² a year", "organic_matter",
    "What the sampled layer gains of organic matter in a year, growth less decay, before dressing thins it.",
    "Mass balance over comparable samples and dated dressings ([method](method.md#balance)); what fills core holes "
    "below the layer is not in it; refused where the records cannot carry it, with the reason.",
    band="depth", decimals=2, formulas=(layer_bulk_density_t_m3, fit_balance),
)  # fmt: skip


def _ahead(name: str, how: str, meaning: str, made: str) -> Description:
    """Organic matter a season on, with dressing of one kind."""
    return Description(
        f"organic_matter_{name}_pct", f"Organic matter a season on, {how}", "%", "organic_matter", meaning, made,
        band="depth", formulas=(layer_bulk_density_t_m3, fit_balance, forecast),
    )  # fmt: skip


NEXT = _ahead(
    "next",
    "dressed as now",
    "Where the present programme leads.",
    "The balance carried forward with the mean dressing of the last seasons.",
)
NEXT_PLANNED = _ahead(
    "next_planned",
    "dressed as planned",
    f"Where a chosen dressing leads: that of a target of the name `{PLAN}` (its lower end, else its upper; for the "
    "season ahead before this one; green, club, region, standard).",
    "The balance carried forward with that dressing a year, as organic as the present one.",
)
NEXT_UNDRESSED = _ahead(
    "next_undressed",
    "not dressed",
    "Where no dressing at all leads.",
    "The balance carried forward without dressing.",
)


CARRIED = "The balance carried forward at a steady rate; the interval is of the layer, not of a new sample."


TOO_MUCH = (
    "Check the samples, their laboratory and the dressings logged, and the target and its season; if all are right, "
    "dressing alone does not do it."
)
"""What to do where more dressing is reckoned than a green takes."""


@dataclass(frozen=True)
class Need:
    """A yearly dressing, told as kg/m², as depth and as tonnes on the green."""

    kg_m2: Description
    mm: Description
    t: Description


def _needed(stem: str, label: str, meaning: str) -> Need:
    def told(suffix: str, unit: str, way: str, *formulas: Callable[..., Any]) -> Description:
        return Description(
            f"{stem}_{suffix}_year", f"{label}{way}", f"{unit} a year", "organic_matter", meaning,
            "Dry dressing a year by the balance; the upper end of its interval allows for the error.",
            band="depth", formulas=(layer_bulk_density_t_m3, dressing_needed, *formulas),
        )  # fmt: skip

    return Need(
        told("kg_m2", "kg/m²", ""), told("mm", "mm", ", as depth", formula.depth_mm), told("t", "t", ", in all")
    )


HOLD = _needed("dressing_hold", "Dressing that holds it", "Dressing a year that keeps the layer as it is.")
REACH = _needed(
    "dressing_reach",
    "Dressing that reaches the target",
    "Dressing a year that brings the layer to its target by a season: that of a target set for a season ahead, else so "
    "many on as `reach_in_seasons` of the settings says. The note names it.",
)


def balance(asked: Asked) -> Iterator[Indicator]:
    """Accumulation, forecasts and dressing needed, for every layer sampled from the surface (grain: indicator)."""
    works = asked.once(refill.works)
    for one in asked.once(fitted):
        if isinstance(one, NoBalance):
            yield GAIN.figure(
                None,
                one.rows,
                n=one.n,
                band=one.band,
                standing=one.word,
                method="No balance made.",
                note=f"{one.word.capitalize()}: {one.why}",
            )
        else:
            yield from _figures(asked.each[one.rows.of], works[one.rows.of].cored, one)


def _figures(records: GreenRecords, cored: Rows, one: LayerBalance) -> Iterator[Indicator]:
    fit = one.balance
    first = one.rows.rows[0]["date"]
    corings = cored.where(lambda row: one.corings and first <= row["date"] < one.last)
    base = GAIN.figure(
        fit.accumulation,
        one.rows,
        n=fit.n,
        band=one.band,
        low=fit.low,
        high=fit.high,
        method=_method(records, one),
        note=joined(" ", [f"{fit.net_g_kg:.0f} g/kg a year if nothing were spread.", *filter(None, [one.note])]),
        places=one.rows.evidence + one.doses.these([*one.doses, *corings]).evidence,
    )
    yield base
    yield from _forecasts(records, one, base)
    yield from _needs(records, one, base)


def _method(records: GreenRecords, one: LayerBalance) -> str:
    fit = one.balance
    unknown = one.doses.having("organic_matter_pct", None)
    organic = " Dressing whose organic matter is not stated counts as having none." if unknown else ""
    return AmountText(
        f"Mass balance of {counted(fit.n, 'comparable sample')} ({one.key}) over {fit.span_years:.1f} years with "
        f"{counted(len(one.doses), 'dressing')}; layer of ",
        Amount(fit.layer_mass, "kg/m²", ".0f"),
        f". {' '.join(ASSUMPTIONS)}"
        f"{one.corings}{organic}{_answers(records)} {season_rule(records)} 95 % interval: {fit.method}; 10 % each for "
        "the layer's mass and the log's quantities, for the laboratory 4 % between years and 1.5 % drift a year "
        "(common practice, no source).",
    )


def _answers(records: GreenRecords) -> str:
    """What the settings answer on the log, and what is taken where they do not."""
    options = records.options
    least, most = (f"{100 * share:.0f}" for share in options.landed)
    share = f"{most} %" if least == most else f"{least} to {most} %, the middle of it likeliest,"
    lands = "" if options.dressing_lands != "not answered" else "how much of it lands"
    logged = "" if options.dressing_logged == "all" else "whether all of it is logged"
    open_ones = " and ".join(filter(None, (lands, logged)))
    said = f"not answered in the settings: {open_ones}; common practice, no source" if open_ones else "settings"
    return f" Of the dressing logged {share} is taken to have come onto the green ({said})."


def _forecasts(records: GreenRecords, one: LayerBalance, base: Indicator) -> Iterator[Indicator]:
    end = season_on(records.season, 1).end
    start = f"For {long_date(end)}, from {100 * one.balance.fraction:.1f} % fitted for {long_date(one.last)}"
    present, plan = one.programme, planned(records)
    organic = present.fraction if present else 0.0
    ways: list[tuple[Description, float, float, str]] = [(NEXT_UNDRESSED, 0.0, 0.0, f"{start}.")]
    if plan is not None:
        said = AmountText(start, ", with ", Amount(plan[0], "kg/m² a year", ".1f"), f" planned: {plan[1]}.")
        ways.insert(0, (NEXT_PLANNED, plan[0], organic, said))
    if present is not None:
        reaching = " reaching the layer" if one.corings else ""
        mean = f"{reaching}, the mean of {counted(present.seasons, 'season')}."
        said = AmountText(start, ", with ", Amount(present.kg_m2, "kg/m² a year", ".1f"), mean)
        ways.insert(0, (NEXT, present.kg_m2, organic, said))
    for what, kg_m2, fraction, note in ways:
        guess = forecast(one.balance, _years(one.last, end), kg_m2, fraction)
        low, high = 100 * guess.low, 100 * guess.high
        yield what.like(base, value=100 * guess.value, low=low, high=high, note=note, method=CARRIED)


def _needs(records: GreenRecords, one: LayerBalance, base: Indicator) -> Iterator[Indicator]:
    """Dressing a year that holds the layer where it is, and that brings it to its target."""
    c = one.programme.fraction if one.programme else 0.0
    now = one.balance.fraction
    hold = dressing_needed(one.balance, now, None, c)
    yield from _need(records, one, base, HOLD, hold, f"Holds {100 * now:.1f} %.")
    wanted, season = goal(records, ORGANIC_MATTER, one.band, basis_of(one.rows, one.rows)) or (0.0, records.season)
    if not 0 < wanted < 100 * now:  # within its target it needs no more than what holds it
        return
    when = f"the end of season {season.name} ({long_date(season.end)})"
    reach = dressing_needed(one.balance, wanted / 100, _years(one.last, season.end), c)
    note = f"Brings it down to {wanted:g} % by {when}."
    if isinstance(reach, Estimate) and reach.value == 0:
        note = f"{wanted:g} % by {when} is met without dressing."
    yield from _need(records, one, base, REACH, reach, note, note)


def _need(
    records: GreenRecords,
    one: LayerBalance,
    base: Indicator,
    told: Need,
    need: Estimate | Refused,
    note: str,
    note_again: str = "",
) -> Iterator[Indicator]:
    """A yearly dressing as kg/m², as depth and as tonnes on this green."""
    how = "Dry dressing a year by the balance, as organic as the present one; the upper end allows for its error."
    if isinstance(need, Refused):
        yield told.kg_m2.like(base, value=None, low=None, high=None, note=f"None: {need.why}", method=how)
        return
    known = one.doses.given("density").column("density")
    density = float(known[-1]) if known else records.settings.bulk_density_t_m3
    if formula.depth_mm(need.value, density) > formula.MOST_YEAR_MM:
        takes, most = formula.depth_mm(need.value, density), formula.MOST_YEAR_MM
        never = AmountText(
            "None: it would take ", Amount(takes, "mm", ".0f"), " a year, and a green takes at most ",
            Amount(most, "mm", ".0f"), f". {TOO_MUCH}",
        )  # fmt: skip
        yield told.kg_m2.like(base, value=None, low=None, high=None, note=never, method=how)
        return
    dense = Amount(density, "t/m³")
    by_density = AmountText("kg/m² ÷ dry bulk density of ", dense, ", that of the last dressing or the workspace's.")
    ways = [(told.kg_m2, 1.0, note, how), (told.mm, formula.depth_mm(1.0, density), note_again, by_density)]
    if area_m2 := records.area_m2:
        times = AmountText("kg/m² × ", Amount(area_m2, "m²", ",.0f"), " of this green.")
        ways.append((told.t, area_m2 / 1000, note_again, times))
    for what, factor, said, method in ways:
        low, high = factor * need.low, factor * need.high
        yield what.like(base, value=factor * need.value, low=low, high=high, note=said, method=method)


def _years(start: date, end: date) -> float:
    first, last = in_years([start, end])
    return float(last - first)


FAMILY = Family(
    (GAIN, NEXT, NEXT_PLANNED, NEXT_UNDRESSED, HOLD.kg_m2, HOLD.mm, HOLD.t, REACH.kg_m2, REACH.mm, REACH.t),
    balance,
)
