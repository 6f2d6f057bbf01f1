"""Rules for jobs: treated area, working depth, doses. Every limit carries its source."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.soil.nutrients import SOLUBLE_N_LIMIT_G_M2, nutrient_g_m2
from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.indicators.base.shares import ONE_DAYS_WORK, over_full
from pipeline.store.register import Register
from pipeline.validate.rules import amounts, green_area, put_on
from pipeline.validate.rules.goals import with_goal
from pipeline.validate.rules.places import with_green
from schemas.codes import code_list

SINGLE_DOSE = FaultKind(
    "dose.high",
    "Very large single dose of nitrogen",
    "{value} in one dose, {far}above the {limit} g N/m² held to be the most at once (source: {source}){reading}.",
    "Check the figure against the job sheet; correct the file and load it again if it is wrong.",
    severity="warning",
)
TREATED_AREA = FaultKind(
    "area.odd",
    "Treated area far from the green's area",
    "Treated area of {value} m² does not fit the green's own area.",
    "Check it; a season's figures weight a job by the share of the green it went over, and count of a larger area what "
    "landed on the green (limits 0.1 and 1.6 times the green: common practice, no source).",
    severity="warning",
)
PARTS_OVER = FaultKind(
    "area.parts",
    "Parts of one day come to more than the green",
    "With this part of {value} m² what is logged of {operation} for that day comes to {total} m², the green has "
    "{area}: what is over is counted on the rest of it.",
    "Check the treated areas. If they are right (two rounds, or one over green and surround), confirm the cell in a "
    "correction (docs/corrections.md).",
    severity="warning",
)
DEPTH_ODD = FaultKind(
    "depth.odd",
    "Working depth unusual for the operation",
    "A working depth of {value} mm is unusual for {operation} ({low} to {high} mm is usual).",
    "Check whether the depth was in inches or centimetres (usual depths: common practice, no source).",
    severity="warning",
)
SIZE_ODD = FaultKind(
    "size.odd",
    "Size unusual for tine, blade or spacing",
    "{what} of {value} mm is unusual ({low} to {high} mm is usual).",
    "Check whether inches were meant: a number without a unit is taken as mm; write the unit into the cell, or declare "
    "the column's in a source profile (usual sizes: common practice, no source).",
    severity="warning",
)
HOURS_ODD = FaultKind(
    "hours.odd",
    "More hours than a day's work can have",
    "{value} h of work in one day {who}.",
    "Look for a missing decimal point or minutes taken for hours, and whether the people are counted right; hours of "
    "several days belong to a row for each day.",
    severity="warning",
)
DAY_H = 24.0
"""Hours that one person can have worked in a day (definition)."""
CREW_DAY_H = 48.0
"""Hours of a day's job from which it is asked about where the people are not told: six people for eight hours (common
practice, no source)."""
DOSE_FACTOR = 1.5
"""A dose is asked about from this multiple of the usual limit on, since slow-release feeds rightly exceed the limit
itself (common practice, no source); a limit that users set as a target is taken as it stands."""
DOSE_SOURCE = "extension leaflet on soluble nitrogen, 1 lb per 1,000 sq ft"
USUAL_DEPTH_MM = {
    "scarifying": (0.5, 30.0),
    "verticutting": (0.2, 10.0),
    "solid_tining": (20.0, 150.0),
    "hollow_coring": (20.0, 150.0),
    "deep_aeration": (80.0, 400.0),
    "slitting": (20.0, 200.0),
    "spiking": (5.0, 100.0),
}
"""Working depths, mm: common practice, no source."""
USUAL_SIZE_MM = {
    "tine_mm": ("A tine", 2.0, 40.0),
    "spacing_along_mm": ("Hole spacing", 15.0, 300.0),
    "spacing_across_mm": ("Hole spacing", 15.0, 300.0),
    "blade_mm": ("A blade", 0.5, 12.0),
    "blade_spacing_mm": ("Blade spacing", 8.0, 200.0),
    "cut_height_mm": ("A height of cut", 1.5, 50.0),
}
"""Sizes of tools, mm, wide enough for needle tines (3 mm), deep tines (32 mm) and slit blades (10 mm), narrow enough
that inches read as mm fall outside: common practice, no source."""
AREA_SHARE = (0.1, 1.6)
"""Treated area over green area beyond which it is asked about: common practice, no source."""
SPOT_WORK = ["turfing", "overseeding", "moss_treatment", "plant_protection", "levelling", "irrigation", "inspection"]
"""Operations that are often done on a patch: a small treated area is nothing odd."""


def check(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Faults of jobs that single fields cannot show."""
    areas = [_treated_area(records, register), green_area.treated(records, register), _parts(records, register)]
    jobs = [_depth(records), _sizes(records), _hours(records), _dose(records, register)]
    return concat([*areas, *jobs, amounts.check(records, register), put_on.check(records)])


def _treated_area(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    share = pl.col("treated_area_m2") / pl.col("area_m2")
    small = (share < AREA_SHARE[0]) & ~pl.col("operation").is_in(SPOT_WORK)
    odd = with_green(records, register).filter(small | (share > AREA_SHARE[1]))
    return TREATED_AREA.of(odd, "treated_area_m2", pl.col("treated_area_m2").round(1))


def _parts(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Parts of a green logged for one day, operation and material that come to more than the green."""
    share = pl.col("treated_area_m2") / pl.col("area_m2")
    over = over_full(with_green(records, register).with_columns(share.alias("share")))
    over = over.with_columns(pl.col("treated_area_m2").sum().over(ONE_DAYS_WORK).alias("total"))
    return concat(
        PARTS_OVER.at(
            row["line"],
            f"{row['treated_area_m2']:g}",
            "treated_area_m2",
            operation=code_list("operation")[row["operation"]].label.lower(),
            total=f"{row['total']:g}",
            area=f"{row['area_m2']:g}",
        )
        for row in over.iter_rows(named=True)
    )


def _depth(records: pl.DataFrame) -> pl.DataFrame:
    faults = []
    for operation, (low, high) in USUAL_DEPTH_MM.items():
        odd = records.filter((pl.col("operation") == operation) & ~pl.col("depth_mm").is_between(low, high))
        facts = {"operation": operation.replace("_", " "), "low": f"{low:g}", "high": f"{high:g}"}
        faults.append(DEPTH_ODD.of(odd, "depth_mm", pl.col("depth_mm").round(1), **facts))
    return concat(faults)


def _hours(records: pl.DataFrame) -> pl.DataFrame:
    """Jobs of one day with more hours than its people can have worked; a job known to the month may have as many."""
    one_day = records.filter(pl.col("date_to").is_null()) if "date_to" in records.columns else records
    most = pl.coalesce(pl.col("people") * DAY_H, pl.lit(CREW_DAY_H))
    odd = one_day.filter(pl.col("hours") > most).select("line", "hours", "people")
    return concat(
        HOURS_ODD.at(
            line,
            f"{hours:g}",
            "hours",
            who=f"come to more than 24 for each person ({people:.0f})"
            if people
            else "are more than six people work in 8 h, and how many worked is not told",
        )
        for line, hours, people in odd.iter_rows()
    )


def _sizes(records: pl.DataFrame) -> pl.DataFrame:
    """Sizes of tools that look like inches; spacing across that was only taken over from along is said once."""
    faults = []
    for name, (what, low, high) in USUAL_SIZE_MM.items():
        odd = pl.col(name).is_between(low, high).not_()
        if name == "spacing_across_mm":
            odd &= pl.col(name).ne_missing(pl.col("spacing_along_mm"))
        facts = {"what": what, "low": f"{low:g}", "high": f"{high:g}"}
        faults.append(SIZE_ODD.of(records.filter(odd), name, pl.col(name).round(3), **facts))
    return concat(faults)


def _dose(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Doses of nitrogen far above what is given at once, with the likely reading of the figure where there is one."""
    fed = (
        register.joined(with_green(records, register), "material", ("n_pct", "pack_kg"))
        .with_columns(pl.coalesce("treated_area_m2", "area_m2").alias("area"))
        .with_columns(
            pl.coalesce(
                "mass_kg", pl.col("packs") * pl.col("pack_kg"), pl.col("rate_g_m2") * pl.col("area") / 1000
            ).alias("product_kg")
        )
        .filter((pl.col("n_pct") > 0) & (pl.col("product_kg") > 0) & (pl.col("area") > 0))
        .with_columns(nutrient_g_m2(pl.col("product_kg"), pl.col("n_pct"), pl.col("area")).alias("n_g_m2"))
    )
    goal = with_goal(fed, register, "nitrogen_dose_g_m2", "g/m²")
    fed = goal.filter(pl.col("n_g_m2") > pl.coalesce("goal_high", pl.lit(SOLUBLE_N_LIMIT_G_M2 * DOSE_FACTOR)))
    faults = [no_faults()]
    for row in fed.iter_rows(named=True):
        said = (
            f"{row['product_kg']:g} kg is {1000 * row['product_kg'] / row['area']:.0f} g/m² of product and "
            f"{row['n_g_m2']:.1f} g N/m²"
        )
        reading = _likely_reading(row["product_kg"], row["pack_kg"], row["area"])
        own = row["goal_high"] is not None
        limit = f"{row['goal_high']:g}" if own else f"{SOLUBLE_N_LIMIT_G_M2:.1f}"
        facts = {"limit": limit, "source": row["goal_source"] if own else DOSE_SOURCE, "far": "" if own else "far "}
        faults.append(SINGLE_DOSE.at(row["line"], said, _given(row), reading=reading, **facts))
    return concat(faults)


def _given(row: dict[str, object]) -> str:
    """The field that says how much was put on."""
    return next(name for name in ("mass_kg", "packs", "rate_g_m2") if row[name] is not None)


def _likely_reading(product_kg: float, pack_kg: float | None, area_m2: float) -> str:
    """The reading that fits when a count of packs and the pack's weight were run together, "" where none does."""
    if not pack_kg:
        return ""
    digits, pack = f"{product_kg:g}", f"{pack_kg:g}"
    count = digits.removesuffix(pack)
    if count == digits or not count.isdigit() or int(count) == 0:
        return ""
    mass = int(count) * pack_kg
    return f"; it may be {count} × {pack} kg run together, which is {mass:g} kg or {1000 * mass / area_m2:.0f} g/m²"
