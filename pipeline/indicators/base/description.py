"""What an indicator is, said once beside the function that makes it: figures, documents, ``show`` and docs/ follow."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from pipeline.indicators.base.green_season import Evidence, Indicator, Standing, Verdict
from pipeline.indicators.base.rows import Rows
from pipeline.workspace.targets.fit import NO_BASIS, Basis

if TYPE_CHECKING:
    import polars as pl

    from pipeline.indicators.base.asked import Asked
    from pipeline.indicators.base.green_records import GreenRecords

MONEY = "currency"
"""Stands in a unit for the workspace's currency."""
MUMFORD = "“Indoor and outdoor surfaces for bowls”"
"""The article by its title, as a client's page names it."""
MUMFORD_CITED = "C. Mumford, “Indoor and outdoor surfaces for bowls”, UK trade magazine; its own source was not seen"
COMMON = "common practice, no source"
NO_PUBLISHED = "no published figure for bowling greens was found"
HEADINGS = {
    "dressing": "Top dressing",
    "nutrients": "Feeding",
    "disturbance": "Surface opened",
    "organic_matter": "Organic matter",
    "soil": "Soil",
    "surface": "Playing surface",
    "speed": "Green speed",
    "levels": "Levels",
    "sward": "Sward",
    "physical": "Thatch, roots and surface",
    "sieve": "Particle sizes",
    "weather": "Weather",
    "works": "Works, hours and cost",
    "effort": "Works, hours and cost",
    "rolling": "Rolling resistance",
    "water": "Water and disease weather",
    "growth": "Growth by month",
}
"""Family of an indicator → heading of its table, in page order. A family not listed comes last, as it is called."""


@dataclass(frozen=True)
class DefaultTarget:
    """A target of the set "standard", in the indicator's unit: in force where nobody has set one.

    One without either end says why there is none: its source is the reason.

    Attributes:
        low: lower end; None where there is none.
        high: upper end.
        source: who says so as a client's page names it, by title alone; or "common practice, no source".
        band: the band it holds for; "" for all.
        note: what is to be known of it.
        unit: its unit in words where the indicator's own is blank ("pH").
        cited: the source in full, for docs/: author, title, year; "" where ``source`` says it all.
        construction: code of the construction it holds for; "" for all.
        shape: shape of green it holds for; "" for both.
        burn_c: burn temperature of the results it holds for; None for all.
        preparation: preparation of the sample it holds for; "" for all.
        verdure: what became of the green top of the samples it holds for; "" for both.
        lab: laboratory it holds for; "" for all.
        extractant: code of the extractant it holds for; "" for all.
        reached: whether the upper end is missed as soon as it is reached.
    """

    low: float | None
    high: float | None
    source: str
    band: str = ""
    note: str = ""
    unit: str = ""
    cited: str = ""
    construction: str = ""
    shape: str = ""
    burn_c: float | None = None
    preparation: str = ""
    verdure: str = ""
    lab: str = ""
    extractant: str = ""
    reached: bool = False


@dataclass(frozen=True)
class Reading:
    """What a single reading of a laboratory is known to: the standard deviation between laboratories.

    Attributes:
        share: as a share of the reading; 0 where it is an amount.
        amount: in the indicator's unit; 0 where it is a share.
        source: author, title, year, for docs/; or "common practice, no source".
    """

    share: float = 0.0
    amount: float = 0.0
    source: str = COMMON

    def of(self, value: float) -> float:
        """How far another laboratory's reading may lie from this one, in its unit."""
        return self.amount or self.share * abs(value)

    @property
    def words(self) -> str:
        """The same as printed: "15 %" of the reading, or an amount in its unit."""
        return f"{self.amount:g}" if self.amount else f"{100 * self.share:.0f} %"


@dataclass(frozen=True)
class Description:
    """An indicator in words and units.

    Attributes:
        name: machine name; its suffix is the unit (``dressing_kg_m2``).
        label: what a reader calls it.
        unit: SI unit as printed; "" for counts; ``MONEY`` in it is the workspace's currency.
        family: the table of the report it stands in, with its heading in ``HEADINGS``.
        meaning: what it tells.
        made: how it is made, a sentence or two; the method of a figure that gives none of its own.
        band: what its band says ("depth"); "" where it has none.
        decimals: digits after the point that its uncertainty carries.
        formulas: functions of pipeline/agronomy/ and pipeline/statistics/ it rests on; none where ``made`` says it all.
        targets: default targets.
        difference: whether it is a difference or a spread: 10 °C of it are 18 °F, not 50.
        monthly: whether it comes twelve at a time and says little each: attached, and printed only with a target.
        accumulates: whether it grows through the season, so that it is told whole at the season's end alone.
        day_needed: whether it rests on the day of each record; where it does not, it takes records of a month or year
            that lie wholly in the season (pipeline/indicators/base/periods.py).
        beyond_season: whether records of before the season enter it (the last twelve months).
        added_by: operations that add to it, where they are others than its family's.
        si_only: whether it stays in SI where a page is in US units.
        of_the_crew: whether it is about those who work, not about the green: it heads no page about a green.
        label_us: its label in US units; "" where the label names no unit.
        reading: of what a laboratory measures, what a single reading is known to; None of anything else.
    """

    name: str
    label: str
    unit: str
    family: str
    meaning: str
    made: str
    band: str = ""
    decimals: int = 1
    formulas: tuple[Callable[..., Any], ...] = ()
    targets: tuple[DefaultTarget, ...] = ()
    difference: bool = False
    monthly: bool = False
    accumulates: bool = False
    day_needed: bool = True
    beyond_season: bool = False
    added_by: tuple[str, ...] = ()
    si_only: bool = False
    of_the_crew: bool = False
    label_us: str = ""
    reading: Reading | None = None

    def __hash__(self) -> int:
        return hash(self.name)

    @property
    def formula_names(self) -> tuple[str, ...]:
        """Its formulas as docs/method.md calls them: "module.function"."""
        return tuple(f"{one.__module__.rpartition('.')[2]}.{one.__name__}" for one in self.formulas)

    def figure(
        self, value: float | None, rows: pl.DataFrame | Rows, kind: str = "job", *, n: int | None = None,
        places: tuple[Evidence, ...] | None = None, **told: Any,
    ) -> Indicator:  # fmt: skip
        """A figure of this indicator, made from rows of a kind; ``told`` as of :meth:`at`.

        So many rows are its n and their lines its evidence, where ``n`` and ``places`` do not say otherwise.
        """
        if places is None:
            places = rows.evidence if isinstance(rows, Rows) else _evidence(rows, kind)
        of = rows.of if isinstance(rows, Rows) else 0
        return self.at(of, value, n=len(rows) if n is None else n, places=places, **told)

    def at(
        self, of: int, value: float | None, *, n: int, places: tuple[Evidence, ...], band: str = "",
        low: float | None = None, high: float | None = None, method: str = "", note: str = "",
        standing: Standing = "no target", verdict: Verdict | None = None, currency: str = "", basis: Basis = NO_BASIS,
    ) -> Indicator:  # fmt: skip
        """A figure of this indicator of a green and season; arguments as the fields of :class:`Indicator`.

        A unit with ``MONEY`` in it needs the workspace's currency. A reading without an interval, or one of no width
        (results rounded alike), is known to what laboratories differ by; one with an interval keeps that.
        """
        assert currency or MONEY not in self.unit, f"{self.name} needs the workspace's currency"
        bare = self.reading if low is None or high is None or low >= high else None
        return Indicator(
            name=self.name,
            label=self.label,
            band=band,
            value=value,
            unit=self.unit.replace(MONEY, currency),
            n=n,
            low=low,
            high=high,
            standing=standing,
            method=method or self.made,
            note=note,
            family=self.family,
            decimals=self.decimals,
            evidence=places,
            verdict=verdict,
            basis=basis,
            unsure=bare.of(value) if bare and value is not None else None,
            of=of,
        )

    def like(self, other: Indicator, **changed: Any) -> Indicator:
        """A figure of this indicator that is as another in all but what is changed: n, band, method, evidence."""
        return replace(
            other,
            name=self.name,
            label=self.label,
            unit=self.unit,
            family=self.family,
            decimals=self.decimals,
            unsure=None,
            **changed,
        )


@dataclass(frozen=True)
class Family:
    """Indicators that are made together.

    Attributes:
        described: what ``made`` may yield, and nothing else, in the order of the report.
        made: yields the figures of all greens and seasons asked for, of each in the order of the report.
    """

    described: tuple[Description, ...]
    made: Callable[[Asked], Iterable[Indicator]]


def _evidence(rows: pl.DataFrame, kind: str) -> tuple[Evidence, ...]:
    from pipeline.indicators.base.records import evidence  # headings are read without what reads records

    return evidence(rows, kind)


def one_by_one(
    made: Callable[[GreenRecords], Iterable[Indicator]], kind: str
) -> Callable[[Asked], Iterable[Indicator]]:
    """A family's figures, made of one green and season after the other, where it has records of a kind.

    For what few greens have and a whole survey makes: a grid of levels, a curve of grain sizes.
    """

    def of_all(asked: Asked) -> Iterable[Indicator]:
        of_kind = {of: records for of, records in asked.each.items() if records.frames[kind].height}
        return (replace(one, of=of) for of, records in of_kind.items() for one in made(records))

    return of_all


def heading_of(family: str) -> str:
    """The heading under which a family's indicators are printed."""
    plain = " ".join(family.replace("_", " ").split())
    return HEADINGS.get(family) or plain[:1].upper() + plain[1:] or "Other"
