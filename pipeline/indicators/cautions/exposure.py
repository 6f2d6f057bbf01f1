"""Cautions about machines: vibration, pipes and cables under the green, people on it."""

from __future__ import annotations

import polars as pl

from pipeline.agronomy.work import (
    ACTION_POINTS,
    EXPOSURE_ACTION_M_S2,
    EXPOSURE_LIMIT_M_S2,
    LIMIT_POINTS,
    hours_to_points,
    vibration_points,
)
from pipeline.common.words import counted, long_date
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Caution
from pipeline.indicators.cautions.trigger import COMMON, caution
from pipeline.indicators.works.worker import IF_ONE, of_one_person

DEEP_MM = 150.0
"""Work from this depth on may meet pipes and cables: common practice, no source (the trade press wants drains at 450 mm
or more; irrigation pipes and cables often lie shallower)."""
HOURS_WATCHED_H = float(hours_to_points(EXPOSURE_LIMIT_M_S2, ACTION_POINTS))
"""Hours of a day, 2 h, that reach the exposure action value with a machine of 5 m/s²; that a machine without a figure
vibrates so much is an assumption (common practice, no source)."""
OPENING = ("scarifying", "verticutting", "hollow_coring", "solid_tining", "deep_aeration", "slitting", "spiking")
"""Operations whose machines open the surface."""
HAND_GUIDED = (*OPENING, "mowing")
"""Operations mostly done with machines held or guided by hand: common practice, no source."""
REGULATIONS = "Control of Vibration at Work Regulations 2005 (UK)"
IN_SHORT = "UK 2005 Regulations"
"""The same in a line."""
POINTS = f"{REGULATIONS}; points = 2 a² t"


def services(records: GreenRecords) -> Caution | None:
    """Deep aeration, and any work logged as deep."""
    jobs = records.in_season(records.jobs)
    rows = jobs.filter((pl.col("operation") == "deep_aeration") | (pl.col("depth_mm") >= DEEP_MM))
    text = (
        "Before deep work find pipes, drains and cables: plans are unreliable; scan, and beware of plastic pipes and "
        "fibre that a scan does not show."
    )
    brief = "Before deep work scan for pipes, drains and cables: plans mislead, plastic and fibre do not show."
    return caution(text, "“Avoiding danger from underground services”, HSG47", rows, brief=brief, by="HSE, HSG47")


def public(records: GreenRecords) -> Caution | None:
    """Works with machines that open the surface."""
    jobs = records.in_season(records.jobs)
    rows = jobs.filter(pl.col("operation").is_in(OPENING))
    text = "Keep members and the public off the green while machines work, and until it is swept."
    brief = "Keep members and the public off while machines work, and until the green is swept."
    return caution(text, COMMON, rows, brief=brief)


def vibration(records: GreenRecords) -> Caution | None:
    """Exposure points where magnitude and hours are logged; else long hours alone, said to be no exposure."""
    jobs = records.in_season(records.jobs)
    known = jobs.filter(pl.col("vibration_m_s2").is_not_null() & pl.col("trigger_hours").is_not_null())
    return _by_points(known) if known.height else _by_hours(jobs)


def _by_points(known: pl.DataFrame) -> Caution | None:
    """The day with the most points of whoever logged them; a writer's machines of one day add up.

    The law is about one person's exposure: where the log does not say that it was one, the text does not either.
    """
    points = known.with_columns(vibration_points(pl.col("vibration_m_s2"), pl.col("trigger_hours")).alias("points"))
    summed = (
        points.group_by("date", "logged_by", maintain_order=True)
        .agg(pl.col("points").sum(), of_one_person().alias("one"))
        .sort("points", "date", maintain_order=True)
    )
    worst = summed.tail(1)
    day, most, one = worst.select("date", "points", "one").row(0)
    when = f"for one person on {long_date(day)}" if one else f"on {long_date(day)} {IF_ONE}"
    text = (
        f"Hand-arm vibration: the work logged came to {int(most)} points {when}, "
        f"{_against(most)}; other greens of that day come on top, and makers' figures can be low."
    )
    rows = known.join(worst, on=["date", "logged_by"], how="semi", nulls_equal=True, maintain_order="left")
    over = summed.filter(pl.col("points") >= ACTION_POINTS)
    said = ""
    if over.height:
        number = counted(over["date"].n_unique(), "day")
        said = (
            f"{number} of the season at {ACTION_POINTS:.0f} points or more{'' if over['one'].all() else f', {IF_ONE}'}"
        )
    whose = "" if one else ", if by one person"
    brief = f"Vibration: {int(most)} points or more on {long_date(day)}{whose}; {_values(most)}."
    return caution(text, POINTS, rows, said, sort="vibration points", degree=most, brief=brief, by=IN_SHORT)


def _values(points: float) -> str:
    """The value of the regulations that a day's points are held against, in a word or two."""
    if points >= LIMIT_POINTS:
        return f"exposure limit {LIMIT_POINTS:.0f}"
    return f"action from {ACTION_POINTS:.0f}, limit {LIMIT_POINTS:.0f}"


def _against(points: float) -> str:
    """Points of a day against the two values of the regulations."""
    if points > LIMIT_POINTS:
        return f"above the exposure limit of {LIMIT_POINTS:.0f}"
    if points == LIMIT_POINTS:
        return f"at the exposure limit of {LIMIT_POINTS:.0f}"
    if points >= ACTION_POINTS:
        return f"at or above the action value of {ACTION_POINTS:.0f} (limit {LIMIT_POINTS:.0f})"
    return f"below the action value of {ACTION_POINTS:.0f}"


def _by_hours(jobs: pl.DataFrame) -> Caution | None:
    """Days with long hours at hand-guided machines: trigger hours where logged, else hours of work a person."""
    one_person = pl.col("hours") / pl.col("people").fill_null(1)
    worked = jobs.filter(pl.col("trigger_hours").is_not_null() | pl.col("operation").is_in(HAND_GUIDED))
    # hours shared out among the people said to have worked are a person's; a machine's among several are not
    told = pl.col("people").is_not_null() & (pl.col("trigger_hours").is_null() | (pl.col("people") == 1))
    together = (pl.len() == 1) | pl.col("logged_by").is_not_null().all()
    worked = worked.with_columns(pl.coalesce("trigger_hours", one_person).alias("held"), told.alias("told"))
    daily = worked.group_by("date", "logged_by", maintain_order=True).agg(
        pl.col("held").sum(), (pl.col("told").all() & together).alias("one")
    )
    long = daily.filter(pl.col("held") >= HOURS_WATCHED_H).sort("held", "date", maintain_order=True)
    if not long.height:
        return None
    day, most, one = long.select("date", "held", "one").row(-1)
    whose = "hours a person with hand-guided machines" if one else f"hours with hand-guided machines, {IF_ONE},"
    text = (
        f"Hand-arm vibration: up to {most:.1f} {whose} on one day ({long_date(day)}). "
        "No machine's vibration is on record: hours only; exposure unknown. At "
        f"{EXPOSURE_LIMIT_M_S2:g} m/s² the action value of {EXPOSURE_ACTION_M_S2:g} m/s² is reached in "
        f"{HOURS_WATCHED_H:g} h."
    )
    rows = worked.join(
        long.select("date", "logged_by"), on=["date", "logged_by"], how="semi", nulls_equal=True, maintain_order="left"
    )
    said = f"{counted(long['date'].n_unique(), 'day')} of {HOURS_WATCHED_H:g} h or more"
    said = said if long["one"].all() else f"{said}, {IF_ONE}"
    brief = (
        f"Vibration unknown: {most:.1f} h hand-guided on {long_date(day)}{'' if one else ', if by one'}; "
        f"action from {HOURS_WATCHED_H:g} h of {EXPOSURE_LIMIT_M_S2:g} m/s²."
    )
    return caution(text, REGULATIONS, rows, said, sort="vibration hours", degree=most, brief=brief, by=IN_SHORT)
