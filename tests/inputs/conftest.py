"""The county's store, opened once for the whole folder; each test takes back what it loads."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.inputs.harness import Bench, bench


@pytest.fixture(scope="session")
def county(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A bench that holds two clubs, three greens and three materials."""
    with bench(tmp_path_factory.mktemp("county")) as made:
        yield made
