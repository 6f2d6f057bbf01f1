"""Plain files of one club or one green: its own rows, and nothing by which another could be known."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from pipeline.common.refusal import WrongUsage
from pipeline.copies.only import rows_of
from pipeline.copies.plain import PlainFolder, plain_store
from pipeline.load.files import load_paths
from pipeline.store.store import as_it_stands
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY

FILES = {
    "clubs.csv": "club,name,region\nBRA,Bracken Bowls Club,Ostershire\n",
    "greens.csv": (
        "green,club,name,area_m2,station\nALD-2,ALD,Upper green,1500,hill\nBRA-1,BRA,Bracken green,1444,airfield\n"
    ),
    "materials.csv": "material,sort,form,pack\nonly for Bracken,fertiliser,solid,25 kg\n",
    "jobs.csv": (
        "date,green,operation,material,packs,hours\n2026-03-16,ALD-1,mowing,,,1\n2026-03-16,ALD-2,mowing,,,2\n"
        "2026-03-16,BRA-1,fertilising,only for Bracken,2,3\n"
        "2026-03-17,ALD-2,fertilising,spring granular 11-5-5 + 8 Fe,2,1\n2026-03-18,BRA-1,moing,,,1\n"
        "2026-03-18,ALD-2,moing,,,1\n"
    ),
    "bracken.csv": "date,green,operation,hours\n2026-04-16,BRA-1,mowing,1\n",
    "weather.csv": "date,station,rain_mm\n2026-03-16,hill,1\n2026-03-16,airfield,2\n",
    "targets.csv": (
        "indicator,scope,scope_name,low,high,unit,source\ndressing_kg_m2,club,ALD,3,6,kg/m²,agreed\n"
        "dressing_kg_m2,club,BRA,4,7,kg/m²,agreed\ndressing_kg_m2,green,ALD-2,3,5,kg/m²,agreed\n"
        "dressing_kg_m2,region,Ostershire,2,8,kg/m²,agreed\n"
    ),
    "closed.csv": (
        "green,club,from_day,to_day,occasion,title\n,ALD,2026-05-01,2026-05-02,closed,roof\n"
        ",BRA,2026-05-03,2026-05-04,closed,paint\n"
    ),
    "rates.csv": "rate_of,operation,machine,amount,output_m2_h,holds_from\nlabour,,,26.00,,\n",
}


@pytest.fixture(scope="module")
def county(tmp_path_factory: pytest.TempPathFactory, registers: tuple[Path, Path]) -> Workspace:
    """Two clubs, one with two greens, that share files; to be read, never written."""
    folder = tmp_path_factory.mktemp("county")
    make_workspace(folder)
    shutil.copyfile(registers[1], folder / "store.duckdb")
    here = open_workspace(folder)
    for name, text in FILES.items():
        (folder / "inbox" / name).write_text(text, "utf-8")
        (result,) = load_paths(here, [folder / "inbox" / name], today=TODAY)
        assert result.counts.rejected == (2 if name == "jobs.csv" else 0), (name, result.faults["message"].to_list())
    return here


def given(county: Workspace, folder: Path, **asked: str) -> dict[str, list[dict[str, str]]]:
    """The rows of each table of one club or green, as somebody reads them who was given the folder."""
    (folder / "work").mkdir()
    with as_it_stands(county.store, read_only=True) as con:
        told = list(plain_store(con, PlainFolder(folder / "out"), folder / "work", rows_of(con, **asked)))
    found = {}
    for table, _ in told:
        (path,) = table.paths()
        with (folder / "out" / path).open(encoding="utf-8", newline="") as source:
            found[table.name] = list(csv.DictReader(source))
        assert len(found[table.name]) == table.rows, table.name
    return found


def column(rows: list[dict[str, str]], name: str) -> list[str]:
    """The values of a column."""
    return [row[name] for row in rows]


def test_a_green_gets_its_own_rows(county: Workspace, tmp_path: Path) -> None:
    """Its records, its club's, what its records name; of files it shares the load, not the others' lines."""
    found = given(county, tmp_path, green="ALD-2")
    assert [(row["green"], row["date"]) for row in found["history.job"]] == [
        ("ALD-2", "2026-03-16"),
        ("ALD-2", "2026-03-17"),
    ]
    assert column(found["history.green"], "green") == ["ALD-2"]
    assert column(found["history.club"], "club") == ["ALD"]
    assert column(found["history.material"], "material") == ["spring granular 11-5-5 + 8 Fe"]
    assert column(found["history.weather_day"], "station") == ["hill"]
    assert column(found["history.target"], "scope_name") == ["ALD", "ALD-2", "Ostershire"]
    assert column(found["history.calendar"], "club") == ["ALD"]
    assert [row["line"] for row in found["meta.fault"] if row["severity"] == "error"] == ["7"]
    assert "history.rate" not in found
    assert "bracken.csv" not in column(found["meta.load"], "file")
    assert {"jobs.csv", "weather.csv"} <= {*column(found["meta.load"], "file")}


def test_a_club_gets_all_its_greens_and_no_other_club(county: Workspace, tmp_path: Path) -> None:
    """The name, the green, the material and the hours of the other club stand in none of its files."""
    found = given(county, tmp_path, club="ALD")
    assert sorted(column(found["history.green"], "green")) == ["ALD-1", "ALD-2"]
    assert column(found["history.job"], "green") == ["ALD-1", "ALD-2", "ALD-2"]
    assert column(found["history.target"], "scope_name") == ["ALD", "ALD-2", "Ostershire"]
    content = "".join(path.read_text("utf-8") for path in (tmp_path / "out").rglob("*.csv"))
    assert not [word for word in ("BRA", "Bracken", "airfield", "bracken") if word in content]


def test_every_table_that_is_given_is_one_that_says_whose_its_rows_are(county: Workspace) -> None:
    """Originals, decisions and the log of figures speak of all clubs: a table that is added later stays out as well."""
    with as_it_stands(county.store, read_only=True) as con:
        found = {name for name in rows_of(con, club="ALD") if name.startswith("meta.")}
    assert found == {"meta.load", "meta.fault", "meta.layout"}


@pytest.mark.parametrize("asked", [{"green": "ALD-9"}, {"club": "it's"}])
def test_an_unknown_one_is_said(county: Workspace, asked: dict[str, str]) -> None:
    """Empty files would look like a club without records."""
    with (
        as_it_stands(county.store, read_only=True) as con,
        pytest.raises(WrongUsage, match=f"There is no {next(iter(asked))}"),
    ):
        rows_of(con, **asked)
