"""Small stores that page one is read of: what little is there, by what is not."""

from __future__ import annotations

from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.publish.first_pages import first_pages
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

JOBS = "date,green,operation,material,quantity,hours,cost\n"
DRESSED = "2026-04-10,ALD-1,top dressing,70/30 sand and soil,8 t,4,480\n"
WHOLE = "{0}-10-05,ALD-1,mowing,,,1,{2}\n{1}-09-30,ALD-1,mowing,,,1,{2}\n"
"""Cuts at both ends of a season: its log is whole."""
SPEEDS = "date,green,value,unit,rink\n2026-06-01,ALD-1,12.0,s,1\n2026-06-01,ALD-1,12.1,s,2\n2026-06-09,ALD-1,12.3,s,1\n"
SOIL = (
    "date,green,analyte,depth_from,depth_to,value,unit,method\n"
    "2026-09-01,ALD-1,organic matter,0 mm,20 mm,7.4,%,loss on ignition 440 C\n"
)
TARGETS = "scope,scope_name,season,indicator,band,low,high,unit,source\n"
OF_SPEED = "green,ALD-1,2026,speed_s,,10,15,s,our own\n"
OF_DRESSING = "green,ALD-1,2026,dressing_kg_m2,,4,6,kg/m²,our own\n"
OF_SOIL = "green,ALD-1,2026,organic_matter_pct,0–20 mm,,6,%,our own\n"

WITHOUT_TARGETS = "targets = []\n"
"""Settings of a workspace without a target of anybody's."""
NO_COST = JOBS + WHOLE.format(2025, 2026, "") + DRESSED.replace("480", "")

CASES: dict[str, dict[str, str]] = {
    "no-target-set": {"speeds": SPEEDS, "jobs": JOBS + DRESSED},
    "no-cost-logged": {"jobs": NO_COST, "targets": TARGETS + OF_DRESSING},
    "speeds-only": {"speeds": SPEEDS, "targets": TARGETS + OF_SPEED},
    "soil-only": {"soil": SOIL, "targets": TARGETS + OF_SOIL},
    "first-season": {"jobs": JOBS + DRESSED, "speeds": SPEEDS, "targets": TARGETS + OF_SPEED + OF_DRESSING},
    "nothing-logged": {},
}
"""Files by name of each store that page one has to read right of."""


def season_of(workspace: Workspace, season: str = "2026") -> GreenSeason:
    """The season of the small county's green with its page one, whether anything is on record or not."""
    with Store(workspace.store, read_only=True) as store:
        records, span = read_records(store), workspace.season(season)
        pages = first_pages(store, records, ["ALD-1"], span, workspace)
    return pages.on(green_season(records, "ALD-1", span, workspace))
