"""A store made anew from the kept originals alone, each file read by the rules that held when it was loaded."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from pydantic import ValidationError

from pipeline.common.misfits import misfits
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import toml_of
from pipeline.load.detect import DetectedFile
from pipeline.load.load import Loader
from pipeline.load.result import FileResult
from pipeline.load.sources import CALL, FILE, WHEN
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import read_profiles
from pipeline.store.decisions import decisions_of, follow
from pipeline.store.proof.originals import Altered, kept_bytes, kept_told
from pipeline.store.proof.rules import RULES, Rules, kept_rules
from pipeline.store.store import Store
from pipeline.verify.carried_over import carry_over
from pipeline.workspace.settings import SETTINGS, Settings, Workspace
from schemas import KINDS

OUTSIDE = "from elsewhere"
"""Folder for files that lay outside their workspace."""


@dataclass
class Rebuilt:
    """A store made from originals.

    Attributes:
        store: the store.
        numbers: number of each load here → in the store it was rebuilt from.
        results: what each load came to, by its number there.
        unread: loads that could not be read again, by their number there, and why.
        carried: loads whose originals were never kept; their records were copied.
    """

    store: Store
    numbers: dict[int, int] = field(default_factory=dict)
    results: dict[int, FileResult] = field(default_factory=dict)
    unread: dict[int, str] = field(default_factory=dict)
    carried: frozenset[int] = frozenset()


@contextmanager
def rebuilt(store: Store, progress: Progress = SILENT) -> Iterator[Rebuilt]:
    """The store that the kept originals of another make, in a folder of its own that is gone afterwards.

    Loads are read in order of their numbers, each under the rules, corrections and decisions of its own time. Those
    that were taken back are left out. Loads of a store made before originals were kept are copied as they stand.
    """
    with TemporaryDirectory(prefix="swardtally-") as folder:
        home = Path(folder).resolve() / "workspace"
        home.mkdir()
        with Store(home.parent / "store.duckdb") as fresh:  # where no name of a file can lead
            yield _Rebuilding(store, home, Rebuilt(fresh)).done(progress)


@dataclass
class _Rebuilding:
    """One store on its way to be made anew.

    Attributes:
        of: the store whose originals are read.
        home: folder of the workspace that they are laid out in.
        result: what it comes to.
    """

    of: Store
    home: Path
    result: Rebuilt

    def done(self, progress: Progress) -> Rebuilt:
        """All of it."""
        ledger = self.of.dicts("SELECT load_id, file, kind, profile FROM meta.load ORDER BY load_id")
        sources = self._sources()
        bare = frozenset(row["load_id"] for row in ledger if FILE not in sources.get(row["load_id"], {}))
        self.result.carried = bare
        if bare:
            carry_over(self.of, self.result.store, bare)
            self.result.numbers |= {number: number for number in bare}
        kept = [row for row in ledger if row["load_id"] not in bare and row["kind"] in KINDS]
        for row in progress.over(kept, len(kept), "Reading originals"):
            self._load(row, sources[row["load_id"]])
        self._decide()
        return self.result

    def _sources(self) -> dict[int, dict[str, tuple[str, str]]]:
        """What each load was read from: name and hash by role."""
        found: dict[int, dict[str, tuple[str, str]]] = {}
        sql = "SELECT load_id, role, name, sha256 FROM meta.source ORDER BY ALL"
        for load_id, role, name, mark in self.of.rows(sql):
            found.setdefault(load_id, {})[role] = (name, mark)
        return found

    def _load(self, row: dict[str, Any], sources: dict[str, tuple[str, str]]) -> None:
        number = row["load_id"]
        try:
            result = self._read_again(row, sources)
        except Altered:
            self.result.unread[number] = "what was kept of it is not what was loaded"
            return
        except CannotDo as error:
            self.result.unread[number] = error.message
            return
        if result is None:
            self.result.unread[number] = f"nothing in it is read as {row['kind'].replace('_', ' ')} any more"
        elif result.load_id is None:
            self.result.unread[number] = "read again it brings nothing"
        else:
            self.result.numbers[result.load_id] = number
            self.result.results[number] = result

    def _read_again(self, row: dict[str, Any], sources: dict[str, tuple[str, str]]) -> FileResult | None:
        con = self.of.con
        if lacking := {CALL, WHEN, RULES} - sources.keys():
            raise Altered(min(lacking))
        name, mark = sources[FILE]
        call = kept_told(con, sources[CALL][1], "complete", "given")
        when = kept_told(con, sources[WHEN][1], "day", "before", "shown")
        workspace = self._laid_out(kept_rules(con, sources[RULES][1]))
        path = self._place(name, row["load_id"])
        self._lay(path, kept_bytes(con, mark))
        self._lay_pictures(row, path.parent)
        complete = call["complete"] and tuple(map(date.fromisoformat, call["complete"]))
        loader = Loader(
            self.result.store,
            workspace,
            read_profiles(workspace.profiles),
            date.fromisoformat(when["day"]),
            complete=complete or None,
            corrections=read_corrections(workspace.corrections),
            given=call["given"],
            number=row["load_id"],  # what is said of a file names its load
        )
        loader.loaded.extend(when["before"])
        part = _same_part(row, loader.read(path, when["shown"]))
        if part is None:
            part = _same_part(row, loader.read(path, when["shown"], row["kind"], row["profile"]))
        return loader.load(part) if part else None

    def _laid_out(self, rules: Rules) -> Workspace:
        """The workspace with these rules alone."""
        for folder in ("profiles", "corrections", "decisions"):
            (self.home / folder).mkdir(exist_ok=True)
            for path in (self.home / folder).iterdir():
                path.unlink()
        for place, content in rules.files.items():
            if place != SETTINGS:
                self._lay(self._place(place, 0), content)
        told = toml_of(rules.files.get(SETTINGS, b""), SETTINGS)
        own = {name: Settings.model_fields[name].default for name in ("store", "profiles", "rejected", "reports")}
        try:
            return Workspace(self.home, Settings.model_validate({**told, **own}))
        except ValidationError as error:
            raise CannotDo(f"its settings do not fit: {misfits(error, model=Settings)}", "") from None

    def _place(self, name: str, number: int) -> Path:
        """Where a file is laid: at its place in the workspace, or by its load where it lay elsewhere.

        Raises:
            CannotDo: its place leads out of the workspace.
        """
        inside = PurePosixPath(name)
        if inside.is_absolute() or ".." in inside.parts or not inside.parts:
            raise CannotDo(f"“{name}” is no place in a workspace.", "What was kept of the load was changed.")
        if len(inside.parts) == 1 and number:
            return self.home / OUTSIDE / str(number) / inside
        return self.home / inside

    def _lay(self, path: Path, content: bytes) -> None:
        """Write a file into the workspace.

        Raises:
            CannotDo: there can be none of that name.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or str(error)
            raise CannotDo(f"it cannot be laid at its place: {why}", "") from None

    def _lay_pictures(self, row: dict[str, Any], folder: Path) -> None:
        """Lay the small copies of a load's pictures where its file looks for them: the large ones are not kept."""
        kind = KINDS[row["kind"]]
        if not kind.pictured:
            return
        image = next(one.name for one in kind.stored if one.type == "image")
        sql = f"SELECT picture, {image} FROM history.{kind.name} WHERE load_id = {row['load_id']:d}"  # noqa: S608 (names from KINDS)
        for name, content in self.of.rows(sql):
            inside = PurePosixPath(name or "")
            if content and not inside.is_absolute() and ".." not in inside.parts:
                self._lay(folder / inside, content)

    def _decide(self) -> None:
        """Follow the decisions that stand, as they were kept last."""
        standing = {mark for (mark,) in self.of.rows("SELECT sha256 FROM meta.decision WHERE taken_back_at IS NULL")}
        lists = self.of.rows(f"SELECT DISTINCT sha256 FROM meta.source WHERE role = '{RULES}'")  # noqa: S608
        for (mark,) in lists:
            try:
                rules = kept_rules(self.of.con, mark)
            except Altered:
                continue
            found = [
                one
                for place, content in sorted(rules.files.items())
                if place.startswith("decisions/")
                for one in decisions_of(toml_of(content, place), place.removeprefix("decisions/"))
            ]
            if {one.mark for one in found} == standing:
                with self.result.store.transaction():
                    follow(self.result.store, found)
                return


def _same_part(row: dict[str, Any], parts: tuple[DetectedFile, ...]) -> DetectedFile | None:
    """The part of a file that a load was of."""
    for one in parts:
        if one.kind and (one.file, one.kind.name, one.profile_name) == (row["file"], row["kind"], row["profile"]):
            return one
    return None
