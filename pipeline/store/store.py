"""The store: it keeps every version of every record and says where each came from, in one DuckDB file or shared.

Tables in schema ``history`` hold all versions; a view of the same name in ``main`` shows the ones in force; ``meta``
holds the loads, ``derived`` what is made from the records. DDL and SQL stay in the subset that a DuckDB file and
DuckLake share, and in what DuckDB 1.5 and 2.0 share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

import duckdb

from pipeline.common.refusal import CannotDo, OlderLayout
from pipeline.store.by_day import BY_DAY, alone, view_name
from pipeline.store.checkpoint import connected, settle, surely, whole_of
from pipeline.store.layout import (
    SCHEMA_VERSION,
    Connection,
    bring_up,
    make_layout,
    make_views,
    missing,
    parts_of_layout,
)
from pipeline.store.migrations import MIGRATIONS
from pipeline.store.opening import IN_MEMORY, layout_row, leave_alone, refuse_no_store
from pipeline.store.proof.chain import take_over
from pipeline.store.register import Register
from pipeline.store.shared import Turn, overtaken, place_rows, snapshot, tidy
from pipeline.store.shared import connected as connected_shared
from pipeline.store.sql_text import with_named, with_values
from pipeline.workspace.shared import Shared
from schemas import KINDS, Kind

if TYPE_CHECKING:
    import polars as pl


class _TakenBack(Exception):
    """Ends a rehearsal."""


class Store:
    """An open store. Use as a context manager; it closes itself."""

    def __init__(self, path: Path | Shared, *, read_only: bool = False) -> None:
        """Open the store, making or bringing up its layout where it may write.

        Raises:
            CannotDo: there is no store to read, another process holds it, it is of a newer version, or it is damaged.
        """
        self.path, self._read_only = path, read_only
        self._rehearsing, self._brought_up = False, False
        self._turn: Turn | None = None
        self._seen, self._written = 0, False
        if read_only and not path.exists():
            raise CannotDo(f"There is no store at {path}.", "Load files first: swardtally load PATH")
        if isinstance(path, Shared):
            self._turn = None if read_only else Turn(path)
        elif path != IN_MEMORY:
            path.parent.mkdir(parents=True, exist_ok=True)
        try:
            self.con = _connect(path, read_only=read_only)
        except BaseException:
            self._give_up_turn()
            raise
        try:
            self._look()
            self._check_layout(read_only=read_only)
            self._after_writing(known=False)  # of one that was killed before it could
        except BaseException as error:
            self._close()
            if isinstance(error, duckdb.Error):
                raise _refusal(path, error, "cannot be opened") from error
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()
        refused = _refusal(self.path, error) if isinstance(error, duckdb.Error) else error
        if isinstance(refused, CannotDo) and self._brought_up:
            refused.hint += BROUGHT_UP
        if refused is not error and refused is not None:
            raise refused from error

    def _close(self) -> None:
        with suppress(duckdb.Error):  # a store that failed may fail once more
            if self._turn:
                self._tidy()
            elif isinstance(self.path, Path) and not self._read_only:
                settle(self.con, self.path)
            self.con.close()
        self._give_up_turn()

    def _give_up_turn(self) -> None:
        if self._turn:
            self._turn.close()

    def pass_on(self) -> bool:
        """Let another office write that waits to, and go on; whether anything was written since it was last looked.

        Of a store in a file nobody else waits: this process alone writes to it while it is open.

        Raises:
            CannotDo: the shared store does not answer, or others wrote for longer than is waited.
        """
        if self._turn is None or self._rehearsing:
            return False
        self._tidy()
        self._turn.pass_on()
        before = self._seen
        self._look()
        return self._seen != before

    def _tidy(self) -> None:
        """Have a shared store's rows in few files, once something was written."""
        if self._written:
            tidy(self.con)
            self._look()
            self._written = False

    def _after_writing(self, *, known: bool = True) -> None:
        """See that every row of a shared store that was just written has a number of its own.

        ``known``: what was written since it was last looked is what this process wrote.
        """
        if self._turn:
            place_rows(self.con, since=self._seen if known else None, every=self._brought_up and not known)
            self._look()

    def _look(self) -> None:
        """Note what of a shared store was committed last: what is written later must follow on that."""
        if self._turn:
            self._seen = snapshot(self.con)

    def rows(self, sql: str, parameters: list[Any] | None = None) -> list[tuple[Any, ...]]:
        """Rows of a query, read to the end."""
        try:
            return self.con.execute(*with_values(sql, parameters or [])).fetchall()
        except duckdb.Error as error:
            raise _refusal(self.path, error) from error

    def dicts(self, sql: str, parameters: list[Any] | None = None) -> list[dict[str, Any]]:
        """The same, each row by the names of its columns."""
        found = self.rows(sql, parameters)
        names = [one[0] for one in self.con.description or ()]
        return [dict(zip(names, row, strict=True)) for row in found]

    def frame(self, sql: str, *, by: Sequence[str] = (), **parameters: object) -> pl.DataFrame:
        """A query's result as a polars frame, in a total order: whatever the threads, the same rows in the same order.

        Args:
            sql: the query, with ``$name`` parameters; without an order of its own, unless to take the first rows by.
            by: columns to sort by first, nulls first; all others follow, as they stand, so that only equal rows tie.
            parameters: values of the parameters.
        """
        assert "ORDER BY" not in sql or "LIMIT" in sql, f"the order of a query is lost: name it with by: {sql}"
        try:
            first = "".join(f'"{name}" NULLS FIRST, ' for name in by)
            return queried(self.con, f"FROM ({sql}) ORDER BY {first}COLUMNS(*) NULLS FIRST", parameters)
        except duckdb.Error as error:
            raise _refusal(self.path, error) from error

    def current(self, kind: str) -> pl.DataFrame:
        """Records of a kind in force, with their provenance (``load_id``, ``file``, ``line``, ``written``).

        In the order of the kind, then of file and line; rows of one line (a wide sheet's) by their other fields.
        """
        one = KINDS[kind]
        return self.frame(f'SELECT * FROM "{one.name}"', by=one.reading_order)  # noqa: S608 (a name from KINDS)

    def register(self, season_start: str = "10-01") -> Register:
        """Clubs, greens, materials and targets in force; seasons begin on that day (MM-DD)."""
        by_day = self.registers_by_day()
        greens, materials = (as_last_said(by_day[name], KINDS[name]) for name in ("green", "material"))
        return Register(self.current("club"), greens, materials, self.current("target"), season_start, by_day)

    def names_met(self, kind: str) -> dict[str, frozenset[str]]:
        """Names that only records bear and a register of this kind refers to, by field (``lab``, ``station``).

        Of targets also the depths of organic matter, as they are printed (``depth``).
        """
        found: dict[str, set[str]] = {}
        for name, table in _MET.get(kind, ()):
            rows = self.rows(f'SELECT DISTINCT "{name}" FROM "{table}" WHERE "{name}" IS NOT NULL ORDER BY ALL')  # noqa: S608 (names of ours)
            found.setdefault(name, set()).update(one for (one,) in rows)
        if kind == "target":
            found["depth"] = {f"{low:g}–{high:g} mm" for low, high in self.rows(_DEPTHS)}
        return {name: frozenset(names) for name, names in found.items()}

    def registers_by_day(self) -> dict[str, pl.DataFrame]:
        """What registers said on which days, by kind: their rows with ``holds_from`` and ``holds_until``.

        In force from the one, where it is not null, to the day before the other; grain: a thing and a stretch of days.
        """
        return {name: self._as_held(KINDS[name]) for name in BY_DAY}

    def _as_held(self, kind: Kind) -> pl.DataFrame:
        by = (kind.name, "holds_from")  # a register's rows are named by the field that is called as the kind
        rows = self.frame(alone(kind), by=by)
        return self.frame(f'FROM "{view_name(kind.name)}"', by=by) if rows[kind.name].is_duplicated().any() else rows

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """One transaction: all of it or nothing.

        Raises:
            CannotDo: the disk is full or the store cannot be written; nothing was changed.
            Overtaken: another office wrote to it since it was read.
        """
        own = not self._rehearsing
        if own:
            self.con.execute("BEGIN TRANSACTION")
        try:
            if own and self._turn and snapshot(self.con) != self._seen:
                raise overtaken(self._turn.place)
            yield self.con
            if own:
                self.con.execute("COMMIT")
                self._written = True
                self._after_writing()
        except BaseException as error:
            self._rollback()
            if isinstance(error, duckdb.Error) and own:
                raise _refusal(self.path, error, "could not be written") from error
            raise

    @contextmanager
    def rehearsal(self) -> Iterator[None]:
        """One transaction that holds all others begun in it, and is taken back at its end."""
        with suppress(_TakenBack), self.transaction():
            self._rehearsing = True
            try:
                yield
            finally:
                self._rehearsing = False
            raise _TakenBack

    def _rollback(self) -> None:
        with suppress(duckdb.Error):  # a failed COMMIT has already ended the transaction
            self.con.execute("ROLLBACK")

    def _check_layout(self, *, read_only: bool) -> None:
        layout = layout_row(self.con, self.path) or (0, None)
        version, parts = layout[0], parts_of_layout()
        if version > SCHEMA_VERSION:
            raise CannotDo(
                f"The store {self.path.name} was made by a newer version of swardtally (layout {version}).",
                "Install that version, or export the store with it and load the files here.",
            )
        if layout == (SCHEMA_VERSION, parts):
            return
        if read_only:
            if version < SCHEMA_VERSION or any(missing(self.con)):
                raise OlderLayout(
                    f"The store {self.path.name} has an older layout.",
                    "swardtally doctor --bring-up brings it up, and so does loading a file; a former version cannot "
                    "read it then.",
                )
            return
        with self.transaction():
            if version:
                for step in range(version, SCHEMA_VERSION):
                    MIGRATIONS[step](self.con)
                bring_up(self.con)
            else:
                make_layout(self.con)
            make_views(self.con)
            if version < FIRST_CHAINED:
                take_over(self.con)
            self.con.execute("DELETE FROM meta.layout")
            self.con.execute("INSERT INTO meta.layout VALUES (?, ?)", [SCHEMA_VERSION, parts])
        self._brought_up = 0 < version < SCHEMA_VERSION


BROUGHT_UP = " The store has this version's layout now, and keeps it: a former version cannot read it."
"""What is said beside that something could not be done, where a store of an older layout was opened for it."""
FIRST_CHAINED = 8
"""Layout since which every load has an entry in the chain."""


_DEPTHS = """SELECT DISTINCT coalesce(depth_from_mm, 0), depth_to_mm FROM soil_test
WHERE analyte = 'organic_matter' AND depth_to_mm IS NOT NULL"""
"""Layers that organic matter was measured in."""
_MET = {
    "target": (("lab", "soil_test"),),
    "green": (("station", "weather_day"), ("station", "weather_month")),
}
"""Fields of a register that name what only records name, and the kinds of these."""


def queried(con: Connection, sql: str, parameters: Mapping[str, object] | None = None) -> pl.DataFrame:
    """A query's result as a polars frame, in the order that the query gives it.

    DuckDB 1 plans ``con.sql`` three times, with parameters in 11 ms for 2.5; DuckDB 2 has no frames after ``execute``.
    """
    told, left = with_named(sql, parameters or {})
    if hasattr(con, "pl"):
        return con.execute(told, left or None).pl()
    return con.sql(told, params=left or None).pl()


def as_last_said(by_day: pl.DataFrame, kind: Kind) -> pl.DataFrame:
    """What ``Store.current`` reads of such a register, from the rows of its days: its view need not be made twice."""
    import polars as pl

    rows = by_day.filter(pl.col("holds_until").is_null()).drop("holds_from", "holds_until")
    return rows.sort(list(dict.fromkeys((*kind.reading_order, *rows.columns))), maintain_order=True)


def _connect(path: Path | Shared, *, read_only: bool) -> Connection:
    try:
        if isinstance(path, Shared):
            con = connected_shared(path, read_only=read_only)
        else:
            if path != IN_MEMORY:
                refuse_no_store(path)
            con = _reading(path) if read_only else connected(path)
        if read_only:
            leave_alone(con)
        con.execute("SET enable_progress_bar = false")  # it would stand among the results on standard output
        return con
    except duckdb.IOException as error:
        text = str(error)
        if any(words in text for words in _HELD):
            raise CannotDo(
                f"The store {path.name} is in use by another program{_holder(text)}.",
                "Close that program, or wait until it has finished, and try again. Nothing was changed.",
            ) from None
        raise _refusal(path, error, "cannot be opened") from None
    except duckdb.Error as error:
        raise _refusal(path, error, "cannot be opened") from None
    except OSError as error:
        raise CannotDo(
            f"The store {path.name} could not be made: {error.strerror or error}.", "Look at the disk, and try again."
        ) from error


def _reading(path: Path) -> Connection:
    """A store open for reading, once what a process has left that was killed on the way is finished."""
    con = surely(path, read_only=True)
    if not whole_of(path).exists():
        return con
    con.close()
    con = connected(path)
    settle(con, path)
    con.close()
    return surely(path, read_only=True)


@contextmanager
def as_it_stands(path: Path | Shared, *, read_only: bool) -> Iterator[Connection]:
    """The file of a store whatever its layout, which is neither looked at nor brought up: for copies of it.

    Raises:
        CannotDo: another process holds it, it is damaged, or it could not be read or written.
    """
    con = _connect(path, read_only=read_only)
    try:
        yield con
    except duckdb.Error as error:
        raise _refusal(path, error) from error
    finally:
        with suppress(duckdb.Error):
            if not (read_only or isinstance(path, Shared)):
                settle(con, path)
            con.close()


_HELD = ("Could not set lock", "used by another process")
"""What DuckDB says of a file another process holds, on Linux and macOS, and on Windows ("block" is no lock)."""


_FULL = ("No space left", "not enough space", "Out of Memory", "could not write", "Could not write")
"""What DuckDB says where the disk or the memory is full; anything else speaks of the store itself."""


_NOT_OURS = ("Permission denied", "Read-only file system", "Access is denied")
"""What it says where the person may not read or write the file."""


def _refusal(path: Path | Shared, error: duckdb.Error, what: str = "could not be read") -> CannotDo:
    """What a failed store comes to in a sentence: it is not theirs to write, it is full, or it is damaged."""
    full = isinstance(error, duckdb.OutOfMemoryException) or any(words in str(error) for words in _FULL)
    if isinstance(path, Shared) and not full:
        return overtaken(path) if "retry count" in str(error) else path.refusal(error)
    name = f"{'shared ' if isinstance(path, Shared) else ''}store {path.name}"
    if any(words in str(error) for words in _NOT_OURS):
        hint = "You may not read or write it: look at the rights of the file and of its folder. Nothing was changed."
        return CannotDo(f"The {name} {what}: {_first_line(error)}", hint)
    hint = (
        "Nothing of this file was kept. Make room on the disk and load again."
        if full
        else "If it is damaged, restore it from a backup, or load the files into a new workspace."
    )
    return CannotDo(f"The {name} {what}: {_first_line(error)}", hint)


def _holder(text: str) -> str:
    number = text.partition("PID ")[2].split(")")[0].strip()
    return f" (process {number})" if number.isdigit() else ""


def _first_line(error: BaseException) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__
