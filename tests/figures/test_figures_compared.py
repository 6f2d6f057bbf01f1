"""The county as ``compare`` reads it from the table of figures: what would be made from the records."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.figures.compared import county_in
from pipeline.indicators.base.reading import read_records
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.thorough import thorough


@pytest.mark.parametrize("names", [NAMES, NAMES[4:1:-1]])
@thorough
def test_the_county_is_read_as_it_would_be_made(figured: Path, demo_county: Workspace, names: tuple[str, ...]) -> None:
    """Groups, figures with their errors and methods, days, laboratories: of both seasons, to the last digit."""
    season = demo_county.season("2026")
    with Store(figured, read_only=True) as store:
        read = county_in(store, season, demo_county, names)
        made = county_of(read_records(store), season, demo_county, names)
    assert read == made
    assert {one.topic.name for of_green in made.now.values() for one in of_green} == set(names)


def test_a_county_of_other_settings_is_not_read(figured: Path, demo_county: Workspace) -> None:
    other = Workspace(demo_county.folder, demo_county.settings.model_copy(update={"currency": "EUR"}))
    with Store(figured, read_only=True) as store:
        assert county_in(store, other.season("2026"), other, NAMES) is None
