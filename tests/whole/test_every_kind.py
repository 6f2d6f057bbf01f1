"""What holds for every kind of record, so that none is forgotten where kinds are gone through."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile

import pytest

from pipeline.indicators import tracing
from pipeline.indicators.base.green_records import GreenRecords, green_records
from pipeline.indicators.base.reading import read_records
from pipeline.season.own_records import own_records
from pipeline.standardise import finish
from pipeline.store.inventory import inventory
from pipeline.store.store import Store
from pipeline.validate import rules
from pipeline.workspace.settings import Settings, Workspace
from schemas import KINDS, Kind
from tests.records import DAY, put, sound
from tests.thorough import beyond, one_in

FACTS = [kind for kind in KINDS.values() if not (kind.register or kind.ahead)]
OF_GREEN = [kind for kind in FACTS if kind.of_green]


@pytest.fixture
def held(every_kind: Path, tmp_path: Path) -> Workspace:
    """A workspace whose store holds one record of every kind, all about green X-1 of club X-1 and station X-1."""
    workspace = Workspace(tmp_path, Settings())
    copyfile(every_kind, workspace.store)
    return workspace


@pytest.fixture(scope="module")
def every_kind(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That store: to be copied, never written."""
    workspace = Workspace(tmp_path_factory.mktemp("every-kind"), Settings())
    with Store(workspace.store) as store:
        for number, kind in enumerate(KINDS.values(), 1):
            station = {"station": "X-1"} if kind.name == "green" else {}
            put(store, kind, sound(kind) | station, number)
    return workspace.store


def records(workspace: Workspace) -> GreenRecords:
    with Store(workspace.store, read_only=True) as store:
        return green_records(read_records(store), "X-1", workspace.season("2026"), workspace)


@pytest.mark.parametrize("kind", one_in(3, FACTS), ids=lambda kind: kind.name)
def test_figures_can_be_made_of_every_kind(held: Workspace, kind: Kind) -> None:
    """A frame that has to be added by hand is one that is forgotten; each row says where it came from."""
    rows = records(held).of(kind.name)
    assert rows.select("date", "file", "line").rows() == [(DAY, f"{kind.name}.csv", 2)]
    assert rows["load_id"].to_list() == [list(KINDS).index(kind.name) + 1]


def test_what_lies_past_the_last_day_counted_is_not_seen(held: Workspace) -> None:
    """A figure of a season knows nothing of the next."""
    past = records(held).having(job=records(held).jobs.clear())
    assert past.of("job").is_empty()
    early = held.season("2025")
    with Store(held.store, read_only=True) as store:
        before = green_records(read_records(store), "X-1", early, held)
    assert [before.of(kind.name).height for kind in OF_GREEN] == [0] * len(OF_GREEN)
    assert before.frames["level"].height == 1


def test_what_a_report_rests_on_goes_with_it(held: Workspace) -> None:
    """A kind left out would drop its records from the attachment, and the same figures could not be had from it."""
    attached = [table.kind for table in own_records(records(held))]
    assert attached == [
        kind.name
        for kind in KINDS.values()
        if kind.attached and kind.name != "material"  # its one job put nothing on
    ]
    kept_back = [kind.name for kind in KINDS.values() if not (kind.attached or kind.ahead)]
    assert kept_back == ["photo", "weather_month"], "a kind that stays out says so, and why no figure rests on it"


@pytest.mark.parametrize("kind", OF_GREEN, ids=lambda kind: kind.name)
@beyond(3)
def test_status_shows_a_green_with_one_record_of_any_kind(tmp_path: Path, kind: Kind) -> None:
    """A green with only levels, sieves or photos stood there as one of which nothing is known."""
    workspace = Workspace(tmp_path, Settings())
    with Store(workspace.store) as store:
        for number, name in enumerate(("club", "green", kind.name), 1):
            put(store, KINDS[name], sound(KINDS[name]), number)
    (green,) = inventory(workspace).greens
    assert (green.green, dict(green.latest), green.last) == ("X-1", {kind.name: "2026-03-16"}, "2026-03-16")


def test_steps_and_rules_belong_to_kinds() -> None:
    """A step filed under a misspelt name would never be taken."""
    for table in (finish._STEPS, rules._OF_KIND, tracing._MADE_OF):
        assert set(table) <= set(KINDS)
