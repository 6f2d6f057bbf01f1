"""Organic-matter balance of the sampled layer: what gathers a year, where it goes, what dressing holds or mends it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.agronomy import dressing as formula
from pipeline.agronomy.organic_matter import layer_bulk_density_t_m3
from pipeline.amounts import Amount, AmountText
from pipeline.indicators.dressing import dressings
from pipeline.indicators.record import Indicator, Standing
from pipeline.indicators.records import GreenRecords
from pipeline.indicators.soil import CORE_VARIATION, depth_bands, method_key
from pipeline.indicators.standing import evidence, target_for
from pipeline.statistics.accumulation import Balance, Refused, fit_balance
from pipeline.statistics.balance import ASSUMPTIONS
from pipeline.statistics.forecast import Estimate, dressing_needed, forecast
from pipeline.statistics.interval import pooled_sd
from pipeline.statistics.series import Run, comparable_run, in_years
from pipeline.words import counted, long_date
from pipeline.workspace import Season

DEEPEST_MM = 30
"""Only a thin layer from the surface down takes up its dressing within a season: common practice, no source."""
LAYER_ERROR = 0.10
"""Relative standard deviation of the layer's mass as worked out from its organic matter: common practice, no source."""
RECORD_ERROR = 0.10
"""Relative standard deviation common to all dressing quantities of a log: common practice, no source."""
SEASONS_OF_PROGRAMME = 3
"""The present programme is the mean of so many of the latest seasons that have a log."""
SEASONS_TO_TARGET = 3


@dataclass(frozen=True)
class Programme:
    """A yearly dressing: kg/m² dry and its organic fraction."""

    kg_m2: float
    fraction: float
    seasons: int


@dataclass(frozen=True)
class LayerBalance:
    """A fitted balance and what is drawn from it.

    Attributes:
        band: the layer.
        balance: the fit.
        last: day of the last sample.
        key: comparability key of the samples.
        rows: the samples used.
        doses: the dressings between first and last sample.
        programme: present yearly dressing; None where no whole season has a log.
        note: what was left out of the fit.
    """

    band: str
    balance: Balance
    last: date
    key: str
    rows: pl.DataFrame
    doses: pl.DataFrame
    programme: Programme | None
    note: str


@dataclass(frozen=True)
class NoBalance:
    """A layer without a balance: the reason, and the word that stands for it."""

    band: str
    why: str
    word: Standing
    n: int
    rows: pl.DataFrame


def balances(records: GreenRecords) -> list[LayerBalance | NoBalance]:
    """The balance of every sampled layer that begins at the surface, or why there is none (grain: layer)."""
    found = []
    for band, rows in depth_bands(records):
        top, foot = rows.select("depth_from_mm", "depth_to_mm").row(0)
        if top == 0 and foot is not None and foot <= DEEPEST_MM:
            found.append(_balance(records, band, float(foot), rows))
    return found


def _balance(records: GreenRecords, band: str, thickness_mm: float, every: pl.DataFrame) -> LayerBalance | NoBalance:
    rows = every.filter(pl.col("value").is_not_null()).sort("date", "file", "line")
    started = _log_start(records)
    logged = rows.filter(pl.col("date") >= started) if started else rows.clear()
    if not logged.height:
        why = "no works are on record for the time of the samples; that is not the same as none."
        return NoBalance(band, why, "too few", rows["date"].n_unique(), rows)
    keys = [method_key(row) for row in logged.iter_rows(named=True)]
    below = logged["below_limit"].fill_null(value=False)
    run = comparable_run(logged["date"].to_list(), logged["value"].to_list(), keys, below_limit=below.to_list())
    used = logged.filter(~pl.Series(np.isin(np.arange(logged.height), run.left_out)))
    word: Standing = "too few" if run.key_before is None else "not comparable"
    if run.below.any() or not 0 < float(run.values.min()) <= float(run.values.max()) < 100:
        why = "results below the laboratory's limit, or none but nought, make no balance."
        return NoBalance(band, why, "too few", run.years.size, used)
    mean = float(run.values.mean())
    doses = dressings(records).filter(pl.col("date") < used["date"].max())
    fit = fit_balance(
        run.years,
        run.values / 100,
        layer_bulk_density_t_m3(mean) * thickness_mm,
        dose_years=in_years(doses["date"].to_list()),
        dose_mass=doses["kg_m2"].to_list(),
        dose_fraction=_organic_fraction(doses),
        unrecorded=_unrecorded(records),
        sd=_sd(used, run, mean),
        dose_relative_sd=RECORD_ERROR,
        layer_mass_relative_sd=LAYER_ERROR,
    )
    if isinstance(fit, Refused):
        return NoBalance(band, fit.why, word, run.years.size, used)
    first, last = used["date"].min(), used["date"].max()
    assert isinstance(first, date)
    assert isinstance(last, date)
    return LayerBalance(
        band=band,
        balance=fit,
        last=last,
        key=str(run.key),
        rows=used,
        doses=doses.filter(pl.col("date") >= first),
        programme=_programme(records),
        note=_left_out(rows, logged, run, started),
    )


def _left_out(rows: pl.DataFrame, logged: pl.DataFrame, run: Run, started: date | None) -> str:
    """What of the samples is not in the fit, and why."""
    parts = []
    if early := rows.height - logged.height:
        assert started is not None
        parts.append(f"{counted(early, 'result')} from before the log begins ({long_date(started)}) left out.")
    if run.left_out:
        parts.append(f"{counted(len(run.left_out), 'result')} by another method left out.")
    return " ".join(parts)


def _organic_fraction(doses: pl.DataFrame) -> NDArray[np.float64]:
    """Organic fraction of each dressing; nought where its material does not say, and the method says so."""
    return np.asarray(doses["organic_matter_pct"].cast(pl.Float64).fill_null(0.0).to_numpy() / 100)


def _log_start(records: GreenRecords) -> date | None:
    """The green's first logged job."""
    first = records.jobs["date"].min()
    return first if isinstance(first, date) else None


def _seasons(records: GreenRecords, first: date) -> Iterator[Season]:
    """Seasons from the one of a day up to the season looked at, oldest first."""
    spans = [records.season]
    while spans[-1].start > first:
        end = spans[-1].start - timedelta(days=1)
        start = spans[-1].start.replace(year=spans[-1].start.year - 1)
        spans.append(Season(str(end.year), start, end))
    return reversed(spans)


def _unrecorded(records: GreenRecords) -> list[tuple[float, float]]:
    """Seasons without a single logged job, in years: nothing is known of what was done in them."""
    first = _log_start(records)
    if first is None:
        return []
    gaps = []
    for season in _seasons(records, first):
        end = min(season.end, records.as_of)
        if not records.jobs.filter(pl.col("date").is_between(season.start, season.end)).height:
            start, last = in_years([season.start, end])
            gaps.append((float(start), float(last)))
    return gaps


def _sd(used: pl.DataFrame, run: Run, mean: float) -> NDArray[np.float64] | None:
    """Standard deviation of each sample, as a fraction: from its cores, else from replicates, else None."""
    days = used.group_by("date").agg(pl.len().alias("results"), pl.col("cores").sum(), pl.col("value")).sort("date")
    if used["cores"].null_count() == 0:
        return np.asarray(CORE_VARIATION * mean / 100 / np.sqrt(days["cores"].cast(pl.Float64).to_numpy()))
    spread = pooled_sd(days["value"].to_list())
    if spread is None or spread == 0:
        return None
    assert run.years.size == days.height
    return np.asarray(spread / 100 / np.sqrt(days["results"].cast(pl.Float64).to_numpy()))


def _programme(records: GreenRecords) -> Programme | None:
    """Mean yearly dressing of the latest seasons with a log; a season still running counts only where it is alone."""
    first = _log_start(records)
    if first is None:
        return None
    with_log = [s for s in _seasons(records, first) if records.jobs["date"].is_between(s.start, s.end).any()]
    whole = [s for s in with_log if s.end <= records.as_of and s.start >= first - timedelta(days=60)]
    chosen = (whole or with_log)[-SEASONS_OF_PROGRAMME:]
    doses = dressings(records)
    inside = pl.any_horizontal([pl.col("date").is_between(s.start, s.end) for s in chosen])
    put_on = doses.filter(inside)
    if put_on["kg_m2"].null_count():
        return None
    total = float(put_on["kg_m2"].sum())
    organic = float((put_on["kg_m2"].to_numpy() * _organic_fraction(put_on)).sum())
    return Programme(total / len(chosen), organic / total if total else 0.0, len(chosen))


def balance(records: GreenRecords) -> list[Indicator]:
    """Accumulation, forecasts and dressing needed, for every layer sampled from the surface (grain: indicator)."""
    found: list[Indicator] = []
    for one in balances(records):
        if isinstance(one, NoBalance):
            found.append(_none(one))
        else:
            found += _figures(records, one)
    return found


def _none(one: NoBalance) -> Indicator:
    return Indicator(
        "organic_matter_gain_kg_m2_year",
        "Organic matter gathered",
        one.band,
        None,
        "kg/m² a year",
        one.n,
        standing=one.word,
        family="organic_matter",
        decimals=2,
        method="No balance made.",
        note=f"{one.word.capitalize()}: {one.why}",
        evidence=evidence(one.rows, "soil_test"),
    )


def _figures(records: GreenRecords, one: LayerBalance) -> Iterator[Indicator]:
    fit = one.balance
    base = Indicator(
        "organic_matter_gain_kg_m2_year",
        "Organic matter gathered",
        one.band,
        fit.accumulation,
        "kg/m² a year",
        fit.n,
        fit.low,
        fit.high,
        family="organic_matter",
        decimals=2,
        method=_method(one),
        note=f"{fit.net_g_kg:.0f} g/kg a year if nothing were spread. {one.note}".strip(),
        evidence=evidence(one.rows, "soil_test") + evidence(one.doses, "job"),
    )
    yield base
    yield from _forecasts(records, one, base)
    yield from _needs(records, one, base)


def _method(one: LayerBalance) -> str:
    fit = one.balance
    unknown = one.doses["organic_matter_pct"].null_count() if one.doses.height else 0
    organic = " Dressing whose organic matter is not stated counts as having none." if unknown else ""
    return (
        f"Mass balance of {counted(fit.n, 'comparable sample')} ({one.key}) over {fit.span_years:.1f} years with "
        f"{counted(one.doses.height, 'dressing')}; layer of {fit.layer_mass:.0f} kg/m². {' '.join(ASSUMPTIONS)}"
        f"{organic} 95 % interval: {fit.method}; 10 % each for the layer's mass and the log's quantities (common "
        "practice, no source)."
    )


def _forecasts(records: GreenRecords, one: LayerBalance, base: Indicator) -> Iterator[Indicator]:
    end = _season_end(records, 1)
    ahead = _years(one.last, end)
    start = f"For {long_date(end)}, from {100 * one.balance.fraction:.1f} % fitted for {long_date(one.last)}"
    if one.programme is not None:
        present = one.programme
        mean = f", the mean of {counted(present.seasons, 'season')}."
        said = AmountText(start, ", with ", Amount(present.kg_m2, "kg/m² a year", ".1f"), mean)
        guess = forecast(one.balance, ahead, present.kg_m2, present.fraction)
        yield _forecast(base, "organic_matter_next_pct", "Organic matter a season on, dressed as now", guess, said)
    bare = forecast(one.balance, ahead, 0.0)
    label = "Organic matter a season on, not dressed"
    yield _forecast(base, "organic_matter_next_undressed_pct", label, bare, f"{start}.")


def _forecast(base: Indicator, name: str, label: str, guess: Estimate, note: str) -> Indicator:
    return replace(
        base,
        name=name,
        label=label,
        unit="%",
        value=100 * guess.value,
        low=100 * guess.low,
        high=100 * guess.high,
        decimals=1,
        note=note,
        method="The balance carried forward at a steady rate; the interval is of the layer, not of a new sample.",
    )


def _needs(records: GreenRecords, one: LayerBalance, base: Indicator) -> Iterator[Indicator]:
    """Dressing a year that holds the layer where it is, and that brings it to its target."""
    c = one.programme.fraction if one.programme else 0.0
    now = one.balance.fraction
    hold = dressing_needed(one.balance, now, None, c)
    yield from _need(records, one, base, "dressing_hold", "Dressing that holds it", hold, f"Holds {100 * now:.1f} %.")
    target = target_for(records, "organic_matter_pct", one.band)
    goal = None if target is None else target.high
    if goal is None or not 0 < goal < 100 * now:  # within its target a layer needs no more than what holds it
        return
    end = _season_end(records, SEASONS_TO_TARGET)
    reach = dressing_needed(one.balance, goal / 100, _years(one.last, end), c)
    note = f"Brings it down to {goal:g} % by {long_date(end)}."
    if isinstance(reach, Estimate) and reach.value == 0:
        note = f"{goal:g} % by {long_date(end)} is met without dressing."
    yield from _need(records, one, base, "dressing_reach", "Dressing to the target in three seasons", reach, note)


def _need(
    records: GreenRecords,
    one: LayerBalance,
    base: Indicator,
    stem: str,
    label: str,
    need: Estimate | Refused,
    note: str,
) -> Iterator[Indicator]:
    """A yearly dressing as kg/m², as depth and as tonnes on this green."""
    first = replace(
        base,
        name=f"{stem}_kg_m2_year",
        label=label,
        unit="kg/m² a year",
        decimals=1,
        value=None,
        low=None,
        high=None,
        method="Dry dressing a year by the balance, as organic as the present one; the upper end allows for its error.",
    )
    if isinstance(need, Refused):
        yield replace(first, note=f"None: {need.why}")
        return
    first = replace(first, value=need.value, low=need.low, high=need.high, note=note)
    yield first
    density = _density(records, one)
    yield replace(
        _times(first, formula.depth_mm(1.0, density)),
        name=f"{stem}_mm_year",
        label=f"{label}, as depth",
        unit="mm a year",
        note="",
        method=f"kg/m² ÷ dry bulk density of {density:g} t/m³, that of the last dressing or the workspace's.",
    )
    if records.area_m2:
        yield replace(
            _times(first, records.area_m2 / 1000),
            name=f"{stem}_t_year",
            label=f"{label}, in all",
            unit="t a year",
            note="",
            method=f"kg/m² × {records.area_m2:,.0f} m² of this green.",
        )


def _times(figure: Indicator, factor: float) -> Indicator:
    """A figure and its interval in another unit."""
    value, low, high = (None if end is None else factor * end for end in (figure.value, figure.low, figure.high))
    return replace(figure, value=value, low=low, high=high)


def _density(records: GreenRecords, one: LayerBalance) -> float:
    known = one.doses["density"].drop_nulls()
    return float(known[-1]) if len(known) else records.bulk_density_t_m3


def _season_end(records: GreenRecords, seasons_on: int) -> date:
    """Last day of the season so many after the one looked at."""
    end = records.season.end
    return end.replace(year=end.year + seasons_on, day=28 if (end.month, end.day) == (2, 29) else end.day)


def _years(start: date, end: date) -> float:
    first, last = in_years([start, end])
    return float(last - first)
