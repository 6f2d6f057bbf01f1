"""Levels from CSV to figures and to what the survey document prints."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from pipeline.agronomy.levels.level_map import LevelMap
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.questions import questions
from pipeline.indicators.surface.height_maps import band_interval_mm
from pipeline.season.green import indicators
from pipeline.store.store import Store
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.levels import level_survey
from pipeline.workspace.settings import Settings, Workspace
from tests.conftest import Load
from tests.indicators.figures import Figures

GREENS = (
    "green,club,name,area_m2,length_m,width_m,shape\n"
    "SQ-1,ALD,Flat,1444,38,38,flat\nCR-1,ALD,Crown,1444,38,38,crown\nUN-1,ALD,Unknown,1444,38,38,\n"
)
DAY = date(2026, 9, 16)
Height = Callable[[float, float], float]


def survey(green: str, height: Height, day: str = "2026-09-16", extra: str = "", step: float = 2) -> str:
    """A level file of a green of 38 × 38 m; ``extra`` is what each line ends in."""
    lines = ["date,green,survey,x_m,y_m,z_mm,accuracy_mm,benchmark"]
    n = round(38 / step)
    for k in range(n + 1):
        for i in range(n + 1):
            x, y = step * i, step * k
            lines.append(f"{day},{green},S,{x:g},{y:g},{height(x, y):.4f},{extra or ','}")
    return "\n".join(lines) + "\n"


def pit(x: float, y: float) -> float:
    """A green level to the millimetre but for one pit of 20 mm at a single point."""
    return 1000.0 - 20.0 * ((x, y) == (10, 20))


def of(figures: Figures, green: str, **files: str) -> dict[tuple[str, str], Indicator]:
    """Figures of levels by name and band."""
    season = figures(green, green=GREENS, **files)
    return {(one.name, one.band): one for one in season.indicators if one.family == "levels"}


def test_figures_of_a_flat_green_with_one_pit(figures: Figures) -> None:
    """400 points, one of them 20 mm low: every figure by hand. Mean −0.05; one point of 400 beyond 6 mm; the pit's own
    ground is 4 m² of the grid, 80 l less the mean, 0.12 t at 1.5 t/m³."""
    found = of(figures, "SQ-1", level=survey("SQ-1", pit))
    value = {name: one.value for (name, _), one in found.items()}
    assert value["level_range_mm"] == pytest.approx(20)
    assert value["level_deviation_mm"] == pytest.approx(19.95)
    assert value["level_within_pct"] == pytest.approx(100 * 399 / 400)
    assert value["level_sd_mm"] == pytest.approx(math.sqrt(400 * (20**2 / 400 - 0.05**2) / 399))
    assert value["level_low_m2"] == pytest.approx(4)
    assert value["level_low_t"] == pytest.approx(1.5 * 4 * 0.01995)
    worst = found["level_deviation_mm", ""]
    assert (worst.standing, worst.target_high) == ("above", 6.0)
    assert worst.note == "At 10.0 m across and 20.0 m along, below the mean."
    assert [one.line for one in worst.evidence] == [2 + 10 * 20 + 5]
    assert len(found["level_sd_mm", ""].evidence) == 400
    assert found["level_low_t", ""].note.startswith("In 7 dressings of at most 3 mm")
    assert not any(name.startswith("crown") for name, _ in found)


def test_every_figure_of_a_survey_under_a_warning_is_in_question(figures: Figures) -> None:
    """A line 60 mm off once left the fall across a rink unmarked, and heights in metres an evenness on target."""
    sound = of(figures, "SQ-1", level=survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5))
    assert not any(one.questioned for one in sound.values())
    found = of(figures, "SQ-1", level=survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5 + 60 * (y == 38)))
    assert len(found) == 13
    (asked,) = {tuple(one.line for one in indicator.questioned) for indicator in found.values()}
    assert len(set(asked) & set(range(2 + 19 * 20, 2 + 20 * 20))) >= 19


def test_a_step_marks_what_rests_on_it_and_so_does_the_survey_before(figures: Figures) -> None:
    """A step is asked about at one line of the earlier survey: what has moved since rests on it, the rest does not."""
    old = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5 + 40 * (y > 20), "2023-03-14", "1,step")
    new = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5, extra="1,step")
    found = of(figures, "SQ-1", level=old + new.partition("\n")[2])
    moved = {name for name, _ in found if "moved" in name or "mean_change" in name}
    assert {name for (name, _), one in found.items() if one.questioned} == moved
    assert [one.line for one in found["level_moved_mm", ""].questioned] == [2 + 11 * 20]


def test_a_tilted_green_is_told_from_an_uneven_one(figures: Figures) -> None:
    """1 mm/m to one side: 38 mm of fall, nothing beside it; each rink falls across and not along."""
    found = of(figures, "SQ-1", level=survey("SQ-1", lambda x, y: 1000 - x))
    assert found["tilt_mm", ""].value == pytest.approx(38)
    assert found["tilt_mm", ""].note.startswith("1.00 mm/m towards 90°")
    assert found["level_plane_sd_mm", ""].value == pytest.approx(0, abs=1e-6)
    assert found["level_rink_fall_mm", ""].value == pytest.approx(0, abs=1e-6)
    assert found["level_rink_crossfall_mm", ""].value == pytest.approx(38 / 7)
    assert found["level_gap_mm", "across"].value == pytest.approx(0, abs=1e-6)


def crown(x: float, y: float) -> float:
    """300 mm from the middle to every corner."""
    return 2000 - 150 * ((x - 19) / 19) ** 2 - 150 * ((y - 19) / 19) ** 2


def test_a_crown_green_is_judged_by_its_crown_alone(figures: Figures) -> None:
    """The flat tolerance on a crown would call nearly the whole green wrong."""
    found = of(figures, "CR-1", level=survey("CR-1", lambda x, y: crown(x, y) - 15 * ((x, y) == (10, 20))))
    names = {name for name, _ in found}
    assert not names & {"level_deviation_mm", "level_within_pct", "tilt_mm", "level_sd_mm", "level_rink_fall_mm"}
    assert found["crown_height_mm", ""].value == pytest.approx(300, abs=0.5)
    assert found["crown_height_mm", ""].standing == "within"
    assert found["crown_quarters_mm", ""].value == pytest.approx(15 / 90.25, rel=0.2)
    assert found["crown_corners_mm", ""].value == pytest.approx(0, abs=0.5)
    assert found["crown_deviation_mm", ""].value == pytest.approx(15, abs=0.1)
    assert found["level_low_m2", ""].value == pytest.approx(4)


def test_a_green_of_unknown_shape_is_not_judged(figures: Figures) -> None:
    """Whoever did not say whether it is a crown green gets figures, and no verdict."""
    found = of(figures, "UN-1", level=survey("UN-1", crown))
    assert "level_within_pct" not in {name for name, _ in found}
    note = found["level_sd_mm", ""].note
    assert note.startswith("The register does not say whether the green is flat or crown")
    assert "The surface rises 300 mm to a crown" in note


def test_too_few_points_make_no_figure(figures: Figures) -> None:
    found = of(figures, "SQ-1", level="\n".join(survey("SQ-1", pit).splitlines()[:6]) + "\n")
    (one,) = found.values()
    assert (one.value, one.n) == (None, 5)
    assert one.note == "Survey of 16 September 2026: 5 points: nothing is made from fewer than 9."


def test_change_since_the_last_survey(figures: Figures) -> None:
    """Sunk by 2 mm as a whole, by 22 at one point; errors of 3 and 4 mm make 9.8 mm detectable."""
    old = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5, "2023-03-14", "3,step")
    new = survey("SQ-1", lambda x, y: 998 + (x * 3 + y) % 5 - 20 * ((x, y) == (10, 20)), extra="4,Step")
    found = of(figures, "SQ-1", level=old + new.partition("\n")[2])
    assert found["level_mean_change_mm", ""].value == pytest.approx(-2.05)
    assert found["level_moved_mm", ""].value == pytest.approx(22)
    share = found["level_moved_pct", ""]
    assert (share.value, share.n) == (pytest.approx(100 / 400), 400)
    assert share.note == "More than 9.8 mm; by chance alone 5 % of points would, and no more did."


@pytest.mark.parametrize(("moved", "said"), [(12, "would, and no more did."), (24, "of points would.")])
def test_what_chance_gives_stands_beside_what_moved(figures: Figures, moved: int, said: str) -> None:
    """12 of 400 points are 3 %, fewer than the 5 % that errors alone put there; 24 are 6 %."""
    old = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5, "2023-03-14", "1,step")
    new = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5 - 20 * (10 * x + y / 2 < moved), extra="1,step")
    share = of(figures, "SQ-1", level=old + new.partition("\n")[2])["level_moved_pct", ""]
    assert (share.value, share.label) == (pytest.approx(moved / 4), "Points that changed by more than the error")
    assert share.note.endswith(said)


def test_change_without_error_or_benchmark_says_what_it_cannot(figures: Figures) -> None:
    """Another benchmark makes the mean change unknown; no error makes movement unknown: neither is zero."""
    old = survey("SQ-1", pit, "2023-03-14", ",step")
    new = survey("SQ-1", lambda x, y: pit(x, y) + 500, extra=",kerb")
    found = of(figures, "SQ-1", level=old + new.partition("\n")[2])
    assert ("level_mean_change_mm", "") not in found
    assert found["level_moved_mm", ""].value == pytest.approx(0, abs=1e-6)
    assert found["level_moved_pct", ""].value is None
    assert "accuracy_mm" in found["level_moved_pct", ""].note


def test_surveys_of_two_greens_under_one_code_are_doubted(figures: Figures) -> None:
    """Two greens of one size cannot be told by their extent; that nothing of one is found in the other can be seen."""
    old = survey("SQ-1", lambda x, y: 1000 + 10 * math.sin(x / 3) * math.sin(y / 4), "2023-03-14", "2,step")
    new = survey("SQ-1", lambda x, y: 1000 + 10 * math.sin(y / 5) * math.cos(x / 6), extra="2,step")
    found = of(figures, "SQ-1", level=old + new.partition("\n")[2])
    assert "bear no likeness" in found["level_moved_mm", ""].note


def records_of(store: Store, folder: Path, green: str) -> GreenRecords:
    workspace = Workspace(folder, Settings())
    return green_records(read_records(store), green, workspace.season("2026"), workspace)


def surveyed(county: Load, store: Store, folder: Path, green: str, text: str) -> LevelSurvey:
    """What the document prints of a file loaded into the small county."""
    assert not county("green.csv", GREENS).failed
    assert not county("level.csv", text).failed
    found = level_survey(records_of(store, folder, green), DAY)
    assert isinstance(found, LevelSurvey)
    return found


def ground(made: LevelMap) -> float:
    return sum(band.area_m2 for band in made.bands)


def test_a_step_between_two_files_of_one_survey_is_asked_about(
    county: Load, county_store: Store, tmp_path: Path
) -> None:
    """Each file by itself is sound: the question shows among all points, and every figure bears it."""
    assert not county("green.csv", GREENS).failed
    head, *lines = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5 + 40 * (y > 20)).splitlines(keepends=True)
    for name, part in (("near.csv", lines[: 11 * 20]), ("far.csv", lines[11 * 20 :])):
        assert "level.step" not in county(name, head + "".join(part)).faults["code"].to_list()
    records = records_of(county_store, tmp_path, "SQ-1")
    with_doubt = [one for one in indicators(records) if one.family == "levels"]
    assert with_doubt
    asked = [one for one in questions(with_doubt, records) if "lie 40 mm" in one.text]
    assert [(one.place.file, one.place.line) for one in asked] == [("far.csv", 2)]
    assert asked[0].text == "180 points lie 40 mm above where the others' ground goes on."
    assert set(asked[0].labels) == {one.label for one in with_doubt}


def test_the_document_of_a_flat_green(county: Load, county_store: Store, tmp_path: Path) -> None:
    """Figures stand against their targets, the map covers the green, cut and fill are even about the mean."""
    wavy = lambda x, y: 1000 + 9 * math.sin(x / 4) * math.cos(y / 5) - 60 * ((x, y) == (10, 20))  # noqa: E731
    found = surveyed(county, county_store, tmp_path, "SQ-1", survey("SQ-1", wavy, extra="1.5,step"))
    assert (found.n, found.spacing_m, found.as_grid, found.size_m) == (400, pytest.approx(2), True, (38, 38))
    assert (found.tolerance_mm, found.accuracy_mm) == (6.0, 1.5)
    assert {one.standing for one in found.figures if one.name == "level_within_pct"} == {"below"}
    assert len(found.rinks) == len(found.map.rinks_m) + 1 == 7
    assert ground(found.map) == pytest.approx(1444)
    edges = {band.low_mm for band in found.map.bands} | {band.high_mm for band in found.map.bands}
    assert {-6.0, 6.0} <= edges
    assert found.crown is None
    assert [(one.across_m, one.along_m) for one in found.odd] == [(10, 20)]
    assert found.odd[0].evidence.line == 2 + 10 * 20 + 5
    assert sum(low.volume_m3 for low in found.lows) <= found.fill_m3
    assert found.moved is None
    assert found.notes[0].startswith("1 reading far off the points around")


def fill(found: LevelSurvey) -> Indicator:
    """The dressing to fill the lows, as a figure."""
    return next(one for one in found.figures if one.name == "level_low_t")


def test_no_dressing_is_ordered_over_a_step(county: Load, county_store: Store, tmp_path: Path) -> None:
    """Two benchmarks in one survey once ordered tonnes of dressing for the half that the second put lower."""
    stepped = lambda x, y: 1000 + (x * 3 + y) % 5 - 90 * (y > 20)  # noqa: E731
    found = surveyed(county, county_store, tmp_path, "SQ-1", survey("SQ-1", stepped))
    assert (fill(found).value, found.dressing_t) == (None, 0.0)
    assert not any(found.dressed(low) for low in found.lows)
    assert found.not_dressed.startswith(
        "No dressing is ordered: 180 points lie 90 mm below where the others' ground goes"
    )
    assert fill(found).note == found.not_dressed


def test_more_than_a_green_takes_is_not_ordered(county: Load, county_store: Store, tmp_path: Path) -> None:
    """A green that is to be made flat from a dish of 130 mm is relaid, not dressed."""
    dish = lambda x, y: 1000 + 130 * ((x - 19) ** 2 + (y - 19) ** 2) / 722  # noqa: E731
    found = surveyed(county, county_store, tmp_path, "SQ-1", survey("SQ-1", dish))
    assert (fill(found).value, found.dressing_t) == (None, 0.0)
    assert "more than the 10 mm that are dressed in" in found.not_dressed


def test_a_low_too_deep_for_lifts_is_left_out_of_the_order(county: Load, county_store: Store, tmp_path: Path) -> None:
    """A misread decimetre, or a hole: the other lows are dressed, that one is to be looked at."""
    two = lambda x, y: 1000.0 - 20.0 * ((x, y) == (10, 20)) - 100.0 * ((x, y) == (28, 8))  # noqa: E731
    found = surveyed(county, county_store, tmp_path, "SQ-1", survey("SQ-1", two))
    assert [found.dressed(low) for low in found.lows] == [False, True]
    assert found.dressing_t == pytest.approx(found.lows[1].mass_t) == fill(found).value
    assert found.not_dressed == (
        "1 low is deeper than 10 lifts of 3 mm, to 100 mm: no dressing is ordered for that. Check the heights there; "
        "if they are right, the turf is lifted and the ground under it levelled (common practice, no source)."
    )


def test_staff_readings_of_two_files_without_a_line_of_sight(county: Load, county_store: Store, tmp_path: Path) -> None:
    """Each file by itself is sound; one survey of both has two lines of sight, and no figure is made of it."""
    assert not county("green.csv", GREENS).failed
    heads = "date,green,survey,x_m,y_m,staff_mm\n"
    for name, rows, sight in (("near.csv", range(10), 1500), ("far.csv", range(10, 20), 1810)):
        lines = [f"{DAY},SQ-1,S,{2 * i},{2 * k},{sight + (6 * i + 2 * k) % 5}\n" for k in rows for i in range(20)]
        assert not county(name, heads + "".join(lines)).failed
    every = read_records(county_store)
    season = Workspace(tmp_path, Settings()).season_of(DAY)
    said = level_survey(green_records(every, "SQ-1", season, Workspace(tmp_path, Settings())), DAY)
    assert said == (
        "The level survey of 16 September 2026 is not worked out: 200 points lie 310 mm above where the others' ground "
        "goes on: staff readings of two standpoints, whose lines of sight are not given."
    )


def test_the_document_of_a_crown_green_with_a_missing_corner(county: Load, county_store: Store, tmp_path: Path) -> None:
    """No rinks, no tolerance; the corner nobody surveyed is in no band and a note says so."""
    lines = survey("CR-1", crown).splitlines()
    kept = [lines[0]] + [
        one for one in lines[1:] if not (float(one.split(",")[3]) > 24 and float(one.split(",")[4]) > 24)
    ]
    found = surveyed(county, county_store, tmp_path, "CR-1", "\n".join(kept) + "\n")
    assert (found.rinks, found.tolerance_mm, found.as_grid) == ((), None, False)
    assert found.crown is not None
    assert found.crown.height_mm == pytest.approx(300, abs=0.1)
    assert ground(found.map) < 1444 - 30
    assert any("far right corner: the map shows nothing there" in note for note in found.notes)
    assert found.map.marks[-1].what == "top of the crown"


def test_two_surveys_make_a_map_of_what_moved(county: Load, county_store: Store, tmp_path: Path) -> None:
    old = survey("SQ-1", lambda x, y: 1000 + (x * 3 + y) % 5, "2023-03-14", "1,step")
    sink = lambda x, y: 1000 + (x * 3 + y) % 5 - 25 * math.exp(-((x - 20) ** 2 + (y - 20) ** 2) / 40)  # noqa: E731
    text = old + survey("SQ-1", sink, extra="1,step").partition("\n")[2]
    found = surveyed(county, county_store, tmp_path, "SQ-1", text)
    assert found.moved is not None
    assert (found.moved.n, found.moved.since, found.moved.doubtful) == (400, date(2023, 3, 14), False)
    assert found.moved.map is not None
    assert ground(found.moved.map) == pytest.approx(1444)
    sunk = sum(band.area_m2 for band in found.moved.map.bands if band.high_mm <= 0)
    assert 20 < sunk < 400


def test_a_day_without_a_survey_has_no_document(county: Load, county_store: Store, tmp_path: Path) -> None:
    assert not county("green.csv", GREENS).failed
    assert level_survey(records_of(county_store, tmp_path, "SQ-1"), DAY) == ""
    assert not county("level.csv", "\n".join(survey("SQ-1", pit).splitlines()[:6]) + "\n").failed
    words = level_survey(records_of(county_store, tmp_path, "SQ-1"), DAY)
    assert (
        words == "The level survey of 16 September 2026 is not worked out: 5 points: nothing is made from fewer than 9."
    )


def test_bands_keep_the_tolerance_as_an_edge_however_far_heights_reach() -> None:
    """By definition: edges lie at odd halves of the width."""
    for reach in (1, 12, 40, 150, 700):
        halves = 6.0 / band_interval_mm(6.0, reach) - 0.5
        assert halves == pytest.approx(round(halves)) or halves < 0
