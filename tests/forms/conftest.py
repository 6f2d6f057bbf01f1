"""A small county whose names try what a spreadsheet makes of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.forms.workbook import form_workbook
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.publish.forms import forms_named, registered_names
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY, Load

GREEN = "Alder Brook Bowls Club, Main green (ALD-1)"
"""The county's green as forms offer it."""

Load_ = Callable[..., list[FileResult]]


@pytest.fixture
def form(county: Load, workspace: Workspace, tmp_path: Path) -> Callable[[str], Path]:
    """Writes a form of the small county."""

    def write(name: str) -> Path:
        (one,) = forms_named([name], [])
        path = tmp_path / f"{name}.xlsx"
        path.write_bytes(form_workbook(one, registered_names(workspace)))
        return path

    return write


@pytest.fixture
def load_all(workspace: Workspace) -> Load_:
    """Loads files into the small county; a result for each sheet."""
    return lambda *paths, **options: load_paths(workspace, paths, today=TODAY, **options)
