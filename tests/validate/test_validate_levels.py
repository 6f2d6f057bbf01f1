"""Level files from CSV to store: what is wrong with a survey is named, and nothing becomes a wrong map in silence."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

import numpy as np
import polars as pl
import pytest

from pipeline.agronomy.levels.crown import fit_quadratic
from pipeline.agronomy.levels.levels import fit_plane
from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond

HEADER = "date,green,survey,x_m,y_m,z_mm\n"
GREENS = (
    "green,club,name,area_m2,length_m,width_m,shape\n"
    "SQ-1,ALD,Square,1444,38,38,flat\nCR-1,ALD,Crown,1560,40,39,crown\nNO-1,ALD,Unmeasured,,,,flat\n"
)
Height = Callable[[float, float], float]


def points(width: float = 38, length: float = 38, step: float = 2) -> list[tuple[float, float]]:
    """Places of a grid."""
    return [(step * i, step * k) for k in range(int(length / step) + 1) for i in range(int(width / step) + 1)]


def plain(x: float, y: float) -> float:
    """A level green with a little waviness."""
    return 1000 + round(x * 7 + y * 5) % 4


def survey(places: Iterable[tuple[float, float]], green: str = "SQ-1", height: Height = plain, name: str = "A") -> str:
    """A level file."""
    return HEADER + "".join(f"2026-09-16,{green},{name},{x:g},{y:g},{height(x, y):g}\n" for x, y in places)


def told(result: FileResult) -> list[tuple[int | None, str, str]]:
    """Line, code and message of each fault."""
    return result.faults.select("line", "code", "message").rows()


@pytest.fixture
def greens(county: Load) -> Load:
    """The small county with three greens of known and unknown size."""
    assert not county("more_greens.csv", GREENS).failed
    return county


def test_a_whole_survey_loads_without_a_word(greens: Load) -> None:
    """The faults below mean something only if a sound survey has none."""
    result = greens("levels.csv", survey(points()))
    assert (result.kind, result.counts.loaded, told(result)) == ("level", 400, [])
    again = greens("levels_again.csv", survey(points()))
    assert (again.counts.loaded, again.counts.unchanged) == (0, 400)


def test_one_point_twice_with_two_heights_is_named(greens: Load) -> None:
    """The same place of one survey cannot have two heights; both lines are rejected."""
    result = greens("levels.csv", survey(points()) + "2026-09-16,SQ-1,A,4,6,1044\n")
    assert result.counts.rejected == 2
    assert [(line, code) for line, code, _ in told(result) if code != "level.odd"] == [
        (64, "key.twice"),
        (402, "key.twice"),
    ]
    assert told(result)[0][2] == "Line 402 holds the same record (date, green, survey, x m, y m) with other values."


def test_one_point_twice_with_one_height_counts_once(greens: Load) -> None:
    """A point pasted twice is no fault of the survey."""
    result = greens("levels.csv", survey(points()) + "2026-09-16,SQ-1,A,0,0,1000\n")
    assert result.counts.loaded == 400
    assert [code for _, code, _ in told(result)] == ["key.repeated"]


def test_a_missing_corner_is_named(greens: Load) -> None:
    """A map would show a corner nobody surveyed."""
    result = greens("levels.csv", survey(p for p in points() if not (p[0] > 28 and p[1] < 8)))
    assert result.counts.loaded == 400 - 20
    assert (2, "level.corner", "No point near the near right corner of the rectangle around this survey.") in told(
        result
    )


def test_a_hole_in_the_middle_is_named(greens: Load) -> None:
    """The points of a whole rink were lost on the way."""
    result = greens("levels.csv", survey(p for p in points() if not (12 <= p[0] <= 24 and 8 <= p[1] <= 30)))
    (hole,) = told(result)
    assert hole[:2] == (2, "level.hole")
    assert "no point near; the widest gap is at 1" in hole[2]


def test_an_odd_staff_reading_is_named_and_kept(greens: Load) -> None:
    """A decimetre misread: the point stays, the line is told; a real slope of the same size is not."""
    result = greens(
        "levels.csv", survey(points(), height=lambda x, y: plain(x, y) + 4 * x + 100 * ((x, y) == (20, 20)))
    )
    assert told(result) == [(212, "level.odd", "1180 mm is far off the points around it.")]
    assert result.counts.loaded == 400


def test_the_survey_of_a_larger_green_is_refused(greens: Load) -> None:
    """Another green's file under this green's code, and metres that are feet: both are far too large."""
    result = greens("levels.csv", survey(points(48, 48)))
    assert result.counts.loaded == 0
    assert {code for _, code, _ in told(result)} == {"level.extent"}
    assert told(result)[0][2] == (
        "The points span 48.0 × 48.0 m, and the register has SQ-1 as 38 × 38 m: this survey is of another green, or in "
        "another unit."
    )
    feet = greens("feet.csv", survey([(x / 0.3048, y / 0.3048) for x, y in points()], name="B"))
    assert {code for _, code, _ in told(feet)} == {"level.extent"}


def test_a_turned_survey_of_the_right_size_is_not_refused(greens: Load) -> None:
    """The rectangle around a green turned against its grid is larger than the green; the best rotation is not."""
    turned = [(0.8 * x + 0.6 * y + 4e5, -0.6 * x + 0.8 * y + 2e5) for x, y in points()]
    lines = [
        f"2026-09-16,SQ-1,A,{x:.3f},{y:.3f},{plain(u, v)}" for (x, y), (u, v) in zip(turned, points(), strict=True)
    ]
    assert told(greens("levels.csv", HEADER + "\n".join(lines) + "\n")) == []


@pytest.mark.parametrize(
    ("size", "code"), [((42, 38), "level.larger"), ((38, 26), "level.smaller")]
)  # fmt: skip
@beyond(1)
def test_a_survey_rather_too_large_or_too_small_is_a_warning(greens: Load, size: tuple[int, int], code: str) -> None:
    """Points of the bank among them, or half a green: the figures are of other ground than the green."""
    result = greens("levels.csv", survey(points(*size)))
    assert [fault[:2] for fault in told(result)] == [(2, code)]
    assert result.counts.loaded > 0


def test_a_green_of_unknown_size_is_said_to_be_unchecked(greens: Load) -> None:
    """Nothing tells whether the points are of this green: silence would say that they are."""
    (found,) = told(greens("levels.csv", survey(points(), green="NO-1")))
    assert found[1] == "level.size"


@pytest.mark.parametrize(("places", "code"), [(points(4, 2), "level.few"), ([(x, x) for x in range(20)], "level.line")])
@beyond(1)
def test_too_little_for_a_survey_is_a_warning(greens: Load, places: list[tuple[float, float]], code: str) -> None:
    """Six points, and twenty on one line: kept, but no figure comes of them."""
    result = greens("levels.csv", survey(places))
    assert [fault[:2] for fault in told(result)] == [(2, code)]
    assert result.counts.loaded == len(places)


def test_heights_that_differ_too_much_are_asked_about(greens: Load) -> None:
    """Points of the bank, or another unit."""
    found = told(greens("levels.csv", survey(points(), height=lambda x, y: 1000 + 20 * x)))
    assert [fault[:2] for fault in found] == [(2, "level.steep")]


def staff(size: float, apart: float = 0.03) -> str:
    """Readings of a line of sight of this height, that differ so much, in the column of millimetres."""
    lines = survey(points(), height=lambda x, y: round(size + apart * ((x * 7 + y * 5) % 31) / 31, 4))
    return lines.replace("z_mm", "staff_mm", 1)


def test_staff_readings_in_metres_are_refused(greens: Load) -> None:
    """1.234 under staff_mm once made an evenness of 0.0 mm on target; both readings are named."""
    result = greens("levels.csv", staff(1.22))
    assert (result.counts.loaded, {code for _, code, _ in told(result)}) == (0, {"level.sight_low"})
    assert told(result)[0][2] == (
        "As millimetres these staff readings, about 1.23 mm, put the line of sight nearer to the ground than any "
        "instrument stands: in feet they would be about 376 mm and in metres 1,234 mm."
    )


@pytest.mark.parametrize(("size", "apart", "others"), [
    (48.0, 1.0, "in centimetres they would be about 485 mm and in inches 1,231 mm"),
    (122.0, 3.0, "in centimetres they would be about 1,235 mm"),
])  # fmt: skip
@beyond(1)
def test_staff_readings_of_a_line_of_sight_near_the_ground_are_asked_about(
    greens: Load, size: float, apart: float, others: str
) -> None:
    """An instrument on the ground can be read so; inches and centimetres look like it."""
    result = greens("levels.csv", staff(size, apart))
    (line, code, message), *rest = told(result)
    assert (line, code, rest, result.counts.loaded) == (2, "level.sight_near", [], 400)
    assert message.endswith(f": {others}.")


@pytest.mark.parametrize("size", [-10.0, 0.0, 5.0])
@beyond(1)
def test_readings_about_nought_are_no_line_of_sight(greens: Load, size: float) -> None:
    """A receiver on the staff set to nought at one point reads millimetres up and down from it."""
    text = survey(points(), height=lambda x, y: size + round(x * 7 + y * 5) % 30).replace("z_mm", "staff_mm", 1)
    assert told(greens("levels.csv", text)) == []


def test_heights_in_metres_are_refused(greens: Load) -> None:
    """Metres kept as millimetres make the most even green there ever was: it was only asked about, and judged."""
    result = greens("levels.csv", survey(points(), height=lambda x, y: 34.5 + x / 1000))
    assert (result.counts.loaded, {code for _, code, _ in told(result)}) == (0, {"level.not_mm"})
    assert told(result)[0][2] == (
        "As millimetres the heights of this survey differ by 0.038 mm in all, less than any level reads: in decimetres "
        "they would differ by 4 mm, in feet 12 mm and in metres 38 mm."
    )


@pytest.mark.parametrize(("height", "message"), [
    (lambda x, y: 1000.0, "by 0 mm in all, less than those of a green do."),
    (lambda x, y: 100.3 + x / 10, "by 3.8 mm in all, less than those of a green do: in centimetres they would differ "
     "by 38 mm, in inches 97 mm and in decimetres 380 mm."),
])  # fmt: skip
@beyond(1)
def test_heights_that_hardly_differ_are_asked_about(greens: Load, height: Height, message: str) -> None:
    """They may be what they say; whole millimetres of a very even green are."""
    ((line, code, words),) = told(greens("levels.csv", survey(points(), height=height)))
    assert (line, code) == (2, "level.even")
    assert words == f"The heights of this survey differ {message}"


def test_a_crown_in_centimetres_is_asked_about(greens: Load) -> None:
    """Its height was once off target by nine tenths, and nobody was asked."""
    places = [(1.95 * i, 2.0 * k) for k in range(21) for i in range(21)]
    low = lambda x, y: 200 - 15 * ((x - 19.5) / 19.5) ** 2 - 15 * ((y - 20) / 20) ** 2  # noqa: E731
    ((_, code, words),) = told(greens("levels.csv", survey(places, green="CR-1", height=low)))
    assert code == "level.even"
    assert words.endswith("less than those of a crown green do: in centimetres they would differ by 300 mm.")


def test_a_checkerboard_of_two_set_ups_is_named(greens: Load) -> None:
    """Points read in turn from two standpoints 80 mm apart, on ground that differs by 2 mm likewise.

    Of the hundreds of lines the first few are named.
    """
    text = survey(points(), height=lambda x, y: plain(x, y) + 80 * (round(x / 2 + y / 2) % 2))
    ((line, code, words),) = told(greens("levels.csv", text))
    assert (line, code) == (3, "level.step")
    assert words.startswith("The points of lines 3, 5, 7, 9, 11, 13, 15, 17 and 192 more, 200 points, lie 82 mm above")


def test_a_crown_is_not_taken_for_an_outlier_or_a_slope(greens: Load) -> None:
    """300 mm from top to corner is what a crown green is."""
    crown = lambda x, y: 2000 - 150 * ((x - 19.5) / 19.5) ** 2 - 150 * ((y - 20) / 20) ** 2  # noqa: E731
    places = [(1.95 * i, 2.0 * k) for k in range(21) for i in range(21)]
    assert told(greens("levels.csv", survey(places, green="CR-1", height=crown))) == []


def test_staff_readings_become_heights(greens: Load, workspace: Workspace) -> None:
    """The line of sight less the reading, two standpoints; the larger reading is the lower point."""
    header = "date,green,survey,x_m,y_m,staff_mm,sight_mm\n"
    text = header + "".join(
        f"2026-09-16,SQ-1,A,{x:g},{y:g},{sight - plain(x, y):g},{sight}\n"
        for x, y in points()
        for sight in [2500 if y < 20 else 2620]
    )
    result = greens("levels.csv", text)
    assert (result.counts.loaded, told(result)) == (400, [])
    with Store(workspace.store, read_only=True) as store:
        found = store.current("level")
    assert found["z_mm"].to_list() == [plain(x, y) for x, y in found.select("x_m", "y_m").rows()]


def test_staff_readings_of_which_some_lack_the_line_of_sight_are_refused(greens: Load) -> None:
    """Where the instrument was moved, readings cannot be brought together without it."""
    header = "date,green,survey,x_m,y_m,staff_mm,sight_mm\n"
    rows = [f"2026-09-16,SQ-1,A,{x:g},{y:g},1400,{'' if y == 0 else 2500}\n" for x, y in points()]
    result = greens("levels.csv", header + "".join(rows))
    assert [fault[:2] for fault in told(result)] == [(n, "level.sight") for n in range(2, 22)]
    assert result.counts.rejected == 20


def test_a_height_that_contradicts_its_reading_is_refused(greens: Load) -> None:
    header = "date,green,survey,x_m,y_m,z_mm,staff_mm,sight_mm\n"
    result = greens(
        "levels.csv", header + "2026-09-16,SQ-1,A,0,0,1000,1400,2500\n2026-09-16,SQ-1,A,2,0,1101,1400,2500\n"
    )
    assert ("level.differs", 2) in [(code, line) for line, code, _ in told(result)]
    assert result.counts.rejected == 1


def test_a_point_left_blank_was_not_read(greens: Load) -> None:
    """A blank height is no height of zero, and takes a point loaded earlier back."""
    assert greens("levels.csv", survey(points())).counts.loaded == 400
    result = greens("later.csv", HEADER + "2026-09-16,SQ-1,A,4,6,\n2026-09-16,SQ-1,A,99,6,\n")
    assert (result.counts.withdrawn, result.counts.ignored) == (1, 1)


def test_a_wide_grid_needs_one_entry_a_column(greens: Load, workspace: Workspace) -> None:
    """A grid typed as a table: y in the first column, x as header; a profile says each column's x."""
    (workspace.folder / "profiles").mkdir(exist_ok=True)
    entries = "".join(
        f'[[long]]\nfrom = "{x} m"\ninto = "z_mm"\nunit = "m"\nset = {{ x_m = {x} }}\n' for x in range(0, 39, 2)
    )
    profile = (
        'name = "grid sheet"\nkind = "level"\n[match]\nheaders = ["Along", "0 m", "38 m"]\n'
        '[constants]\ndate = "2026-09-16"\ngreen = "SQ-1"\nsurvey = "wide"\n'
        '[fields]\ny_m = "Along"\n' + entries
    )
    (workspace.folder / "profiles" / "grid.toml").write_text(profile)
    text = "Along," + ",".join(f"{x} m" for x in range(0, 39, 2)) + "\n"
    for y in range(0, 39, 2):
        text += f"{y}," + ",".join(f"{plain(x, y) / 1000:.3f}" for x in range(0, 39, 2)) + "\n"
    result = greens("grid.csv", text)
    assert (result.kind, result.counts.loaded, told(result)) == ("level", 400, [])
    with Store(workspace.store, read_only=True) as store:
        found = store.frame("SELECT x_m, y_m, z_mm FROM level WHERE survey = 'wide'")
    assert found["z_mm"].to_list() == pytest.approx([plain(x, y) for x, y in found.select("x_m", "y_m").rows()])
    assert found.select(pl.struct("x_m", "y_m").n_unique()).item() == 400


def test_a_survey_in_feet_and_grid_eastings_tells_the_same(greens: Load, workspace: Workspace) -> None:
    """Eastings of hundreds of kilometres, turned, all in feet, from another benchmark: from the file to the store and
    to the residuals about mean, plane and crown, the same to 0.01 mm."""
    (workspace.folder / "profiles").mkdir(exist_ok=True)
    (workspace.folder / "profiles" / "feet.toml").write_text(
        'name = "feet"\nkind = "level"\n[match]\nheaders = ["E ft", "N ft", "RL ft"]\n'
        '[constants]\ndate = "2026-09-16"\ngreen = "SQ-1"\nsurvey = "feet"\n'
        '[fields]\nx_m = { from = "E ft", unit = "ft" }\ny_m = { from = "N ft", unit = "ft" }\n'
        'z_mm = { from = "RL ft", unit = "ft" }\n'
    )
    wavy = lambda x, y: 4 * plain(x, y)  # noqa: E731
    cos, sin = math.cos(math.radians(33)), math.sin(math.radians(33))
    lines = ["E ft,N ft,RL ft"]
    for x, y in points():
        east, north = 612_300 + x * cos + y * sin, 267_800 - x * sin + y * cos
        lines.append(f"{east / 0.3048:.8f},{north / 0.3048:.8f},{(wavy(x, y) + 41_237.5) / 304.8:.8f}")
    assert greens("plain.csv", survey(points(), height=wavy)).counts.loaded == 400
    assert told(greens("feet.csv", "\n".join(lines) + "\n")) == []
    left = []
    for name in ("A", "feet"):
        with Store(workspace.store, read_only=True) as store:
            rows = store.frame("SELECT x_m, y_m, z_mm, line FROM level WHERE survey = $name", by=["line"], name=name)
        x, y, z = (rows[one].to_numpy() for one in ("x_m", "y_m", "z_mm"))
        left.append((z - z.mean(), z - fit_plane(x, y, z).at(x, y), z - fit_quadratic(x, y, z).at(x, y)))
    for one, other in zip(*left, strict=True):
        assert np.abs(one - other).max() < 0.01
