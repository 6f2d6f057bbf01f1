"""The page of indicators is held against what records yield: the demo county, and a county made for the rest."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.records import green_records, read_records
from pipeline.indicators.season import indicators
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from pipeline.workspace.targets import shipped_targets, target_sets
from schemas.codes import code_list
from scripts.docs.indicators import Described, catalogue
from tests.conftest import Load

DESCRIBED = {one.name: one for one in catalogue()}
SEASONS = ("2025", "2026")


def yielded(workspace: Workspace, seasons: tuple[str, ...]) -> Iterator[Indicator]:
    """Every indicator of every green in these seasons."""
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    for season in seasons:
        for green in records.greens["green"]:
            yield from indicators(green_records(records, green, workspace.season(season), workspace))


@pytest.fixture(scope="module")
def demo_indicators(demo_county: Workspace) -> list[Indicator]:
    """What the demo county yields in its last clean season and in the one as it arrives."""
    return list(yielded(demo_county, SEASONS))


def fits(found: Indicator, described: Described) -> bool:
    """Whether an indicator is called and measured as the page says; money is in the workspace's currency."""
    unit = found.unit.replace("GBP", "currency")
    band = bool(found.band) == bool(described.band)
    return (found.label, unit, found.family, band) == (described.label, described.unit, described.family, True)


def test_the_page_tells_of_every_indicator_of_the_demo(demo_indicators: list[Indicator]) -> None:
    """A new indicator nobody explains, or one whose label or unit changed."""
    unknown = {one.name for one in demo_indicators} - set(DESCRIBED)
    assert not unknown, f"scripts/docs/indicators/ does not describe {sorted(unknown)}"
    for one in demo_indicators:
        assert fits(one, DESCRIBED[one.name]), f"{one} is not as {DESCRIBED[one.name]}"


def test_the_page_tells_of_no_indicator_that_cannot_be(demo_indicators: list[Indicator], county: Load,
                                                       workspace: Workspace) -> None:  # fmt: skip
    """An indicator that was taken out, but not off the page."""
    county(
        "more.csv",
        "material,sort,form,mix,bulk_density_t_m3,analysis,analysis_basis,n_release,release_weeks\n"
        "river sand,top dressing,solid,100/0,1.6,,,,\ndrainage gravel,gravel,solid,,,,,,\n"
        "coated feed,fertiliser,solid,,,10-2-4 + 5 CaO + 1 Mn,oxide,quick,6\n",
    )
    county("built.csv", "green,club,name,area_m2,shape,gravel\nALD-1,ALD,Main green,1600,flat,drainage gravel\n")
    assert not county(
        "jobs.csv",
        "date,green,operation,material,quantity,tray_g,tray_cm2,clippings_g_m2\n"
        "2026-03-20,ALD-1,top dressing,70/30 sand and soil,2 t,240,2000,\n"
        "2026-04-20,ALD-1,top dressing,river sand,1 t,,,\n2026-05-20,ALD-1,fertilising,coated feed,50 kg,,,\n"
        "2026-05-21,ALD-1,mowing,,,,,4\n",
    ).failed
    assert not county("soil.csv", laboratory_sheet()).failed
    assert not county("visits.csv", visits_sheet()).failed
    assert not county("sieves.csv", sieves_sheet()).failed
    assert not county("speeds.csv", speeds_sheet()).failed
    made = list(yielded(workspace, ("2026",)))
    for one in made:
        assert fits(one, DESCRIBED[one.name]), f"{one} is not as {DESCRIBED[one.name]}"
    never = set(DESCRIBED) - {one.name for one in (*demo_indicators, *made)}
    assert not never, f"no records yield {sorted(never)}"


def laboratory_sheet() -> str:
    """One result of everything a laboratory may measure, in each unit it may be kept in."""
    lines = ["date,green,analyte,extractant,value,unit,depth_from_mm,depth_to_mm"]
    for name, code in code_list("analyte").items():
        wanted = code.facts["unit"] or "pH"
        for unit in [wanted, "mg/l"] if wanted == "mg/kg" else [wanted]:
            extractant = {"mg/kg": "Mehlich 3", "mg/l": "water"}.get(unit, "")
            lines.append(f"2026-02-10,ALD-1,{name},{extractant},{code.facts['low'] + 1},{unit},0,100")
    return "\n".join(lines) + "\n"


def visits_sheet() -> str:
    """Three readings of everything a visit may measure, on two visits."""
    lines = ["date,green,observed,value,unit,hammer_kg,depth_from_mm,depth_to_mm"]
    for name, code in code_list("observation").items():
        for day in ("2026-04-10", "2026-06-10"):
            for place in range(3):
                ends = "0,12" if name == "layer" else ","
                lines.append(
                    f"{day},ALD-1,{name},{12 if name == 'layer' else 10 + place},{code.facts['unit']},2.25,{ends}"
                )
    return "\n".join(lines) + "\n"


def speeds_sheet() -> str:
    """Both hands of a rink, timed by two people."""
    rows = [
        f"2026-06-20,ALD-1,3,{hand},{value},s,27,{who}\n"
        for hand, value in (("forehand", 12), ("backhand", 12.4))
        for who in ("first", "second")
    ]
    return "date,green,rink,direction,value,unit,distance_m,observer\n" + "".join(rows)


def sieves_sheet() -> str:
    """The same curve as root zone, as dressing and as gravel."""
    sizes = ((0.002, 1.5), (0.05, 3), (0.15, 8), (0.25, 25), (0.5, 75), (1, 95), (2, 99.5), (3.4, 100))
    owners = ("ALD-1,", ",70/30 sand and soil", ",drainage gravel")
    rows = [f"2026-03-04,{owner},{size},passing,{value},%\n" for owner in owners for size, value in sizes]
    return "date,green,material,size_mm,basis,value,unit\n" + "".join(rows)


def test_shipped_targets_are_for_indicators_there_are() -> None:
    """A target whose indicator is misspelt never applies, in silence."""
    for row in shipped_targets(target_sets()):
        described = DESCRIBED[row["indicator"]]
        assert row["unit"] == (described.unit or ("pH" if row["indicator"] == "ph" else ""))
        assert row["source"]
