"""Where the open data lie that some published checks are re-made from."""

import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def outside_data() -> Path:
    """The folder of open data files; the test is skipped where there is none."""
    beside = Path(__file__).parents[2].parent / "shared" / "data"
    folder = Path(os.environ.get("OUTSIDE_DATA", beside))
    if not folder.is_dir():
        pytest.skip("the open data files are not beside the checkout; set OUTSIDE_DATA to their folder")
    return folder
