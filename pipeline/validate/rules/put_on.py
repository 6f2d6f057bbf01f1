"""Rules for what was put on: an amount of nothing that is named enters no figure of what it holds, and is told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.validate.rules.amounts import AMOUNTS
from schemas.codes import code_list
from schemas.job import JOB

NO_MATERIAL = FaultKind(
    "material.none",
    "Amount of a material that is not named",
    "{operation} with an amount ({value}) and no material: {lost}.",
    "Write the product as the register of materials names it and load the file again; where all rows of a file are of "
    "one product, say so in its source profile under [constants].",
    severity="warning",
)
LOST = {
    "fertilising": "none of its nutrients is in any figure",
    "top_dressing": "it counts as it was logged, for its moisture and density are not known",
    "overseeding": "what was sown is not known",
    "liming": "what was put on is not known",
    "wetting_agent": "what was put on is not known",
    "moss_treatment": "what was put on is not known",
    "plant_protection": "what was put on is not known",
}
"""Operation that puts a product on → what its figures lack where none is named. Irrigation puts on water."""


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Warnings of jobs with an amount and no material."""
    given = pl.any_horizontal(pl.col(*AMOUNTS) > 0)
    bare = records.filter(given & pl.col("material").is_null() & pl.col("operation").is_in(list(LOST)))
    labels = code_list("operation")
    return concat(
        NO_MATERIAL.at(
            row["line"], _amount(row), "material", operation=labels[row["operation"]].label, lost=LOST[row["operation"]]
        )
        for row in bare.iter_rows(named=True)
    )


def _amount(row: Mapping[str, Any]) -> str:
    """The amount of a job that counts first."""
    name = next(name for name in AMOUNTS if row[name])
    return f"{row[name]:g} {JOB.by_name[name].unit or name}"
