"""Amounts of a line of several greens, shared out by the areas that the register has for its day."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from pipeline.common.faults import concat
from pipeline.profiles.profile import Profile
from pipeline.standardise.frame import Standard
from pipeline.standardise.several.greens import shared_out
from pipeline.store.register import Register


def shares_out(profile: Profile) -> bool:
    """Whether a profile says that such amounts are of all greens together."""
    return "green" in profile.several and profile.several["green"].whole == "shared"


def by_area(standard: Standard, register: Register) -> Standard:
    """The same, with each green's share by area of what adds up; lines with a green of no known area are rejected."""
    areas = register.joined(standard.records, "green", ["area_m2"])["area_m2"]
    records, faults = shared_out(standard.records, areas)
    bad = records.filter(pl.col("line").is_in(faults["line"].unique().implode()))["record"]
    return replace(
        standard,
        records=records,
        rejected=pl.concat([standard.rejected, bad]).unique(maintain_order=True),
        faults=concat([standard.faults, faults]),
    )
