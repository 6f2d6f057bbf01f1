"""How much of the surface was opened in a season: by tines, by blades; holes, volume, sand to fill them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import polars as pl

from pipeline.agronomy import disturbance
from pipeline.agronomy.disturbance import TineBore
from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import counted
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import NO_PUBLISHED, DefaultTarget, Description, Family
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import lacking
from pipeline.indicators.base.rows import Row, Rows
from pipeline.indicators.base.shares import SAID_OF_SHARES, in_words
from schemas.codes import code_list

_HOLES = (disturbance.holes_per_m2, disturbance.holes_per_m2_from_count)
_BLADES = (disturbance.slit_area_pct,)
_ALL = (*_HOLES, disturbance.tined_area_pct_from_density, disturbance.bore_mm, *_BLADES)
TINED = Description(
    "disturbed_pct", "Surface opened by tining and coring, passes added up", "%", "disturbance",
    "Share of the surface that tines opened in the season.",
    "π d² ÷ 4 × holes/m² × share of the green worked, passes and operations added up; holes that fall into holes count "
    "twice. Hollow tines by the diameter logged, or by the one chosen (method_options.hollow_tine) where the wall is "
    "recorded (tine_wall_mm).", formulas=_ALL,
    targets=(DefaultTarget(None, None, NO_PUBLISHED, note="a figure for golf greens stands in the set golf-greens"),),
    accumulates=True, day_needed=False,
)  # fmt: skip
BLADED = Description(
    "bladed_pct", "Blade and slit passes added up", "%", "disturbance",
    "Width that every pass of blades and slits cut, as a share of the surface; cuts into cuts count again: it is no "
    "share of the surface touched, and may pass 100 %. Kept apart, since yearly guidance speaks of tines.",
    "Blade ÷ blade spacing × passes × share of the green worked, added up.", formulas=_BLADES,
    accumulates=True, day_needed=False,
)  # fmt: skip
OPENED = Description(
    "opened_pct", "Opened, passes added up", "%", "disturbance", "The same by operation.", "As above.",
    band="operation", formulas=_ALL, accumulates=True, day_needed=False,
)  # fmt: skip
HOLES = Description(
    "holes_m2", "Holes made", "holes/m²", "disturbance", "Holes of the season by operation.",
    "Holes counted over the area, else 1,000,000 ÷ (spacing along × across in mm) × passes; × share of the green "
    "worked.", band="operation", decimals=0, formulas=_HOLES, accumulates=True, day_needed=False,
)  # fmt: skip
VOLUME = Description(
    "disturbed_l_m2", "Volume of holes and slits", "l/m²", "disturbance",
    "Room that the season's holes and slits made: 1 l/m² is 1 mm over the green. Not what they would take to fill: "
    "solid tines and blades take nothing out, and their holes close by themselves.",
    "Share of the surface × working depth.", decimals=2,
    formulas=(*_ALL, disturbance.tined_volume_l_m2), accumulates=True, day_needed=False,
)  # fmt: skip
REFILL = Description(
    "refill_sand_kg", "Dry sand to fill the core holes", "kg", "disturbance",
    "Sand that the holes of hollow coring would take; solid tines, spikes, blades and slits take nothing out.",
    "Volume of the core holes × area cored × dry bulk density (the workspace's).", decimals=0,
    formulas=(*_ALL, disturbance.tined_volume_l_m2, disturbance.refill_sand_kg), accumulates=True, day_needed=False,
)  # fmt: skip
TOTALS = ((TINED, ["solid", "hollow"]), (BLADED, ["blade", "slit"]))
"""Totals of a season. Yearly guidance (15 to 20 %) speaks of tines; blades that only graze the sward are kept apart."""
ADDS_UP = "Passes and operations are added up; holes that fall into holes are counted twice."
UNSAID = "jobs do not say enough to be counted; the true figure is larger."


def with_bore(jobs: pl.DataFrame, wanted: TineBore | Literal["as_logged"]) -> pl.DataFrame:
    """Jobs with ``bore_mm``, the diameter to use, and ``bore_turned`` (grain: job).

    Args:
        jobs: the job log.
        wanted: diameter of hollow tines that the workspace chose: inside, outside or as_logged. The other one is
            turned into it where the job gives the wall; where it does not, it stays as logged.
    """
    logged = pl.col("tine_mm")
    if wanted == "as_logged":
        return jobs.with_columns(logged.alias("bore_mm"), pl.lit(value=False).alias("bore_turned"))
    known: TineBore = "inside" if wanted == "outside" else "outside"
    turned = disturbance.bore_mm(logged, pl.col("tine_wall_mm"), known, wanted)
    can = (pl.col("operation") == "hollow_coring") & (pl.col("tine_basis") == known) & (turned > 0)
    return jobs.with_columns(
        pl.when(can).then(turned).otherwise(logged).alias("bore_mm"), can.fill_null(value=False).alias("bore_turned")
    )


def opened(jobs: pl.DataFrame, bore: TineBore | Literal["as_logged"]) -> pl.DataFrame:
    """Jobs that open the surface, with what they opened of the whole green (grain: job).

    Adds ``way`` (solid, hollow, slit, blade), ``holes_m2``, ``area_pct`` and ``volume_l_m2`` over the whole green, and
    ``there_l_m2``, the volume on the area opened; null where the job does not say enough. A count of holes beats
    spacing, since it is of all passes together.

    Args:
        jobs: the job log with ``over_m2`` and ``share``.
        bore: diameter of hollow tines chosen.
    """
    ways = {name: code.facts["disturbs"] for name, code in code_list("operation").items() if "disturbs" in code.facts}
    rows = with_bore(jobs.filter(pl.col("operation").is_in(list(ways))), bore).with_columns(
        pl.col("operation").replace_strict(ways).alias("way"),
        pl.col("passes").fill_null(1.0).alias("times"),
    )
    counted = disturbance.holes_per_m2_from_count(pl.col("holes"), pl.col("over_m2"))
    spaced = disturbance.holes_per_m2(pl.col("spacing_along_mm"), pl.col("spacing_across_mm")) * pl.col("times")
    rows = rows.with_columns(pl.coalesce(counted, spaced).alias("holes_m2"))
    tined = disturbance.tined_area_pct_from_density(pl.col("bore_mm"), pl.col("holes_m2"))
    slit = disturbance.slit_area_pct(pl.col("blade_mm"), pl.col("blade_spacing_mm"), pl.col("times"))
    rows = rows.with_columns(
        pl.when(pl.col("way").is_in(["solid", "hollow"])).then(tined).otherwise(slit).alias("area_pct")
    )
    rows = rows.with_columns(disturbance.tined_volume_l_m2(pl.col("area_pct"), pl.col("depth_mm")).alias("there_l_m2"))
    return rows.with_columns(
        pl.col("holes_m2", "area_pct") * pl.col("share"), (pl.col("there_l_m2") * pl.col("share")).alias("volume_l_m2")
    )


def disturbed(asked: Asked) -> Iterator[Indicator]:
    """Surface opened in the seasons by tines and by blades, in all and by operation; holes; volume."""
    rows = opened(asked.in_season(asked.jobs), asked.options.hollow_tine)
    for every in asked.each_season(rows, "job", *OF_OPENED, *SAID_OF_SHARES):
        yield from _of_season(every, asked.settings.bulk_density_t_m3)


OF_OPENED = (
    "way", "area_pct", "holes_m2", "volume_l_m2", "there_l_m2", "over_m2", "bore_turned", "tine_basis", "holes",
    "times", "spacing_along_mm", "spacing_across_mm",
)  # fmt: skip


def _of_season(rows: Rows, density_t_m3: float) -> Iterator[Indicator]:
    for what, ways in TOTALS:
        part = rows.having("way", *ways)
        if part:
            yield _share(part, what)
    for operation in sorted(set(rows.column("operation"))):
        part = rows.having("operation", operation)
        label = code_list("operation")[operation].label
        yield _share(part, OPENED, label)
        yield from _holes(part, label)
    volume = rows.given("volume_l_m2")
    if volume:
        yield VOLUME.figure(
            volume.total("volume_l_m2"),
            volume,
            note=lacking(rows, volume, UNSAID),
            method=_method("Share of the surface × working depth; 1 l/m² is 1 mm over the green.", volume),
        )
    yield from _refill(rows, density_t_m3)


def _method(how: str, rows: Rows) -> str:
    """How a figure of the season is made, with the word on parts of the green where some of the jobs went over one."""
    return " ".join(filter(None, [how, in_words(rows)]))


def _refill(rows: Rows, density_t_m3: float) -> Iterator[Indicator]:
    """Dry sand that would fill the season's core holes, on the area that each job cored.

    Solid tines, spikes, blades and slits push the ground aside: their holes close by themselves.
    """
    cored, solid = (rows.having("way", way) for way in ("hollow", "solid"))
    placed = cored.given("over_m2", "there_l_m2")
    if placed:
        sand = [disturbance.refill_sand_kg(row["there_l_m2"], row["over_m2"], density_t_m3) for row in placed]
        yield REFILL.figure(
            math.fsum(sand),
            placed,
            note=" ".join(filter(None, (lacking(cored, placed, UNSAID), _solid_note(solid)))),
            method=f"Volume of core holes × area × dry bulk density ({density_t_m3:g} t/m³, the workspace's).",
        )


def _solid_note(solid: Rows) -> str:
    """What of the season's tining is not in the sand; "" where there was none."""
    return f"Without the holes of {counted(len(solid), 'job')} with solid tines or spikes." if solid else ""


def _holes(part: Rows, label: str) -> Iterator[Indicator]:
    holes = part.given("holes_m2")
    if holes:
        how = f"Holes counted over the area, else 1,000,000 ÷ (spacing along × across) × passes. {ADDS_UP}"
        value = holes.total("holes_m2")
        yield HOLES.figure(value, holes, band=label, note=_hole_note(holes), method=_method(how, holes))


def _share(rows: Rows, what: Description, band: str = "") -> Indicator:
    known = rows.given("area_pct")
    return what.figure(
        known.total("area_pct") if known else None,
        known,
        band=band,
        note=" ".join(filter(None, (lacking(rows, known, UNSAID), _bore_note(known)))),
        method=_method(f"Holes: π d² ÷ 4 × holes/m². Slits: blade ÷ blade spacing × passes. {ADDS_UP}", known)
        + _bore_method(known),
    )


def _bore_note(known: Rows) -> str:
    if not known.having("way", "hollow").having("tine_basis", None):
        return ""
    return "Hollow tines without a word on inside or outside diameter: the share may be nearly half as large."


def _bore_method(known: Rows) -> str:
    """Which diameter of hollow tines was used, where the other one was logged."""
    turned = known.having("bore_turned", True)
    if not turned:
        return ""
    wanted = "outside" if turned.rows[0]["tine_basis"] == "inside" else "inside"
    jobs = counted(len(turned), "job")
    return f" Hollow tines by their {wanted} diameter, in {jobs} made from the other one and the wall."


def _hole_note(holes: Rows) -> str:
    """The square spacing a claimed count would need, so that a claim can be judged."""
    claimed = holes.given("holes")
    if not claimed:
        return ""
    most = _most_holes(claimed)
    spacing = disturbance.square_spacing_mm(disturbance.holes_per_m2_from_count(most["holes"], most["over_m2"]))
    note = AmountText(
        f"A count of {most['holes']:,.0f} holes is one every ", Amount(spacing, "mm", ".0f"), " both ways."
    )
    both = claimed.given("spacing_along_mm", "spacing_across_mm")
    if both:
        row = _most_holes(both)
        by_spacing = disturbance.holes_per_m2(row["spacing_along_mm"], row["spacing_across_mm"]) * row["times"]
        stated = disturbance.holes_per_m2_from_count(row["holes"], row["over_m2"])
        gap = disturbance.claim_gap_pct(stated, by_spacing)
        note = AmountText(note, f" It is {gap:+.0f} % off what the spacing stated gives.")
    return note


def _most_holes(rows: Rows) -> Row:
    """The job with the largest count; of several the last."""
    return sorted(rows, key=lambda row: row["holes"])[-1]


FAMILY = Family((TINED, BLADED, OPENED, HOLES, VOLUME, REFILL), disturbed)
