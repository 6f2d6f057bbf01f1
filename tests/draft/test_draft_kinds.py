"""Which kind a draft takes a file for: a kind that is added changes nothing for the files of the others."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.draft import Draft
from pipeline.profiles.profile import kind_of_headers
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS, Kind
from schemas.field import Field
from tests.conftest import Load
from tests.draft.conftest import Drafted
from tests.thorough import beyond

DATE = Field("date", "date", "Day.", required=True, key=True, also=("day",))
GREEN = Field("green", "code", "Green.", required=True, key=True, refers="green", also=("site",))
NOTE = Field("note", "text", "Anything else.", also=("notes", "remarks"))
MINUTES = Field("minutes", "number", "How long.", unit="min", also=("time", "duration"))

WATER = Field("water_l", "number", "Water.", unit="l", also=("water", "litres"))

NARROW = Kind("irrigation_reading", "irrigation readings", "one reading of a meter", value_field="water_l",
              fields=(DATE, GREEN, WATER, MINUTES))  # fmt: skip
"""Needs few fields, and one of figures: a sheet with a column a green gives it all of them."""
WIDE = Kind("walk", "walks", "one walk over a green", value_field="value", value_from=(("hits", "points"),),
            fields=(DATE, GREEN, *(Field(name, "code", name) for name in ("place", "survey", "reference")),
                    *(Field(name, "number", name) for name in ("value", "hits", "points")), MINUTES,
                    Field("observer", "text", "Who.", also=("by", "who")), NOTE))  # fmt: skip
"""Needs no more than a day and a green, which most files have, and knows many names beside."""

SPEEDS = "Date,Rink,ALD-1,Alder Brook\n2026-06-20,3,12.4,13.1\n2026-06-21,4,12.9,12.2\n"
SHEETS = {
    "column a green": (SPEEDS, "green_speed"),
    "jobs by their cells": ("When,Where,What\n3 April 2026,Alder Brook,mown\n4 April 2026,ALD-1,scarified\n", "job"),
    "jobs by names": ("Day,Site,Task,Qty,Time,By\n2026-04-03,ALD-1,mowing,,2,AB\n", "job"),
    "column an analyte": ("Date,Green,pH,LOI %,By\n2026-02-03,ALD-1,5.6,4.8,AB\n", "soil_test"),
    "one analyte": ("Sampled,Green,OM 0-20mm (%)\n2026-02-03,ALD-1,4.8\n", "soil_test"),
    "register": ("green,club,area_m2,shape\nALD-1,ALD,1600,flat\n", "green"),
}


@pytest.fixture(params=[NARROW, WIDE], ids=lambda kind: kind.name)
def extra(request: pytest.FixtureRequest, county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> Kind:
    """A kind more than the product has, its table in the store."""
    kind: Kind = request.param
    monkeypatch.setitem(KINDS, kind.name, kind)
    with Store(workspace.store):
        return kind


def guess(draft: Draft) -> tuple[str, str]:
    return draft.kind, draft.drafted_for


@pytest.mark.parametrize("sheet", SHEETS)
@beyond(2)
def test_a_kind_more_changes_no_guess_of_another(extra: Kind, drafted: Drafted, sheet: str) -> None:
    """A kind that shares day and green, or takes any figure under a green's name, once outdid the right one, or cast
    doubt on it, by columns that both know."""
    text, kind = SHEETS[sheet]
    assert guess(drafted(text)) == (kind, kind)


def test_its_own_file_is_told(extra: Kind, drafted: Drafted) -> None:
    """The rule keeps no kind from its own files."""
    own = {"irrigation_reading": "Day,Site,Litres,Duration", "walk": "Day,Site,Place,Hits,Points,Who"}[extra.name]
    assert guess(drafted(f"{own}\n2026-06-20,ALD-1{',7' * (own.count(',') - 1)}\n")) == (extra.name, extra.name)


def test_a_kind_that_needs_no_more_than_day_and_green_takes_no_file_by_them(extra: Kind) -> None:
    """Loading would have read a laboratory's sheet as records that hold nothing but their day."""
    assert kind_of_headers(["Date", "Green", "pH", "LOI %", "By"]) is None
    assert kind_of_headers(["Date", "Green", "Remarks"]) is None
    assert kind_of_headers(["Date", "Green", "Operation"]) is KINDS["job"]


def test_a_kind_that_is_not_to_be_suggested_is_taken_by_its_headers_alone(
    drafted: Drafted, county: Load, workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where guesses would mislead, a kind says so; its own headers still tell it."""
    monkeypatch.setitem(KINDS, NARROW.name, replace(NARROW, suggested=False))
    with Store(workspace.store):
        pass
    near = "Day,Site,Litres used,Durations\n2026-06-20,ALD-1,7,7\n"
    assert NARROW.name not in guess(drafted(near))
    assert guess(drafted("day,site,litres\n2026-06-20,ALD-1,7\n")) == (NARROW.name, NARROW.name)
    monkeypatch.setitem(KINDS, NARROW.name, NARROW)
    assert guess(drafted(near))[1] == NARROW.name
