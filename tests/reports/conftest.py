"""Each sample season rendered once for the whole run."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest

from reports.condition.render import render
from tests.reports import sample

VERSION = "0.1.0"


@cache
def _rendered(name: str) -> bytes:
    return render(sample.EVERY[name](), version=VERSION)


@pytest.fixture(scope="session")
def pdf_of() -> Callable[[str], bytes]:
    """The PDF of a sample season by its name."""
    return _rendered
