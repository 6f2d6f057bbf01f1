"""Targets in force, and how a figure stands against them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace

import polars as pl

from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_season import Indicator, Sample, Series, Standing
from pipeline.indicators.base.judgement import stand
from pipeline.indicators.base.records import GreenRecords
from pipeline.workspace.targets import STANDARD, shipped_targets
from schemas.codes import fold


@dataclass(frozen=True)
class Target:
    """A goal: lower and upper end, and who says so."""

    low: float | None
    high: float | None
    unit: str
    source: str


def target_for(records: GreenRecords, what: Description, band: str = "") -> Target | None:
    """The target in force: one that a user loaded, else the one of the shipped sets that the settings choose."""
    if own := own_target(records, what.name, band):
        return own
    shipped = [row for name in reversed(records.settings.target_sets) for row in shipped_rows(what, name)]
    return _best(shipped, records.season.name, band)


def shipped_rows(what: Description, name: str) -> list[dict[str, object]]:
    """An indicator's targets of one shipped set, fields as in schemas/target.py (grain: target)."""
    if name != STANDARD:
        return [dict(row) for row in shipped_targets(name) if row["indicator"] == what.name]
    of_all = {"indicator": what.name, "scope": "standard", "scope_name": "", "season": ""}
    return [of_all | asdict(one) | {"unit": one.unit or what.unit} for one in what.targets]


def own_target(records: GreenRecords, indicator: str, band: str = "") -> Target | None:
    """The target that a user loaded: green beats club beats region beats standard.

    A season's own beats one for all seasons.
    """
    found = (_best(rows, records.season.name, band) for rows in _by_scope(records, indicator))
    return next(filter(None, found), None)


def target_ahead(records: GreenRecords, indicator: str, band: str = "") -> tuple[Target, str] | None:
    """The target set for a season after the one looked at, and that season's name: narrowest scope, then nearest."""
    for rows in _by_scope(records, indicator):
        later = {str(row["season"]) for row in rows if _is_later(str(row["season"]), records.season.name)}
        for season in sorted(later):
            if found := _best([row for row in rows if row["season"] == season], season, band):
                return found, season
    return None


def _by_scope(records: GreenRecords, indicator: str) -> Iterator[list[dict[str, object]]]:
    """A user's targets of an indicator that hold for the green, scope by scope, narrowest first."""
    own = records.targets.filter(pl.col("indicator") == indicator).to_dicts()
    for scope, name in {**records.scope_names, "standard": ""}.items():
        if name is not None:  # a club without a region
            yield [row for row in own if row["scope"] == scope and (not name or row["scope_name"] == name)]


def _is_later(season: str, than: str) -> bool:
    """Whether a season's name is a year after another's."""
    return season.isdecimal() and len(season) == 4 and int(season) > int(than)


def _best(rows: list[dict[str, object]], season: str, band: str) -> Target | None:
    fitting = []
    for row in rows:
        row_season, row_band = str(row["season"] or ""), str(row["band"] or "")
        if row_season in {"", season} and _covers(row_band, band):
            fitting.append((row_season == "", row_band == "", row))
    if not fitting:
        return None
    row = min(fitting, key=lambda found: found[:2])[2]
    return Target(_number(row["low"]), _number(row["high"]), str(row["unit"]), str(row["source"]))


def _covers(target_band: str, band: str) -> bool:
    """Whether a target of this band holds for the indicator's: all bands, the same, or one parted further by depth."""
    wanted, own = fold(target_band), fold(band)
    return not wanted or own == wanted or own.startswith(f"{wanted}, ")


def _number(cell: object) -> float | None:
    return None if cell is None or cell == "" else float(str(cell))


def series(records: GreenRecords, what: Description, samples: Sequence[Sample], band: str = "") -> Series:
    """Samples of an indicator over time with the target in force, for the charts."""
    target = target_for(records, what, band)
    ends = (target.low, target.high, target.source) if target else (None, None, "")
    return Series(what.label, band, what.unit, tuple(samples), *ends)


def against_target(indicator: Indicator, records: GreenRecords, what: Description) -> Indicator:
    """The indicator with its target and standing filled in.

    A target in another unit than the indicator's is not applied, and the note says so. A standing already set ("too
    few", "not comparable") stays.

    Args:
        indicator: the figure.
        records: of its green and season.
        what: its description.
    """
    target = target_for(records, what, indicator.band)
    if target is None:
        return indicator
    if fold(target.unit) not in _unit_names(indicator):
        note = f"The target is in {target.unit}, the figure in {indicator.unit}: not compared."
        return replace(indicator, note=f"{indicator.note} {note}".strip())
    stands: Standing = indicator.standing
    if indicator.value is not None and stands == "no target":
        stands = stand(indicator.value, target.low, target.high)
    return replace(
        indicator, target_low=target.low, target_high=target.high, target_source=target.source, standing=stands
    )


def _unit_names(indicator: Indicator) -> set[str]:
    """How the indicator's unit may be written in a target, folded; a bare number is a count, or pH."""
    return {fold(indicator.unit)} if indicator.unit else {"", "count", "ph"}
