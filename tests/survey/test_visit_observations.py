"""What a visit measured, frozen for the condition survey: readings with their place, cores to scale, curves, photos."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.store.store import Store
from pipeline.survey.observations import photos_of, visit_observations
from pipeline.survey.visit_observations import VisitObservations
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

DAY = date(2026, 6, 10)
HEAD = "date,green,observed,place,x_m,y_m,method,depth_from_mm,depth_to_mm,layer,value,unit,photo,observer,note\n"


@pytest.fixture
def visit(county: Load, workspace: Workspace, tmp_path: Path) -> VisitObservations:
    """A visit with a core, thatch, roots and a photo, and one a year before by the same method."""
    out = io.BytesIO()
    Image.new("RGB", (300, 200), (90, 130, 60)).save(out, "JPEG")
    (tmp_path / "core.jpg").write_bytes(out.getvalue())
    rows = [
        "2025-06-10,ALD-1,thatch,C1,3,4,core,,,,10,mm,,someone,",
        "2025-06-10,ALD-1,thatch,C2,9,4,core,,,,11,mm,,someone,",
        "2026-06-10,ALD-1,thatch,C1,3,4,core,,,,18,mm,core.jpg,someone,wet",
        "2026-06-10,ALD-1,thatch,C2,9,4,core,,,,19,mm,lost.jpg,someone,",
        "2026-06-10,ALD-1,roots,C1,3,4,core,,,,150,mm,,someone,",
        "2026-06-10,ALD-1,layer,C1,3,4,core,0,18,thatch,,,,someone,",
        "2026-06-10,ALD-1,layer,C1,3,4,core,30,90,sand,,,,someone,coarse",
        "2026-06-10,ALD-1,layer,C2,9,4,core,0,19,thatch,,,,someone,",
    ]
    assert not county("visit.csv", HEAD + "\n".join(rows) + "\n").failed
    assert not county("photos.csv", "date,green,picture,caption\n2026-06-10,ALD-1,core.jpg,Core\n").failed
    with Store(workspace.store, read_only=True) as store:
        records = green_records(read_records(store), "ALD-1", workspace.season("2026"), workspace)
        return visit_observations(records, DAY, photos_of(store, "ALD-1", DAY))


def test_readings_keep_place_and_line_and_are_compared_with_the_visit_before(visit: VisitObservations) -> None:
    thatch = next(one for one in visit.measured if one.figure == "thatch_mm")
    assert (thatch.value, thatch.n, thatch.family, thatch.method) == (18.5, 2, "physical", "core")
    assert [(r.place, r.x_m, r.y_m, r.value, r.note, r.evidence.line) for r in thatch.readings] == [
        ("C1, 3 m across, 4 m along", 3.0, 4.0, 18.0, "wet", 4), ("C2, 9 m across, 4 m along", 9.0, 4.0, 19.0, "", 5),
    ]  # fmt: skip
    assert thatch.change is not None
    found = thatch.change.difference
    assert (thatch.change.since, found.change, found.shown) == (date(2025, 6, 10), 8.0, True)


def test_cores_are_drawn_with_what_nobody_described_left_open(visit: VisitObservations) -> None:
    first, second = visit.profiles
    assert [(one.top_mm, one.bottom_mm, one.name, one.note) for one in first.layers] == [
        (0.0, 18.0, "thatch", ""), (30.0, 90.0, "sand", "coarse"),
    ]  # fmt: skip
    assert first.gaps == ((18.0, 30.0),)
    assert (first.thatch_mm, first.root_mm, first.deepest_mm) == (18.0, 150.0, 150.0)
    assert (second.gaps, second.thatch_mm, second.root_mm, second.deepest_mm) == ((), 19.0, None, 19.0)


def test_photos_of_the_day_come_with_their_caption_and_a_lost_one_is_told(visit: VisitObservations) -> None:
    (photo,) = visit.photos
    assert (photo.file, photo.caption) == ("core.jpg", "Core")
    assert photo.evidence.file == "photos.csv"
    assert visit.notes == ("Readings name photos that were not handed in: lost.jpg.",)


def test_nobody_is_named(visit: VisitObservations) -> None:
    """Who looked is kept out of every report."""
    assert "someone" not in repr(visit)
