"""What a visit measured and counted: sward by points, thatch and roots, hardness, moisture, infiltration."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from pipeline.agronomy.surface import falling_head_mm_h, infiltration_mm_h
from pipeline.agronomy.sward import clumping, cover_pct
from pipeline.common.words import difference_unit, long_date
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import (
    COMMON,
    MUMFORD,
    MUMFORD_CITED,
    NO_PUBLISHED,
    DefaultTarget,
    Description,
    Family,
)
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.surface.readings import Change, Visit, broken_series, figure_names, latest, readings, visits
from schemas.codes import Code, code_list

TARGETS = {
    "cover": DefaultTarget(95.0, None, MUMFORD, cited=MUMFORD_CITED),
    "desirable_grass": DefaultTarget(
        50.0, None, COMMON,
        note="50 to 90 % and more by standard of green is said, the lower end is taken; which grasses are desirable is "
        "the surveyor's word",
    ),
    "bare": DefaultTarget(
        None, 5.0, COMMON, note="0.5 to 5 % by standard of green is said, the upper end is taken"
    ),
    "thatch_depth": DefaultTarget(
        None, None, NO_PUBLISHED, note="what is commonly said stands in the set common-practice"
    ),
    "infiltration": DefaultTarget(
        None, None, NO_PUBLISHED, note="what is asked of high-sand greens stands in the set golf-greens"
    ),
}  # fmt: skip
_MEASURED = "Mean of the readings with the t interval of their spread"
_COUNTED = (
    "Hits over points of all places, with Wilson's interval; points count for fewer where places differ by more than "
    "chance"
)


@dataclass(frozen=True)
class Told:
    """What is told of a thing: the figure, its spread over the green, its change since the visit before."""

    figure: Description
    spread: Description
    change: Description


def _told(thing: str, code: Code) -> Told:
    unit, name, family = (str(code.facts[fact]) for fact in ("unit", "figure", "family"))
    spread, change = figure_names(code)
    decimals = int(code.facts["decimals"])
    rings = (infiltration_mm_h, falling_head_mm_h) if thing == "infiltration" else ()
    points: tuple[Callable[..., Any], ...] = (cover_pct, clumping) if family == "sward" and unit == "%" else ()
    return Told(
        Description(
            name, code.label, unit, family,
            "Last visit of the season, one figure a method: hammer, drop, depth and ring are part of it.",
            f"{_COUNTED}; {_MEASURED.lower()} where no points were counted." if unit == "%" else f"{_MEASURED}.",
            band="method", decimals=decimals, formulas=points or rings,
            targets=(TARGETS[thing],) if thing in TARGETS else (),
        ),
        Description(
            spread, f"{code.label}: spread over the green", "%", family,
            "How much the green differs from place to place; from three readings on.",
            "Standard deviation over mean of the visit's readings.", band="method", decimals=0,
        ),
        Description(
            change, f"{code.label}: change since the visit before", difference_unit(unit), family,
            "Later less earlier, only where the method is the same.",
            "Newcombe's interval for counts, Welch's t interval for readings; a change is shown only where it leaves "
            "zero out.", band="method", decimals=decimals, formulas=rings, difference=True,
        ),
    )  # fmt: skip


TOLD = {thing: _told(thing, code) for thing, code in code_list("observation").items() if thing != "layer"}
"""What is measured or counted → its indicators; a layer is drawn in the survey and has none."""
assert TARGETS.keys() <= TOLD.keys(), "a default target of a thing that nobody measures"


def observations(asked: Asked) -> Iterator[Indicator]:
    """The seasons' last visit for every thing and method, its spread and its change (grain: indicator)."""
    rows = readings(asked.so_far(asked.observations))
    of_thing = rows.partition_by("of", "observed", as_dict=True, maintain_order=True)
    order = {what: at for at, what in enumerate(TOLD)}
    for (of, what), part in sorted(of_thing.items(), key=lambda one: order[one[0][1]]):
        start = asked.each[of].season.start
        if part["date"].max() < start:  # type: ignore[operator]  # a date
            continue
        every = visits(part, what)
        for one, since in latest(every):
            if one.day >= start:
                broken = broken_series([v for v in every if v.day <= one.day])
                yield from (replace(figure, of=of) for figure in _figures(TOLD[what], one, since, broken))


def _figures(told: Told, one: Visit, since: Change | None, broken: str) -> Iterator[Indicator]:
    yield told.figure.figure(
        one.value,
        one.rows,
        "observation",
        n=one.each.height,
        band=one.method,
        low=one.low,
        high=one.high,
        method=one.how,
        note=f"Visit of {long_date(one.day)}. {broken}".strip(),
    )
    if one.cv_pct is not None:
        how = "Standard deviation over the mean of the readings (coefficient of variation)."
        yield told.spread.figure(one.cv_pct, one.rows, "observation", band=one.method, method=how)
    if since is not None:
        yield _changed(told.change, one, since)


def _changed(what: Description, one: Visit, since: Change) -> Indicator:
    """The change since the visit before, by the same method."""
    found = since.difference
    way = "Newcombe interval from both Wilson intervals" if one.points else "Welch's t interval"
    if found.low is None:
        says = "A single reading on one of the two visits: no interval, and so no change is shown."
    else:
        says = "" if found.shown else "The interval holds zero: no change is shown."
    return what.figure(
        found.change,
        one.rows,
        "observation",
        band=one.method,
        low=found.low,
        high=found.high,
        method=f"Later less earlier, same method; 95 % {way}.",
        note=f"Since {long_date(since.since)}. {says}".strip(),
    )


FAMILY = Family(tuple(one for told in TOLD.values() for one in (told.figure, told.spread, told.change)), observations)
