"""Descriptions of indicators are held against what records yield: the demo county, and a county made for the rest."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from pipeline.indicators.base.asked import Asked
from pipeline.indicators.base.description import MONEY, NO_PUBLISHED, Description
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.standing import shipped_rows
from pipeline.indicators.families import DESCRIBED, FAMILIES
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from pipeline.workspace.targets import STANDARD, shipped_targets, target_sets
from schemas.codes import analytes, code_list
from tests.conftest import Load

SEASON = "2026"


Yielded = tuple[tuple[Description, ...], Indicator]
"""What a family says it makes, and a figure it made."""


def yielded(workspace: Workspace, season: str) -> Iterator[Yielded]:
    """Every figure of every green in a season."""
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    for green in records.greens["green"]:
        here = green_records(records, green, workspace.season(season), workspace)
        yield from ((family.described, one) for family in FAMILIES for one in family.made(Asked.about([here])))


@pytest.fixture(scope="module")
def demo_figures(demo_county: Workspace) -> list[Yielded]:
    """What the demo county yields in its latest season."""
    return list(yielded(demo_county, SEASON))


def as_described(found: Yielded) -> None:
    """Its family describes it, and name, label, unit, table, digits and band are the description's.

    Money is in the workspace's currency.
    """
    described, one = found
    what = next((known for known in described if known.name == one.name), None)
    assert what is not None, f"{one.name} is not described beside the function that makes it"
    assert DESCRIBED[one.name] is what
    said = (what.label, what.unit.replace(MONEY, "GBP"), what.family, what.decimals, bool(what.band))
    assert (one.label, one.unit, one.family, one.decimals, bool(one.band)) == said, f"{one} is not as {what}"
    assert one.method


def test_every_figure_is_described_and_invents_nothing(demo_figures: list[Yielded]) -> None:
    """A new indicator nobody explains, or one with a label or unit of its own."""
    assert len({one.name for _, one in demo_figures}) > 60
    for found in demo_figures:
        as_described(found)


def test_every_indicator_described_can_be_had(demo_figures: list[Yielded], county: Load, workspace: Workspace) -> None:
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
    made = list(yielded(workspace, SEASON))
    for found in made:
        as_described(found)
    never = set(DESCRIBED) - {one.name for _, one in (*demo_figures, *made)}
    assert not never, f"no records yield {sorted(never)}"


def laboratory_sheet() -> str:
    """One result of everything a laboratory may measure, in each unit it may be kept in."""
    lines = ["date,green,analyte,extractant,value,unit,depth_from_mm,depth_to_mm"]
    for name, code in analytes().items():
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
    """Both hands of a rink, timed by two people, and three rolls of a Stimpmeter each way."""
    rows = [
        f"2026-06-20,ALD-1,3,timed_bowl,{hand},{value},s,27,{who}\n"
        for hand, value in (("forehand", 12), ("backhand", 12.4))
        for who in ("first", "second")
    ]
    rows += [f"2026-06-20,ALD-1,3,stimpmeter,{way},{7.4 + roll / 10},ft,,\n" for way in "NS" for roll in range(3)]
    return "date,green,rink,device,direction,value,unit,distance_m,observer\n" + "".join(rows)


def sieves_sheet() -> str:
    """The same curve as root zone, as dressing and as gravel."""
    sizes = ((0.002, 1.5), (0.05, 3), (0.15, 8), (0.25, 25), (0.5, 75), (1, 95), (2, 99.5), (3.4, 100))
    owners = ("ALD-1,", ",70/30 sand and soil", ",drainage gravel")
    rows = [f"2026-03-04,{owner},{size},passing,{value},%\n" for owner in owners for size, value in sizes]
    return "date,green,material,size_mm,basis,value,unit\n" + "".join(rows)


def test_shipped_targets_are_for_indicators_there_are() -> None:
    """A target whose indicator is misspelt never applies, in silence."""
    for name in target_sets():
        of_set = [(what, row) for what in DESCRIBED.values() for row in shipped_rows(what, name)]
        assert of_set
        assert name == STANDARD or len(of_set) == len(shipped_targets(name))
        for what, row in of_set:
            assert row["unit"] == (what.unit or ("pH" if what.name == "ph" else ""))
            assert row["source"]
            none = (row["low"], row["high"]) in {(None, None), ("", "")}
            assert not none or (name == STANDARD and row["source"] == NO_PUBLISHED), (
                "a reason stands only where no figure does"
            )


def test_an_observation_has_its_default_target() -> None:
    """They stand by the name of the thing, which is not always that of the figure."""
    having = {name for name, one in DESCRIBED.items() if one.targets and one.family in {"sward", "physical"}}
    assert having == {"cover_pct", "desirable_pct", "bare_pct", "thatch_mm", "infiltration_mm_h"}
