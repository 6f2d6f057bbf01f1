"""Lines of a programme: a work, and what a sheet says beside it. Pure: no store, no settings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from pipeline.plan.areas import Areas
from pipeline.plan.works import Done, Planned

RateUnit = Literal["g/m²", "ml/m²"]
LICENSED_PRACTICE = (
    "Whether anything is sprayed here, and what, a licensed person decides by the label and the law of the place; a "
    "programme plans no pesticide."
)
"""Stands at every line that touches diseases, pests, weeds or moss."""
PUT_ON = frozenset({"top_dressing", "overseeding", "fertilising", "liming"})
"""Operations that put something on by mass or volume, whether or not it is said how much."""
NOTHING = 1e-9
"""A remainder below this is what rounding left of nothing."""


@dataclass(frozen=True)
class Place:
    """The green that is planned for.

    Attributes:
        green: its code.
        club: code of its club.
        area_m2: its area as it is now; None where it is not known.
        areas: its area on each day; empty where only ``area_m2`` is known.
        shape: flat or crown; "" where the register does not say.
        construction: how it is built, a word of schemas/codes/construction.toml; "" likewise.
        grasses: its grasses in words; "" likewise.
        latitude_deg: its latitude; None likewise.
    """

    green: str
    club: str = ""
    area_m2: float | None = None
    shape: str = ""
    construction: str = ""
    grasses: str = ""
    latitude_deg: float | None = None
    areas: Areas = field(default_factory=Areas)

    def area_on(self, day: date) -> float | None:
        """Its area on a day, m²; None where it is not known."""
        return self.areas.on(self.green, day) if self.areas.held else self.area_m2

    @property
    def hemisphere(self) -> str:
        """The word north or south; "" where the latitude is not known, or none of either."""
        if not self.latitude_deg:
            return ""
        return "north" if self.latitude_deg > 0 else "south"


@dataclass(frozen=True)
class Logged:
    """A job of the log with what a programme repeats of it.

    Attributes:
        done: the job.
        depth_mm: its working depth; None where not logged.
        passes: how often the machine went over; None where not logged.
        sort: sort of its material; "" where it is not known.
        nitrogen_pct: nitrogen of its material, %; None where it is not known.
        asked_about: what is to be checked in its entry; "" where nothing is.
    """

    done: Done
    depth_mm: float | None = None
    passes: float | None = None
    sort: str = ""
    nitrogen_pct: float | None = None
    asked_about: str = ""


@dataclass(frozen=True)
class Entry:
    """A line of a programme.

    Attributes:
        work: what is planned.
        sort: sort of its material, a word of schemas/codes/material_sort.toml; "" where nothing is put on.
        rate: how much of its material at one time, in ``rate_unit``; None where that is not said.
        rate_unit: unit of it.
        most: upper end of ``work.size`` where a range is given, in the same unit; None where there is none.
        times: how often it is done within the window, whole times; None where its source leaves that open.
        nitrogen_pct: nitrogen of its material, %; None where it is not known.
        template: the template it is of; "" of none.
        lacking: why it is not known how much is put on; "" where it is, or nothing is.
        note: what stands beside it.
        cautions: cautions that hold for it.
        if_needed: whether its source leaves it to the state of the green.
    """

    work: Planned
    sort: str = ""
    rate: float | None = None
    rate_unit: RateUnit = "g/m²"
    most: float | None = None
    times: float | None = 1.0
    nitrogen_pct: float | None = None
    template: str = ""
    lacking: str = ""
    note: str = ""
    cautions: tuple[str, ...] = ()
    if_needed: bool = False

    def scaled(self, factor: float, basis: str) -> Entry:
        """The same with so many times as much put on, and why."""
        size = None if self.work.size is None else self.work.size * factor
        rate = None if self.rate is None else self.rate * factor
        return replace(self, work=replace(self.work, size=size, basis=_joined(self.work.basis, basis)), rate=rate,
                       most=None)  # fmt: skip

    def also(self, basis: str) -> Entry:
        """The same with more said of why."""
        return replace(self, work=replace(self.work, basis=_joined(self.work.basis, basis)))


@dataclass(frozen=True)
class LeftOut:
    """A work that a source of the programme asks for and that is not planned, and why."""

    operation: str
    source: str
    why: str


Found = tuple[tuple[Entry, ...], tuple[LeftOut, ...]]
"""What a source plans, and what it leaves out."""


def amount(
    rate: tuple[float, float, RateUnit], times: float, area_m2: float | None
) -> tuple[float | None, float | None]:
    """Lower and upper amount on the whole green, kg or l; the upper None where it is the lower, both if unknown."""
    if area_m2 is None:
        return None, None
    low, high = (end * times * area_m2 / 1000 for end in rate[:2])
    return low, high if high - low > NOTHING else None


def overlap(first: Planned, second: Planned) -> bool:
    """Whether two windows have a day in common."""
    return first.first <= second.last and second.first <= first.last


def by_day(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Lines in the order of their windows, those of one window as they stood."""
    return tuple(sorted(entries, key=lambda one: (one.work.first, one.work.last)))


def done_in(jobs: Sequence[Done], operation: str, first: date, last: date) -> float:
    """How often the whole green was gone over between two days, by jobs that lie wholly between them."""
    return sum(job.part for job in jobs if job.operation == operation and first <= job.first and job.last <= last)


def _joined(first: str, second: str) -> str:
    return f"{first}; {second}" if first and second else first or second
