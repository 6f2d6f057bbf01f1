"""Opening a DuckDB file: only one that can be a store, and never with anything that reaches beyond that file.

DuckDB takes a name such as ``md:records`` for an address, fetches an extension for a file of another database, and
reads any file or address that a statement names. Nothing here needs that.
"""

from __future__ import annotations

import stat
from pathlib import Path

import duckdb

from pipeline.common.refusal import CannotDo
from pipeline.workspace.shared import Shared

Connection = duckdb.DuckDBPyConnection

IN_MEMORY = Path(":memory:")
"""The path of a store that is held in memory and gone when it is closed."""
SEALED: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
}
"""Settings under which DuckDB fetches and loads nothing by itself."""
_NAMED = 3
"""Tables of another program that are named."""
_MARK, _MARK_AT = b"DUCK", 8
"""What every DuckDB file holds behind the checksum of its header (DuckDB's documentation of its file format)."""
_BACKUP = "If it is damaged, restore it from a backup, or load the files into a new workspace."
_OTHER = "Name the store's own file under store in settings.toml. Nothing was changed."


def leave_alone(con: Connection) -> None:
    """Have no statement open another file or an address from now on, and none switch that off.

    A store that is written stays without: rows of figures come into it from files for the time being and from frames
    named in the SQL, which DuckDB counts among what lies outside. No extension is loaded there either, so that no
    address is known to it.

    Args:
        con: a connection to which every file is attached that it needs.
    """
    con.execute("SET enable_external_access = false")


def refuse_no_store(path: Path) -> None:
    """Refuse what stands in a store's place and cannot be one; what is not there yet may become one.

    Raises:
        CannotDo: it is no file, is empty, cannot be read, or is no DuckDB file.
    """
    try:
        found = path.stat()
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        raise CannotDo(f"The store {path.name} cannot be opened: {_why(error)}.", _OTHER) from None
    if not stat.S_ISREG(found.st_mode):
        what = "a folder" if stat.S_ISDIR(found.st_mode) else "no file (a pipe or a device)"
        raise CannotDo(f"The store {path.name} cannot be opened: it is {what}.", _OTHER)
    if not found.st_size:
        raise CannotDo(f"The store {path.name} cannot be opened: it is empty (0 bytes).", _BACKUP)
    try:
        with path.open("rb") as file:
            head = file.read(_MARK_AT + len(_MARK))
    except OSError as error:
        raise CannotDo(
            f"The store {path.name} cannot be opened: {_why(error)}.", "Check who may read the file and its folder."
        ) from None
    if head[_MARK_AT:] != _MARK:
        raise CannotDo(f"The store {path.name} cannot be opened: it is no DuckDB file, or a damaged one.", _BACKUP)


def _why(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def layout_row(con: Connection, path: Path | Shared) -> tuple[int, str | None] | None:
    """Version and mark of the layout that the file has; None of a file with nothing in it.

    Raises:
        CannotDo: it is no store, or the row that says it is gone.
        duckdb.Error: it cannot be read.
    """
    held = con.execute(
        "SELECT table_schema, table_name, column_name FROM information_schema.columns "
        "WHERE table_catalog = current_database() ORDER BY ALL"
    ).fetchall()
    columns = {column for schema, table, column in held if (schema, table) == ("meta", "layout")}
    if not held:
        return None
    if not any((schema, table) == ("meta", "load") for schema, table, _ in held):
        raise CannotDo(f"The file {path.name} holds tables of another program{_some(held)} and no store.", _OTHER)
    rows: list[tuple[object, ...]] = []
    if "version" in columns:
        parts = "parts" if "parts" in columns else "NULL"
        rows = con.execute(f"SELECT version, {parts} FROM meta.layout").fetchall()  # noqa: S608 (a name of ours)
    version, mark = rows[0] if len(rows) == 1 else (None, None)
    if not isinstance(version, int) or version < 1:
        raise CannotDo(f"The store {path.name} is damaged: the version of its layout is not in it.", _BACKUP)
    return version, None if mark is None else str(mark)


def _some(held: list[tuple[str, str, str]]) -> str:
    names = list(dict.fromkeys(table for _, table, _ in held))
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return f" ({', '.join(names[:_NAMED])}{more})"
