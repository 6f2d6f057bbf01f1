"""Records known to the month or year only: no figure says what the record's day decides, and none is lost unnamed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from pipeline.indicators.base.at_least import OF_JOBS
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import Load
from tests.indicators.conftest import NOT_KEPT
from tests.thorough import beyond, but_for

MIX = "70/30 sand and soil"
FEED = "spring granular 11-5-5 + 8 Fe"
JOBS = (
    "date,green,operation,material,quantity,hours,cost,tine_mm,tine_basis,spacing_along_mm,depth_mm,cut_height_mm,"
    "vibration_m_s2,trigger_hours,treated_area_m2,clippings_g_m2\n"
    f"2025-03-10,ALD-1,top dressing,{MIX},3 t,2,,,,,,,,,,\n"
    f"2025-11-12,ALD-1,top dressing,{MIX},4 t,2,90,,,,,,,,,\n"
    f"2026-03-09,ALD-1,fertilising,{FEED},30 kg,1,20,,,,,,,,,\n"
    "2026-03-20,ALD-1,mowing,,,1,,,,,,5,4,2,,\n"
    "2026-04-02,ALD-1,hollow coring,,,3,,12,outside,50,60,,,,,\n"
    f"2026-06-15,ALD-1,fertilising,{FEED},20 kg,1,,,,,,,,,,\n"
    "2026-09-30,ALD-1,mowing,,,1,,,,,,5,3,1,,2\n"
    "2015-10-01,ALD-1,inspection,,,,,,,,,,,,,\n"
)
UNDATED = {
    "dressing": f"{{}},ALD-1,top dressing,{MIX},5 t,4,60,,,,,,,,,\n",
    "feed": f"{{}},ALD-1,fertilising,{FEED},45 kg,2,60,,,,,,,,,\n",
    "coring": "{},ALD-1,hollow coring,,,5,,14,outside,40,80,,,,,\n",
    "part": f"{{}},ALD-1,top dressing,{MIX},1 t,1,,,,,,,,,200,\n",
    "mowing": "{},ALD-1,mowing,,,1.5,,,,,,4,6,3,,3\n",
    "watering": "{},ALD-1,irrigation,water,4000 l,1,,,,,,,,,,\n",
    "drag-matting": "{},ALD-1,drag matting,,,1,,,,,,,,,,\n",
}
TESTS = (
    "date,green,analyte,value,unit,extractant,depth_from_mm,depth_to_mm,lab,cores\n"
    "2020-02-10,ALD-1,organic matter,6.0,%,,0,20,Lab A,20\n"
    "2021-02-10,ALD-1,organic matter,5.8,%,,0,20,Lab A,20\n"
    "2022-02-10,ALD-1,organic matter,5.5,%,,0,20,Lab A,20\n"
    "2023-02-10,ALD-1,organic matter,5.4,%,,0,20,Lab A,20\n"
    "2024-02-10,ALD-1,organic matter,5.1,%,,0,20,Lab A,20\n"
    "2025-02-10,ALD-1,potassium,60,mg/kg,mehlich 3,0,100,Lab A,\n"
    "2025-02-10,ALD-1,ph,6.4,pH,,0,100,Lab A,\n"
)
UNDATED_TESTS = {
    "organic matter": "{},ALD-1,organic matter,4.7,%,,0,20,Lab A,20\n",
    "another laboratory": "{},ALD-1,organic matter,4.7,%,,0,20,Lab B,20\n",
    "potassium": "{},ALD-1,potassium,41,mg/kg,mehlich 3,0,100,Lab A,\n",
    "ph": "{},ALD-1,ph,5.2,pH,,0,100,Lab A,\n",
}
MARCH = date(2026, 3, 1), date(2026, 3, 31)
DAYS = [date(2026, 3, day) for day in (1, 9, 20, 31)]
"""Its first and last day, and days with another job."""
LONG_AGO = date(2015, 10, 1)
LINE = len(JOBS.splitlines()) + 1
_JOBS = {"operations", "hours_h"}
COUNTED: dict[str, set[str]] = {
    "dressing": {*_JOBS, "cost", "dressing_kg_m2", "dressing_t", "dressing_mm"},
    "feed": {*_JOBS, "cost", "nitrogen_kg_ha", "iron_kg_ha"},
    "coring": {*_JOBS, "disturbed_pct", "holes_m2", "disturbed_l_m2", "refill_sand_kg"},
    "part": {*_JOBS, "dressing_kg_m2"},
    "mowing": {*_JOBS, "hours_of_h"},
    "watering": _JOBS,
    "drag-matting": _JOBS,
    "organic matter": {"organic_matter_pct"},
    "another laboratory": {"organic_matter_pct"},
    "potassium": {"potassium_mg_kg", "potassium_need_kg_ha"},
    "ph": {"ph"},
}
"""Figures that take the record of a month, since they are the same whichever day it was."""
WORDS = {
    "dressing": "top dressing", "feed": "fertilising", "coring": "hollow coring", "part": "top dressing",
    "mowing": "mowing", "watering": "irrigation", "drag-matting": "drag matting",
}  # fmt: skip
Values = dict[tuple[str, str], float | None]


def values(done: GreenSeason) -> Values:
    return {(one.name, one.band): one.value for one in done.indicators}


class Log:
    """The green's log and soil tests, whose last job or soil test is set to a day, or to two between which it lies."""

    def __init__(self, store: Store, folder: Path, kind: str) -> None:
        self.store, self.workspace, self.kind = store, Workspace(folder, Settings()), kind

    def season(self, first: date, last: date | None = None, name: str = "2026") -> GreenSeason:
        """The season with that record of such a day."""
        table = f"history.{self.kind}"
        self.store.con.execute(
            f"UPDATE {table} SET date = ?, date_to = ? WHERE line = (SELECT max(line) FROM {table})",
            [first, last],
        )
        return green_season(read_records(self.store), "ALD-1", self.workspace.season(name), self.workspace)


@pytest.fixture
def log(county: Load, county_store: Store, tmp_path: Path) -> Callable[[str], Log]:
    """Loads the log with one of the records that only their month is known of."""

    def _log(what: str) -> Log:
        county_store.con.execute(NOT_KEPT)
        of_job = what in UNDATED
        county("job.csv", JOBS + (UNDATED[what].format("March 2026") if of_job else ""))
        county("soil_test.csv", TESTS + ("" if of_job else UNDATED_TESTS[what].format("March 2026")))
        return Log(county_store, tmp_path, "job" if of_job else "soil_test")

    return _log


@pytest.mark.parametrize("what", but_for(("feed", "part", "ph"), [*UNDATED, *UNDATED_TESTS]))
def test_no_figure_tells_what_only_the_day_decides(what: str, log: Callable[[str], Log]) -> None:
    """A figure with the record of March is the same as on each of its days, or as without it; and it is named.

    Without it is the season with the record moved beyond all figures, to where the log begins.
    """
    here = log(what)
    told = here.season(*MARCH)
    dated = [here.season(day) for day in DAYS]
    without = here.season(LONG_AGO)
    known, bare, every = values(told), values(without), [values(one) for one in dated]
    counted = set()
    for key, value in known.items():
        if all(key in one and one[key] == pytest.approx(value) for one in every):
            counted |= {key[0]} if bare.get(key) != pytest.approx(value) else set()
        else:
            assert key in bare and value == pytest.approx(bare[key]), f"{key}: {value} is of no known day"
    assert not set(bare) - set(known)
    for one in told.indicators if what in UNDATED else ():
        of_a_day = {round(found.get((one.name, one.band)) or 0.0, 9) for found in every}
        if one.family in OF_JOBS and (len(of_a_day) > 1 or of_a_day != {round(one.value or 0.0, 9)}):
            assert LINE in {at.line for at in one.questioned}, f"{one.name} is not marked: {of_a_day}"
    assert COUNTED[what] <= counted, counted
    place = f"line {LINE} of job.csv" if what in UNDATED else "line 9 of soil_test.csv"
    assert any(place in note.text for note in told.data_notes)


@pytest.mark.parametrize("what", ["dressing", "feed", "coring"])
@beyond(1)
def test_a_year_that_is_partly_another_seasons_is_in_no_figure(what: str, log: Callable[[str], Log]) -> None:
    """A job of 2025 is of the season to September or of the one after: neither counts it, and both name it."""
    here = log(what)
    for season in ("2025", "2026"):
        told = here.season(date(2025, 1, 1), date(2025, 12, 31), season)
        bare = values(here.season(LONG_AGO, name=season))
        assert {key: value for key, value in values(told).items() if key in bare} == pytest.approx(bare)
        assert not set(values(told)) - set(bare)
        (note,) = [one for one in told.data_notes if "in no figure" in one.text]
        assert f"({WORDS[what]}, 2025)" in note.text
        total = next(one for one in told.indicators if one.name == "operations")
        assert total.note.startswith(
            f"At least: 1 job known to the month or year only is not in it: job.csv line {LINE}."
        )
