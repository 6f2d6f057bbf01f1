"""What a file lacks that figures need is told when it is loaded: a product's name, a column of depths."""

from __future__ import annotations

import pytest

from tests.conftest import Load

JOBS = "date,green,operation,material,mass_kg,volume_l\n"
MATERIALS = "material,sort,form,n_pct\nspring feed,fertiliser,solid,9\n"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("fertilising,,50,",
         "Fertilising with an amount (50 kg) and no material: none of its nutrients is in any figure."),
        ("top dressing,,2000,",
         "Top dressing with an amount (2000 kg) and no material: it counts as it was logged, for its "
         "moisture and density are not known."),
        ("wetting agent,,,1.5", "Wetting agent with an amount (1.5 l) and no material: what was put on is not known."),
        ("fertilising,spring feed,50,", ""),
        ("irrigation,,,4000", ""),  # water needs no name
        ("fertilising,,,", ""),  # nothing is said to be put on
    ],
)  # fmt: skip
def test_an_amount_of_nothing_that_is_named_is_told(county: Load, row: str, said: str) -> None:
    county("materials.csv", MATERIALS, kind="material")
    faults = county("jobs.csv", f"{JOBS}2026-04-01,ALD-1,{row}\n", kind="job").faults
    told = faults.filter(faults["code"] == "material.none")
    assert told["message"].to_list() == ([said] if said else [])
    if said:
        assert (told["severity"][0], told["line"][0]) == ("warning", 2)


LAB = "date,green,analyte,value,unit,lab"


@pytest.mark.parametrize(
    ("headers", "cells", "code"),
    [
        ("Depth", "0-100", "header.unused_like"),
        ("Depth (mm)", "100", "header.unused_like"),
        ("Depth,depth_from_mm,depth_to_mm", "0-100,0,100", "header.unused"),  # the fields have columns of their own
        ("Courier", "by van", "header.unused"),
    ],
)
def test_a_column_named_like_empty_measures_is_told(county: Load, headers: str, cells: str, code: str) -> None:
    made = county("lab.csv", f"{LAB},{headers}\n2026-02-10,ALD-1,potassium,80,mg/kg,Lab A,{cells}\n", kind="soil_test")
    (fault,) = [row for row in made.faults.rows(named=True) if row["code"].startswith("header.unused")]
    assert fault["code"] == code
    if code == "header.unused_like":
        assert "depth_from_mm and depth_to_mm stay empty" in fault["message"]
        assert fault["severity"] == "warning"
