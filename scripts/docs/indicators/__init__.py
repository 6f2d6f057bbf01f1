"""Every indicator: what it is called, what it means, how it is made. Held against what the records yield by a test."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.workspace.targets import shipped_targets, target_sets
from reports.page.figures import heading_of
from scripts.docs import markdown as md
from scripts.docs.indicators.described import Described
from scripts.docs.indicators.feeding import nutrients
from scripts.docs.indicators.ground import DISTURBANCE, LEVELS, SIEVES
from scripts.docs.indicators.organic_matter import BALANCE, DRESSING, ORGANIC_MATTER
from scripts.docs.indicators.play import SURFACE
from scripts.docs.indicators.sky_and_works import WEATHER, WORKS
from scripts.docs.indicators.soil import NEED, chemistry
from scripts.docs.indicators.sward import observations

__all__ = ["Described", "catalogue", "page"]

OPENING = """\
A figure about one green in one season. Its `name` is what `show --json`, the attached `indicators.csv` and a
[target](records.md#target) call it; its suffix is its unit. `band` says what the name alone does not: a depth, a
material, an operation, an extractant. Every figure carries `n`, the number of records behind it. A figure that the
records cannot carry is absent or blank and says why; it is never zero.

**Standing** is said in words: `within`, `below` or `above` the target; `no target`; `too few` samples for a trend;
`not comparable`, where the method of the samples changed. A target in another unit than the figure is not applied, and
the note beside the figure says so.

**Season**: twelve months from `season_start` ([settings](settings.md)), up to its end or the last day that any record
in the store speaks of. Soil tests are the latest up to that day, whichever season they were taken in.

**Area**: a figure of the season is of the whole green: mass over the green's area. What a job puts on, opens or takes
off on a part of the green is weighted by the share treated (treated area ÷ the green's area), so that one job logged in
two halves comes to the same as in one line; of a treated area larger than the green, what landed on the green counts. A
job that gives no treated area went over the whole green. Without the green's own area there is no figure per square
metre of what was put on, nor of work on a part. A single dose stays a dose on the area it fell on. Numbers of jobs and
`n` count lines of the log; `days_worked` counts days."""

CHEMISTRY = """\
Results of the laboratory: the mean of the latest day, one figure an extractant and unit, with a 95 % interval where
there are several results. Results of two extractants are never mixed, and mg/l stays mg/l: only a density, which is
not guessed, makes mg/kg of it, as a second figure beside it (density_kg_l). Results in lb/acre are taken with the
layer's depth and bulk density, and kept in mg/kg."""

TARGETS = """\
## Default targets

Shipped with the tool and printed with their source. They give way to any target of your own for the green, its club or
its region, and to a `standard` one of your own. None of them is a rule for every green."""


def catalogue() -> Iterator[Described]:
    """Every indicator, family by family in the order of the report."""
    yield from ORGANIC_MATTER
    yield from BALANCE
    yield from DRESSING
    yield from nutrients()
    yield from DISTURBANCE
    yield from SURFACE
    yield from chemistry()
    yield from NEED
    yield from LEVELS
    yield from observations()
    yield from SIEVES
    yield from WEATHER
    yield from WORKS


def page() -> str:
    """docs/indicators.md."""
    results = set(chemistry())
    families: dict[str, list[Described]] = {}
    for one in catalogue():
        families.setdefault(one.family, []).append(one)
    headers = ("name", "printed as", "band", "unit", "what it means", "how it is made")
    parts = []
    for family, members in families.items():
        measured = [one for one in members if one in results]
        rows = [(md.code(d.name), d.label, d.band, d.unit, d.meaning, d.made) for d in members if d not in measured]
        parts += [f"## {heading_of(family)}", md.table(headers, rows)]
        if measured:
            parts += [CHEMISTRY, _measured(measured)]
    return md.page("Indicators", OPENING, *parts, TARGETS, _targets())


def _measured(members: list[Described]) -> str:
    """A row a measured thing: its names in each unit a laboratory may report."""
    by_label: dict[str, list[Described]] = {}
    for one in members:
        by_label.setdefault(one.label, []).append(one)
    rows = [
        (md.codes(d.name for d in same), label, same[0].band, " or ".join(d.unit for d in same))
        for label, same in by_label.items()
    ]
    return md.table(("name", "printed as", "band", "unit"), rows)


def _targets() -> str:
    headers = ("indicator", "band", "low", "high", "unit", "source", "note")
    names = ("band", "low", "high", "unit", "source", "note")
    parts = []
    for one in target_sets():
        rows = [(md.code(row["indicator"]), *(row[name] for name in names)) for row in shipped_targets((one,))]
        parts += [f"### Set {md.code(one)}", md.table(headers, rows)]
    return "\n\n".join(parts)
