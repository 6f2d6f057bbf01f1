"""The levels of a condition survey as printed: map, rinks, lows, straightedge, crown, change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.agronomy.levels.rinks import RinkLevels
from pipeline.agronomy.levels.straightedge import GRADIENT_OVER_M, STRAIGHTEDGE_M, Gap
from pipeline.indicators.surface.levels import BY_CHANCE_PCT
from pipeline.survey.level_survey import LevelsMoved, LevelSurvey
from reports.page import text
from reports.page.figures import Figure, figure
from reports.page.house_style import Units
from reports.page.rendering import Image
from reports.page.units import in_customary, quantity_in, turned, unit_in
from reports.survey.level_alt import CUT_AND_FILL, MOVED, as_set, heights_alt, limit_of, map_alt
from reports.survey.level_drawing import HALF, MOST_POINTS, NOTHING, WIDE, Beside, signed, svg

MOST_LOWS = 8
MOST_ODD = 6


@dataclass(frozen=True)
class MapBox:
    """A map as placed."""

    key: str
    title: str
    alt: str


@dataclass(frozen=True)
class RinkRow:
    """One rink as printed."""

    number: str
    mean: str
    within: str
    fall: str
    crossfall: str
    steepest: str
    turn: str


@dataclass(frozen=True)
class RinkUnits:
    """Units that the headings of the table of rinks name."""

    height: str
    slope: str


@dataclass(frozen=True)
class LowRow:
    """One low to fill as printed."""

    place: str
    deepest: str
    area: str
    volume: str
    mass: str
    lifts: str


@dataclass(frozen=True)
class LevelPart:
    """The levels as printed; every field is final text."""

    lead: str
    map: MapBox
    map_note: str
    more_maps: tuple[MapBox, ...]
    facts: tuple[tuple[str, str], ...]
    moved: tuple[str, ...]
    figures: tuple[Figure, ...]
    rinks_units: RinkUnits
    rinks: tuple[RinkRow, ...]
    stretch: str
    lows: tuple[LowRow, ...]
    lows_total: str
    lows_more: str
    lows_note: str
    notes: tuple[str, ...]
    judged: bool


def level_part(
    found: LevelSurvey, refs: Mapping[tuple[str, str], int], units: Units = "metric", beside: Beside = NOTHING
) -> LevelPart:
    """The levels of a survey, every figure formatted.

    Args:
        found: the survey.
        refs: name and band of a figure → the number it is printed under.
        units: units of display.
        beside: what the map shows beside its bands.
    """
    lows = found.lows[:MOST_LOWS]
    return LevelPart(
        lead=_lead(found, units),
        map=MapBox(
            "map:levels",
            f"Heights over {text.clean(found.surface, 60)}",
            heights_alt(found, len(beside.samples), units),
        ),
        map_note=_map_note(found, beside),
        more_maps=tuple(_more_maps(found, units)),
        facts=tuple(_facts(found, units)),
        moved=tuple(_moved(found.moved, units)) if found.moved else (),
        figures=tuple(figure(refs[i.name, i.band], i) for i in found.figures if (i.name, i.band) in refs),
        rinks_units=RinkUnits(unit_in("mm", units), unit_in("mm/m", units)),
        rinks=tuple(_rink(one, units) for one in found.rinks),
        stretch=as_set(GRADIENT_OVER_M, "m", units),
        lows=tuple(
            LowRow(
                _place(one.across_m, one.along_m, units),
                quantity_in(one.deepest_mm, "mm", 1, units),
                quantity_in(one.area_m2, "m²", 1, units),
                quantity_in(one.volume_m3 * 1000, "l", 0, units),
                quantity_in(one.mass_t, "t", 2, units) if found.dressed(one) else "not ordered",
                f"{one.lifts}" if found.dressed(one) else "–",
            )
            for one in lows
        ),
        lows_total=_total(found, units),
        lows_more=text.more(len(found.lows) - len(lows), "low", "lows.csv"),
        lows_note=_lows_note(found, units),
        notes=tuple(_notes(found, units)),
        judged=bool(found.shape),
    )


def level_images(found: LevelSurvey, units: Units = "metric", beside: Beside = NOTHING) -> dict[str, Image]:
    """The maps of a survey by their keys."""
    plain = Beside(north_deg=beside.north_deg)
    drawn = {"map:levels": svg(found.map, found.tolerance_mm, "Height", units, WIDE, beside)}
    if found.cut_fill is not None:
        drawn["map:cutfill"] = svg(found.cut_fill, None, "Off by", units, HALF, plain)
    if found.moved and found.moved.map:
        drawn["map:moved"] = svg(found.moved.map, None, "Change", units, HALF, plain)
    return {key: Image("image/svg+xml", content) for key, content in drawn.items()}


def _lead(found: LevelSurvey, units: Units) -> str:
    parts = [f"{text.count(found.n, 'point')}, about {quantity_in(found.spacing_m, 'm', 1, units)} apart"]
    if found.instrument:
        parts.append(f"by {text.clean(found.instrument, 80)}")
    if found.accuracy_mm is not None:
        parts.append(f"standard error of a height {quantity_in(found.accuracy_mm, 'mm', 1, units)}")
    if not found.as_grid:
        parts.append("heights between the points are interpolated")
    band = ""
    if found.tolerance_mm is not None:
        source = text.clean(found.tolerance_source)
        width = as_set(found.tolerance_mm, "mm", units)
        band = f" Strong line: where ground lies more than {width} off (source: {source})."
    return f"{text.sentence(', '.join(parts))} Heights over {text.clean(found.surface, 60)}.{band}"


def _map_note(found: LevelSurvey, beside: Beside) -> str:
    """What is on the map beside its bands, and what is not."""
    parts = []
    if len(found.points_m) <= MOST_POINTS:
        parts.append("Small dots: levelled points.")
    if beside.samples:
        parts.append("Marks with a name: where samples were taken.")
    parts.append("Seen from above, the near end at the foot.")
    if beside.north_deg is None:
        parts.append("Which way north lies is not recorded.")
    return " ".join(parts)


def _more_maps(found: LevelSurvey, units: Units) -> Iterator[MapBox]:
    if (fill := found.cut_fill) is not None:
        told = map_alt("What to cut and what to fill", fill, limit_of(fill), CUT_AND_FILL, units)
        yield MapBox("map:cutfill", "What to cut and what to fill", told)
    if found.moved and (moved := found.moved.map):
        since = text.day(found.moved.since)
        told = map_alt(f"Change since {since}", moved, limit_of(moved), MOVED, units)
        yield MapBox("map:moved", f"Risen and sunk since {since}", told)


def _place(across: float, along: float, units: Units) -> str:
    return f"{quantity_in(across, 'm', 1, units)} across, {quantity_in(along, 'm', 1, units)} along"


def _facts(found: LevelSurvey, units: Units) -> Iterator[tuple[str, str]]:
    for way, gap in found.gaps:
        yield f"Under a {as_set(STRAIGHTEDGE_M, 'm', units)} straightedge, {way}", _gap(gap, units)
    yield "Above and below that surface", _volumes(found, units)
    if (crown := found.crown) is not None:
        height = "no top within the green" if crown.height_mm is None else quantity_in(crown.height_mm, "mm", 0, units)
        yield "Height of the crown over the corners", height
        yield "Corners below the top", ", ".join(quantity_in(one, "mm", 0, units) for one in crown.corners_mm)
        if crown.quarters_mm:
            unit = unit_in("mm", units)
            yield "Quarters against their mean", ", ".join(signed(one, units) for one in crown.quarters_mm) + f" {unit}"


def _volumes(found: LevelSurvey, units: Units) -> str:
    if units == "metric":
        return f"{text.quantity(found.cut_m3, 'm³', 2)} above, {text.quantity(found.fill_m3, 'm³', 2)} below"
    above, below = (quantity_in(one * 1000, "l", 0, units) for one in (found.cut_m3, found.fill_m3))
    return f"{above} above, {below} below"


def _gap(gap: Gap | None, units: Units) -> str:
    if gap is None:
        return "the survey is shorter than that"
    return f"{quantity_in(gap.gap_mm, 'mm', 1, units)} at {_place(gap.across_m, gap.along_m, units)}"


def _moved(moved: LevelsMoved, units: Units) -> Iterator[str]:
    """What has moved since the survey before, and what "moved" means beside chance, a sentence each."""
    shared = text.count(moved.n, "point")
    yield f"{shared} were levelled both times, on {text.day(moved.since)} and now."
    if moved.detectable_mm is None or moved.beyond_pct is None:
        yield "The error of the heights is not known, so no point can be said to have moved."
    else:
        least = quantity_in(moved.detectable_mm, "mm", 1, units)
        beyond, chance = round(moved.beyond_pct * moved.n / 100), moved.n * BY_CHANCE_PCT / 100
        yield f"A point counts as moved where its height differs by more than {least}, the error of both (95 %)."
        share, by_chance = (text.quantity(one, "%", 0) for one in (moved.beyond_pct, BY_CHANCE_PCT))
        told = f"{text.count(beyond, 'point')} of {moved.n:,} ({share}) did; had nothing moved, chance would still show"
        yield f"{told} about {text.number(chance, 0)} ({by_chance}), scattered over the green."
        if moved.certain_mm is not None:
            yield _certain(moved, quantity_in(moved.certain_mm, "mm", 1, units))
    if moved.mean_mm is None:
        yield "Rise or fall of the whole green is not known: the benchmarks are not known to be the same."
    else:
        yield f"On average {quantity_in(moved.mean_mm, 'mm', 1, units, signed=True)}, from the same benchmark."
    if moved.doubtful:
        yield "The two surveys bear no likeness: look whether they are of the same green and coordinates."


def _certain(moved: LevelsMoved, limit: str) -> str:
    """What not even one point would show by chance, and how many show it."""
    if not moved.certain:
        return f"None differs by more than {limit}, which chance shows at no point at all in nineteen cases of twenty."
    verb = "differs" if moved.certain == 1 else "differ"
    return (
        f"{text.count(moved.certain, 'point')} {verb} by more than {limit}, which chance shows at no point at all in "
        "nineteen cases of twenty: there the ground has moved."
    )


def _rink(one: RinkLevels, units: Units) -> RinkRow:
    path = one.path
    return RinkRow(
        number=f"{one.number}",
        mean=_signed(one.mean_mm, "mm", units),
        within=text.quantity(one.within_pct, "%", 0),
        fall=_signed(one.fall_mm, "mm", units),
        crossfall=_signed(one.crossfall_mm, "mm", units),
        steepest=_at(path.steepest_mm_m, path.steepest_at_m, units) if path else "not covered",
        turn=_at(path.turn_mm_m, path.turn_at_m, units) if path else "not covered",
    )


def _at(slope_mm_m: float, along_m: float, units: Units) -> str:
    return f"{_signed(slope_mm_m, 'mm/m', units)} at {quantity_in(along_m, 'm', 0, units)}"


def _signed(value: float | None, unit: str, units: Units) -> str:
    """A number with its sign, its unit standing in the heading."""
    if value is None:
        return text.MISSING
    number, _, places = turned(value, unit, 1, units)
    return text.signed(number, places)


def _total(found: LevelSurvey, units: Units) -> str:
    if not found.lows:
        return ""
    volume, area = sum(one.volume_m3 for one in found.lows), sum(one.area_m2 for one in found.lows)
    all_of_it = f"In all {quantity_in(area, 'm²', 0, units)}, {quantity_in(volume * 1000, 'l', 0, units)}"
    dressing = f", {quantity_in(found.dressing_t, 't', 2, units)} of dry dressing" if found.dressing_t else ""
    return " ".join(filter(None, (f"{all_of_it}{dressing}.", text.clean(in_customary(found.not_dressed, units)))))


def _lows_note(found: LevelSurvey, units: Units) -> str:
    lift, density = as_set(LIFT_MM, "mm", units), as_set(found.bulk_density_t_m3, "t/m³", units)
    return (
        f"Dry dressing of {density}; lifts of {lift} at most, so that grass grows through (common practice, no source)."
    )


def _notes(found: LevelSurvey, units: Units) -> Iterator[str]:
    for note in found.notes:
        yield text.sentence(text.clean(in_customary(note, units)))
    for one in found.odd[:MOST_ODD]:
        yield (
            f"The reading at {_place(one.across_m, one.along_m, units)} lies "
            f"{quantity_in(one.off_mm, 'mm', 0, units, signed=True)} off those around it "
            f"({text.clean(one.evidence.file, 60)}, line {one.evidence.line}); it is counted as it stands."
        )
    if left := text.more(len(found.odd) - MOST_ODD, "odd reading", "levels.csv"):
        yield left
