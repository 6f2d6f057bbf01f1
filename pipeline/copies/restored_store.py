"""A store made of the tables of a backup, brought up to this version's layout, its figures made anew."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from pipeline.common.refusal import CannotDo
from pipeline.copies.folder import BackupFolder
from pipeline.copies.hashes import hash_of
from pipeline.copies.manifest import BLOBS, Figures, Kept, KeptTable, Manifest
from pipeline.copies.restored_files import bytes_of
from pipeline.copies.tables import make_table, read_table, told_of_bytes, write_table
from pipeline.figures.refresh import refresh
from pipeline.figures.state import code_version, settings_version
from pipeline.store.derived import RECORDS
from pipeline.store.layout import SCHEMA_VERSION, Connection
from pipeline.store.store import Store, as_it_stands
from pipeline.workspace.settings import Workspace


def restore_store(folder: BackupFolder, manifest: Manifest, here: Workspace) -> None:
    """Make the store of a workspace: every table row for row, seen to give the files that it was read from.

    Raises:
        CannotDo: a table does not come back as it was, or the store cannot be written.
    """
    if here.store.exists():
        raise CannotDo(f"The backup holds {here.settings.store} as a file as well.", "Nothing was restored.")
    files = {one.path: one for one in manifest.files}
    blobs = {one.sha256: one for one in manifest.files if one.path.startswith(f"{BLOBS}/")}

    def content(sha256: str) -> bytes:
        if sha256 not in blobs:
            raise CannotDo(f"The backup lacks the bytes {sha256}, which a table names.", "Nothing was restored.")
        return bytes_of(folder, blobs[sha256])

    here.store_file.parent.mkdir(parents=True, exist_ok=True)
    with as_it_stands(here.store, read_only=False) as con:
        con.execute("BEGIN TRANSACTION")
        for table in manifest.tables:
            make_table(con, table.table)
            for path in table.paths():
                read_table(con, table.table, folder.object_of(files[path]), content)
        con.execute("COMMIT")
        for table in manifest.tables:
            _see_as_written(con, table, [files[path] for path in table.paths()], here.folder)
        if manifest.layout == SCHEMA_VERSION:
            con.execute("UPDATE meta.layout SET parts = ''")  # so that views and comments are made
    with Store(here.store):
        pass


def _see_as_written(con: Connection, table: KeptTable, wanted: Sequence[Kept], work: Path) -> None:
    """See that a table that was read gives the files that it was read from.

    Raises:
        CannotDo: it does not.
    """
    with TemporaryDirectory(dir=work) as made:
        files = write_table(con, table.table, Path(made), told_of_bytes(con, table.table))
        for one, (path, _) in zip(wanted, files, strict=True):
            found = hash_of(path)
            if found != one.sha256:
                raise CannotDo(
                    f"The table {table.name} does not come back as it was: expected {one.sha256}, found {found}.",
                    "Nothing was restored. The backup is as it was; another version of swardtally may read it.",
                )
            path.unlink()


def remake_figures(figures: Figures | None, here: Workspace) -> str:
    """Make the figures of a restored store, where it had some; why they could not be made, else "".

    Of the same records, settings and code they come out as they were, and no change is logged.
    """
    if figures is None:
        return ""
    try:
        with Store(here.store) as store:
            ((records,),) = store.rows(f"SELECT {RECORDS}")
            now = Figures(
                records=records, settings_version=settings_version(here.settings), code_version=code_version()
            )
            refresh(store, here, logged=now != figures)
    except CannotDo as error:
        return error.message
    return ""
