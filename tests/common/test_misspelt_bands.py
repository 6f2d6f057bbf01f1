"""A band, laboratory, station, alias or ignored column that nothing bears is told with the closest right one."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.findings.findings import rules
from pipeline.load.result import FileResult
from pipeline.profiles.profile import read_profile
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import TODAY
from tests.laid import laid

RULE = '[[rule]]\nid = "own"\nfinding = "x"\nmay_mean = "x"\nhelps = "x"\nsource = "x"\n[[rule.all]]\nat_least = 5\n'
SOIL = "date,green,analyte,extractant,lab,value,unit\n2026-02-10,ALD-1,potassium,mehlich 3,North Laboratory,61,mg/kg\n"


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """A workspace with a green, weather of one station and a result of one laboratory."""
    (tmp_path / "settings.toml").write_text("", "utf-8")
    here = open_workspace(tmp_path)
    here.profiles.mkdir(exist_ok=True)
    for name, text in {
        "clubs.csv": "club,name\nALD,Alder Brook\n",
        "greens.csv": "green,club,name\nALD-1,ALD,Main\n",
        "weather.csv": "station,date,rain_mm\nOstershire airfield,2026-06-01,1.2\n",
        "soil.csv": SOIL,
    }.items():
        assert not load(here, name, text).failed, name
    return here


def load(here: Workspace, name: str, text: str) -> FileResult:
    """What a file of this text came to."""
    (here.folder / name).write_text(text, "utf-8")
    return laid(here, here.folder / name, today=TODAY)


def told(result: FileResult, code: str) -> list[tuple[int | None, str, str]]:
    """Line, severity and message of the faults of a code."""
    return result.faults.filter(pl.col("code") == code).select("line", "severity", "message").rows()


@pytest.mark.parametrize(
    ("condition", "said"),
    [
        ('indicator = "dressing_kg_m2"\nband = "0*"', "dressing_kg_m2 has no bands, and the condition asks for '0*'"),
        (
            'indicator = "potassium_mg_kg"\nband = "Melich 3"',
            "potassium_mg_kg has no band like 'Melich 3'; closest: Mehlich 3",
        ),
    ],
)
def test_a_band_of_a_rule_that_there_is_not(condition: str, said: str, tmp_path: Path) -> None:
    """Such a rule would hold for no green, and nobody would know."""
    (tmp_path / "own.toml").write_text(RULE + condition, "utf-8")
    with pytest.raises(CannotDo) as refused:
        rules(tmp_path)
    assert said in refused.value.message


def test_a_band_of_a_rule_that_there_is(tmp_path: Path) -> None:
    """A pattern that one band fits, and a depth, are let in."""
    fits = 'indicator = "potassium_mg_kg"\nband = "Mehlich*"\n[[rule.all]]\nat_least = 5\n'
    (tmp_path / "own.toml").write_text(f'{RULE}{fits}indicator = "organic_matter_pct"\nband = "0–20 mm"\n', "utf-8")
    assert [one.band for one in rules(tmp_path)[-1].all] == ["Mehlich*", "0–20 mm"]


def test_a_band_and_a_laboratory_of_a_target_that_there_are_not(workspace: Workspace) -> None:
    """A band of a closed list is refused; a laboratory may still send results, and is asked about."""
    head = "indicator,scope,band,low,high,unit,lab,source\n"
    result = load(
        workspace,
        "targets.csv",
        f"{head}potassium_mg_kg,standard,Melich 3,50,,mg/kg,,own\n"
        "potassium_mg_kg,standard,Mehlich 3,50,,mg/kg,North Labratory,own\n"
        "potassium_mg_kg,standard,Mehlich 3,50,,mg/kg,North Laboratory,own\n",
    )
    ((line, severity, message),) = told(result, "target.band")
    assert (line, severity) == (2, "error")
    assert message.startswith("potassium_mg_kg has no band “Melich 3”: bands are ")
    assert message.endswith("; closest: Mehlich 3.")
    assert told(result, "target.lab") == [
        (
            3,
            "warning",
            "There are no results of a laboratory “North Labratory”; closest: North Laboratory.",
        )
    ]


def test_a_station_that_no_weather_is_of(workspace: Workspace) -> None:
    """The green's report would have no weather beside its works, and not say why."""
    result = load(
        workspace,
        "more.csv",
        "green,club,name,station\nALD-2,ALD,Upper,Ostershire airfeild\nALD-3,ALD,Lower,Ostershire airfield\n",
    )
    assert told(result, "green.station") == [
        (2, "warning", "There is no weather of a station “Ostershire airfeild”; closest: Ostershire airfield.")
    ]
    assert not result.failed


PROFILE = """name = "crew"
kind = "job"
match = {{ headers = ["Day", "Where", "What"] }}
[fields]
date = "Day"
green = "Where"
operation = "What"
[aliases.{list}]
spiked = "{code}"
[ignore]
headers = ["{ignored}", "Wether"]
"""


@pytest.mark.parametrize("name", ["operation"])
def test_an_alias_for_a_word_that_is_in_no_list(name: str, tmp_path: Path) -> None:
    """The cells that it is meant for would be refused one by one, as if there were no alias."""
    path = tmp_path / "crew.toml"
    path.write_text(PROFILE.format(list=name, code="solid_tinning", ignored="Blok"), "utf-8")
    with pytest.raises(CannotDo) as refused:
        read_profile(path)
    assert "aliases.operation: 'spiked' stands for 'solid_tinning', which is no operation; closest: solid" in str(
        refused.value.message
    )


def test_an_ignored_column_that_the_file_has_under_a_like_name(workspace: Workspace) -> None:
    """A slip under [ignore] is told where a column like it is there; one that this file merely lacks is not."""
    (workspace.profiles / "crew.toml").write_text(
        PROFILE.format(list="operation", code="solid_tining", ignored="Blok"), "utf-8"
    )
    result = load(workspace, "crew.csv", "Day,Where,What,Block\n2026-05-01,ALD-1,spiked,7\n")
    assert told(result, "header.ignored_misspelt") == [
        (
            None,
            "warning",
            "Profile crew says under [ignore] that “Blok” is not needed; the file has no such column, and Block is not "
            "used.",
        )
    ]
    assert result.counts.loaded == 1
