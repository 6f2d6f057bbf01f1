"""Splitting any job into parts whose areas and amounts add up changes no season's figure: from file to figure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import fsum
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from tests.indicators.conftest import load_text
from tests.thorough import examples

AREA = 1000.0
GREENS = f"green,club,name,area_m2\nONE-1,ALD,In one,{AREA}\nMANY-1,ALD,In many,{AREA}\n"
MATERIALS = (
    "material,sort,form,analysis,analysis_basis,analysis_by,n_release,release_weeks,pack,pack_l,price,mix,"
    "bulk_density_t_m3,organic_matter_pct\n"
    "feed,fertiliser,solid,11-5-5 + 8 Fe + 2 MgO,oxide,,quick,6,25 kg,,31.5,,,\n"
    "liquid,fertiliser,liquid,12-2-6,oxide,w/v,slow,,,10,40,,,\n"
    "dressing,top dressing,solid,,,,,,,,,70/30,1.5,1.2\n"
)
SOIL = "date,green,analyte,depth_from_mm,depth_to_mm,lab,value,unit,burn_c,preparation,verdure,cores\n" + "".join(
    f"{day},{green},organic matter,0,20,Lab A,{value},%,440,whole,on,10\n"
    for green in ("ONE-1", "MANY-1")
    for day, value in (("2025-07-10", 6.0), ("2025-08-20", 6.1), ("2026-07-20", 6.2), ("2026-08-10", 6.4))
)
FIELDS = (
    "date", "green", "operation", "material", "mass_kg", "volume_l", "packs", "rate_g_m2", "rate_ml_m2", "holes",
    "tine_mm", "tine_basis", "spacing_along_mm", "depth_mm", "blade_mm", "blade_spacing_mm", "passes", "clippings_g_m2",
    "tray_g", "tray_cm2", "hours", "cost", "treated_area_m2",
)  # fmt: skip
BEGUN = "2024-10-05,{green},mowing" + "," * (len(FIELDS) - 3) + "\n"
AMOUNTS = ("mass_kg", "volume_l", "packs", "holes", "hours", "cost")
"""What adds up over the parts of a job; everything else is the same on each of them."""
COUNTS = ("operations",)
"""Lines of the log by definition: the one figure that splitting changes."""

PLAIN: tuple[dict[str, object], ...] = (
    {"operation": "top dressing", "material": "dressing", "mass_kg": 5000},
    {"operation": "top dressing", "material": "dressing", "volume_l": 2500, "tray_g": 700, "tray_cm2": 2000},
    {"operation": "top dressing", "material": "dressing", "rate_g_m2": 3000},
    {"operation": "fertilising", "material": "feed", "mass_kg": 35},
    {"operation": "fertilising", "material": "feed", "packs": 2},
    {"operation": "fertilising", "material": "feed", "rate_g_m2": 25},
    {"operation": "fertilising", "material": "liquid", "volume_l": 20},
    {"operation": "fertilising", "material": "liquid", "rate_ml_m2": 15},
    {"operation": "hollow coring", "tine_mm": 12, "tine_basis": "outside", "spacing_along_mm": 50, "depth_mm": 70},
    {"operation": "hollow coring", "tine_mm": 10, "tine_basis": "inside", "holes": 300000, "depth_mm": 15},
    {"operation": "solid tining", "tine_mm": 8, "spacing_along_mm": 40, "depth_mm": 60, "passes": 2},
    {"operation": "scarifying", "blade_mm": 1, "blade_spacing_mm": 25, "depth_mm": 3, "passes": 2},
    {"operation": "mowing", "clippings_g_m2": 12},
)
DAYS = [f"2025-11-{day:02}" for day in (3, 3, 3, 10, 10, 17, 24)]
"""Few, so that jobs of one day meet."""


@dataclass(frozen=True)
class Job:
    """A job in one line, and the shares of its area and of its amounts that each of its parts takes."""

    day: str
    facts: dict[str, object]
    area: float | None
    areas: tuple[float, ...]
    amounts: tuple[float, ...]

    def whole(self, green: str) -> str:
        return line(green, self.day, {**self.facts, "treated_area_m2": self.area})

    def parts(self, green: str) -> str:
        over = AREA if self.area is None else self.area
        return "".join(
            line(green, self.day, {**self._amounts(amount), **cost, "treated_area_m2": over * area})
            for area, amount, cost in zip(self.areas, self.amounts, self._costs(), strict=True)
        )

    def _costs(self) -> list[dict[str, object]]:
        """What each part costs in whole pence, the last the rest: a bill is split so, and money is kept in decimal."""
        if "cost" not in self.facts:
            return [{}] * len(self.amounts)
        whole = Decimal(str(self.facts["cost"]))
        first = [round(whole * Decimal(share), 2) for share in self.amounts[:-1]]
        return [{"cost": part} for part in (*first, whole - sum(first))]

    def _amounts(self, share: float) -> dict[str, object]:
        return {name: share * float(str(v)) if name in AMOUNTS else v for name, v in self.facts.items()}


def line(green: str, day: str, facts: dict[str, object]) -> str:
    told = {"date": day, "green": green, **facts}
    return ",".join("" if told.get(name) is None else str(told[name]) for name in FIELDS) + "\n"


def shares(weights: Sequence[int]) -> tuple[float, ...]:
    return tuple(weight / sum(weights) for weight in weights)


@st.composite
def logs(draw: st.DrawFn) -> tuple[list[Job], bool]:
    """Jobs, also of one day, each with its parts; and whether amounts lie evenly on the parts."""
    even = draw(st.booleans())
    jobs = []
    for day in draw(st.lists(st.sampled_from(DAYS), min_size=1, max_size=6)):
        facts = {**draw(st.sampled_from(PLAIN)), "hours": 2, "cost": 90}
        area = draw(st.one_of(st.none(), st.integers(50, int(AREA)).map(float)))
        weights = draw(st.lists(st.integers(1, 20), min_size=1, max_size=4))
        areas = amounts = shares(weights)
        if not even:
            amounts = shares(draw(st.lists(st.integers(1, 20), min_size=len(weights), max_size=len(weights))))
        jobs.append(Job(day, facts, area, areas, amounts))
    return jobs, even


def values(done: GreenSeason, *, even: bool) -> dict[tuple[str, str, str], float | None]:
    """Every figure with the ends of its interval, and what is due; a dose where it fell only if it lies evenly."""
    doses = () if even else ("nitrogen_dose_g_m2", "nitrogen_quick_dose_g_m2")
    figures = {
        (one.name, one.band, end): getattr(one, end)
        for one in done.indicators
        if one.name not in (*COUNTS, *doses)
        for end in ("value", "low", "high")
    }
    dues = {(due.what, due.by, end): getattr(due, end) for due in done.due for end in ("low", "high", "applied")}
    totals = {(one.name, f"{point.date}", ""): point.total for one in done.running for point in one.points}
    return figures | dues | totals


def test_parts_are_parts() -> None:
    """The check itself: areas and amounts of the parts add up to the job's, and a rate is the same on each."""
    job = Job(
        "2025-11-03", {"operation": "fertilising", "mass_kg": 35, "rate_g_m2": 5}, 600.0, (0.25, 0.75), (0.4, 0.6)
    )
    cells = [dict(zip(FIELDS, row.split(","), strict=True)) for row in job.parts("MANY-1").split("\n")[:-1]]
    assert fsum(float(cell["treated_area_m2"]) for cell in cells) == pytest.approx(600)
    assert fsum(float(cell["mass_kg"]) for cell in cells) == pytest.approx(35)
    assert [cell["rate_g_m2"] for cell in cells] == ["5", "5"]


@settings(max_examples=examples(2, 6))
@given(log=logs())
def test_splitting_jobs_changes_no_figure_of_the_season(
    log: tuple[list[Job], bool], county_store: Store, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Dressing, nutrients, coring, blades, clippings, cost, due and the organic-matter balance, to 1e-9 of each."""
    jobs, even = log
    folder = tmp_path_factory.mktemp("parts")
    text = ",".join(FIELDS) + "\n" + BEGUN.format(green="ONE-1") + BEGUN.format(green="MANY-1")
    text += "".join(job.whole("ONE-1") + job.parts("MANY-1") for job in jobs)
    with county_store.rehearsal():
        for name, content in (("g.csv", GREENS), ("m.csv", MATERIALS), ("s.csv", SOIL), ("j.csv", text)):
            result = load_text(county_store, folder, name, content)
            assert (result.counts.rejected, result.counts.ignored) == (0, 0), result.faults["message"].to_list()
        one, many = (_season(county_store, folder, green) for green in ("ONE-1", "MANY-1"))
    wanted, found = values(one, even=even), values(many, even=even)
    assert found.keys() == wanted.keys()
    assert wanted["organic_matter_gain_kg_m2_year", "0–20 mm", "value"] is not None
    different = {key: (wanted[key], found[key]) for key in wanted if not _same(wanted[key], found[key])}
    assert not different


def _season(store: Store, folder: Path, green: str) -> GreenSeason:
    workspace = Workspace(folder, Settings())
    return green_season(read_records(store), green, workspace.season("2026"), workspace)


def _same(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return one == pytest.approx(other, rel=1e-9, abs=1e-12)
