"""What ``show`` prints: what needs a look first, on any width, with no number lost."""

from __future__ import annotations

import io
import json
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from pipeline.cli import app as cli
from pipeline.cli.printing.columns import laid_out, whole, words
from pipeline.cli.printing.figures import figure, target
from pipeline.cli.printing.green import PARTS, Wanted, only, part_of, printed
from pipeline.indicators.base.description import HEADINGS, heading_of
from pipeline.indicators.base.green_season import Change, Evidence, GreenSeason, Indicator, Verdict
from pipeline.indicators.base.judgement import JUDGEMENTS, SoFar, judgement
from pipeline.publish.on_record import on_record
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond, thorough

WIDTHS = (20, 40, 60, 80, 100, 120, 200, 0)
SLIP = (Evidence("jobs.csv", 12, "job", 4),)
JOBS = "date,green,operation,hours\n2024-05-04,ALD-1,mowing,1.5\n2026-06-02,ALD-1,mowing,1\n2026-10-20,ALD-1,mowing,1\n"
Call = Callable[..., tuple[int, str, str]]


def made(name: str, label: str, value: float | None, unit: str = "%", **more: object) -> Indicator:
    standing = {"family": "soil", "standing": "no target", **more}
    return Indicator(name, label, str(standing.pop("band", "")), value, unit, 5, **standing)  # type: ignore[arg-type]


FIGURES = (
    made("dressing_kg_m2", "Top dressing applied", 6.21, "kg/m²", family="dressing", decimals=2, target_low=5.0,
         target_high=8.0, standing="within"),
    made("nitrogen_kg_ha", "Nitrogen (N) applied", 390.0, "kg/ha", family="nutrients", decimals=0, target_low=80.0,
         target_high=110.0, standing="above", questioned=SLIP),
    made("level_deviation_mm", "Largest distance from the mean height", 14.8, "mm", family="levels", target_high=6.0,
         standing="above"),
    made("organic_matter_pct", "Organic matter", 6.2, band="0–20 mm", low=5.4, high=7.0, target_high=6.0,
         standing="above"),
    made("organic_matter_pct", "Organic matter", 5.3, band="20–40 mm", low=4.2, high=6.3, target_high=4.0,
         standing="above"),
    made("organic_matter_trend_pct_year", "Organic matter, change a year", -0.5, "percentage points a year",
         band="0–20 mm", low=-0.8, high=-0.18, decimals=2, verdict=Verdict("falling", "9 samples", 0.01)),
    made("speed_trend_s_year", "Green speed, change a year", 0.1, "s a year", family="speed",
         verdict=Verdict("no clear change", "9 sessions", 0.4)),
    made("cover_pct", "Ground cover, all grasses: point quadrat on lines drawn at random", 94.8, family="sward",
         low=91.0, high=97.0, decimals=0, target_low=95.0, standing="below"),
    made("ph", "pH", 6.0, "", target_low=5.5, target_high=6.5, standing="within"),
    made("potassium_kg_ha", "Potassium (K) applied", 67.0, "kg/ha", family="nutrients", decimals=0),
    made("opened_pct", "Opened, passes added up", None, family="disturbance", band="Slitting"),
)  # fmt: skip


@pytest.fixture
def season(demo_seasons: tuple[GreenSeason, ...]) -> GreenSeason:
    """A season of few figures, one of each sort."""
    return replace(demo_seasons[0], indicators=FIGURES)


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch) -> Call:
    """Runs the command line on a terminal of so many columns, 0 for a pipe."""

    def _call(*given: object, columns: int = 0) -> tuple[int, str, str]:
        streams = io.StringIO(), io.StringIO()
        monkeypatch.setattr(streams[0], "isatty", lambda: bool(columns), raising=False)
        monkeypatch.setattr(sys, "stdout", streams[0])
        monkeypatch.setattr(sys, "stderr", streams[1])
        monkeypatch.setenv("COLUMNS", str(columns or 80))
        monkeypatch.setattr(sys, "argv", ["swardtally", *map(str, given)])
        with pytest.raises(SystemExit) as caught:
            cli.main()
        return int(caught.value.code or 0), *(stream.getvalue() for stream in streams)

    return _call


@pytest.fixture
def place(county: Load, workspace: Workspace) -> Path:
    """A green with a job in seasons 2024, 2026 and three weeks into 2027."""
    assert not county("log.csv", JOBS).failed
    return workspace.folder


def plain(lines: list[str]) -> str:
    return re.sub(r"\s+", " ", " ".join(lines))


PAGES = Path(__file__).with_name("show_pages.txt")
"""What is printed of ``FIGURES``, each page below a line that names its columns."""


@pytest.mark.parametrize("columns", [60, 80, 120])
@beyond(2)
def test_the_page(season: GreenSeason, columns: int) -> None:
    """The whole of it as a person sees it: a change of the page is read here before it is committed."""
    pages = dict(re.findall(r"^=== (\d+) columns\n(.*?)(?=^=== |\Z)", PAGES.read_text("utf-8"), re.S | re.M))
    assert "\n".join(printed(season, columns, Wanted())) + "\n" == pages[str(columns)]
    assert max(map(len, pages[str(columns)].splitlines())) <= columns


def test_every_word_of_judgement_has_one_part() -> None:
    """A word without a part would take its figure off the page."""
    every = {*JUDGEMENTS, *get_args(Change), *get_args(SoFar)}
    assert sorted(word for part in PARTS for word in part.words) == sorted(every)


@pytest.mark.parametrize("columns", WIDTHS)
def test_what_is_off_or_close_always_stands_with_its_numbers(
    demo_seasons: tuple[GreenSeason, ...], columns: int
) -> None:
    """Value, interval and target whole on one line, whatever the width and however many there are."""
    for season in demo_seasons:
        lines = printed(season, columns, Wanted())
        for one in season.indicators:
            if one.value is not None and judgement(one) in ("off", "close"):
                for part in (*figure(one), target(one)):
                    assert any(part in line for line in lines), (season.green, one.label, part)


@pytest.mark.parametrize("columns", WIDTHS)
def test_every_figure_stands_in_all_once(demo_seasons: tuple[GreenSeason, ...], columns: int) -> None:
    """``--all`` is complete: each name once a figure, each label, each number; nothing wider than the terminal."""
    for season in demo_seasons[:4]:
        lines = printed(season, columns, Wanted(every=True, names=True))
        rows = [line.split() for line in lines if line.startswith("  ")]
        names = {one.name for one in season.indicators}
        found = sorted(row[-1] for row in rows if row[-1] in names)
        assert found == sorted(one.name for one in season.indicators)
        text = plain(lines)
        for one in season.indicators:
            assert all(part in text for part in (*figure(one), target(one))), one.label
            assert all(word in text for word in one.label.split() if len(word) <= min(columns or 80, 20) - 4), one.label
        longest = max(len(part) for one in season.indicators for part in (*figure(one), target(one), one.name))
        assert not columns or max(map(len, lines)) <= max(columns, longest + 6)


def test_parts_stand_in_their_order_and_each_figure_in_one(season: GreenSeason) -> None:
    lines = printed(season, 120, Wanted())
    titles = [line for line in lines if re.fullmatch(r"[A-Z][a-z ]+ \(\d+\)", line)]
    assert titles[:3] == ["Off target (3)", "Close to target (2)", "On target (2)"]
    counts = {part: sum(part_of(one) is part for one in FIGURES) for part in PARTS}
    assert sum(counts.values()) == len(FIGURES)


def test_a_question_mark_is_told_once_where_there_is_one(season: GreenSeason) -> None:
    legend = "? rests on an entry to be checked first."
    lines = printed(season, 80, Wanted())
    assert (lines.count(legend), sum("390 kg/ha ?" in line for line in lines)) == (1, 1)
    sound = replace(season, indicators=tuple(replace(one, questioned=()) for one in FIGURES))
    assert legend not in printed(sound, 80, Wanted())


def test_a_line_of_a_file_says_its_heading(season: GreenSeason) -> None:
    """In a pipe each row is one line that can be looked for by its heading."""
    rows = [line for line in printed(season, 0, Wanted()) if line.startswith("  Soil ")]
    assert [re.split(r" {2,}", row.strip())[1] for row in rows if "at most" in row] == [
        "Organic matter, 20–40 mm",
        "Organic matter, 0–20 mm",
    ]


def test_filters_of_page_and_json_are_the_same(season: GreenSeason) -> None:
    for wanted, names in (
        (Wanted(outside=True), ["nitrogen_kg_ha", "level_deviation_mm", "organic_matter_pct"]),
        (Wanted(heading="Feeding"), ["nitrogen_kg_ha", "potassium_kg_ha"]),
        (Wanted(heading="Feeding", outside=True), ["nitrogen_kg_ha"]),
        (Wanted(heading="Weather"), []),
    ):
        assert [one.name for one in only(season, wanted).indicators] == names
        lines = printed(season, 80, replace(wanted, names=True))
        named = [name for name in dict.fromkeys(one.name for one in FIGURES) if any(name in line for line in lines)]
        assert sorted(named) == sorted(set(names))
    assert printed(season, 80, Wanted(heading="Weather"))[1:] == ["", "Nothing is on record under “Weather”."]
    assert printed(season, 80, Wanted(heading="Soil", outside=True))[2] == "Soil"


def test_nothing_off_is_said(season: GreenSeason) -> None:
    """A page that begins with what is on target leaves it open whether the rest was looked at."""
    sound = replace(season, indicators=(FIGURES[0],))
    assert printed(sound, 80, Wanted())[2] == "No figure is off its target or close to it."
    assert printed(sound, 80, Wanted(outside=True))[2] == "No figure is off its target."


def test_words_give_way_and_figures_do_not() -> None:
    rows = [
        (words("a label of several words that is long"), whole("-0.50 percentage points a year", "(-0.80 to -0.18)"))
    ]
    for columns in range(1, 90):
        (lines,) = laid_out(rows, columns, at=0)
        text = "".join(lines)
        for figure_of_it in ("-0.50 percentage points a year", "(-0.80 to -0.18)"):
            assert text.count(figure_of_it) == 1
            text = text.replace(figure_of_it, "")
        assert text.replace(" ", "") == "alabelofseveralwordsthatislong"
        assert max(map(len, lines)) <= max(columns, len("-0.50 percentage points a year") + 4)


def test_a_terminal_without_the_signs_keeps_its_columns(monkeypatch: pytest.MonkeyPatch, season: GreenSeason) -> None:
    """A sign that is replaced by two would push the column of its row to the right."""
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(io.BytesIO(), encoding="ascii"))
    lines = printed(season, 120, Wanted())
    (row,) = (line for line in lines if "kg/m^2" in line)
    (other,) = (line for line in lines if "390 kg/ha" in line)
    assert row.index("5 to 8") == other.index("80 to 110")
    assert all(line.isascii() for line in lines)


@pytest.mark.parametrize(
    "given", ["soil", "SOIL", "Soil", "top DRESSING", "organic_matter", "Organic-matter", "effort"]
)
@beyond(1)
def test_a_heading_by_name_in_any_case(call: Call, place: Path, given: str) -> None:
    code, out, _ = call("show", "ALD-1", "-w", place, "--family", given)
    heading = HEADINGS.get(given.lower(), given.capitalize().replace("-", " "))
    assert code == 0
    assert heading in out.splitlines() or f"Nothing is on record under “{heading}”." in out


def test_a_slip_in_a_heading_names_the_closest(call: Call, place: Path) -> None:
    code, out, err = call("show", "ALD-1", "-w", place, "-f", "sol")
    assert (code, out) == (2, "")
    assert err.startswith("There is no heading “sol”; closest: ")
    assert all(f"{heading} (" in err for heading in HEADINGS.values())


@thorough
def test_json_is_narrowed_by_family_alone(call: Call, place: Path) -> None:
    """--all and --names change the page, not the data; a heading without figures is an empty list."""
    whole_of_it = call("show", "ALD-1", "-w", place, "--json")[1]
    assert call("show", "ALD-1", "-w", place, "--json", "--all", "--names")[1] == whole_of_it
    assert json.loads(call("show", "ALD-1", "-w", place, "--json", "-f", "works")[1]) == json.loads(whole_of_it)
    assert json.loads(call("show", "ALD-1", "-w", place, "--json", "-f", "soil")[1])["indicators"] == []
    assert json.loads(call("show", "ALD-1", "-w", place, "--json", "--outside")[1])["indicators"] == []


def test_evidence_takes_no_filter(call: Call, place: Path) -> None:
    for option in (("--all",), ("--outside",), ("--family", "works")):
        code, out, err = call("show", "ALD-1", "-w", place, "-e", "hours_h", *option)
        assert (code, out) == (2, "")
        assert err.startswith("--evidence names its figures by itself.")


@pytest.mark.parametrize("columns", [40, 60, 80, 120, 0])
@beyond(2)
def test_records_behind_a_figure_fit_the_terminal(call: Call, place: Path, columns: int) -> None:
    code, out, _ = call("show", "ALD-1", "-w", place, "-e", "hours_h", columns=columns)
    text = plain(out.splitlines())
    assert code == 0
    assert "log.csv" in text
    for cell in ("green=ALD-1;", "operation=mowing;", "hours=1", "2026-06-02"):
        assert cell in text
    assert not columns or max(map(len, out.splitlines())) <= columns


def test_it_says_that_newer_records_exist(call: Call, place: Path) -> None:
    """The season just ended is shown in the first weeks of the next: whoever looks for last week must be told."""
    newer = "Records of season 2027 exist too, up to 20 October 2026: --season 2027\n"
    for more in ((), ("-e", "hours_h")):
        _, out, err = call("show", "ALD-1", "-w", place, *more)
        assert "season 2026, as of 30 September 2026" in out
        assert err.endswith(newer)
    assert newer not in call("show", "ALD-1", "-w", place, "-s", "2027")[2]
    assert call("show", "ALD-1", "-w", place, "-q")[2] == ""


def test_a_season_without_any_record_is_refused(call: Call, place: Path) -> None:
    """2030 answered with a page of nothing; a season in between stands on what was before it, and says so."""
    for season in ("2030", "2023"):
        code, out, err = call("show", "ALD-1", "-w", place, "-s", season)
        assert (code, out) == (3, "")
        assert err == f"There is no record of ALD-1 in season {season}.\nOn record: seasons 2024, 2026, 2027.\n"
    code, _, err = call("show", "ALD-1", "-w", place, "-s", "2025")
    assert code == 0
    later = "Records of season 2027 exist too, up to 20 October 2026: --season 2027"
    assert err.splitlines()[-1] == f"Nothing of season 2025 is recorded of ALD-1. {later}"


@thorough
def test_another_greens_records_do_not_choose_the_season(call: Call, county: Load, workspace: Workspace) -> None:
    """A green that was left two years ago is shown in its own last season, one taken on since in its first."""
    greens = "green,club,name,area_m2,shape\nOLD-1,ALD,Old green,1400,flat\nNEW-1,ALD,New green,1400,flat\n"
    assert not county("more_greens.csv", greens).failed
    jobs = "2024-03-02,OLD-1,mowing,1\n2026-10-19,NEW-1,mowing,1\n"
    assert not county("log.csv", JOBS + jobs).failed
    for green, season in (("ALD-1", "2026"), ("OLD-1", "2024"), ("NEW-1", "2027")):
        code, out, _ = call("show", green, "-w", workspace.folder)
        assert code == 0
        assert f"({green}): season {season}," in out
    with Store(workspace.store, read_only=True) as store:
        held = on_record(store, ["ALD-1", "NEW-1", "OLD-1"], workspace.season("2026"))
    assert {green: one.in_season for green, one in held.items()} == {"ALD-1": True, "NEW-1": False, "OLD-1": False}


@thorough
def test_a_report_says_which_greens_have_no_record_of_its_season(
    call: Call, county: Load, workspace: Workspace
) -> None:
    """A report of every green is written all the same: the gap is to be seen, not left out."""
    assert not county("more_greens.csv", "green,club,name,area_m2,shape\nOLD-1,ALD,Old green,1400,flat\n").failed
    assert not county("log.csv", JOBS + "2024-03-02,OLD-1,mowing,1\n").failed
    given = ("report", "--all", "--only", "condition", "--short", "--workers", "1", "-w", workspace.folder)
    code, out, err = call(*given, "-s", "2026")
    assert (code, len(out.splitlines())) == (0, 2)
    assert err.endswith("Nothing of season 2026 is recorded of OLD-1.\n")
    assert "Nothing of" not in call(*given, "-s", "2024")[2]
    assert call("report", "-g", "OLD-1", "-w", workspace.folder, "-s", "2026")[0] == 3


def test_reports_of_a_season_without_any_record_are_refused(call: Call, place: Path) -> None:
    code, out, err = call("report", "--all", "-w", place, "-s", "2030")
    assert (code, out) == (3, "")
    assert err == "There is no record of ALD-1 in season 2030.\nOn record: seasons 2024, 2026, 2027.\n"
    assert not (place / "reports" / "2030").exists()


def test_headings_are_those_of_the_report(demo_seasons: tuple[GreenSeason, ...]) -> None:
    for season in demo_seasons[:3]:
        lines = printed(season, 80, Wanted(every=True))
        titles = [line for line in lines[1:] if line and line[0] not in " ?"]
        held = {heading_of(one.family) for one in season.indicators}
        assert titles == [heading for heading in dict.fromkeys(HEADINGS.values()) if heading in held]


def test_a_green_without_any_record(call: Call, county: Load, workspace: Workspace) -> None:
    """In the register, and nothing yet: that is said, and no season of it can be asked for."""
    assert not county("more_greens.csv", "green,club,name,area_m2,shape\nNEW-1,ALD,New green,1400,flat\n").failed
    assert not county("log.csv", JOBS).failed
    code, out, err = call("show", "NEW-1", "-w", workspace.folder)
    assert (code, err.splitlines()[-1]) == (0, "Nothing is recorded of NEW-1 yet.")
    assert out.startswith("Alder Brook Bowls Club, New green (NEW-1): season 2026,")
    code, out, err = call("show", "NEW-1", "-w", workspace.folder, "-s", "2026")
    assert (code, out) == (3, "")
    assert err == ("There is no record of NEW-1 in season 2026.\nLoad its job log, soil tests or green speeds first.\n")
