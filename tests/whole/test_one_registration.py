"""What a new indicator takes: a description with the function that makes it, and one entry among the families."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pipeline.indicators import families
from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import DefaultTarget, Description, Family
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.reading import read_records
from pipeline.season import green as season
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.condition import render as condition
from reports.page.attachments import csv_files
from reports.page.house_style import HouseStyle
from scripts.docs import indicators as page
from tests.conftest import Load

BARE = Description("deepest_mm", "Deepest hole", "mm", "try_outs", "How deep the work went.", "Largest of the depths.")
AIMED = Description(
    "shallowest_mm", "Shallowest hole", "mm", "try_outs", "How deep the work went at least.", "Least of the depths.",
    decimals=0, targets=(DefaultTarget(50.0, None, "common practice, no source"),),
)  # fmt: skip


def depths(asked: Asked) -> Iterator[Indicator]:
    jobs = asked.in_season(asked.jobs).drop_nulls("depth_mm")
    for rows in asked.each_season(jobs, "job", "depth_mm"):
        depth = rows.column("depth_mm")
        yield BARE.figure(max(depth), rows)
        yield AIMED.figure(min(depth), rows)


@pytest.fixture
def green(county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> GreenSeason:
    """A season with the new family registered."""
    new = Family((BARE, AIMED), depths)
    monkeypatch.setattr(season, "FAMILIES", (*families.FAMILIES, new))
    for one in new.described:
        monkeypatch.setitem(families.DESCRIBED, one.name, one)
    jobs = "date,green,operation,depth_mm\n2026-03-20,ALD-1,solid tining,100\n2026-04-20,ALD-1,solid tining,40\n"
    assert not county("jobs.csv", jobs).failed
    with Store(workspace.store, read_only=True) as store:
        return season.green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)


def test_its_row_stands_in_the_report_without_a_further_edit(green: GreenSeason) -> None:
    """With its heading, its default target and its method; without a target too, when the workspace asks for it."""
    made = condition.html(green, version="1", house=HouseStyle(every_figure=True))
    table = made.partition(">Try outs<")[2].partition("</table>")[0]
    assert "Deepest hole" in table and "Shallowest hole" in table
    assert "off</td>" in table and "no target" in table
    assert "Least of the depths." in made and "common practice, no source" in made


def test_it_stands_in_what_is_attached_and_in_the_documentation(green: GreenSeason) -> None:
    attached = {one.name: one.content.decode() for one in csv_files(green)}
    assert "shallowest_mm,Shallowest hole,,40" in attached["indicators.csv"]
    told = page.page()
    assert "## Try outs" in told and "| `deepest_mm` | Deepest hole | mm |" in told
    assert "| `shallowest_mm` | 50 |  | mm |  | common practice, no source |" in told
