"""What the condition survey tells of one visit beside levels: readings, profiles, sieve curves and photos, frozen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.agronomy.soil.particle_size import Check
from pipeline.indicators.base.green_season import Evidence
from pipeline.indicators.surface.readings import Change


@dataclass(frozen=True)
class Reading:
    """One reading, or one place counted.

    Attributes:
        place: where, in the surveyor's words and metres; "" where nothing says.
        x_m: across the rinks; None where not given.
        y_m: along the rinks; None where not given.
        value: in the unit of its thing.
        hits: points that met it; None for a measurement.
        points: points looked at.
        note: the surveyor's note.
        evidence: line of the user's file.
        spot: the surveyor's name of the place alone; "" where there is none.
        photo: file of the photo that the reading names; "" for none.
    """

    place: str
    x_m: float | None
    y_m: float | None
    value: float
    hits: int | None
    points: int | None
    note: str
    evidence: Evidence
    spot: str = ""
    photo: str = ""


@dataclass(frozen=True)
class Measured:
    """One thing by one method on the day of the visit.

    Attributes:
        what: code of the thing ("moss").
        label: as printed.
        family: "sward" or "physical".
        figure: name of its indicator ("moss_pct"): findings and targets go by it.
        unit: unit of the figures.
        method: what must be the same for two visits to be compared, in words.
        value: mean, or share of all points.
        low: lower end of its 95 % interval; None for a single reading.
        high: upper end.
        cv_pct: spread over the green as standard deviation over mean; None for counts and for few readings.
        n: readings, or places counted.
        readings: every reading.
        change: against the visit before by the same method; None where there was none.
        note: what a reader must know: earlier visits that are not comparable.
        decimals: digits after the point.
    """

    what: str
    label: str
    family: str
    figure: str
    unit: str
    method: str
    value: float
    low: float | None
    high: float | None
    cv_pct: float | None
    n: int
    readings: tuple[Reading, ...]
    change: Change | None
    note: str
    decimals: int


@dataclass(frozen=True)
class CoreLayer:
    """One layer of a core, from the surface down, mm."""

    top_mm: float
    bottom_mm: float
    name: str
    note: str
    evidence: Evidence


@dataclass(frozen=True)
class LayerProfile:
    """One core, to be drawn to scale.

    Attributes:
        place: where it was taken; "" where nothing says.
        layers: from the surface down; may leave gaps, which are drawn as not recorded.
        gaps: depths (from, to) between two layers that nobody described, mm.
        thatch_mm: depth of thatch read at this place; None where not read.
        root_mm: depth of roots read at this place; None where not read.
        deepest_mm: the depth the drawing has to reach.
    """

    place: str
    layers: tuple[CoreLayer, ...]
    gaps: tuple[tuple[float, float], ...]
    thatch_mm: float | None
    root_mm: float | None
    deepest_mm: float


@dataclass(frozen=True)
class SieveCurve:
    """One sieve curve with what is read from it.

    Attributes:
        owner: "root zone", or the material's name.
        day: day of the sample.
        sample: its number and laboratory.
        points: (size in mm, % passing), fine to coarse; empty where the fractions make no curve.
        sizes_mm: D10 … D90 by name; None where the sieves do not reach.
        uniformity: D60 ÷ D10.
        band: the published band held against it, in words; "" where none applies.
        source: where the band is published.
        checks: each fraction of the band.
        judged: whether the limits are applied; the band may not be for this green.
        note: why there is no curve, or why no limits are applied.
        rough: names of the sizes that lie where nothing was sieved.
    """

    owner: str
    day: date
    sample: str
    points: tuple[tuple[float, float], ...]
    sizes_mm: tuple[tuple[str, float | None], ...]
    uniformity: float | None
    band: str
    source: str
    checks: tuple[Check, ...]
    judged: bool
    note: str
    rough: tuple[str, ...] = ()


@dataclass(frozen=True)
class SieveMatch:
    """A dressing held against the root zone it lies on, in words."""

    material: str
    words: str


@dataclass(frozen=True)
class Photo:
    """One photo of the visit: the small copy, without metadata."""

    file: str
    caption: str
    place: str
    jpeg: bytes
    sha256: str
    evidence: Evidence


@dataclass(frozen=True)
class VisitObservations:
    """Everything a visit measured beside levels (grain: green and day).

    Attributes:
        measured: things in the order of the list of observations.
        profiles: cores, by place.
        curves: the root zone's last sample up to the day, and that of each dressing of the season.
        matches: each of those dressings against the root zone.
        photos: photos of the day.
        notes: what a reader must know about all of it.
    """

    measured: tuple[Measured, ...]
    profiles: tuple[LayerProfile, ...]
    curves: tuple[SieveCurve, ...]
    matches: tuple[SieveMatch, ...]
    photos: tuple[Photo, ...]
    notes: tuple[str, ...]


NOTHING_SEEN = VisitObservations((), (), (), (), (), ())
"""A visit of which nothing but figures is asked."""
