"""A zero is a zero, whatever its sign."""

from __future__ import annotations

import math
from pathlib import Path

import duckdb
import polars as pl

from pipeline.common.zeros import one_zero
from pipeline.figures.table import frame_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

WEATHER = (
    "date,station,tmin_c,tmax_c,rain_mm\n"
    "2026-01-01,Airfield,-0.0,4,0\n2026-01-02,Airfield,0.0,4,1\n2026-01-03,Airfield,-1,4,\n"
)


def _signs(values: list[float | None]) -> list[float | None]:
    return [None if one is None else math.copysign(1, one) for one in values]


def test_minus_zero_is_kept_as_zero() -> None:
    done = one_zero(pl.DataFrame({"a": [-0.0, 0.0, -1.5, None, math.nan], "b": ["-0.0", "", "x", None, "0"]}))
    assert _signs(done["a"].to_list()[:4]) == [1, 1, -1, None]
    assert math.isnan(done["a"][4])
    assert done["b"].to_list() == ["-0.0", "", "x", None, "0"]


def test_a_figure_of_minus_zero_is_kept_as_zero() -> None:
    (value,) = frame_of("compared", [{"value": -0.0}])["value"]
    assert math.copysign(1, value) == 1


def test_a_reading_of_minus_zero_is_one_of_zero_and_the_file_may_come_with_either(
    load: Load, workspace: Workspace
) -> None:
    """Else the same reading would have "changed from -0 to 0"."""
    done = load("days.csv", WEATHER)
    assert (done.kind, done.counts.loaded) == ("weather_day", 3), done.faults
    with Store(workspace.store, read_only=True) as store:
        held = store.current("weather_day").sort("date")
    assert _signs(held["tmin_c"].to_list()) == [1, 1, -1]
    with duckdb.connect(str(workspace.store)) as con:  # as a store held it before
        con.execute("UPDATE history.weather_day SET tmin_c = '-0.0'::DOUBLE WHERE tmin_c = 0")
    again = load("later.csv", WEATHER.replace("-0.0", "0"))
    assert (again.counts.unchanged, again.counts.superseded) == (3, 0)


def test_duckdb_writes_one_of_the_two_zeros_for_both_into_a_parquet_file(tmp_path: Path) -> None:
    """Why there is but one here; where DuckDB comes to tell them apart, this may go."""
    path = tmp_path / "zeros.parquet"
    with duckdb.connect() as con:
        con.execute(
            "CREATE TABLE t AS SELECT CASE i % 2 WHEN 0 THEN '-0.0'::DOUBLE ELSE 0.0 END AS x FROM range(2000) AS r(i)"
        )
        con.execute(f"COPY t TO '{path}'")
        ((kept,),) = con.execute(f"SELECT count(DISTINCT CAST(x AS VARCHAR)) FROM '{path}'").fetchall()
    assert kept == 1
