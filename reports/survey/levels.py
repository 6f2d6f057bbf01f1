"""The levels of a condition survey as printed: map, rinks, lows, straightedge, crown, change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.agronomy.levels.level_map import LevelMap
from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.agronomy.levels.rinks import RinkLevels
from pipeline.agronomy.levels.straightedge import STRAIGHTEDGE_M, Gap
from pipeline.indicators.surface.levels import chance_in_words
from pipeline.survey.level_survey import LevelsMoved, LevelSurvey
from reports.page import text
from reports.page.document import Image
from reports.page.figures import Figure, figure
from reports.survey import level_drawing
from reports.survey.level_drawing import signed

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
    cut_fill: MapBox
    moved_map: MapBox | None
    facts: tuple[tuple[str, str], ...]
    figures: tuple[Figure, ...]
    rinks: tuple[RinkRow, ...]
    lows: tuple[LowRow, ...]
    lows_total: str
    lows_more: str
    lows_note: str
    notes: tuple[str, ...]
    judged: bool


def level_part(found: LevelSurvey, refs: Mapping[tuple[str, str], int]) -> LevelPart:
    """The levels of a survey, every figure formatted.

    Args:
        found: the survey.
        refs: name and band of a figure → the number it is printed under.
    """
    lows = found.lows[:MOST_LOWS]
    return LevelPart(
        lead=_lead(found),
        map=MapBox("map:levels", _map_title(found), _alt(found)),
        cut_fill=MapBox("map:cutfill", "Cut and fill, mm", _bands_alt("Cut and fill", found.cut_fill)),
        moved_map=_moved_map(found.moved),
        facts=tuple(_facts(found)),
        figures=tuple(figure(refs[i.name, i.band], i) for i in found.figures if (i.name, i.band) in refs),
        rinks=tuple(_rink(one) for one in found.rinks),
        lows=tuple(
            LowRow(
                _place(one.across_m, one.along_m),
                text.quantity(one.deepest_mm, "mm", 1),
                text.quantity(one.area_m2, "m²", 1),
                text.quantity(one.volume_m3 * 1000, "l", 0),
                text.quantity(one.mass_t, "t", 2) if found.dressed(one) else "not ordered",
                f"{one.lifts}" if found.dressed(one) else text.MISSING,
            )
            for one in lows
        ),
        lows_total=_total(found),
        lows_more=text.more(len(found.lows) - len(lows), "low", "lows.csv"),
        lows_note=_lows_note(found),
        notes=tuple(_notes(found)),
        judged=bool(found.shape),
    )


def level_images(found: LevelSurvey) -> dict[str, Image]:
    """The maps of a survey by their keys."""
    made = {
        "map:levels": Image("image/svg+xml", level_drawing.svg(found.map, found.tolerance_mm)),
        "map:cutfill": Image("image/svg+xml", level_drawing.svg(found.cut_fill, None, "Off by, mm")),
    }
    if found.moved and found.moved.map:
        made["map:moved"] = Image("image/svg+xml", level_drawing.svg(found.moved.map, None, "Change, mm"))
    return made


def _lead(found: LevelSurvey) -> str:
    parts = [f"{text.count(found.n, 'point')}, about {text.quantity(found.spacing_m, 'm', 1)} apart"]
    if found.instrument:
        parts.append(f"by {text.clean(found.instrument, 80)}")
    if found.accuracy_mm is not None:
        parts.append(f"standard error of a height {text.quantity(found.accuracy_mm, 'mm', 1)}")
    if not found.as_grid:
        parts.append("heights between the points are interpolated")
    band = ""
    if found.tolerance_mm is not None:
        width = text.with_unit(text.limit_number(found.tolerance_mm, 1), "mm")
        source = text.clean(found.tolerance_source, 200)
        band = f" Strong line: where ground lies more than {width} off (source: {source})."
    return f"{text.sentence(', '.join(parts))} Heights over {text.clean(found.surface, 60)}.{band}"


def _map_title(found: LevelSurvey) -> str:
    return f"Heights over {text.clean(found.surface, 60)}, mm"


def _alt(found: LevelSurvey) -> str:
    marks = "; ".join(
        f"{text.clean(mark.what, 40)} {signed(mark.height_mm)} mm at {_place(mark.across_m, mark.along_m)}"
        for mark in found.map.marks
    )
    return text.clean(f"{_bands_alt(f'Map of heights over {found.surface}', found.map)} {marks}.", 900)


def _bands_alt(name: str, drawn: LevelMap) -> str:
    """What a map shows, band by band."""
    bands = "; ".join(
        f"{level_drawing.band_words(band)} mm on {text.quantity(band.area_m2, 'm²', 0)}"
        for band in drawn.bands
        if band.shapes
    )
    return text.clean(f"{name}: {bands}.", 600)


def _moved_map(moved: LevelsMoved | None) -> MapBox | None:
    if moved is None or moved.map is None:
        return None
    since = text.day(moved.since)
    return MapBox("map:moved", f"Risen and sunk since {since}, mm", _bands_alt(f"Change since {since}", moved.map))


def _place(across: float, along: float) -> str:
    return f"{text.quantity(across, 'm', 1)} across, {text.quantity(along, 'm', 1)} along"


def _facts(found: LevelSurvey) -> Iterator[tuple[str, str]]:
    for way, gap in found.gaps:
        yield f"Under a {text.quantity(STRAIGHTEDGE_M, 'm', 0)} straightedge, {way}", _gap(gap)
    yield (
        "Above and below that surface",
        (f"{text.quantity(found.cut_m3, 'm³', 2)} above, {text.quantity(found.fill_m3, 'm³', 2)} below"),
    )
    if (crown := found.crown) is not None:
        height = "no top within the green" if crown.height_mm is None else text.quantity(crown.height_mm, "mm", 0)
        yield "Height of the crown over the corners", height
        yield "Corners below the top", ", ".join(text.number(one, 0) for one in crown.corners_mm) + " mm"
        if crown.quarters_mm:
            yield "Quarters against their mean", ", ".join(signed(one) for one in crown.quarters_mm) + " mm"
    if moved := found.moved:
        yield f"Since {text.day(moved.since)}", _moved(moved)


def _gap(gap: Gap | None) -> str:
    if gap is None:
        return "the survey is shorter than that"
    return f"{text.quantity(gap.gap_mm, 'mm', 1)} at {_place(gap.across_m, gap.along_m)}"


def _moved(moved: LevelsMoved) -> str:
    parts = [text.count(moved.n, "shared point")]
    if moved.mean_mm is None:
        parts.append("rise or fall of the whole green not known: the benchmarks are not known to be the same")
    else:
        parts.append(f"on average {signed(moved.mean_mm)} mm")
    if moved.detectable_mm is None or moved.beyond_pct is None:
        parts.append("error of the heights not known, so no point can be said to have moved")
    else:
        least = text.quantity(moved.detectable_mm, "mm", 1)
        beyond = text.quantity(moved.beyond_pct, "%", 0)
        chance = chance_in_words(moved.beyond_pct)
        parts.append(f"{beyond} changed by more than the error of both ({least}); {chance}")
    return "; ".join(parts)


def _rink(one: RinkLevels) -> RinkRow:
    path = one.path
    return RinkRow(
        number=f"{one.number}",
        mean=_signed(one.mean_mm),
        within=text.quantity(one.within_pct, "%", 0),
        fall=_signed(one.fall_mm),
        crossfall=_signed(one.crossfall_mm),
        steepest=f"{_signed(path.steepest_mm_m)} at {text.quantity(path.steepest_at_m, 'm', 0)}"
        if path
        else "not covered",
        turn=f"{_signed(path.turn_mm_m)} at {text.quantity(path.turn_at_m, 'm', 0)}" if path else "not covered",
    )


def _signed(value: float | None) -> str:
    return text.MISSING if value is None else text.signed(value, 1)


def _total(found: LevelSurvey) -> str:
    if not found.lows:
        return ""
    volume, area = sum(one.volume_m3 for one in found.lows), sum(one.area_m2 for one in found.lows)
    all_of_it = f"In all {text.quantity(area, 'm²', 0)}, {text.quantity(volume, 'm³', 2)}"
    dressing = f", {text.quantity(found.dressing_t, 't', 2)} of dry dressing" if found.dressing_t else ""
    return " ".join(filter(None, (f"{all_of_it}{dressing}.", text.clean(found.not_dressed))))


def _lows_note(found: LevelSurvey) -> str:
    lift = text.with_unit(text.limit_number(LIFT_MM, 1), "mm")
    density = text.with_unit(text.limit_number(found.bulk_density_t_m3, 2), "t/m³")
    return (
        f"Dry dressing of {density}; lifts of {lift} at most, so that grass grows through (common practice, no source)."
    )


def _notes(found: LevelSurvey) -> Iterator[str]:
    for note in found.notes:
        yield text.sentence(text.clean(note))
    for one in found.odd[:MOST_ODD]:
        yield (
            f"The reading at {_place(one.across_m, one.along_m)} lies {signed(one.off_mm)} mm off those around it "
            f"({text.clean(one.evidence.file, 60)}, line {one.evidence.line}); it is counted as it stands."
        )
    if left := text.more(len(found.odd) - MOST_ODD, "odd reading", "levels.csv"):
        yield left
