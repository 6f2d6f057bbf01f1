"""Organic-matter balance of the sampled layer: what gathers in it a year, fitted to samples and dressing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from pipeline.agronomy.soil.organic_matter import layer_bulk_density_t_m3
from pipeline.common.amounts import Amount, AmountText, joined
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base import programmes
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Standing
from pipeline.indicators.base.programmes import Programme, organic_fraction
from pipeline.indicators.base.rows import Rows
from pipeline.indicators.organic_matter import refill
from pipeline.indicators.soil.methods import method_key
from pipeline.indicators.soil.soil import CORE_VARIATION, LABORATORY, depth_bands, results
from pipeline.statistics.accumulation import Balance, fit_balance
from pipeline.statistics.interval import Refused, pooled_sd, sampling_sd
from pipeline.statistics.series import Run, comparable_run, in_years, times_of_year

DEEPEST_MM = 30
"""Only a thin layer from the surface down takes up its dressing within a season: common practice, no source."""
LAYER_ERROR = 0.10
"""Relative standard deviation of the layer's mass as worked out from its organic matter: common practice, no source."""
RECORD_ERROR = 0.10
"""Relative standard deviation common to all dressing quantities of a log: common practice, no source."""

ENDS = NormalDist().inv_cdf(0.9)
"""Standard deviations from the middle to either end of what may have landed: one case in ten lies beyond each end.

This project's own, held by simulation: with it, intervals hold 90 % also where one of the ends is true."""


@dataclass(frozen=True)
class LayerBalance:
    """A fitted balance and what is drawn from it.

    Attributes:
        band: the layer.
        balance: the fit.
        last: day of the last sample.
        key: comparability key of the samples.
        rows: the samples used.
        doses: the dressings between first and last sample, with ``layer_kg_m2``.
        programme: present yearly dressing; None where no whole season has a log.
        note: what was left out of the fit.
        corings: what is assumed of the corings between the samples; "" where there were none.
    """

    band: str
    balance: Balance
    last: date
    key: str
    rows: Rows
    doses: Rows
    programme: Programme | None
    note: str
    corings: str = ""


@dataclass(frozen=True)
class NoBalance:
    """A layer without a balance: the reason, and the word that stands for it."""

    band: str
    why: str
    word: Standing
    n: int
    rows: Rows


def fitted(asked: Asked) -> list[LayerBalance | NoBalance]:
    """The same, for :meth:`Asked.once`: what is forecast and what is compared rest on one fit."""
    return list(balances(asked))


def balances(asked: Asked) -> Iterator[LayerBalance | NoBalance]:
    """The balance of every sampled layer that begins at the surface, or why there is none (grain: layer)."""
    works = asked.once(refill.works)
    for every in results(asked):
        for band, rows in depth_bands(every):
            top, foot = rows.rows[0]["depth_from_mm"], rows.rows[0]["depth_to_mm"]
            if top == 0 and foot is not None and foot <= DEEPEST_MM:
                yield _balance(asked.each[every.of], works[every.of], band, float(foot), rows)


def _balance(
    records: GreenRecords, works: refill.Works, band: str, thickness_mm: float, every: Rows
) -> LayerBalance | NoBalance:
    rows = every.given("value")
    started = programmes.log_start(records)
    logged = rows.since(started) if started else rows.these(())
    if not logged:
        why = "no works are on record for the time of the samples; that is not the same as none."
        return NoBalance(band, why, "too few", len(set(rows.column("date"))), rows)
    undated = programmes.undated_dressings(records, logged.rows[0]["date"], logged.rows[-1]["date"])
    if undated.height:
        where = listed([f"line {line} of {file}" for file, line in undated.select("file", "line").iter_rows()])
        why = f"of dressings or corings between the samples only the month or the year is known ({where})."
        return NoBalance(band, why, "too few", len(set(logged.column("date"))), logged)
    if records.options.dressing_logged == "not all":
        why = "not every top dressing is in the log (settings); what gathers cannot be told from what is not logged."
        return NoBalance(band, why, "too few", len(set(logged.column("date"))), logged)
    samples = _comparable(records, logged)
    run, used = samples.run, samples.rows
    if run.below.any() or not 0 < float(run.values.min()) <= float(run.values.max()) < 100:
        why = "results below the laboratory's limit, or none but zero, make no balance."
        return NoBalance(band, why, "too few", run.years.size, used)
    mean = float(run.values.mean())
    layer_mass = layer_bulk_density_t_m3(mean) * thickness_mm
    every_dose = refill.layer_doses(works, thickness_mm, layer_mass)
    first, last = used.rows[0]["date"], used.rows[-1]["date"]
    doses = every_dose.rows.where(lambda row: row["date"] < last)
    landed, spread = _landing(records)
    fit = fit_balance(
        run.years,
        run.values / 100,
        layer_mass,
        dose_years=in_years(doses.column("date")),
        dose_mass=doses.column("layer_kg_m2"),
        dose_fraction=organic_fraction(doses),
        unrecorded=programmes.unrecorded(records),
        sd=_sd(used, run, mean),
        dose_relative_sd=math.hypot(RECORD_ERROR, spread),
        layer_mass_relative_sd=LAYER_ERROR,
        lands=landed,
        drift_sd=LABORATORY.drift * mean / 100,
    )
    if isinstance(fit, Refused):
        return NoBalance(band, fit.why, samples.word, run.years.size, used)
    between = doses.since(first)
    return LayerBalance(
        band=band,
        balance=fit,
        last=last,
        key=run.key,
        rows=used,
        doses=between,
        programme=programmes.present(records, every_dose.rows),
        note=joined(" ", list(filter(None, [_left_out(rows, logged, samples, started), _below(between)]))),
        corings=every_dose.method(first, last),
    )


@dataclass(frozen=True)
class _Samples:
    """The samples a balance is made of: of the latest one's method and time of the year.

    Attributes:
        run: the samples.
        rows: their results (grain: result).
        other_method: results left out because of their method.
        other_time: results left out because of their time of the year.
    """

    run: Run
    rows: Rows
    other_method: int
    other_time: int

    @property
    def word(self) -> Standing:
        """What stands for a balance that too few of them make."""
        return "not comparable" if self.other_method or self.other_time else "too few"


def _comparable(records: GreenRecords, logged: Rows) -> _Samples:
    """The results of the latest one's method and time of the year."""
    same = _run(logged)
    of_method = logged.these([row for at, row in enumerate(logged) if at not in set(same.left_out)])
    weeks = records.options.weeks
    if weeks is None:
        return _Samples(same, of_method, len(same.left_out), 0)
    times = times_of_year(in_years(of_method.column("date")), weeks)
    used = of_method.these([row for row, time in zip(of_method, times, strict=True) if time == 0])
    return _Samples(_run(used), used, len(same.left_out), len(of_method) - len(used))


def _run(rows: Rows) -> Run:
    keys = [method_key(row) for row in rows]
    below = [bool(one) for one in rows.column("below_limit")]
    return comparable_run(rows.column("date"), rows.column("value"), keys, below_limit=below)


def _landing(records: GreenRecords) -> tuple[float, float]:
    """What came onto the green as a share of the dressing logged, and the relative standard deviation of that share."""
    least, most = records.options.landed
    middle = (least + most) / 2
    return middle, (most - least) / 2 / ENDS / middle


def _left_out(rows: Rows, logged: Rows, samples: _Samples, started: date | None) -> str:
    """What of the samples is not in the fit, and why."""
    parts = []
    if early := len(rows) - len(logged):
        assert started is not None
        parts.append(f"{counted(early, 'result')} from before the log begins ({long_date(started)}) left out.")
    if samples.other_method:
        parts.append(f"{counted(samples.other_method, 'result')} by another method left out.")
    if samples.other_time:
        parts.append(f"{counted(samples.other_time, 'result')} of another time of the year left out.")
    return " ".join(parts)


def _below(doses: Rows) -> str:
    """How much dressing filled holes below the layer; "" where none did."""
    lost, spread = doses.total("below_kg_m2"), doses.total("kg_m2")
    if not lost:
        return ""
    return AmountText(Amount(lost, "kg/m²", ".1f"), " of ", Amount(spread, "kg/m²", ".1f"), " filled holes below it.")


def _sd(used: Rows, run: Run, mean: float) -> NDArray[np.float64] | None:
    """Standard deviation of each sample, as a fraction: from its cores, else from replicates, else None.

    What the laboratory's level differs by from year to year is common to the results of a day: it is not less for many.
    """
    days = list(used.split("date").values())
    if not used.having("cores", None):
        cv = LABORATORY.year_cv
        sd = [sampling_sd(mean, sum(day.column("cores")), core_cv=CORE_VARIATION, laboratory_cv=cv) for day in days]
        return np.asarray(sd) / 100
    spread = pooled_sd([day.column("value") for day in days])
    if spread is None or spread == 0:
        return None
    assert run.years.size == len(days)
    of_mean = spread / np.sqrt([float(len(day)) for day in days])
    return np.asarray(np.hypot(of_mean, LABORATORY.year_cv * mean) / 100)
