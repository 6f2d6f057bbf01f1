"""Loads the files of a case into the county's store and takes the loads back, so that one store serves every case."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from shutil import rmtree
from typing import Any

from pipeline.load.load import Loader
from pipeline.load.result import FileResult
from pipeline.profiles.profile import Profile, read_profiles
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace
from schemas import KINDS

FOLDER = Path(__file__).parent
COUNTY = FOLDER / "county"
TODAY = date(2026, 11, 1)


@dataclass(frozen=True)
class Bench:
    """An open store that holds the county, and the workspace whose ``rejected`` folder takes what is rejected."""

    store: Store
    workspace: Workspace

    @contextmanager
    def rehearsal(self, workspace: Workspace | None = None) -> Iterator[Bench]:
        """The same bench; whatever is loaded meanwhile is taken back at the end."""
        with self.store.rehearsal():
            yield replace(self, workspace=workspace or self.workspace)
        rmtree(self.workspace.rejected, ignore_errors=True)  # the store no longer knows whose they are

    def load(
        self, path: Path, profiles: tuple[Profile, ...] = (), *, kind: str = "", profile: str = "", **options: Any
    ) -> FileResult:
        """What loading one file came to, as ``swardtally load`` would say."""
        (result,) = self.load_parts(path, profiles, kind=kind, profile=profile, **options)
        return result

    def load_parts(
        self, path: Path, profiles: tuple[Profile, ...] = (), *, kind: str = "", profile: str = "", **options: Any
    ) -> list[FileResult]:
        """The same of each part of a file that several profiles read."""
        loader = Loader(self.store, self.workspace, profiles, TODAY, **options)
        return [loader.load(part) for part in loader.detect(path, path.name, kind, profile)]

    def records(self, kind: str) -> list[dict[str, Any]]:
        """Records of a kind in force, in the order of loads and lines; of one line, as the store sorts them."""
        return self.store.current(kind).sort("load_id", "line", *KINDS[kind].order, maintain_order=True).to_dicts()


@contextmanager
def bench(folder: Path) -> Iterator[Bench]:
    """A bench with the county loaded, in an empty folder."""
    workspace = Workspace(folder, Settings())
    with Store(Path(":memory:")) as store:
        made = Bench(store, workspace)
        for path in sorted(COUNTY.glob("*.csv")):
            result = made.load(path)
            assert not result.failed, result.faults
        yield made


def profiles_of(case: Path) -> tuple[Profile, ...]:
    """The profiles that lie in a case's folder."""
    return read_profiles(case)
