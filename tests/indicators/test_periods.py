"""Records known to the month or year only: no figure says what the record's day decides, and none is lost unnamed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.indicators.base.green_season import GreenSeason
from tests.indicators.figures import Figures

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
OLDER = "2015-10-01,ALD-1,inspection" + "," * 13 + "\n"
MARCH = [date(2026, 3, 1) + timedelta(days=n) for n in range(31)]
Values = dict[tuple[str, str], float | None]


def values(done: GreenSeason) -> Values:
    return {(one.name, one.band): one.value for one in done.indicators}


def named(done: GreenSeason, place: str) -> bool:
    return any(place in note.text for note in done.data_notes)


@pytest.fixture
def season_with(figures: Figures, county_store: object) -> object:
    """The season with a log and soil tests; what is loaded for it is taken back before the next."""

    def _made(job: str, soil: str, season: str = "2026") -> GreenSeason:
        with county_store.rehearsal():  # type: ignore[attr-defined]
            return figures("ALD-1", season, kept_before=False, job=job, soil_test=soil)

    return _made


@pytest.mark.parametrize("what", [*UNDATED, *UNDATED_TESTS])
def test_no_figure_tells_what_only_the_day_decides(what: str, season_with: object) -> None:
    """A figure with the record of March is the same as on each of its days, or as without it; and it is named."""
    made = season_with
    jobs, tests = JOBS + OLDER, TESTS

    def with_record(when: str | None) -> GreenSeason:
        job = jobs + (UNDATED[what].format(when) if what in UNDATED and when else "")
        soil = tests + (UNDATED_TESTS[what].format(when) if what in UNDATED_TESTS and when else "")
        return made(job, soil)  # type: ignore[operator, no-any-return]

    told, without = with_record("March 2026"), with_record(None)
    assert told.as_of == without.as_of
    dated = [with_record(day.isoformat()) for day in MARCH]
    known, bare, every = values(told), values(without), [values(one) for one in dated]
    kept = 0
    for key, value in known.items():
        if all(key in one and one[key] == pytest.approx(value) for one in every):
            kept += key in bare and bare[key] != pytest.approx(value)
            continue
        assert key in bare and value == pytest.approx(bare[key]), f"{key}: {value} is of no known day"
    assert not set(bare) - set(known)
    place = f"line {10 if what in UNDATED else 9} of " + ("job.csv" if what in UNDATED else "soil_test.csv")
    assert named(told, place), [note.text for note in told.data_notes]
    assert not named(without, place)
    assert kept or what == "another laboratory" or what in UNDATED_TESTS
