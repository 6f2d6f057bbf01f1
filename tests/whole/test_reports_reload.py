"""The records attached to a report load into an empty store as they are, and give the same figures there."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pikepdf
import pytest

from pipeline.cli.demo import DEMO_DAY
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.load.files import load_paths
from pipeline.publish.documents import season_of_green
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.condition.render import render
from reports.condition.view import view
from reports.page.attachments import csv_files
from tests.conftest import Load
from tests.thorough import THOROUGH, thorough

JOBS = (
    "date,green,operation,material,quantity,depth_mm,passes,hours,logged_by,note\n"
    "2025-10-10,ALD-1,top dressing,70/30 sand and soil,2t,,,3,J. Smith,=1+1\n"
    "2026-03-16,ALD-1,scarifying,,,2-3mm,2,4,J. Smith,gate code 4711\n"
    "2026-03-16,ALD-1,scarifying,,,3-4mm,2,4,K. Jones,gate code 4711\n"
    "2026-03-20,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,2 x 25 kg,,,1,J. Smith,\n"
    "2026-03-21,BIR-1,fertilising,spring granular 11-5-5 + 8 Fe,3 x 25 kg,,,1,J. Smith,\n"
)
SOIL = (
    "date,green,analyte,depth_from_mm,depth_to_mm,extractant,value,unit,burn_c,preparation,lab\n"
    "2025-02-10,ALD-1,organic matter,0,20,,6.1,%,440,whole,Lab A\n"
    "2026-02-10,ALD-1,organic matter,0,20,,5.4,%,440,whole,Lab A\n"
    "2026-02-10,ALD-1,potassium,0,100,Mehlich 3,<20,mg/kg,,,Lab A\n"
    "2026-02-10,BIR-1,organic matter,0,20,,9.9,%,440,whole,Lab A\n"
)
SPEEDS = (
    "date,green,rink,device,value,unit,distance_m,observer\n"
    "2026-06-20,ALD-1,3,timed bowl,12.4,s,27.5,A. Green\n2026-06-20,ALD-1,4,timed bowl,13.1,s,27.5,A. Green\n"
    "2026-06-20,ALD-1,5,timed bowl,12.9,s,27.5,A. Green\n"
)


DAY_PRINTED = re.compile(r"Records up to (\d+ \w+ \d{4})")


def reloaded(folder: Path, attached: dict[str, bytes], green: str, look: Look = ORDINARY) -> GreenSeason:
    """The green in a new workspace that holds what a report has attached, looked at as given and no otherwise."""
    folder.mkdir()
    make_workspace(folder)
    workspace = open_workspace(folder)
    records = {name: content for name, content in attached.items() if name.startswith("records-")}
    for name, content in records.items():
        (folder / "inbox" / name).write_bytes(content)
    results = load_paths(workspace, [folder / "inbox"], today=DEMO_DAY)
    assert len(results) == len(records)
    for one in results:
        assert one.kind == one.file.removeprefix("records-").removesuffix(".csv")
        assert one.counts.loaded == one.counts.rows > 0, one.faults
    return season_of_green(workspace, green, "", look)


def printed_day(season: GreenSeason) -> date:
    """The day up to which records count, as the report's first page says it."""
    found = DAY_PRINTED.search(view(season, version="0").counted.replace("\u00a0", " "))
    assert found
    return datetime.strptime(found[1], "%d %B %Y").replace(tzinfo=UTC).date()


def same(done: GreenSeason, again: list[Indicator]) -> None:
    """Nothing, where each figure is the same; only the lines behind it are of other files now."""
    assert [(one.name, one.band) for one in again] == [(one.name, one.band) for one in done.indicators]
    for before, after in zip(done.indicators, again, strict=True):
        for name in ("value", "low", "high", "target_low", "target_high"):
            was, now = getattr(before, name), getattr(after, name)
            assert now == was or now == pytest.approx(was, rel=1e-9), (before.name, before.band, name)
        bare = {"evidence": (), "value": None, "low": None, "high": None, "target_low": None, "target_high": None}
        assert replace(after, **bare) == replace(before, **bare)  # type: ignore[arg-type]
        assert bool(after.evidence) == bool(before.evidence)  # one line of a wide sheet may hold several


def same_values(done: GreenSeason, again: GreenSeason) -> None:
    """Nothing, where each figure has the same value, interval, target and number of records."""
    found = {(one.name, one.band): one for one in again.indicators}
    assert found.keys() == {(one.name, one.band) for one in done.indicators}
    for one in done.indicators:
        other = found[one.name, one.band]
        for name in ("value", "low", "high", "target_low", "target_high", "n", "unit", "method"):
            was, now = getattr(one, name), getattr(other, name)
            assert now == was or now == pytest.approx(was, rel=1e-9), (one.name, one.band, name)


def of_pdf(done: GreenSeason) -> dict[str, bytes]:
    """What the report has attached."""
    with pikepdf.open(io.BytesIO(render(done, version="0"))) as document:
        return {name: item.get_file().read_bytes() for name, item in document.attachments.items()}


def test_what_a_pdf_has_attached_gives_the_same_figures(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """A season that runs: the records end on the day the report says, so that nothing need be told beside them."""
    assert not county("clubs2.csv", "club,name,contact,note\nBIR,Birch Lane,Mr Birch,has not paid\n").failed
    assert not county("greens2.csv", "green,club,name,area_m2\nBIR-1,BIR,Lane green,1400\n").failed
    for name, text in (("jobs.csv", JOBS), ("soil.csv", SOIL), ("speeds.csv", SPEEDS)):
        assert not county(name, text).counts.rejected
    done = season_of_green(workspace, "ALD-1", "2026")
    attached = of_pdf(done)
    text = b"\n".join(attached.values()).decode("utf-8")
    for kept_back in ("Smith", "Jones", "4711", "A. Green", "Birch", "BIR", "Mr Birch", "has not paid"):
        assert kept_back not in text
    assert printed_day(done) == date(2026, 6, 20)
    again = reloaded(tmp_path / "plain", attached, done.green)
    assert any(one.name == "nitrogen_kg_ha" and one.value for one in again.indicators)
    same(done, list(again.indicators))
    same(done, list(reloaded(tmp_path / "as of", attached, done.green, Look(as_of=printed_day(done))).indicators))


def test_weather_months_registers_by_day_and_a_season_that_is_over(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """The day the report prints is all that must be told beside the records it has attached."""
    texts = {
        "greens2.csv": "green,club,name,area_m2,station,valid_from\nALD-1,ALD,Main green,1600,S1,\n"
        "ALD-1,ALD,,1200,S1,2026-05-01\nALD-1,ALD,,1000,S1,2026-10-03\n",
        "materials2.csv": "material,analysis,analysis_basis,valid_from\n"
        "spring granular 11-5-5 + 8 Fe,9-7-7,oxide,2026-04-01\n",
        "jobs.csv": f"{JOBS}2026-06-20,ALD-1,fertilising,spring granular 11-5-5 + 8 Fe,1 x 25 kg,,,1,J. Smith,\n"
        "2026-10-04,ALD-1,top dressing,70/30 sand and soil,3t,,,3,J. Smith,\n",
        "months.csv": "date,green,operation,passes,hours\n2026-05,ALD-1,slitting,1,2\n2026-06,ALD-1,brushing,1,2\n"
        "2026-09,ALD-1,verticutting,1,2\n",
        "soil.csv": SOIL.replace("2026-02-10,BIR-1,organic matter,0,20", "2026-03,BIR-1,organic matter,20,40"),
        "speeds.csv": SPEEDS,
        "weather.csv": "date,station,tmin_c,tmax_c,rain_mm\n"
        + "".join(f"2026-{month:02}-{day:02},S1,8,19,1\n" for month in (4, 5, 6, 7, 8) for day in range(1, 29)),
    }  # fmt: skip
    for name, text in texts.items():
        assert not county(name, text.replace("BIR-1", "ALD-1")).counts.rejected, name
    looks = (ORDINARY, Look(as_of=date(2026, 6, 14)), Look(as_of=date(2026, 7, 31)))
    for nth, look in enumerate(looks if THOROUGH else looks[:2]):
        done = season_of_green(workspace, "ALD-1", "2026", look)
        day = printed_day(done)
        assert day == (look.as_of or date(2026, 9, 30))
        attached = {one.name: one.content for one in csv_files(done)}
        assert {"records-weather_day.csv", "records-job.csv", "records-green.csv"} < attached.keys()
        again = reloaded(tmp_path / str(nth), attached, done.green, Look(as_of=day))
        assert again.as_of == done.as_of
        assert again.area_m2 == 1200
        same_values(done, again)


@pytest.mark.parametrize("green", ["ALD-1", "ELV-1", "FEN-2", "KET-1", "PEL-1", "TOR-1"])
@thorough
def test_greens_of_the_demo_give_the_same_figures_elsewhere(
    green: str, demo_seasons: tuple[GreenSeason, ...], demo_county: Workspace, tmp_path: Path
) -> None:
    """Of a season that is over, and as of a day within it; rows that were rejected here do not go along."""
    whole = next(one for one in demo_seasons if one.green == green)
    for done in (whole, season_of_green(demo_county, green, "", Look(as_of=date(2026, 6, 14)))):
        attached = {one.name: one.content for one in csv_files(done)}
        again = reloaded(tmp_path / str(done.as_of), attached, green, Look(as_of=printed_day(done)))
        assert len(again.indicators) > 50
        same_values(done, again)
        if not done.questions:
            same(done, list(again.indicators))
