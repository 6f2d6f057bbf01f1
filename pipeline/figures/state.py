"""What the figures in a store were made for, held against what there is now: asked before more is imported."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pipeline.common.marks import code_mark, mark
from pipeline.store.derived import RECORDS
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace

MADE_BY = ("swardtally", "polars", "numpy", "scipy")
"""Distributions whose version a figure may depend on."""
CODE = (
    "pipeline/agronomy",
    "pipeline/common",
    "pipeline/compare",
    "pipeline/figures",
    "pipeline/indicators",
    "pipeline/season",
    "pipeline/statistics",
    "pipeline/store",
    "pipeline/workspace",
    "schemas",
)
"""Folders whose code figures are made by."""
SETTINGS = ("season_start", "currency", "targets", "bulk_density_t_m3", "reach_in_seasons", "method_options")
"""Settings that figures follow; others are of documents and of reading files."""
LENGTH = 32
"""Characters of a version: half of a mark tells as many as there will ever be."""


def code_version() -> str:
    """The code that figures are made by, and the versions of what it computes with."""
    return code_mark(CODE, MADE_BY)[:LENGTH]


def settings_version(settings: Settings) -> str:
    """The settings that figures follow."""
    return mark([(name, getattr(settings, name)) for name in SETTINGS])[:LENGTH]


@dataclass(frozen=True)
class State:
    """Whether the figures of a store were made, and whether each of what they follow from is as it was then."""

    made: bool
    records: bool
    settings: bool
    code: bool

    @property
    def fresh(self) -> bool:
        """Whether every figure is of the records as they are, of these settings and of this code."""
        return self.made and self.records and self.settings and self.code

    @property
    def stale(self) -> str:
        """Why they are not to be read; "" where they are fresh."""
        reasons = (
            (self.made, "they have not been made"),
            (self.records, "something was loaded, taken back or decided since they were made"),
            (self.settings, "settings were changed since they were made"),
            (self.code, "another version of the program made them"),
        )
        return next((why for as_it_was, why in reasons if not as_it_was), "")


def state_of(store: Store, settings: Settings) -> State:
    """How the figures of a store stand to its records, these settings and this code."""
    rows = store.rows(f"SELECT records = {RECORDS}, settings_version, code_version FROM derived.state")  # noqa: S608 (SQL of ours)
    if not rows:
        return State(made=False, records=False, settings=False, code=False)
    ((records, of_settings, code),) = rows
    return State(True, records, of_settings == settings_version(settings), code == code_version())


MadeOf = tuple[str, str | None, str]
"""What figures were made of: data, loads (None where a store had not kept them) and code."""
Held = Mapping[tuple[str, str], MadeOf]
"""Green and season → what its figures were made of."""


def held(store: Store) -> dict[tuple[str, str], MadeOf]:
    """The greens and seasons whose figures stand in the store, each with what they were made of."""
    rows = store.rows("SELECT green, season, data_version, loads, code_version FROM derived.green_season ORDER BY ALL")
    return {(green, season): (data, loads, code) for green, season, data, loads, code in rows}


@dataclass(frozen=True)
class Standing:
    """How the figures of a store stand.

    Attributes:
        seasons: greens and seasons whose figures stand there.
        stale: why they are not to be read: "" where they are of the records, settings and code as they are.
        hidden: whether the views leave them out: they are of other records.
    """

    seasons: int
    stale: str
    hidden: bool = False

    def as_json(self) -> dict[str, Any]:
        """The form of ``status --json``."""
        return {"green_seasons": self.seasons, "fresh": not self.stale, "stale": self.stale}


def standing(workspace: Workspace) -> Standing:
    """How the figures of a workspace's store stand."""
    with Store(workspace.store, read_only=True) as store:
        state = state_of(store, workspace.settings)
        return Standing(len(held(store)), state.stale, hidden=not state.records)
