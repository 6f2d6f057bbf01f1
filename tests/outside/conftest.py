"""What the tests on open data share: a workspace with their profiles and a register, and files read another way."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import TODAY

PROFILES = Path(__file__).parent / "profiles"


def rows_of(path: Path, encoding: str = "utf-8-sig") -> list[dict[str, str]]:
    """The rows of a file by the standard library alone: what the counts are checked against."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding))))


@dataclass(frozen=True)
class OpenData:
    """The open data files, and a workspace whose register holds the places they name."""

    folder: Path
    workspace: Workspace

    def rows(self, name: str, encoding: str = "utf-8-sig") -> list[dict[str, str]]:
        """Rows of a file, read by the standard library."""
        return rows_of(self.folder / name, encoding)

    def register(self, greens: Iterable[str]) -> None:
        """Put these codes into the register of greens."""
        home = self.workspace.folder
        (home / "clubs.csv").write_text("club,name,region\nOPEN,Open soil data,None\n", "utf-8")
        lines = "".join(f"{green},OPEN,{green}\n" for green in sorted(set(greens)))
        (home / "greens.csv").write_text(f"green,club,name\n{lines}", "utf-8")
        results = load_paths(self.workspace, [home / "clubs.csv", home / "greens.csv"], today=TODAY)
        assert not any(result.failed for result in results)

    def load(self, name: str, **options: Any) -> FileResult:
        """Load one of the files."""
        return load_paths(self.workspace, [self.folder / name], today=TODAY, **options)[0]

    def stored(self, sql: str, *parameters: object) -> list[tuple[Any, ...]]:
        """Rows of a query on the store."""
        with Store(self.workspace.store, read_only=True) as store:
            return store.rows(sql, list(parameters))

    def changes_nothing(self, name: str, first: FileResult, **options: Any) -> None:
        """Check that a second load of the file finds all of the first one's records unchanged."""
        again = self.load(name, **options)
        assert again.counts.changed == 0
        assert again.counts.unchanged == first.counts.loaded + first.counts.unchanged + first.counts.superseded


@pytest.fixture
def open_data(outside_data: Path, workspace: Workspace) -> OpenData:
    """The open data files and a workspace that holds every profile of this folder."""
    for profile in PROFILES.glob("*.toml"):
        shutil.copy(profile, workspace.profiles)
    return OpenData(outside_data, workspace)


@pytest.fixture
def errors() -> Callable[[FileResult], dict[str, int]]:
    """How many errors of each code a load met."""

    def _errors(result: FileResult) -> dict[str, int]:
        found = result.faults.filter(pl.col("severity") == "error").group_by("code").len()
        return dict(found.iter_rows())

    return _errors
