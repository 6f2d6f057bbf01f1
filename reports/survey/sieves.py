"""Sieve analyses of a visit as printed: fractions against their band, and dressings against the root zone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import floor, log10

from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.visit_observations import SieveCurve, SieveMatch
from reports.page import text


@dataclass(frozen=True)
class SieveTable:
    """One sample's fractions against the band held against it."""

    heading: str
    source: str
    rows: tuple[tuple[str, str, str, str], ...]
    note: str


def sieve_table(one: SieveCurve, visit: date) -> SieveTable:
    """A sample against its band, with its day where it is not the visit's."""
    held = {True: "● within", False: "≠ outside", None: "– not judged"}
    rows = tuple(
        (
            text.clean(v.name, 60),
            text.quantity(v.value, "%", 1) if v.value is not None else "sieves do not reach",
            text.target(v.low, v.high, "%", 0),
            held[v.holds if one.judged else None],
        )
        for v in one.checks
    )
    sizes = ", ".join(
        f"{name}{' roughly' if name in one.rough else ''} {text.with_unit(sieve_size(size), 'mm')}"
        for name, size in one.sizes_mm
        if size is not None
    )
    rough = bool({"D10", "D60"} & set(one.rough))
    ratio = text.number(one.uniformity or 0.0, 0 if rough else 1)
    uniform = f"; D60 ÷ D10 {'roughly ' if rough else ''}{ratio}" if one.uniformity is not None else ""
    note = " ".join(part for part in (text.sentence(f"{sizes}{uniform}"), text.sentence(text.clean(one.note))) if part)
    day = text.day(one.day) if one.day == visit else f"sampled {text.day(one.day)}, not on this visit"
    sample = ", ".join(part for part in (text.clean(one.owner, 60), text.clean(one.sample, 60), day) if part)
    band = ", ".join(part for part in (text.clean(one.band, 120), text.clean(one.source)) if part)
    return SieveTable(sample[:1].upper() + sample[1:], band, rows, note)


def sieve_size(mm: float) -> str:
    """A particle size to hundredths, and a smaller one to two digits: 0.27, 0.0041; never 0.00."""
    return text.number(mm, 2 if mm >= 0.095 or mm <= 0 else 1 - floor(log10(mm)))


def match_words(one: SieveMatch, survey: ConditionSurvey) -> str:
    """A dressing against the root zone in words, with the day of each sample that was not taken on the visit."""
    days = {curve.owner: curve.day for curve in survey.observations.curves}
    others = [f"{owner} {text.day(days[owner])}" for owner in ("root zone", one.material) if days[owner] != survey.day]
    sampled = f" Sampled: {', '.join(others)}." if others else ""
    return text.sentence(text.clean(f"{one.material}: {one.words}{sampled}"))
