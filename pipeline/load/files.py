"""Loading files and folders: what is found in them, registers first."""

from __future__ import annotations

import random
import time
from collections.abc import Iterable, Mapping, Sequence
from contextlib import nullcontext
from datetime import UTC, date, datetime
from pathlib import Path

from pipeline.common.closest import offered
from pipeline.common.interrupt import StoppedAfter, came
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted
from pipeline.load.detect import DetectedFile
from pipeline.load.found import found_in
from pipeline.load.load import Loaded, Loader
from pipeline.load.read_ahead import Ahead, Found, found, reading_ahead
from pipeline.load.result import FileResult
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import Profile, kind_named, read_profiles
from pipeline.store.shared import Overtaken
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS

TRIES = 5
"""Times that a file is tried which another office's writing keeps from being kept."""


def load_paths(
    workspace: Workspace,
    paths: Iterable[Path],
    *,
    kind: str = "",
    profile: str = "",
    dry_run: bool = False,
    complete: tuple[date, date] | None = None,
    today: date | None = None,
    progress: Progress = SILENT,
    given: Mapping[str, str] | None = None,
) -> list[FileResult]:
    """Load files, and all files of folders, registers before facts; grain of the result: file.

    Raises:
        WrongUsage: a path, kind or profile does not exist.
        CannotDo: the store cannot be opened or written.
    """
    files = found_in(paths, workspace.settings.ignore_files, workspace.reports).files
    profiles = profiles_for(workspace, profile)
    kind_named(kind)
    # A rehearsal is a load that is taken back: only so does a log see the registers that came with it.
    rehearsed = dry_run and not workspace.store.exists()
    with (
        Store(Path(":memory:") if rehearsed else workspace.store) as store,
        store.rehearsal() if dry_run else nullcontext(),
    ):
        corrections = read_corrections(workspace.corrections)
        day = today or datetime.now(UTC).date()
        loader = Loader(store, workspace, profiles, day, dry_run, complete, corrections, given or {})
        detected = list(found(loader, files, kind, profile))
        order = {name: i for i, name in enumerate(KINDS)}
        detected.sort(key=lambda one: order[one.kind.name] if one.kind else len(order))
        return _load_all(loader, detected, progress)


def profiles_for(workspace: Workspace, named: str = "") -> tuple[Profile, ...]:
    """Every source profile of the workspace.

    Raises:
        WrongUsage: the one that the person named is not among them.
    """
    profiles = read_profiles(workspace.profiles) if workspace.profiles.is_dir() else ()
    if named and named not in {one.name for one in profiles}:
        names = ", ".join(one.name for one in profiles) or "none yet"
        near = offered(named, [one.name for one in profiles])
        raise WrongUsage(f"There is no profile “{named}”{near}.", f"Profiles in {workspace.profiles}: {names}.")
    return profiles


def _load_all(loader: Loader, detected: Sequence[Found], progress: Progress) -> list[FileResult]:
    """Load files one after the other.

    Raises:
        CannotDo: one could not be loaded, or Ctrl-C came; it says what became of the files before.
    """
    with reading_ahead(loader, detected) as ahead:
        return _each(loader, detected, ahead, progress)


def _each(loader: Loader, detected: Sequence[Found], ahead: Ahead, progress: Progress) -> list[FileResult]:
    done: list[FileResult] = []
    for one in progress.over(detected, len(detected), "Loading"):
        try:
            done += (_load(loader, part) for part in loader.wait_turn(ahead.taken(one)))
        except CannotDo as error:
            raise CannotDo(error.message, f"{error.hint}{_so_far(done, loader)}") from error
        except (KeyboardInterrupt, Exception) as error:
            if not (isinstance(error, KeyboardInterrupt) or came()):
                raise
            whole = isinstance(error, StoppedAfter)
            said = f"Stopped after {one.shown}." if whole else f"Stopped at {one.shown}: nothing of it was changed."
            raise CannotDo(
                said, f"Load the rest when you like.{_so_far(done, loader, one.file if whole else '')}"
            ) from None
    return done


def _load(loader: Loader, one: DetectedFile | Loaded) -> FileResult:
    """Load a file; where another office wrote in spite of the lock, again after a while, which differs by office."""
    for before in range(1, TRIES):
        try:
            return loader.load(one)
        except Overtaken:
            time.sleep(random.uniform(0, before))  # noqa: S311 (no secret)
            (one,) = loader.wait_turn(one)
    return loader.load(one)


def _so_far(done: Sequence[FileResult], loader: Loader, last: str = "") -> str:
    """What became of the files before one that stopped the rest; ``last`` was loaded as the stop came."""
    kept = {one.file for one in done if one.load_id is not None or one.counts.unchanged} | ({last} - {""})
    if loader.dry_run and (done or last):
        return " It was a dry run: nothing was written."
    if not kept:
        return ""
    stay = "stays" if len(kept) == 1 else "stay"
    return f" {counted(len(kept), 'file')} of this call had been loaded by then and {stay} loaded."


def undecided_profiles(workspace: Workspace) -> tuple[str, ...]:
    """Names of the profiles that still say "?" somewhere: files of theirs are refused."""
    profiles = read_profiles(workspace.profiles) if workspace.profiles.is_dir() else ()
    return tuple(profile.name for profile in profiles if profile.undecided)
