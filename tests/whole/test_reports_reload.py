"""The records attached to a report load into an empty store as they are, and give the same figures there."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pikepdf
import pytest

from pipeline.cli.demo import DEMO_DAY
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.records import latest_season, read_records
from pipeline.load.files import load_paths
from pipeline.publish.documents import season_of_green
from pipeline.season.green import green_season, indicators
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.condition.render import render
from reports.page.attachments import csv_files
from tests.conftest import Load

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


def reloaded(folder: Path, attached: dict[str, bytes], done: GreenSeason) -> list[Indicator]:
    """The figures of a new workspace that holds what a report has attached, up to the day the report says."""
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
    with Store(workspace.store, read_only=True) as store:
        every = read_records(store)
    return list(
        indicators(
            replace(green_records(every, done.green, workspace.season(done.season), workspace), as_of=done.as_of)
        )
    )


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


def test_what_a_pdf_has_attached_gives_the_same_figures(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    assert not county("clubs2.csv", "club,name,contact,note\nBIR,Birch Lane,Mr Birch,has not paid\n").failed
    assert not county("greens2.csv", "green,club,name,area_m2\nBIR-1,BIR,Lane green,1400\n").failed
    for name, text in (("jobs.csv", JOBS), ("soil.csv", SOIL), ("speeds.csv", SPEEDS)):
        assert not county(name, text).counts.rejected
    done = season_of_green(workspace, "ALD-1", "2026")
    with pikepdf.open(io.BytesIO(render(done, version="0"))) as document:
        attached = {name: item.get_file().read_bytes() for name, item in document.attachments.items()}
    text = b"\n".join(attached.values()).decode("utf-8")
    for kept_back in ("Smith", "Jones", "4711", "A. Green", "Birch", "BIR", "Mr Birch", "has not paid"):
        assert kept_back not in text
    again = reloaded(tmp_path / "again", attached, done)
    assert any(one.name == "nitrogen_kg_ha" and one.value for one in again)
    same(done, again)


def test_a_green_of_the_demo_gives_the_same_figures_elsewhere(demo_county: Workspace, tmp_path: Path) -> None:
    with Store(demo_county.store, read_only=True) as store:
        every = read_records(store)
    season = latest_season(every, demo_county)
    assert season is not None
    done = green_season(every, "KET-1", season, demo_county)
    assert not done.questions, "rows that were rejected here are not among the records that go along"
    assert len(done.indicators) > 50
    same(done, reloaded(tmp_path / "again", {one.name: one.content for one in csv_files(done)}, done))
