"""Rules across fields: what a single cell cannot show, each with the line and the whole sentence."""

from __future__ import annotations

import pytest

from pipeline.load.result import FileResult
from tests.conftest import Load

FEED = "spring granular 11-5-5 + 8 Fe"


def told(result: FileResult) -> list[tuple[int, str, str, str]]:
    """(line, code, severity, message) of every fault."""
    return result.faults.select("line", "code", "severity", "message").rows()


def test_dates_to_come_and_dates_before_the_green(county: Load) -> None:
    """A slip in the year makes tomorrow's work or work on a field; both are errors of their line, not of the file."""
    days = ("2026-11-01", "2026-11-02", "1926-05-01", "1926-04-30")
    result = county("log.csv", "Job date,green,operation\n" + "".join(f"{day},ALD-1,mowing\n" for day in days))
    assert [one for one in told(result) if one[1] != "load.day_taken"] == [
        (3, "date.future", "error", "Job date: 2026-11-02 has not come yet."),
        (
            4,  # on the day the green was laid, a hundred years ago: possible, and asked about
            "date.long_ago",
            "warning",
            "Job date: 1 date of more than 50 years ago (1926-05-01 is the first; line 4).",
        ),
        (5, "date.before_green", "error", "Job date: 1926-04-30 is before the green was laid."),
    ]
    assert (result.counts.loaded, result.counts.rejected) == (2, 2)


@pytest.mark.parametrize(
    ("quantity", "product", "nitrogen", "reading"),
    [
        # 225 kg × 11 % / 1600 m² = 15.47 g/m²; 2 × 25 = 50 kg = 31.25 g/m²
        ("225 kg", 141, 15.5, "; it may be 2 × 25 kg run together, which is 50 kg or 31 g/m²"),
        ("300 kg", 188, 20.6, ""),
        ("0.225 t", 141, 15.5, "; it may be 2 × 25 kg run together, which is 50 kg or 31 g/m²"),
    ],
)
def test_a_dose_far_too_large_names_its_likely_reading(
    county: Load, quantity: str, product: int, nitrogen: float, reading: str
) -> None:
    """ "2 25 kg" said aloud becomes 225 kg: the job is kept; line, dose and likely reading are named."""
    result = county("log.csv", f"date,green,operation,material,quantity\n2026-03-16,ALD-1,feeding,{FEED},{quantity}\n")
    kilograms = quantity.removesuffix(" kg") if "kg" in quantity else "225"
    assert told(result) == [
        (
            2,
            "dose.high",
            "warning",
            f"{kilograms} kg is {product} g/m² of product and {nitrogen} g N/m² in one dose, far above the 4.9 g N/m² "
            "held to be the most at once (source: extension leaflet on soluble nitrogen, 1 lb per 1,000 sq ft)"
            f"{reading}.",
        )
    ]
    assert result.counts.loaded == 1


def test_ordinary_doses_and_doses_of_unknown_size_are_not_asked_about(county: Load) -> None:
    """A warning at every feed would be read by nobody: up to 1.5 times the limit passes (7.3 g/m² is 106 kg)."""
    head = "date,green,operation,material,quantity,packs,rate_g_m2,treated_area_m2\n"
    rows = (f"{FEED},2 x 25 kg,,,", f"{FEED},106 kg,,,", f"{FEED},,,,", "70/30 sand and soil,2 t,,,", f"{FEED},,4,,")
    result = county("log.csv", head + "".join(f"2026-03-{10 + i},ALD-1,feed,{row}\n" for i, row in enumerate(rows)))
    assert told(result) == []
    much = (f"{FEED},,5,,", f"{FEED},,,70,", f"{FEED},25 kg,,,300")  # 8.6, 7.7 and 9.2 g N/m²
    result = county("more.csv", head + "".join(f"2026-04-{10 + i},ALD-1,feed,{row}\n" for i, row in enumerate(much)))
    assert [(line, code) for line, code, _, _ in told(result)] == [(2, "dose.high"), (3, "dose.high"), (4, "dose.high")]


def test_a_depth_in_the_wrong_unit_is_asked_about(county: Load) -> None:
    """3 for a solid tine is inches in a column of millimetres; 76 mm is the same depth rightly written."""
    head = "date,green,operation,depth_mm\n"
    rows = ("solid tining,3", "solid tining,76", "scarifying,3", "scarifying,75", "mowing,3", "hollow coring,3 in")
    result = county("log.csv", head + "".join(f"2026-03-{10 + i},ALD-1,{row}\n" for i, row in enumerate(rows)))
    assert told(result) == [
        (2, "depth.odd", "warning", "A working depth of 3 mm is unusual for solid tining (20 to 150 mm is usual)."),
        (5, "depth.odd", "warning", "A working depth of 75 mm is unusual for scarifying (0.5 to 30 mm is usual)."),
    ]


def test_a_treated_area_that_does_not_fit_the_green(county: Load) -> None:
    """160 acres of a bowling green are a slip; a patch turfed is none."""
    head = "date,green,operation,treated_area_m2\n"
    rows = ("mowing,160", "mowing,159", "mowing,2560", "mowing,2561", "turfing,4")
    result = county("log.csv", head + "".join(f"2026-03-{10 + i},ALD-1,{row}\n" for i, row in enumerate(rows)))
    assert told(result) == [
        (3, "area.odd", "warning", "Treated area of 159 m² does not fit the green's own area."),
        (5, "area.odd", "warning", "Treated area of 2561 m² does not fit the green's own area."),
    ]


def test_a_layer_upside_down(county: Load) -> None:
    """A layer from 40 to 20 mm is two cells exchanged; one of no thickness is none."""
    head = "date,green,analyte,depth_from_mm,depth_to_mm,value,unit\n"
    rows = ("2026-02-10,ALD-1,om,40,20,4,%\n", "2026-02-11,ALD-1,om,20,20,4,%\n", "2026-02-12,ALD-1,om,20,40,4,%\n")
    result = county("lab.csv", head + "".join(rows))
    assert told(result) == [
        (2, "depth.order", "error", "The layer ends at 20 mm, above where it begins."),
        (3, "depth.order", "error", "The layer ends at 20 mm, above where it begins."),
    ]


def test_speed_units_and_speeds_nobody_plays_on(county: Load) -> None:
    """A bowl in metres or a ball in seconds has its column or device exchanged; 40 s over 27 m was never timed."""
    head = "date,green,device,value,unit,distance_m\n"
    rows = (
        "timed bowl,12,s,27",
        "timed bowl,12,m,27",
        "stimpmeter,9,s,",
        "stimpmeter,9,ft,",
        "timed bowl,40,s,27",
        ",4,s,",
    )
    result = county("speed.csv", head + "".join(f"2026-06-{10 + i},ALD-1,{row}\n" for i, row in enumerate(rows)))
    found = told(result)
    assert (3, "speed.unit", "error", "A timed bowl is not read in “m”.") in found
    assert (4, "speed.unit", "error", "A stimpmeter is not read in “s”.") in found
    odd = [(line, severity, message) for line, code, severity, message in found if code == "speed.odd"]
    assert odd == [
        (6, "warning", "40 s over 27 m is outside 5 to 25 s."),
        (7, "warning", "4 s over 27 m is outside 5 to 25 s."),
    ]
    assert (result.counts.loaded, result.counts.rejected) == (4, 2)


def test_units_a_result_cannot_be_in(county: Load) -> None:
    """mg/l becomes mg/kg only with a density; pH has no per cent; 120 % organic matter cannot be."""
    head = "date,green,analyte,value,unit,lab\n"
    rows = ("ph,6.1,%,a", "om,120,%,a", "om,1200,g/kg,b", "phosphorus,12,mg/l,a", "ph,1,pH,b", "om,5,mg/l,c")
    result = county("lab.csv", head + "".join(f"2026-02-10,ALD-1,{row}\n" for row in rows))
    assert [(line, code) for line, code, _, _ in told(result)] == [
        (2, "unit.analyte"), (3, "value.analyte"), (4, "value.analyte"), (6, "value.analyte"), (7, "unit.analyte"),
    ]  # fmt: skip
    assert result.counts.loaded == 1
    assert told(result)[1][3] == "Organic matter (loss on ignition) of 120.0 % cannot be: possible is 0 to 100."
    assert told(result)[0][3] == "pH in “%” cannot be stored in pH."


def test_less_than_is_a_figure_nowhere_but_in_a_laboratory(county: Load) -> None:
    """ "<3 h" of work or "<12 s" of a bowl is a limit, not a figure."""
    job = county("log.csv", "date,green,operation,hours\n2026-03-16,ALD-1,mowing,<3\n2026-03-17,ALD-1,mowing,3\n")
    assert told(job) == [(2, "number.below", "error", "hours: “<3.0” is a limit, not a figure.")]
    bowl = county("speed.csv", "date,green,value,unit\n2026-06-20,ALD-1,<12,s\n2026-06-20,ALD-1,12,s\n")
    assert told(bowl) == [(2, "number.below", "error", "value: “<12.0” is a limit, not a figure.")]
    head = "date,green,size_mm,basis,value,unit\n"
    sieve = county("sieve.csv", f"{head}2026-03-04,ALD-1,0.25,passing,<25,%\n2026-03-04,ALD-1,0.5,passing,60,%\n")
    assert told(sieve) == [(2, "number.below", "error", "value: “<25.0” is a limit, not a figure.")]


def test_two_columns_of_one_row_that_contradict_each_other(county: Load) -> None:
    """2 × 25 kg in one column and 60 kg in the next: which is right only the crew knows."""
    head = "date,green,operation,material,quantity,mass_kg\n"
    row = "2026-03-16,ALD-1,feed," + FEED
    result = county("log.csv", f"{head}{row},50 kg,60\n{row},50 kg,50\n{row},50 kg,\n")
    assert [(line, code) for line, code, _, _ in told(result)] == [(2, "shorthand.differs")]
    assert "mass_kg" in told(result)[0][3]
    assert result.counts.loaded == 2


def test_spacing_across_is_that_along_where_one_is_written(county: Load) -> None:
    """Common practice, no source: who writes one spacing means a square pattern."""
    head = "date,green,operation,spacing_along_mm,spacing_across_mm\n"
    result = county("log.csv", head + "2026-03-16,ALD-1,tining,50,\n")
    assert not result.failed


def test_registers_that_contradict_themselves(county: Load) -> None:
    """A mix of 70 and 40 %, a green of 38 × 38 m and 1,600 m²: the one cannot be, the other is asked about."""
    mixes = county("m.csv", "material,sort,sand_pct,soil_pct\na,sand,70,40\nb,sand,70,30.5\nc,sand,70,\n")
    assert told(mixes) == [(2, "mix.too_much", "error", "Sand and soil come to 110 %.")]
    greens = county(
        "g.csv", "green,club,length_m,width_m,area_m2\nBRA-1,ALD,38,38,1700\nBRA-2,ALD,38,38,1444\nBRA-3,ALD,38,,900\n"
    )
    assert told(greens) == [(2, "area.size", "warning", "Length times width is 1444 m², far from the area given.")]


def test_more_hours_than_a_day_has_are_asked_about(county: Load) -> None:
    """90 minutes read as hours, or 12.5 without its point: nobody works more than 24 h a day; a month may have 90 h."""
    rows = ("03-01,90,2", "03-02,48,2", "03-03,90,", "03-04,48,", "03-05,25,1")
    head = "date,green,operation,hours,people\n"
    text = head + "".join(f"2026-{day},ALD-1,mowing,{rest}\n" for day, rest in (row.split(",", 1) for row in rows))
    result = county("log.csv", text + "2026-04,ALD-1,mowing,90,2\n")
    unknown = "90 h of work in one day are more than six people work in 8 h, and how many worked is not told."
    assert [fault for fault in told(result) if fault[1] == "hours.odd"] == [
        (2, "hours.odd", "warning", "90 h of work in one day come to more than 24 for each person (2)."),
        (4, "hours.odd", "warning", unknown),
        (6, "hours.odd", "warning", "25 h of work in one day come to more than 24 for each person (1)."),
    ]
    assert result.counts.loaded == 6
