"""Names in a target that stand for something: one that is no name of an indicator, club, season or band is told."""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat
from pipeline.indicators.base.bands import bands_of
from pipeline.indicators.base.description import MONEY
from pipeline.indicators.base.programmes import PLAN
from pipeline.indicators.base.standing import band_key, unit_name, unit_names
from pipeline.store.register import Register
from schemas.codes import fold

NO_INDICATOR = FaultKind(
    "target.indicator",
    "Target for an indicator that there is not",
    "There is no indicator “{value}”{closest}.",
    "Write its name as in docs/indicators.md.",
)
OTHER_UNIT = FaultKind(
    "target.unit",
    "Target in another unit than its indicator",
    "{indicator} is in {wanted}, this target in “{value}”.",
    "It holds for no figure: load it with low and high blank, and again with all three in the indicator's own unit.",
    severity="warning",
)
NO_SUCH_SCOPE = FaultKind(
    "target.scope",
    "Target for a green, club or region that there is not",
    "There is no {scope} “{value}”{closest}.",
    "It holds for nothing until that is registered. If the name is misspelt load it with low and high blank, and again "
    "with the code as in the register (a region as in the register of clubs).",
    severity="warning",
)
SCOPE_UNNAMED = FaultKind(
    "target.unnamed",
    "Target that does not say for which green, club or region",
    "This target is for a {value}, and scope_name does not say which.",
    "Fill in scope_name; for every green write the scope standard.",
)
SCOPE_NEEDLESS = FaultKind(
    "target.needless",
    "Target for all that names one",
    "A target of the scope standard holds for every green, and this one names “{value}”.",
    "Leave scope_name blank, or write the scope (green, club, region) that the name is of.",
)
NO_SEASON = FaultKind(
    "target.season",
    "Target for a season that is none",
    "“{value}” is not the name of a season{closest}.",
    "A season is named by the year it ends in, such as 2026; leave it blank for every season.",
)
NO_BAND = FaultKind(
    "target.band",
    "Target for a band that its indicator has not",
    "{indicator} has no band “{value}”: {bands}.",
    "Write the band as it is printed beside the indicator, or leave it blank for all.",
)
NO_LABORATORY = FaultKind(
    "target.lab",
    "Target for a laboratory of which there are no results",
    "There are no results of a laboratory “{value}”{closest}.",
    "It holds for nothing until there are. If the name is misspelt load it with low and high blank, and again with the "
    "name as the results have it.",
    severity="warning",
)
NO_MATERIAL = FaultKind(
    "target.material",
    "Target for a material that there is not",
    "{indicator} is told by material, and the register has no material “{value}”{closest}.",
    "It holds for nothing until that is registered. If the name is misspelt load it with low and high blank, and again "
    "with the name as in the register of materials.",
    severity="warning",
)
NO_DEPTH = FaultKind(
    "target.depth",
    "Target for a depth of which there are no results",
    "There are no results of {value}{closest}.",
    "It holds for nothing until there are. If the depth is misspelt load it with low and high blank, and again with "
    "the depth as the results have it.",
    severity="warning",
)
_YEAR = re.compile(r"(?:19|20)\d\d")
_MONTHS = "|".join(calendar.month_name[1:])
_MONTH = re.compile(rf"(?:{_MONTHS}) (?:19|20)\d\d", re.IGNORECASE)
_DEPTH = re.compile(r"\d+(?:[.,]\d+)?\s*[–—-]\s*\d+(?:[.,]\d+)?\s*mm.*|.*not stated.*", re.IGNORECASE)


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of names that nothing bears: such a target would hold for no figure, and nobody would know."""
    return concat(fault for row in records.iter_rows(named=True) for fault in _of_target(row, register))


def _of_target(row: Mapping[str, Any], register: Register) -> Iterator[pl.DataFrame]:
    yield from _indicator(row, register)
    yield from _scope(row, register)
    labs = register.met.get("lab", frozenset())
    if labs and row["lab"] and row["lab"] not in labs:
        yield NO_LABORATORY.at(row["line"], row["lab"], "lab", closest=offered(row["lab"], labs))
    season = str(row["season"] or "")
    if season and not _YEAR.fullmatch(season):
        near = sorted(set(_YEAR.findall(season)) | {f"20{two}" for two in re.findall(r"(?<!\d)\d\d(?!\d)", season)})
        yield NO_SEASON.at(row["line"], season, "season", closest=f"; closest: {near[-1]}" if near else "")


def _indicator(row: Mapping[str, Any], register: Register) -> Iterator[pl.DataFrame]:
    from pipeline.indicators.families import DESCRIBED  # every family of figures: loaded where a target is

    name = str(row["indicator"])
    what = DESCRIBED.get(name)
    if what is None and name != PLAN:
        yield NO_INDICATOR.at(row["line"], name, "indicator", closest=offered(name, [*DESCRIBED, PLAN]))
        return
    unit, bands = (what.unit, what.band) if what else ("kg/m²", "")
    if not _in_unit(str(row["unit"]), unit):
        wanted = unit.replace(MONEY, "the workspace's currency") or "no unit"
        yield OTHER_UNIT.at(row["line"], str(row["unit"]), "unit", indicator=name, wanted=wanted)
    if band := str(row["band"] or ""):
        yield from _band(row, name, band, bands, register)


def _in_unit(written: str, unit: str) -> bool:
    """Whether a target's unit is its indicator's; of money any currency's name will do: the page holds it to one."""
    if MONEY not in unit:
        return unit_name(written) in unit_names(unit)
    currency, _, of = written.partition("/")
    return fold(currency) not in ("", MONEY) and fold(of) == fold(unit.partition("/")[2])


def _band(row: Mapping[str, Any], name: str, band: str, bands: str, register: Register) -> Iterator[pl.DataFrame]:
    """A band that its indicator has not, or of which there is nothing yet.

    Args:
        row: the target.
        name: its indicator.
        band: its band.
        bands: what bands of that indicator say; "" where it has none.
        register: registers, and names that records bear.
    """
    wrong = partial(NO_BAND.at, row["line"], band, "band", indicator=name)
    first = band.split(", ", maxsplit=1)[0]
    known = bands_of(bands)
    if not bands:
        yield wrong(bands="it has none")
    elif bands == "depth" and not _DEPTH.fullmatch(band):
        yield wrong(bands="bands are depths, such as 0–20 mm")
    elif bands == "month" and not _MONTH.fullmatch(band):
        yield wrong(bands="bands are months, such as June 2026")
    elif known and fold(first) not in map(fold, known):
        yield wrong(bands=f"bands are {', '.join(known)}{offered(band, known)}")
    elif bands.startswith("material") and first not in (materials := register.names("material")):
        yield NO_MATERIAL.at(row["line"], band, "band", indicator=name, closest=offered(first, sorted(materials)))
    elif bands == "depth" and (depths := register.met.get("depth")) and band_key(first) not in map(band_key, depths):
        yield NO_DEPTH.at(row["line"], band, "band", closest=offered(first, sorted(depths)))


def _scope(row: Mapping[str, Any], register: Register) -> Iterator[pl.DataFrame]:
    scope, name = str(row["scope"]), row["scope_name"]
    if scope == "standard":
        if name is not None:
            yield SCOPE_NEEDLESS.at(row["line"], name, "scope_name")
        return
    if name is None:
        yield SCOPE_UNNAMED.at(row["line"], scope, "scope_name")
        return
    frame = register.greens if scope == "green" else register.clubs
    known = frame[scope].drop_nulls().unique().to_list()
    if name not in known:
        yield NO_SUCH_SCOPE.at(row["line"], name, "scope_name", scope=scope, closest=offered(name, known))
