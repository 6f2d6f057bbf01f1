"""Levels of the season's last survey: how even the green is, where it falls, what is to be filled, what has moved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from pipeline.agronomy.levels.lows import LIFT_MM
from pipeline.agronomy.levels.straightedge import GRADIENT_OVER_M, STRAIGHTEDGE_M
from pipeline.agronomy.surface import level_summary
from pipeline.common.amounts import Amount, AmountText, each, joined
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.description import Description, Family, one_by_one
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.surface import level_descriptions as told
from pipeline.indicators.surface.level_surveys import (
    CROWN_LOW_MM,
    LOOKS_LIKE_A_CROWN_MM,
    Moved,
    Study,
    Unworkable,
    last_study,
    moved,
    step_in_words,
)

BY_CHANCE_PCT = 5.0
"""Share of points of unmoved ground that change by more than 1.96 standard errors: two-sided 5 % of a normal error."""
ALL_POINTS = "The lines of all points are listed with the spread of heights."
_RANGE_METHOD = "Highest less lowest point of the survey."


def levels(records: GreenRecords) -> Iterator[Indicator]:
    """Figures of the season's last level survey (grain: indicator); none where there is none."""
    found = last_study(records, records.season.start, records.as_of)
    if isinstance(found, Unworkable):
        note = f"Survey of {long_date(found.day)}: {found.why}."
        yield told.RANGE.figure(None, found.rows, "level", method=_RANGE_METHOD, note=note)
    elif found is not None:
        yield from figures(found, moved(records, found))


def figures(study: Study, since: Moved | str) -> Iterator[Indicator]:
    """Every figure of one survey.

    Args:
        study: the survey.
        since: what has moved since the survey before, or why that cannot be told.
    """
    make = _Maker(study)
    yield from _spread(make)
    yield from _crowned(make) if study.shape == "crown" else _flat(make)
    yield from _gaps(make)
    if study.shape:
        yield from _lows(make)
    if isinstance(since, Moved):
        yield from _moved(make, since)


@dataclass(frozen=True)
class _Maker:
    """Makes figures of one survey with what all of them share."""

    study: Study

    def of(
        self, what: Description, value: float | None, method: str, band: str = "", note: str = "",
        rows: pl.DataFrame | None = None, n: int | None = None, before: Moved | None = None,
    ) -> Indicator:  # fmt: skip
        """One figure; its evidence are the rows that stand out in it, and those under a warning, on which it rests too.

        Where it is of all points alike, none stands out. ``before``: what it rests on of the survey before.
        """
        study = self.study
        shown = [*([] if rows is None else [rows]), study.asked, *([before.asked] if before else [])]
        made = what.figure(
            value,
            pl.concat(shown),
            "level",
            n=n or study.rows.height,
            band=band,
            method=joined(" ", (method, ALL_POINTS)) if rows is None else method,
            note=note,
        )
        return replace(made, doubts=(*study.doubts, *(before.doubts if before else ())))

    def point(self, *places: int) -> pl.DataFrame:
        """The rows of single points."""
        return self.study.rows[sorted(set(places))]

    def place(self, across_m: float, along_m: float) -> AmountText:
        """A place in words."""
        across, along = (Amount(float(one), "m", ".1f") for one in (across_m, along_m))
        return AmountText(across, " across and ", along, " along")


def _spread(make: _Maker) -> Iterator[Indicator]:
    """Spread and range of heights, whatever the shape, with what must be known of the whole survey."""
    study = make.study
    high, low = int(study.z_mm.argmax()), int(study.z_mm.argmin())
    yield make.of(
        told.RANGE, float(np.ptp(study.z_mm)),
        _RANGE_METHOD, rows=make.point(high, low),
        note=AmountText(
            f"Survey of {long_date(study.day)}. Highest at ", make.place(study.across_m[high], study.along_m[high]),
            ", lowest at ", make.place(study.across_m[low], study.along_m[low]), ".",
        ),
    )  # fmt: skip
    about = "the crown fitted to them" if study.shape == "crown" else "their mean"
    yield make.of(
        told.CROWN_SPREAD if study.shape == "crown" else told.SPREAD, float(np.std(study.off_mm, ddof=1)),
        f"Standard deviation of all points about {about}.", rows=study.rows, note=joined(" ", list(cautions(study))),
    )  # fmt: skip


def cautions(study: Study) -> Iterator[str]:
    """What must be known of a survey before its figures are believed."""
    if not study.shape:
        yield "The register does not say whether the green is flat or crown: it is not judged by any tolerance."
    height = study.crown.height_mm
    if study.shape != "crown" and height is not None and height > LOOKS_LIKE_A_CROWN_MM:
        rises = Amount(height, "mm", ".0f")
        yield AmountText(
            "The surface rises ", rises, " to a crown: look whether the register is right about its shape."
        )
    if study.step is not None:
        look = ": look whether the instrument was moved or the benchmark changed."
        yield AmountText(step_in_words(study.step), look)
    odd = int(np.count_nonzero(study.odd))
    if odd:
        yield f"{counted(odd, 'reading')} far off the points around; in every figure all the same."
    if study.others:
        names = ", ".join(name or "without a name" for name in study.others)
        yield f"Another survey of the day is left aside ({names})."


def _flat(make: _Maker) -> Iterator[Indicator]:
    """Figures of a green that is meant to be level; the judged ones only where the register says that it is flat."""
    study = make.study
    if study.flat:
        yield from _judged(make)
    plane, axes = study.plane, study.axes
    way = "taken from the register's length and width" if axes.told else "taken as nearest to the survey's y"
    towards = round(plane.falls_towards_deg) % 360  # 359.6 is 0 as well
    yield make.of(
        told.TILT, abs(plane.rise_x_mm_m) * axes.width_m + abs(plane.rise_y_mm_m) * axes.length_m,
        "Highest less lowest corner of the best-fit plane (least squares).",
        note=AmountText(
            Amount(plane.slope_mm_m, "mm/m", ".2f"),
            f" towards {towards}°, clockwise from the direction of play, which is {way}.",
        ),
    )  # fmt: skip
    left = study.z_mm - plane.at(study.across_m, study.along_m)
    yield make.of(
        told.PLANE_SPREAD, float(np.std(left, ddof=1)),
        "Standard deviation of all points about the best-fit plane: what is uneven beside the tilt.",
    )  # fmt: skip
    yield from _rinks(make)


def _judged(make: _Maker) -> Iterator[Indicator]:
    study = make.study
    assert study.tolerance is not None
    summary = level_summary(study.z_mm.tolist(), study.tolerance_mm)
    worst = int(np.abs(study.off_mm).argmax())
    place = make.place(study.across_m[worst], study.along_m[worst])
    yield make.of(
        told.DEVIATION, summary.largest_deviation_mm,
        "Farthest point from the mean of all points.", rows=make.point(worst),
        note=AmountText("At ", place, f", {'above' if study.off_mm[worst] > 0 else 'below'} the mean."),
    )  # fmt: skip
    yield make.of(
        told.WITHIN, summary.within_pct,
        AmountText("Share of points within ± ", Amount(study.tolerance_mm, "mm"), " of their mean."),
        note=f"Tolerance: {study.tolerance.source}.",
    )  # fmt: skip


def _rinks(make: _Maker) -> Iterator[Indicator]:
    rinks = [one for one in make.study.rinks if one.fall_mm is not None and one.crossfall_mm is not None]
    if not rinks:
        return
    strips = f"Rinks as {len(make.study.rinks)} equal strips across the green."
    falls = (
        (told.RINK_FALL, "end to end", [(one.fall_mm or 0.0, one.number) for one in rinks]),
        (told.RINK_CROSSFALL, "side to side", [(one.crossfall_mm or 0.0, one.number) for one in rinks]),
    )
    for what, way, every in falls:
        fall, number = max(every, key=lambda one: (abs(one[0]), -one[1]))
        yield make.of(
            what, abs(fall), f"Best-fit plane of each rink, {way}. {strips}",
            note=f"Rink {number}, counted from the survey's left.",
        )  # fmt: skip
    paths = [(one.path, one.number) for one in rinks if one.path is not None]
    if paths:
        path, number = max(paths, key=lambda one: (abs(one[0].steepest_mm_m), -one[1]))
        yield make.of(
            told.GRADIENT, abs(path.steepest_mm_m),
            AmountText(
                "Steepest rise or fall over ", Amount(GRADIENT_OVER_M, "m"), f" on the middle line of a rink. {strips}"
            ),
            note=AmountText(
                f"Rink {number}, ", Amount(path.steepest_at_m, "m", ".1f"), " along; a bowl's own path curves."
            ),
        )  # fmt: skip


def _crowned(make: _Maker) -> Iterator[Indicator]:
    study, crown = make.study, make.study.crown
    how = "Surface of second order fitted to all points, odd ones with little weight (Huber)."
    top = (
        AmountText("Top at ", make.place(crown.across_m, crown.along_m), ".")
        if crown.across_m is not None and crown.along_m is not None
        else "The fitted surface has no top within the survey: no crown is seen."
    )
    yield make.of(
        told.CROWN_HEIGHT, crown.height_mm, f"Top over the mean of the four corners. {how}", note=top,
    )  # fmt: skip
    if crown.corners_mm:
        corners = joined(", ", each(crown.corners_mm, "mm", ".0f"))
        yield make.of(
            told.CROWN_CORNERS, float(np.ptp(crown.corners_mm)),
            f"Lowest against highest corner of the fitted surface. {how}",
            note=AmountText("Below the top, near left, near right, far left, far right: ", corners, "."),
        )  # fmt: skip
    if crown.quarters_mm:
        yield make.of(
            told.CROWN_QUARTERS, float(np.ptp(crown.quarters_mm)),
            "Mean height of the points of each quarter; highest less lowest.",
            note="A crown in the middle of an even green has none.",
        )  # fmt: skip
    worst = int(np.abs(study.off_mm).argmax())
    yield make.of(
        told.CROWN_DEVIATION, float(np.abs(study.off_mm[worst])),
        f"Farthest point from the fitted surface. {how}", rows=make.point(worst),
        note=AmountText(
            "At ", make.place(study.across_m[worst], study.along_m[worst]), ". No tolerance of flat greens is applied."
        ),
    )  # fmt: skip


def _gaps(make: _Maker) -> Iterator[Indicator]:
    spacing = max(make.study.grid.step_m)
    scattered = "" if make.study.grid.as_surveyed else " Between scattered points heights are interpolated."
    apart = AmountText(" Points ", Amount(spacing, "m", ".1f"), " apart show little of what lies between them.")
    wide = apart if spacing > STRAIGHTEDGE_M / 4 else ""
    for way, gap in make.study.gaps.items():
        yield make.of(
            told.GAP, gap.gap_mm if gap else None,
            AmountText(
                f"Straightedge laid anywhere {way} the rinks, resting on two places of the grid.{scattered}", wide
            ),
            band=way,
            note=AmountText("At ", make.place(gap.across_m, gap.along_m), ".")
            if gap else "The survey is shorter than that.",
        )  # fmt: skip


def _lows(make: _Maker) -> Iterator[Indicator]:
    study = make.study
    found = study.lows
    limit = AmountText("more than ", Amount(study.tolerance_mm, "mm"), f" below {study.surface}")
    why = "" if study.flat else AmountText(" (", Amount(CROWN_LOW_MM, "mm"), ": common practice, no source)")
    deepest = max((one.deepest_mm for one in found), default=0.0)
    lifts = max((one.lifts for one in found), default=0)
    dressed = study.to_dress
    note = f"{len(found)} connected areas." if len(found) != 1 else "One connected area."
    yield make.of(
        told.LOW_GROUND, sum(one.area_m2 for one in found), AmountText("Ground ", limit, why, "."), note=note,
    )  # fmt: skip
    yield make.of(
        told.LOW_FILL, sum(one.mass_t for one in dressed) if dressed or not found else None,
        AmountText(
            f"Volume up to {study.surface} over that ground × ", Amount(study.bulk_density_t_m3, "t/m³"), "."
        ),
        note=study.not_dressed or (AmountText(
            f"In {lifts} dressings of at most ", Amount(LIFT_MM, "mm"), " at the deepest place, ",
            Amount(deepest, "mm", ".0f"), " down (thickness: common practice, no source).",
        ) if found else ""),
    )  # fmt: skip


def _moved(make: _Maker, since: Moved) -> Iterator[Indicator]:
    found, study = since.found, make.study
    base = f"Later less earlier at the {found.n} points that both surveys share, since {long_date(since.since)}."
    doubt = "The two surveys bear no likeness: look whether both are of this green." if since.doubtful else ""
    worst = int(np.abs(found.change_mm).argmax())
    at, way = int(found.later[worst]), "Up" if found.change_mm[worst] > 0 else "Down"
    unlike = " The benchmarks are not known to be the same: the mean change is taken off."
    yield make.of(
        told.MOVED, float(abs(found.change_mm[worst])), base + (unlike if found.mean_mm is None else ""),
        rows=make.point(at), n=found.n, before=since,
        note=AmountText(
            f"{way} at ", make.place(study.across_m[at], study.along_m[at]), f". {doubt}".rstrip()
        ),
    )  # fmt: skip
    if found.mean_mm is not None:
        yield make.of(told.MEAN_CHANGE, found.mean_mm, base, note=doubt, n=found.n, before=since)
    least = since.detectable_mm
    yield make.of(
        told.MOVED_SHARE, since.beyond_pct,
        "Share of those points that changed by more than 1.96 × √(e₁² + e₂²), the errors of both surveys.", n=found.n,
        before=since,
        note=AmountText("More than ", Amount(least, "mm", ".1f"), f"; {chance_in_words(since.beyond_pct)}.")
        if least is not None
        else "A survey does not give the error of a height (accuracy_mm): what counts as movement is not known.",
    )  # fmt: skip


def chance_in_words(beyond_pct: float | None) -> str:
    """What chance alone gives beside the share of points that changed by more than the error."""
    given = f"by chance alone {BY_CHANCE_PCT:g} % of points would"
    return given if beyond_pct is None or beyond_pct > BY_CHANCE_PCT else f"{given}, and no more did"


FAMILY = Family(
    (
        told.RANGE, told.SPREAD, told.DEVIATION, told.WITHIN, told.TILT, told.PLANE_SPREAD, told.RINK_FALL,
        told.RINK_CROSSFALL, told.GRADIENT, told.CROWN_HEIGHT, told.CROWN_CORNERS, told.CROWN_QUARTERS,
        told.CROWN_SPREAD, told.CROWN_DEVIATION, told.GAP, told.LOW_GROUND, told.LOW_FILL, told.MOVED,
        told.MEAN_CHANGE, told.MOVED_SHARE,
    ),
    one_by_one(levels, "level"),
)  # fmt: skip
