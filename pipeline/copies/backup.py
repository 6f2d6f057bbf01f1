"""One backup: every file and table of a workspace among the objects of a folder, and a manifest that names them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pipeline.common.refusal import CannotDo
from pipeline.copies.between import copy_store
from pipeline.copies.folder import BackupFolder, latest, to_write_into
from pipeline.copies.hashes import copy_hashed, hash_of
from pipeline.copies.manifest import Figures, Kept, KeptTable, Manifest
from pipeline.copies.places import Found, files_of
from pipeline.copies.plain import plain_store
from pipeline.store.layout import Connection
from pipeline.store.store import as_it_stands
from pipeline.workspace.settings import Workspace
from pipeline.workspace.shared import Shared

BESIDE = "-backup"
"""What is added to the name of a workspace for the folder beside it that backups go into where none is named."""


@dataclass(frozen=True)
class Backup:
    """What a backup came to.

    Attributes:
        path: its manifest.
        manifest: what that holds.
        written: files that were not there yet.
        written_bytes: their bytes.
        left_out: links and the like in the workspace, which are not copied.
        within: whether the backup lies in the workspace that it is of.
    """

    path: Path
    manifest: Manifest
    written: int
    written_bytes: int
    left_out: tuple[str, ...]
    within: bool

    def as_json(self) -> dict[str, Any]:
        """The form of ``backup --json``."""
        return {
            "manifest": str(self.path),
            "number": self.manifest.number,
            "layout": self.manifest.layout,
            "tables": {table.name: table.rows for table in self.manifest.tables},
            "files": len(self.manifest.files),
            "bytes": sum(one.bytes for one in self.manifest.files),
            "written": self.written,
            "written_bytes": self.written_bytes,
            "left_out": list(self.left_out),
        }


def back_up(workspace: Workspace, into: Path | None = None) -> Backup:
    """Write a backup of a workspace; what its folder holds already is not written again.

    Nothing can be loaded meanwhile: the store is held open for reading, so that all of it is of one moment.

    Args:
        workspace: the workspace.
        into: folder of backups; None for the one beside the workspace.

    Raises:
        CannotDo: the folder holds something else or backups of another workspace; another program holds the store; or
            something could not be read or written. Then there is no backup, and what was copied is there for the next.
    """
    place = into or beside(workspace.folder)
    folder = to_write_into(place)
    with _open_store(workspace) as con, _room(place), folder.writing() as work:
        first = _first_load(con)
        before = latest(folder)
        if before and before.first_load and first and before.first_load != first:
            raise CannotDo(
                f"{place} holds backups of another workspace.", "Name another folder. No backup was written."
            )
        found = files_of(workspace)
        files = list(_files(found, folder, work))
        tables: list[KeptTable] = []
        for table, its_files in plain_store(con, folder, work) if con else ():
            tables.append(table)
            files += its_files
        manifest = Manifest(
            number=_next_number(folder),
            made_at=datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
            version=version("swardtally"),
            layout=_layout(con),
            first_load=first,
            figures=_figures(con),
            tables=tables,
            folders=found.folders,
            files=list({one.path: one for one in files}.values()),
        )
        path = folder.finish(manifest)
    inside = place.resolve().is_relative_to(workspace.folder.resolve())
    return Backup(path, manifest, folder.written, folder.written_bytes, tuple(found.left_out), inside)


def beside(folder: Path) -> Path:
    """The folder of backups beside a workspace; in it, a load of the workspace would find copies of its files."""
    whole = folder.resolve()
    return whole.with_name(whole.name + BESIDE)


@contextmanager
def _open_store(workspace: Workspace) -> Iterator[Connection | None]:
    """The store as it stands, None where there is none yet."""
    if not workspace.store.exists():
        yield None
        return
    with _in_a_file(workspace.store) as path, as_it_stands(path, read_only=True) as con:
        if not con.execute(
            "SELECT 1 FROM duckdb_tables() WHERE schema_name = 'meta' AND table_name = 'layout'"
        ).fetchall():
            raise CannotDo(f"{path.name} is no store of swardtally.", "Name the store in settings.toml.")
        yield con


@contextmanager
def _in_a_file(place: Path | Shared) -> Iterator[Path]:
    """The store's file; of a shared store that of a copy, in which all is of one moment and read far faster."""
    if isinstance(place, Path):
        yield place
        return
    with TemporaryDirectory() as folder:
        made = Path(folder) / "store.duckdb"
        copy_store(place, made)
        yield made


@contextmanager
def _room(place: Path) -> Iterator[None]:
    """Say of a file that cannot be read or written that there is no backup, and what is kept of it."""
    hint = f"There is no new backup. What was copied stays in {place}, and the next one goes on from there."
    try:
        yield
    except OSError as error:
        where = f" ({error.filename})" if error.filename else ""
        raise CannotDo(f"The backup could not be written: {error.strerror or error}{where}.", hint) from error


def _files(found: Found, folder: BackupFolder, work: Path) -> Iterator[Kept]:
    """Copy the files of a workspace; a file that is written meanwhile is kept as it was read."""
    for path, file in found.files.items():
        sha256 = hash_of(file)
        if not folder.holds(path, sha256):
            made = work / "file"
            sha256 = copy_hashed(file, made)
            folder.keep(path, made, sha256)
        yield Kept(path=path, sha256=sha256, bytes=folder.size_of(path, sha256))


def _next_number(folder: BackupFolder) -> int:
    return max((int(path.name.partition("-")[0]) for path in folder.manifests()), default=0) + 1


def _layout(con: Connection | None) -> int | None:
    return None if con is None else int(con.execute("SELECT max(version) FROM meta.layout").fetchall()[0][0])


def _first_load(con: Connection | None) -> str:
    """What tells one store from another: its first load, also where that was taken back; "" where there is none.

    Not by its file's hash, which is another one once a person's name is gone from it.
    """
    if con is None:
        return ""
    told = "SELECT load_id, loaded_at FROM meta."
    rows = con.execute(f"{told}load UNION ALL {told}undone ORDER BY load_id LIMIT 1").fetchall()
    return " ".join(map(str, rows[0])) if rows else ""


def _figures(con: Connection | None) -> Figures | None:
    """What the figures of the store were made for; None where there are none, or its layout knew none."""
    has = "SELECT 1 FROM duckdb_tables() WHERE schema_name = 'derived' AND table_name = 'state'"
    if con is None or not con.execute(has).fetchall():
        return None
    rows = con.execute("SELECT records, settings_version, code_version FROM derived.state").fetchall()
    return Figures(**dict(zip(Figures.model_fields, rows[0], strict=True))) if rows else None
