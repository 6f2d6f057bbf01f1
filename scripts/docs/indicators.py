"""Every indicator: what it is called, what it means, how it is made, and the targets that are shipped for it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pipeline.indicators.base.description import Description, Reading, heading_of
from pipeline.indicators.base.standing import shipped_rows
from pipeline.indicators.families import DESCRIBED
from pipeline.indicators.soil.soil import RESULTS
from pipeline.workspace.targets import target_sets
from pipeline.workspace.targets.fit import UNSTATED
from schemas.codes import code_list
from scripts.docs import markdown as md

OPENING = """\
A figure about one green in one season. Its `name` is what `show --json`, the attached `indicators.csv` and a
[target](records.md#target) call it; its suffix is its unit. `band` says what the name alone does not: a depth, a
material, an operation, an extractant. Every figure carries `n`, the number of records behind it. A figure that the
records cannot carry is absent or blank and says why; it is never zero.

**Standing** is said in words: `within`, `below` or `above` the target; `too early` for a total
below its target in a season that still runs; `no target`; `too few` samples for a trend;
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
there are several results. Results of two extractants or of two laboratories are never mixed: those of one day are a
figure each, and the band names the laboratory. mg/l stays mg/l: only a density, which is not guessed, makes mg/kg of
it, as a second figure beside it (density_kg_l). Results in lb/acre are taken with the layer's depth and bulk density,
and kept in mg/kg."""

READINGS_OPENING = """\
A laboratory's figure without an interval of its own is close to a limit, on either side, where it lies nearer to it
than laboratories differ: a standard deviation between laboratories, no 95 % interval."""

TARGETS = """\
## Default targets

Shipped with the tool. Here each stands with its source in full; a page names that by its title. They give way to any
target of your own for the green, its club or its region, and to a `standard` one of your own. None of them is a rule
for every green.

A target holds for the surface and the laboratory method it names, and for no other: where a green is built otherwise,
where its construction or shape is not recorded, or where a result was made in another way, the figure stands at `no
target`, and its note says why. A blank holds for all. `standard` has a target only where a figure for bowling greens
could be read at its source, or is common practice and said to be; a line without low and high says that none was found.
The sets `golf-greens` and `common-practice` hold what is said of other surfaces, or without a source: name them under
`targets` in the [settings](settings.md) to be judged by them."""


def page() -> str:
    """docs/indicators.md."""
    families: dict[str, list[Description]] = {}
    for one in DESCRIBED.values():
        families.setdefault(one.family, []).append(one)
    headers = ("name", "printed as", "band", "unit", "what it means", "how it is made")
    parts = []
    for family, members in families.items():
        measured = [one for one in members if one.name in RESULTS]
        told = [one for one in members if one.name not in RESULTS]
        rows = [(md.code(one.name), one.label, one.band, one.unit, one.meaning, one.made) for one in told]
        parts += [f"## {heading_of(family)}", md.table(headers, rows)]
        if measured:
            parts += [CHEMISTRY, _measured(measured)]
    parts += ["## What a single reading is known to", READINGS_OPENING, _readings()]
    return md.page("Indicators", OPENING, *parts, TARGETS, *(_set(name) for name in target_sets()))


def _measured(members: Iterable[Description]) -> str:
    """A row a measured thing: its names in each unit a laboratory may report."""
    by_label: dict[str, list[Description]] = {}
    for one in members:
        by_label.setdefault(one.label, []).append(one)
    rows = [
        (md.codes(one.name for one in same), label, same[0].band, " or ".join(one.unit for one in same))
        for label, same in by_label.items()
    ]
    return md.table(("name", "printed as", "band", "unit"), rows)


def _readings() -> str:
    """What a single reading of a laboratory is known to, by sort of it, with the source."""
    of: dict[Reading, dict[str, str]] = {}
    for one in DESCRIBED.values():
        if one.reading:
            of.setdefault(one.reading, {})[one.label] = one.unit if one.reading.amount else "of the reading"
    rows = [
        (", ".join(labels), f"{reading.words} {next(iter(labels.values())) or 'pH'}", reading.source)
        for reading, labels in of.items()
    ]
    return md.table(("reading", "known to", "source"), rows)


def _set(name: str) -> str:
    """The targets of a shipped set."""
    headers = ("indicator", "band", "low", "high", "unit", "holds for", "source", "note")
    of_set = [row for what in DESCRIBED.values() for row in shipped_rows(what, name)]
    rows = [
        (
            md.code(str(row["indicator"])),
            *(_cell(row[one]) for one in ("band", "low", "high", "unit")),
            _holds_for(row),
            str(row["cited"] or row["source"]),
            _cell(row["note"]),
        )
        for row in of_set
    ]
    return f"### Set {md.code(name)}\n\n{md.table(headers, rows)}"


def _holds_for(row: Mapping[str, object]) -> str:
    """Surface and method that a target is made for; "" where it holds for all."""
    codes = {"construction": "construction", "shape": "green_shape", "extractant": "extractant"}
    parts = [code_list(of)[str(row[name])].label for name, of in codes.items() if row[name]]
    return ", ".join([*parts, "method not stated"] if row.get(UNSTATED) == "yes" else parts)


def _cell(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value or "")
