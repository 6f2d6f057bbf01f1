"""Accepted records into the store: one file, one transaction, one load, every row accounted for."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.faults import together
from pipeline.handback import write_rejected
from pipeline.look import Seen, look
from pipeline.match import REPLACES, drop_temporary, match, replaces, write_records
from pipeline.read.profile import Profile, all_known_headers
from pipeline.read.table import Sheet
from pipeline.standardise.frame import Standard, standardise
from pipeline.store import Connection, Store
from pipeline.validate import Checked, validate
from pipeline.workspace import Workspace
from schemas import Kind


@dataclass(frozen=True)
class Counts:
    """What became of the rows of a file; ``rows`` is the sum of the others but ``warnings``, always."""

    rows: int = 0
    loaded: int = 0
    unchanged: int = 0
    replaced: int = 0
    withdrawn: int = 0
    rejected: int = 0
    ignored: int = 0
    warnings: int = 0

    def check(self) -> None:
        """Stop the load where a row is not accounted for."""
        total = self.loaded + self.unchanged + self.replaced + self.withdrawn + self.rejected + self.ignored
        assert self.rows == total, f"rows do not balance: {self}"

    @property
    def effect(self) -> bool:
        """Whether the store's records changed."""
        return bool(self.loaded or self.replaced or self.withdrawn)


@dataclass(frozen=True)
class FileResult:
    """What loading one file came to.

    Attributes:
        file: file as the person named it.
        kind: kind of record, "" where it could not be told.
        profile: source profile used, "" where none.
        counts: what became of the rows.
        faults: FAULT_SCHEMA.
        handed_back: CSV of the rejected rows, None where there is none.
        load_id: number of the load, None where nothing was written.
        span: first and last date of the accepted records, None where they have none.
    """

    file: str
    kind: str
    profile: str
    counts: Counts
    faults: pl.DataFrame
    handed_back: Path | None = None
    load_id: int | None = None
    span: tuple[date, date] | None = None

    @property
    def failed(self) -> bool:
        """Whether anything was rejected, or the whole file refused."""
        return self.counts.rejected > 0 or self.faults.filter(pl.col("severity") == "error").height > 0

    def as_json(self) -> dict[str, Any]:
        """The file's part of ``load --json``."""
        faults = self.faults.select("line", "column", "value", "code", "severity", "message", "hint").to_dicts()
        head = {"file": self.file, "kind": self.kind, "profile": self.profile}
        return {**head, **asdict(self.counts), "faults": faults}


@dataclass(frozen=True)
class Loader:
    """Loads files into an open store.

    Attributes:
        store: the store, open for writing.
        workspace: settings and folders.
        profiles: every source profile of the workspace.
        today: day of loading.
        dry_run: say everything, change nothing.
    """

    store: Store
    workspace: Workspace
    profiles: tuple[Profile, ...]
    today: date
    dry_run: bool = False
    _known: frozenset[str] = field(default=frozenset(), init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_known", all_known_headers(self.profiles))

    def look(self, path: Path, shown: str, kind: str = "", profile: str = "") -> Seen:
        """Read a file and tell what it holds, without loading it."""
        return look(path, shown, self.profiles, self._known, kind, profile)

    def load(self, seen: Seen) -> FileResult:
        """Load a file that has been looked at."""
        if seen.kind is None:
            return FileResult(seen.sheet.file, "", "", _refused(seen.sheet), seen.faults)
        if earlier := _same_again(self.store, seen):
            return earlier
        register = self.store.register()
        standard = standardise(seen.sheet, seen.kind, seen.profile, register.green_aliases)
        if standard.broken:
            return FileResult(seen.sheet.file, seen.kind.name, seen.profile_name, _refused(seen.sheet), standard.faults)
        checked = validate(standard, register, self.today)
        return _write(self, seen, standard, checked)


def _refused(sheet: Sheet) -> Counts:
    """Counts of a file refused as a whole: every row is handed back."""
    rejected = sheet.cells.height + sheet.rejected.height
    return Counts(rows=rejected + sheet.ignored.height, rejected=rejected, ignored=sheet.ignored.height)


def _same_again(store: Store, seen: Seen) -> FileResult | None:
    """The result of a file that is in the store already, byte for byte, with nothing loaded since; else None."""
    assert seen.kind is not None
    profile_sha = seen.profile.sha256 if seen.profile else ""
    found = store.frame(
        "SELECT * FROM meta.load WHERE sha256 = $sha AND kind = $kind AND profile_sha256 = $profile AND file = $file "
        "AND version = $version ORDER BY load_id DESC LIMIT 1",
        sha=seen.sheet.sha256, kind=seen.kind.name, profile=profile_sha, file=seen.sheet.file, version=_version(),
    )  # fmt: skip
    if not found.height:
        return None
    row = found.row(0, named=True)
    touched = ("club", "green", "material", seen.kind.name)
    later = store.rows(
        "SELECT count(*) FROM meta.load WHERE load_id > ? AND kind IN (?, ?, ?, ?) "
        "AND loaded + replaced + withdrawn > 0",
        [row["load_id"], *touched],
    )[0][0]
    if later:
        return None
    faults = store.frame(
        "SELECT line, column_name AS \"column\", value, code, severity, message, hint FROM meta.fault "
        "WHERE load_id = $load AND code <> $replaces ORDER BY line NULLS FIRST",
        load=row["load_id"], replaces=REPLACES.code,
    )  # fmt: skip
    counts = Counts(
        rows=row["rows"],
        unchanged=row["loaded"] + row["unchanged"] + row["replaced"],
        rejected=row["rejected"],
        ignored=row["ignored"] + row["withdrawn"],
        warnings=row["warnings"],
    )
    counts.check()
    return FileResult(seen.sheet.file, seen.kind.name, seen.profile_name, counts, faults)


def _version() -> str:
    return version("swardtally")


def _write(loader: Loader, seen: Seen, standard: Standard, checked: Checked) -> FileResult:
    """Match the accepted records with the store's, write what is new, and hand the rejected rows back."""
    kind = standard.kind
    with_value, blank = _split_blank(kind, checked.accepted)
    con = loader.store.con
    load_id = loader.store.rows("SELECT coalesce(max(load_id), 0) + 1 FROM meta.load")[0][0]
    with loader.store.transaction():
        matched = match(con, kind, with_value, blank.clear() if kind.repeats else blank)
        ragged = seen.sheet.rejected.height
        counts = Counts(
            rows=standard.records.height + standard.ignored.height + ragged,
            loaded=matched.new,
            unchanged=matched.unchanged,
            replaced=matched.replaced,
            withdrawn=matched.withdrawn,
            rejected=checked.rejected.height + ragged,
            ignored=standard.ignored.height + checked.repeated.height + blank.height - matched.withdrawn,
        )
        faults = together([checked.faults, replaces(kind, matched.replaced_lines)])
        counts = replace(counts, warnings=faults.filter(pl.col("severity") == "warning").height)
        counts.check()
        keep = counts.effect or counts.rejected or not _known_file(loader.store, seen)
        if keep and not loader.dry_run:
            _record_load(con, load_id, seen, counts)
            write_records(con, kind, load_id)
            _record_faults(con, load_id, faults, standard.records)
        drop_temporary(con)
    back = None
    if counts.rejected and not loader.dry_run:
        back = write_rejected(loader.workspace.rejected, seen.sheet, checked.rejected, faults)
    dates = with_value["date"] if "date" in with_value.columns and with_value.height else None
    return FileResult(
        seen.sheet.file,
        kind.name,
        seen.profile_name,
        counts,
        faults,
        back,
        load_id if keep and not loader.dry_run else None,
        (dates.min(), dates.max()) if dates is not None else None,  # type: ignore[arg-type]
    )


def _known_file(store: Store, seen: Seen) -> bool:
    sql = "SELECT count(*) FROM meta.load WHERE sha256 = ?"
    return bool(store.rows(sql, [seen.sheet.sha256])[0][0])


def _split_blank(kind: Kind, records: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Records with a result, and those whose result is blank."""
    if not kind.value_field:
        return records, records.clear()
    blank = pl.col(kind.value_field).is_null()
    if "below_limit" in kind.by_name:  # "not detected" without a limit is a result all the same
        blank &= ~pl.col("below_limit").fill_null(value=False)
    return records.filter(~blank), records.filter(blank)


def _record_load(con: Connection, load_id: int, seen: Seen, counts: Counts) -> None:
    assert seen.kind is not None
    con.execute(
        "INSERT INTO meta.load VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            load_id,
            seen.sheet.file,
            seen.sheet.sha256,
            seen.kind.name,
            seen.profile_name,
            seen.profile.sha256 if seen.profile else "",
            datetime.now(UTC).replace(tzinfo=None, microsecond=0),
            _version(),
            seen.sheet.encoding,
            *(getattr(counts, name) for name in Counts.__dataclass_fields__),
        ],
    )


def _with_green(faults: pl.DataFrame, records: pl.DataFrame) -> pl.DataFrame:
    """Faults with the green they concern: the line's, or in a wide sheet that of the cell; null where none is named."""
    if "green" not in records.columns:
        return faults.with_columns(pl.lit(None, dtype=pl.String).alias("green"))
    of_line = records.filter(pl.col("cell").is_null()).select("line", "green").unique("line", keep="first")
    of_cell = records.filter(pl.col("cell").is_not_null()).select("line", pl.col("cell").alias("column"), "green")
    faults = faults.join(of_line, on="line", how="left")
    faults = faults.join(
        of_cell.unique(["line", "column"], keep="first"), on=["line", "column"], how="left", suffix="_of_cell"
    )
    return faults.with_columns(pl.coalesce("green", "green_of_cell").alias("green")).drop("green_of_cell")


def _record_faults(con: Connection, load_id: int, faults: pl.DataFrame, records: pl.DataFrame) -> None:
    if not faults.height:
        return
    faults = _with_green(faults, records)
    con.register("fault_frame", faults.to_arrow())
    con.execute(
        'INSERT INTO meta.fault SELECT ?, f.line, f."column", f.value, f.code, f.severity, f.message, f.hint, f.green '
        "FROM fault_frame AS f",
        [load_id],
    )
    con.unregister("fault_frame")
