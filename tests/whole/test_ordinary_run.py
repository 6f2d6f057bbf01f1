"""The ordinary run is the same each time: it draws nothing at random."""

from __future__ import annotations

import pytest
from hypothesis import settings

from tests.conftest import property_tests


def test_no_property_test_draws_at_random(request: pytest.FixtureRequest) -> None:
    """A test that fails by chance fails the two commands of the README on somebody's fresh clone."""
    assert settings.default is not None and settings.default.derandomize
    drawing = [
        f"{test.__module__}.{test.__name__}"
        for test in property_tests(request.session.items)
        if not test._hypothesis_internal_use_settings.derandomize
    ]
    assert drawing == []
