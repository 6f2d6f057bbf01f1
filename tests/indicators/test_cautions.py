"""Cautions: each fires on its trigger, not just below it, and says nothing where the data are missing."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from pipeline.agronomy.work import ACTION_POINTS, LIMIT_POINTS
from pipeline.indicators.base.green_season import Caution, GreenSeason
from pipeline.indicators.cautions.trigger import days, works
from schemas import KINDS
from tests.indicators.figures import Figures
from tests.outside_checks import outside
from tests.thorough import beyond, thorough

FIELDS = (
    "date,green,operation,material,logged_by,depth_mm,mass_kg,volume_l,treated_area_m2,hours,people,vibration_m_s2,"
    "trigger_hours,note"
)  # fmt: skip
MATERIALS = (
    "material,sort,form,n_pct,p_pct,fe_pct,analysis_basis,sand_pct,pack_kg\n"
    "iron feed,fertiliser,solid,,,6,,,\nno iron,fertiliser,solid,,,0,,,\nunlabelled,fertiliser,solid,,,,,,\n"
    "nitrogen,fertiliser,solid,5,0,,oxide,,\nno nitrogen,fertiliser,solid,0,0,,oxide,,\n"
    "sandy,top dressing,solid,,,,,70,\nloam,top dressing,solid,,,,,0,\nunknown mix,top dressing,solid,,,,,,\n"
    "bag 25,fertiliser,solid,,,,,,25\nbag 24,fertiliser,solid,,,,,,24.9\nbig bag,fertiliser,solid,,,,,,600\n"
    "spray,plant protection,liquid,,,,,,\n"
)
GREEN = "green,club,name,area_m2,latitude_deg,station\nALD-1,ALD,Main green,1600,52.4,Ostershire airfield\n"
MADE_OF = {
    "iron": "Iron stains",
    "sand": "Dry sand",
    "water": "Keep fertiliser",
    "bags": "Bags of",
    "services": "Before deep",
    "public": "Keep members",
    "vibration": "Hand-arm",
    "protection": "Plant protection",
    "frost": "Frost:",
    "heat": "Heat:",
    "rain": "Heavy rain",
    "drought": "Drought:",
}
"""Name used here → how the caution begins."""


def job(day: str, operation: str, **cells: object) -> str:
    """One line of the job log."""
    given = {"date": day, "green": "ALD-1", "operation": operation} | cells
    assert set(given) <= set(FIELDS.split(","))
    return ",".join(str(given.get(name, "")) for name in FIELDS.split(",")) + "\n"


def log(*lines: str) -> str:
    return f"{FIELDS}\n{''.join(lines)}"


def the(done: GreenSeason, name: str) -> Caution | None:
    """The caution of this name, None where it was not raised."""
    found = [one for one in done.cautions if one.text.startswith(MADE_OF[name])]
    assert len(found) <= 1
    return found[0] if found else None


def named(done: GreenSeason) -> set[str]:
    return {name for name in MADE_OF if the(done, name)}


def weather(first: str, rows: list[tuple[object, object, object]]) -> str:
    """Days in a row: highest, lowest, rain; None is a blank cell, a row of them no row at all."""
    start = date.fromisoformat(first)
    lines = ["date,station,tmax_c,tmin_c,rain_mm"]
    for i, row in enumerate(rows):
        if any(cell is not None for cell in row):
            cells = ",".join("" if cell is None else str(cell) for cell in row)
            lines.append(f"{start + timedelta(days=i)},Ostershire airfield,{cells}")
    return "\n".join(lines) + "\n"


MARCH = "2026-03-10"


@pytest.mark.parametrize(
    ("name", "fires", "not_quite", "unknown"),
    [
        (
            "iron",
            job(MARCH, "fertilising", material="iron feed"),
            job(MARCH, "fertilising", material="no iron"),
            job(MARCH, "fertilising", material="unlabelled"),
        ),
        (
            "sand",
            job(MARCH, "top dressing", material="sandy"),
            job(MARCH, "top dressing", material="loam"),
            job(MARCH, "turfing"),
        ),
        (
            "water",
            job(MARCH, "fertilising", material="nitrogen"),
            job(MARCH, "fertilising", material="no nitrogen"),
            job(MARCH, "fertilising", material="unlabelled"),
        ),
        (
            "bags",
            job(MARCH, "fertilising", material="bag 25"),
            job(MARCH, "fertilising", material="bag 24"),
            job(MARCH, "fertilising", material="unlabelled"),
        ),
        (
            "services",
            job(MARCH, "solid tining", depth_mm=150),
            job(MARCH, "solid tining", depth_mm=149),
            job(MARCH, "solid tining"),
        ),
        ("public", job(MARCH, "scarifying"), job(MARCH, "mowing"), job(MARCH, "inspection")),
        (
            "vibration",
            job(MARCH, "scarifying", hours=2),
            job(MARCH, "scarifying", hours=1.9),
            job(MARCH, "scarifying"),
        ),
        ("protection", job(MARCH, "plant protection"), job(MARCH, "moss treatment"), job(MARCH, "inspection")),
    ],
)  # fmt: skip
@beyond(1)
def test_a_caution_needs_its_trigger(figures: Figures, name: str, fires: str, not_quite: str, unknown: str) -> None:
    """On the trigger, just below it, and where the record does not say; each with the line that set it off."""
    loud = the(figures(material=MATERIALS, job=log(fires)), name)
    assert loud is not None
    assert loud.source
    assert "10 March 2026" in loud.trigger
    assert [(one.kind, one.line) for one in loud.evidence] == [("job", 2)]
    # a day of the season before each: its cautions are its own
    for season, quiet in (("2025", not_quite), ("2024", unknown)):
        line = quiet.replace("2026", season)
        done = figures(season=season, material=MATERIALS, job=log(line))
        assert len(done.works) == 1
        assert name not in named(done)


def test_a_season_without_works_has_no_caution(figures: Figures) -> None:
    assert figures(season="2025").cautions == ()


def test_dressing_of_unknown_sand_is_named_as_such(figures: Figures) -> None:
    """A dressing the register says nothing of may well be sand; the caution says that it is not known."""
    done = the(figures(material=MATERIALS, job=log(job(MARCH, "top dressing", material="unknown mix"))), "sand")
    assert done is not None
    assert done.trigger == "top dressing on 10 March 2026; share of sand not on record for all of them"


def test_a_bag_moved_by_machine_is_no_bag_to_lift(figures: Figures) -> None:
    assert "bags" not in named(figures(material=MATERIALS, job=log(job(MARCH, "fertilising", material="big bag"))))


POINTS = outside(
    "figure", "a UK noise and vibration consultancy's worked table: 4 m/s² for 2 h is 64 points, 7 m/s² for 3 h is 294"
)
LAW = outside("standard", "Control of Vibration at Work Regulations 2005: limit 5 m/s² over 8 h")


@pytest.mark.parametrize(
    ("magnitude", "hours", "said"),
    [
        pytest.param(
            4, 2, "64 points on 10 March 2026 if one person did all of it, below the action value of 100", marks=POINTS
        ),
        pytest.param(
            7,
            3,
            "294 points on 10 March 2026 if one person did all of it, at or above the action value of 100 (limit 400)",
            marks=POINTS,
        ),
        (
            5,
            2,
            "100 points on 10 March 2026 if one person did all of it, at or above the action value of 100 (limit 400)",
        ),
        (5, 1.99, "99 points on 10 March 2026 if one person did all of it, below the action value of 100"),
        pytest.param(
            5, 8, "400 points on 10 March 2026 if one person did all of it, at the exposure limit of 400", marks=LAW
        ),
        (10, 2.1, "420 points on 10 March 2026 if one person did all of it, above the exposure limit of 400"),
    ],
)
@beyond(3)
def test_vibration_by_the_published_points(figures: Figures, magnitude: float, hours: float, said: str) -> None:
    """4 m/s² for 2 h is 64 points, 7 m/s² for 3 h 294 (a worked example); 2.5 m/s² over 8 h is 100, 5 m/s² 400."""
    line = job(MARCH, "scarifying", vibration_m_s2=magnitude, trigger_hours=hours)
    done = the(figures(job=log(line)), "vibration")
    assert done is not None
    assert said in done.text
    assert (ACTION_POINTS, LIMIT_POINTS) == (2 * 2.5**2 * 8, 2 * 5**2 * 8)


def test_vibration_adds_up_for_one_writer_and_day(figures: Figures) -> None:
    """Two machines of one writer are one day's points; another's of the same day are not added."""
    lines = [
        job(MARCH, "scarifying", logged_by="crew A", vibration_m_s2=4, trigger_hours=2),
        job(MARCH, "hollow coring", logged_by="crew A", vibration_m_s2=4, trigger_hours=2),
        job(MARCH, "verticutting", logged_by="crew B", vibration_m_s2=5, trigger_hours=2),
    ]
    done = the(figures(job=log(*lines)), "vibration")
    assert done is not None
    assert "came to 128 points" in done.text
    assert "crew" not in done.text + done.trigger + done.source  # who wrote the line is kept out of every report


@pytest.mark.parametrize(
    ("writer", "people", "said"),
    [
        ("A", 1, "came to 64 points for one person on 10 March 2026,"),
        ("A", "", "came to 64 points on 10 March 2026 if one person did all of it,"),
        ("A", 2, "came to 64 points on 10 March 2026 if one person did all of it,"),
        ("", 1, "came to 64 points on 10 March 2026 if one person did all of it,"),
    ],
)
@beyond(2)
def test_points_are_one_persons_only_where_the_log_says_so(
    figures: Figures, writer: str, people: object, said: str
) -> None:
    """The writer of a line is not who held the machine: a file without the column gave everybody's work to one."""
    line = job(MARCH, "scarifying", logged_by=writer, people=people, vibration_m_s2=4, trigger_hours=2)
    done = the(figures(job=log(line)), "vibration")
    assert done is not None
    assert said in done.text
    assert (done.sort, done.degree) == ("vibration points", pytest.approx(64))


def test_days_at_the_action_value_say_so_too(figures: Figures) -> None:
    """Two days at 100 points, one of them of nobody named."""
    facts = {"people": 1, "vibration_m_s2": 5, "trigger_hours": 2}
    lines = [job(MARCH, "scarifying", logged_by="A", **facts), job("2026-03-12", "scarifying", **facts)]
    done = the(figures(job=log(*lines)), "vibration")
    assert done is not None
    assert done.trigger.endswith("; 2 days of the season at 100 points or more, if one person did all of it")
    alone = the(figures(season="2025", job=log(lines[0].replace("2026", "2025"))), "vibration")
    assert alone is not None
    assert alone.trigger.endswith("; 1 day of the season at 100 points or more")


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ([{"hours": 2, "people": 1}], "up to 2.0 hours a person with"),
        ([{"hours": 2}], "up to 2.0 hours with hand-guided machines, if one person did all of it, on one day"),
        ([{"hours": 2, "people": 1}] * 2, "up to 4.0 hours with"),
        ([{"hours": 2, "people": 1, "logged_by": "A"}] * 2, "up to 4.0 hours a person with"),
        ([{"trigger_hours": 3, "people": 2, "logged_by": "A"}], "up to 3.0 hours with"),
    ],
)
@beyond(2)
def test_hours_are_a_persons_only_where_the_log_says_so(
    figures: Figures, facts: list[dict[str, object]], said: str
) -> None:
    works_done = ("scarifying", "hollow coring")
    lines = [job(MARCH, work, **told) for work, told in zip(works_done, facts, strict=False)]
    done = the(figures(job=log(*lines)), "vibration")
    assert done is not None
    assert said in done.text
    assert done.trigger.endswith(", if one person did all of it") == ("a person" not in said)


def test_hours_without_a_vibration_figure_are_hours_alone(figures: Figures) -> None:
    """Five hours of two people are 2.5 each; a figure without trigger hours is no exposure either."""
    line = job(MARCH, "scarifying", hours=5, people=2, vibration_m_s2=4)
    done = the(figures(job=log(line)), "vibration")
    assert done is not None
    assert "up to 2.5 hours a person" in done.text
    assert "hours only; exposure unknown" in done.text
    assert "points" not in done.text


def test_what_a_spray_record_lacks_is_named_by_field(figures: Figures) -> None:
    """Only blanks are named, never a product or a dose to take."""
    bare = the(figures(material=MATERIALS, job=log(job(MARCH, "plant protection"))), "protection")
    assert bare is not None
    assert bare.trigger == (
        "plant protection on 10 March 2026; left blank: product, amount, area treated, operator, reason"
    )
    facts: dict[str, object] = {"material": "spray", "volume_l": 0.4, "treated_area_m2": 1600, "logged_by": "crew A"}
    whole = job("2025-03-10", "plant protection", note="on the sheet", **facts)
    full = the(figures(season="2025", material=MATERIALS, job=log(whole)), "protection")
    assert full is not None
    assert full.trigger == "plant protection on 10 March 2025; no field of the log left blank"
    as_feed = job("2024-03-10", "fertilising", **facts)
    assert "protection" in named(figures(season="2024", material=MATERIALS, job=log(as_feed)))


def test_the_spray_record_is_asked_for_by_fields_that_jobs_have() -> None:
    from pipeline.indicators.cautions.protection import ASKED

    assert {field for _, fields in ASKED for field in fields} <= set(KINDS["job"].by_name)


WEATHER_WORKS = {
    "frost": ("rolling", (8, -0.1, 0), (8, 0.0, 0), (8, None, 0)),
    "heat": ("top dressing", (25.1, 12, 0), (25.0, 12, 0), (None, 12, 0)),
    "rain": ("fertilising", (15, 8, 10), (15, 8, 9.9), (15, 8, None)),
}
"""Caution → work, and the day's weather: that fires, that just does not, that does not say."""


@pytest.mark.parametrize("name", WEATHER_WORKS)
@beyond(2)
def test_weather_of_the_day_of_a_work(figures: Figures, name: str) -> None:
    """Climate indices (ETCCDI): frost day below 0 °C, summer day above 25 °C, heavy rain from 10 mm."""
    work, fires, not_quite, unknown = WEATHER_WORKS[name]
    line = job(MARCH, work, material="nitrogen" if work == "fertilising" else "")

    def raised(rows: list[tuple[object, object, object]]) -> Caution | None:
        files = {"green": GREEN, "material": MATERIALS, "job": log(line), "weather_day": weather(MARCH, rows)}
        return the(figures(**files), name)

    done = raised([fires])
    assert done is not None
    assert {one.kind for one in done.evidence} == {"job", "weather_day"}
    assert raised([unknown]) is None
    assert raised([not_quite]) is None


@pytest.mark.parametrize(
    ("name", "work", "next_day", "fires"),
    [
        ("frost", "hollow coring", (8, -1, 0), True),
        ("frost", "mowing", (8, -1, 0), False),
        ("heat", "scarifying", (30, 12, 0), False),
        ("rain", "fertilising", (15, 8, 12), True),
    ],
)
@beyond(2)
def test_weather_of_the_day_after(
    figures: Figures, name: str, work: str, next_day: tuple[object, object, object], fires: bool
) -> None:
    """Frost lifts ground opened the day before, rain washes off a feed of the day before; a cut is done by then."""
    line = job(MARCH, work, material="nitrogen" if work == "fertilising" else "")
    sky = weather(MARCH, [(12, 5, 0), next_day])
    done = the(figures(green=GREEN, material=MATERIALS, job=log(line), weather_day=sky), name)
    assert (done is not None) == fires


def test_a_green_without_station_has_no_weather_caution(figures: Figures) -> None:
    """Another station's weather says nothing here."""
    line = job(MARCH, "rolling") + job(MARCH, "scarifying")
    sky = weather(MARCH, [(30, -5, 20)])
    done = figures(job=log(line), weather_day=sky)
    assert not named(done) & {"frost", "heat", "rain", "drought"}


DRY = [(20.0, 10.0, 0.5)] * 28


def drought(figures: Figures, rows: list[tuple[object, object, object]], *more: str, first: str = "2026-06-01") -> bool:
    """Whether scarifying on the day after these 28 days is warned of."""
    lines = log(job("2026-06-29", "scarifying"), *more)
    return "drought" in named(figures(green=GREEN, job=lines, weather_day=weather(first, rows)))


def test_drought_needs_weeks_far_below_evaporation(figures: Figures) -> None:
    """20 and 10 °C in June at 52.4° N make 0.0023 × 32.8 × √10 × 17 Ra/λ of about 4.1 mm a day (FAO-56 equation 52, Ra
    41.6 MJ/m²): some 114 mm in 28 days, of which a quarter is 28 mm or 1.0 mm a day."""
    done = figures(green=GREEN, job=log(job("2026-06-29", "scarifying")), weather_day=weather("2026-06-01", DRY))
    found = the(done, "drought")
    assert found is not None
    day_mm = 0.0023 * (15 + 17.8) * 10**0.5 * 41.6 / 2.45
    said = f"14 mm of rain and logged watering in the 28 days before 29 June 2026, against {28 * day_mm:.0f} mm"
    assert said in found.text
    assert len(found.evidence) == 29
    assert drought(figures, [(20.0, 10.0, 0.9)] * 28)
    assert not drought(figures, [(20.0, 10.0, 1.1)] * 28)


@thorough
def test_drought_counts_watering_as_logged(figures: Figures) -> None:
    """32 m³ over 1,600 m² are 20 mm: with 14 mm of rain more than a quarter; 10 mm not. Without an amount: no word."""
    assert not drought(figures, DRY, job("2026-06-20", "irrigation", volume_l=32000))
    assert drought(figures, DRY, job("2026-06-20", "irrigation", volume_l=16000))
    assert not drought(figures, DRY, job("2026-06-20", "irrigation"))


@pytest.mark.parametrize("blank", [(20.0, 10.0, None), (None, 10.0, 0.5), (None, None, None)])
@beyond(1)
def test_drought_needs_every_day(figures: Figures, blank: tuple[object, object, object]) -> None:
    """A day without rain or temperature, or without a row, may have been the wet one; once known, it is."""
    assert not drought(figures, [*DRY[:10], blank, *DRY[11:]])
    assert drought(figures, DRY)


def test_a_dry_winter_month_is_no_drought(figures: Figures) -> None:
    """In January the air takes up so little that 50 mm cannot be lacking."""
    lines = log(job("2026-01-29", "hollow coring"))
    sky = weather("2026-01-01", [(6.0, 1.0, 0.0)] * 28)
    assert "drought" not in named(figures(green=GREEN, job=lines, weather_day=sky))


def test_works_and_days_in_words() -> None:
    """What is long is shortened, and fits the line of print the report gives it."""
    import polars as pl

    found = [date(2025, 10, 3), date(2026, 3, 4), date(2026, 3, 4), date(2026, 5, 6), date(2026, 6, 7)]
    assert days(found[:1]) == "3 October 2025"
    assert days(found[1:4]) == "4 March and 6 May 2026"
    assert days(found) == "3 October 2025, 4 March 2026 and 2 more days"
    names = ["hollow_coring", "solid_tining", "deep_aeration", "ditch_and_bank_work", "slitting"]
    rows = pl.DataFrame([{"operation": name, "date": day} for name in names for day in found])
    said = works(rows)
    assert said == (
        "hollow coring on 3 October 2025 and 3 more days; solid tining on 3 October 2025 and 3 more days; "
        "3 other operations"
    )
    assert len(said) <= 200


ONE_LINE = 113
"""Letters at 9.5 pt that a line of a page holds; a source beside it is set at 8.5 pt."""
KEPT = {
    "iron": ("sweep", "paving", "drains", "shoes"),
    "sand": ("dust", "damp", "upwind", "breathing protection", "assessment"),
    "water": ("drains", "2 m", "frozen", "sodden", "law and label"),
    "bags": ("25 kg", "truck", "two", "assessment"),
    "services": ("scan", "pipes", "drains", "cables", "plastic", "fibre"),
    "public": ("members", "public", "machines", "swept"),
    "protection": ("certificated", "label", "spray sheet"),
}
"""What each caution asks of a reader, which its one line asks as well."""


def test_a_caution_is_one_line_that_leaves_out_nothing_of_what_is_to_be_done(figures: Figures) -> None:
    """Nine cautions of two to four lines each took a third of a page, and were not read."""
    jobs = log(
        job(MARCH, "fertilising", material="iron feed"),
        job(MARCH, "top dressing", material="sandy"),
        job(MARCH, "fertilising", material="nitrogen"),
        job(MARCH, "fertilising", material="bag 25"),
        job(MARCH, "solid tining", depth_mm=150),
        job(MARCH, "scarifying", hours=6.5),
        job(MARCH, "plant protection"),
    )
    done = figures(material=MATERIALS, job=jobs)
    assert {*KEPT, "vibration"} <= named(done)
    for one in done.cautions:
        assert one.brief, one.text
        assert len(one.brief) + 0.85 * len(one.by or one.source) <= ONE_LINE, one.brief
    for name, words in KEPT.items():
        found = the(done, name)
        assert found is not None
        assert [word for word in words if word not in found.brief] == [], found.brief
