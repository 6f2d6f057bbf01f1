"""Accepted records into the store: one file, one transaction, one load, every row accounted for."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import nullcontext
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.interrupt import held
from pipeline.common.words import counted
from pipeline.load.blank import split_blank, without_result
from pipeline.load.detect import DetectedFile, Search, detect
from pipeline.load.kept import keep_rest, lacking, told_by
from pipeline.load.ledger import (
    last_load,
    loads_of,
    record_faults,
    record_late,
    record_load,
    record_rests,
    same_again,
    told_before,
)
from pipeline.load.match import Complete, Matched, drop_temporary, held_by_others, match, write_records
from pipeline.load.match_faults import SAID_TWICE, goes_back, replaces, said_twice, superseded
from pipeline.load.photos import with_pictures
from pipeline.load.read_otherwise import constants_changed, read_otherwise
from pipeline.load.rejects import Rejects, decide, holding_itself, originals, part_of, stale, to_be_mended
from pipeline.load.rejects_file import rejected_csv
from pipeline.load.reported import Reported
from pipeline.load.result import Counts, FileResult
from pipeline.load.shared_out import by_area, shares_out
from pipeline.load.species import added_to
from pipeline.profiles.corrections import Correction, correct, fingerprint, for_file, for_part
from pipeline.profiles.fitting import apart
from pipeline.profiles.profile import Profile, all_known_headers
from pipeline.read.sheet import Sheet
from pipeline.standardise.frame import Standard, standardise
from pipeline.standardise.shape.down import filled_down
from pipeline.standardise.shape.given import with_given
from pipeline.store import decisions
from pipeline.store.register import Register
from pipeline.store.store import Connection, Store
from pipeline.validate.carried import carried
from pipeline.validate.validate import Checked, validate
from pipeline.workspace.settings import Workspace, rejects_name
from schemas import KINDS, Kind

CLOSED = FaultKind(
    "load.closed",
    "Records the complete file no longer holds",
    "{value} of this source between {first} and {last} are not in the file any more and are no longer in force.",
    "Take this load back (undo LOAD), if the file was not complete after all.",
    severity="warning",
)
NOT_CLOSED = FaultKind(
    "load.not_closed",
    "Nothing was closed",
    "{value} of the file were rejected, so it cannot be taken as complete: no record was closed.",
    "Mend the rejected rows in the file itself and load it again as complete.",
    severity="warning",
)
SPARED = FaultKind(
    "load.spared",
    "Records that came after a complete file was first loaded",
    "{value} of this source between {first} and {last} are not in the file, but came after it was first loaded: "
    "they stay in force.",
    "If they should not be there, take the load that brought them back (undo LOAD).",
    severity="note",
)


@dataclass(frozen=True)
class Loaded:
    """A file that was loaded before, byte for byte and by the same rules: its entry, and what the person named."""

    path: Path
    row: dict[str, Any]
    named_kind: str
    named_profile: str

    @property
    def kind(self) -> Kind:
        """Kind of record it holds."""
        return KINDS[self.row["kind"]]

    @property
    def file(self) -> str:
        """The file as the person named it."""
        return str(self.row["file"])

    @property
    def shown(self) -> str:
        """The same: it has no parts."""
        return self.file


@dataclass(frozen=True)
class Loader:
    """Loads files into an open store.

    Attributes:
        store: the store, open for writing.
        workspace: settings and folders.
        profiles: every source profile of the workspace.
        today: day of loading.
        dry_run: say everything, change nothing.
        complete: first and last day that the files hold completely; None where they do not.
        corrections: every correction of the workspace.
        given: by field, what the person says of each whole file.
        loaded: files it has loaded so far.
    """

    store: Store
    workspace: Workspace
    profiles: tuple[Profile, ...]
    today: date
    dry_run: bool = False
    complete: tuple[date, date] | None = None
    corrections: tuple[Correction, ...] = ()
    given: Mapping[str, str] = field(default_factory=dict)
    loaded: list[str] = field(default_factory=list, init=False)
    _register: list[Register] = field(default_factory=list, init=False)
    _known: frozenset[str] = field(default=frozenset(), init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_known", all_known_headers(self.profiles))

    @cached_property
    def decisions(self) -> tuple[decisions.Decision, ...]:
        """Every decision of the workspace."""
        return decisions.read_decisions(self.workspace.decisions)

    def detect(self, path: Path, shown: str, kind: str = "", profile: str = "") -> tuple[DetectedFile | Loaded, ...]:
        """Tell what a file holds: by the store where it was loaded before as it is, else by reading it.

        One part, but where several profiles each say that they read a part of it, or it is a form of several sheets:
        those are loads of their own.
        """
        rules = self._rules(shown)
        if self.complete is None:
            with path.open("rb") as source:
                digest = file_digest(source, "sha256").hexdigest()
            row = last_load(self.store, digest, shown, rules, kind, profile)
            # A picture beside the file may have changed; of several parts or sheets one may have been refused.
            if row and not (KINDS[row["kind"]].pictured or self._in_parts(row["profile"]) or _is_form(path)):
                return (Loaded(path, row, kind, profile),)
        return self._read(path, shown, kind, profile)

    def _in_parts(self, name: str) -> bool:
        """Whether a profile says that it reads a part of a file, and another that it reads another part."""
        mine = next((one for one in self.profiles if one.name == name), None)
        return mine is not None and any(apart(mine, other) for other in self.profiles if other is not mine)

    def _rules(self, shown: str) -> str:
        """Fingerprint of all that a file is read by: any profile may come to fit it."""
        mine = fingerprint(for_file(self.corrections, shown))
        mine += "".join(one.mark for one in self.decisions if any(place.in_file(shown) for place in one.places))
        ignored = self.workspace.settings.ignore_sheets
        worked = [f"working {hours}" for hours in self._working_h if hours is not None]
        said = [f"{name} = {text}" for name, text in sorted(self.given.items())]
        parts = [*sorted(one.sha256 for one in self.profiles), mine, *ignored, *worked, *said]
        return sha256("|".join(parts).encode()).hexdigest()

    @property
    def _working_h(self) -> tuple[float | None, float | None]:
        settings = self.workspace.settings
        return settings.working_day_h or None, settings.working_week_h or None

    def _read(self, path: Path, shown: str, kind: str, profile: str) -> tuple[DetectedFile, ...]:
        if not (kind or profile) and _is_form(path):
            from pipeline.load.forms import form_parts

            if parts := form_parts(path, shown, self.profiles):
                return tuple(self._corrected(self._with_given(part), part.file) for part in parts)
        named = profile or part_of(self.store, path.name)
        ignored = self.workspace.settings.ignore_sheets
        ours = to_be_mended(self.store, self.workspace, path)
        search = Search(self.profiles, self._known, kind, named, ours, ignored, self.given)
        return tuple(self._corrected(part, shown) for part in detect(path, shown, search))

    def _corrected(self, detected: DetectedFile, shown: str) -> DetectedFile:
        mine = for_part(for_file(self.corrections, shown), detected.sheet.name)
        sheet = filled_down(correct(detected.sheet, mine), detected.profile)
        return replace(detected, sheet=sheet, rules=self._rules(shown))

    def _with_given(self, part: DetectedFile) -> DetectedFile:
        """A sheet of a form, with what the person says of the whole file."""
        if part.kind is None:
            return part
        sheet, profile = with_given(part.sheet, part.profile, part.kind, self.given)
        return replace(part, sheet=sheet, profile=profile, faults=sheet.faults)

    def load(self, detected: DetectedFile | Loaded) -> FileResult:
        """Load a file once it is known what it holds."""
        if decisions.stale(self.store, self.decisions):  # one was written or deleted by hand
            with self.store.transaction():
                decisions.follow(self.store, self.decisions)
        if isinstance(detected, Loaded):
            if again := same_again(self.store, detected.row):
                return replace(again, faults=concat([again.faults, stale(self.store, self.workspace, detected.path)]))
            (detected,) = self._read(detected.path, detected.row["file"], detected.named_kind, detected.named_profile)
        return replace(self._load(detected), part=detected.part)

    def _load(self, detected: DetectedFile) -> FileResult:
        sheet, profile = detected.sheet, detected.profile_name
        if detected.kind is None:
            return FileResult(sheet.file, "", profile, _refused(sheet), detected.faults)
        register = self._read_register()
        standard = standardise(
            sheet, detected.kind, detected.profile, register.green_aliases, working_h=self._working_h
        )
        if standard.broken:
            return FileResult(sheet.file, detected.kind.name, profile, _refused(sheet), standard.faults)
        if detected.profile and shares_out(detected.profile):
            standard = by_area(standard, register)
        if detected.kind.pictured:
            standard = with_pictures(standard, detected.path.parent)
        if detected.kind.register:
            register = replace(register, met=self.store.names_met(detected.kind.name))
        standard, rests = carried(standard, register)
        done = _Loading(self, detected, standard, validate(standard, register, self.today), rests).write()
        self.loaded.append(sheet.file)
        if detected.kind.register:
            self._register.clear()
        return done

    def _read_register(self) -> Register:
        """The registers as the files loaded so far left them: read again only after one of them was loaded."""
        if not self._register:
            self._register.append(self.store.register(self.workspace.settings.season_start))
        return self._register[0]


def _is_form(path: Path) -> bool:
    """Whether a file may be a form, which is a workbook."""
    with path.open("rb") as file:
        if not file.read(2).startswith(b"PK"):
            return False
    from pipeline.forms.filled import is_form

    return is_form(path)


def _refused(sheet: Sheet) -> Counts:
    """Counts of a file refused as a whole: every row is rejected."""
    rejected = sheet.cells.height + sheet.rejected.height
    return Counts(rows=rejected + sheet.ignored.height, rejected=rejected, ignored=sheet.ignored.height)


@dataclass(frozen=True)
class _Loading:
    """One file on its way into the store."""

    loader: Loader
    detected: DetectedFile
    standard: Standard
    checked: Checked
    rests: Mapping[int, int]

    @property
    def kind(self) -> Kind:
        return self.standard.kind

    @property
    def rejected(self) -> int:
        return self.checked.rejected.height + self.detected.sheet.rejected.height

    def write(self) -> FileResult:
        """Match the accepted records with the store's, write what is new, and the rejected rows to their file.

        Raises:
            CannotDo: the store or the rejected rows cannot be written; nothing of the file was kept.
            StoppedAfter: Ctrl-C came meanwhile; the file is loaded.
        """
        dry_run, rejects = self.loader.dry_run, self._rejects()
        writing = rejects.standing() if rejects and not dry_run else nullcontext()
        with held(), writing, self.loader.store.transaction() as con:
            result = self._write(con, rejects)
            if rejects and not dry_run:
                rejects.record(con)
        return result

    def _write(self, con: Connection, rejects: Rejects | None) -> FileResult:
        store, dry_run = self.loader.store, self.loader.dry_run
        with_value, blank = split_blank(self.kind, self.checked.accepted)
        taking_back = blank.clear() if self.kind.repeats else blank
        known = loads_of(store, self.detected.sheet.sha256, self.kind.name, self.detected.beside)
        decided, file = self.loader.decisions, self.detected.sheet.file
        if decided:
            decisions.lift(store)  # what a decision leaves out is in the store all the same
        beside = decisions.beside(store, self.kind, file, decided)
        taken = tuple(known)
        told = told_by(self.kind, self.standard, self.detected.profile, with_value)
        matched = match(con, self.kind, with_value, taking_back, self._complete(), self._apart(), taken, beside, told)
        rivals = tuple(one.name for one in self.loader.profiles if one.name != self.detected.profile_name)
        twice = read_otherwise(con, self.kind, matched, taken, rivals, beside)
        if twice is not None:
            drop_temporary(con, matched)
            decisions.follow(store, decided)
            return self._refused(twice)
        counts = self._counts(matched, blank.height)
        unused = without_result(self.standard, blank, matched.withdrawn + matched.blank_former)
        kept = [
            keep_rest(con, self.kind, told, matched),
            constants_changed(con, self.kind, matched, self.detected.profile, taken, told),
        ]
        faults = concat([self._faults(matched, rejects, tuple(known.values())), unused, *kept])
        counts = replace(counts, warnings=faults.filter(pl.col("severity") == "warning").height)
        counts.check()
        load_id = decisions.next_number(store)
        copied = file not in known.values() and faults["code"].str.starts_with(SAID_TWICE.code).any()
        keep = counts.effect or not known or copied or not told_before(store, self.detected, faults)
        if keep:
            record_load(con, load_id, self.detected, counts)
            record_faults(store, load_id, faults, self.kind, self.standard.records, matched)
            record_rests(con, self.kind, load_id, matched, known, self.rests)
            reported = Reported.before(store, self.loader.workspace, self.kind, self._names_changed(con))
            held = lacking(self.kind, told) if matched.superseded else ()
            write_records(con, self.kind, load_id, matched, held)
            if reported and (altered := reported.altered(store)).height:
                record_late(store, load_id, altered)
                faults = concat([faults, altered])
                counts = replace(counts, warnings=counts.warnings + altered.height)
        drop_temporary(con, matched)
        decisions.follow(store, decided)
        asked = concat(
            [
                self._doubles(load_id) if counts.effect else no_faults(),
                decisions.told(store, file, faults) if decided else no_faults(),
            ]
        )
        if asked.height:
            faults = concat([faults, asked])
            counts = replace(counts, warnings=faults.filter(pl.col("severity") == "warning").height)
            con.execute("UPDATE meta.load SET warnings = ? WHERE load_id = ?", [counts.warnings, load_id])
        return FileResult(
            self.detected.sheet.file,
            self.kind.name,
            self.detected.profile_name,
            counts,
            faults,
            rejects.path if rejects and not dry_run else None,
            load_id if keep and not dry_run else None,
            _span(with_value),
            self._pictures(),
        )

    def _pictures(self) -> frozenset[Path]:
        """The pictures that its rows name."""
        if not self.kind.pictured:
            return frozenset()
        folder = self.detected.path.parent
        return frozenset((folder / name).resolve() for name in self.standard.records["picture"].drop_nulls())

    def _refused(self, fault: pl.DataFrame) -> FileResult:
        """What comes of a file that may not be loaded as it is read now."""
        faults = concat([fault, self.checked.faults])
        sheet, profile = self.detected.sheet, self.detected.profile_name
        return FileResult(sheet.file, self.kind.name, profile, _refused(sheet), faults)

    def _doubles(self, load_id: int) -> pl.DataFrame:
        """Warnings of jobs that this load brought and that may be in the store already, from another hand."""
        if self.kind.name != "job":
            return no_faults()
        from pipeline.store import doubles

        return doubles.told(doubles.likely_doubles(self.loader.store, load_id))

    def _names_changed(self, con: Connection) -> list[str]:
        """Whose rows of a register the file brings or changes."""
        if not self.kind.register or self.kind.name not in self.kind.by_name:
            return []
        sql = f"SELECT DISTINCT \"{self.kind.name}\" FROM incoming WHERE status IN ('new', 'supersedes') ORDER BY ALL"  # noqa: S608 (a name from KINDS)
        return [name for (name,) in con.execute(sql).fetchall()]

    def _rejects(self) -> Rejects | None:
        """The file that takes the rejected rows; None where there are none."""
        if not self.rejected:
            return None
        content = rejected_csv(self.detected.sheet, self.checked.rejected, self.checked.faults)
        if self.detected.is_rejects_file and not self.checked.accepted.height and not self.standard.ignored.height:
            return holding_itself(self.detected.path, self.detected.sheet.file, content)
        here = (self.detected.path, self.detected.sheet.file, content, self.detected.place)
        return decide(self.loader.store, self.loader.workspace, *here)

    def _faults(self, matched: Matched, rejects: Rejects | None, former: tuple[str, ...]) -> pl.DataFrame:
        """Everything that is said of the file."""
        file = self.detected.sheet.file
        before = frozenset(self.loader.loaded)
        taken = replaces(self.kind, matched.superseded_lines, file, self.detected.profile_name, before)
        back = goes_back(matched.back_lines, taken, file)
        left = rejects.faults if rejects else self._stale()
        changed = superseded(matched, file, former)
        met = self.kind.repeats and matched.unchanged
        twice = said_twice(held_by_others(self.loader.store.con, self.kind, file), file) if met else no_faults()
        species = added_to(self.loader.store.con, self.kind, self.standard.columns, matched)
        return concat([self.checked.faults, taken, back, twice, species, changed, self._closed(matched), left])

    def _stale(self) -> pl.DataFrame:
        return stale(self.loader.store, self.loader.workspace, self.detected.path, self.detected.place)

    def _counts(self, matched: Matched, blank: int) -> Counts:
        left_out = self.standard.ignored.height
        return Counts(
            rows=self.standard.records.height + left_out + self.detected.sheet.rejected.height + matched.closed,
            loaded=matched.new,
            unchanged=matched.unchanged + matched.former,
            superseded=matched.superseded,
            withdrawn=matched.withdrawn,
            closed=matched.closed,
            rejected=self.rejected,
            ignored=left_out + self.checked.repeated.height + blank - matched.withdrawn,
        )

    def _apart(self) -> tuple[int, ...]:
        """Loads of the file whose rejected rows these are: each is a record of its own, also where their keys agree."""
        if not (self.detected.is_rejects_file and self.kind.repeats):
            return ()
        name = self.detected.rejects_of or self.detected.path.name
        files = originals(self.loader.store, name)
        loads = self.loader.store.rows("SELECT load_id, file FROM meta.load WHERE kind = ?", [self.kind.name])
        return tuple(load_id for load_id, file in loads if file in files or (not files and rejects_name(file) == name))

    def _complete(self) -> Complete | None:
        """The days the file is complete for; None where nothing may be closed."""
        days = self.loader.complete
        if days is None or self.rejected or self.kind.register or self.detected.form:
            return None
        return Complete(*days, self.detected.profile_name)

    def _closed(self, matched: Matched) -> pl.DataFrame:
        """What is said of records that a file declared complete does not hold."""
        if self.loader.complete is None:
            return no_faults()
        if self.detected.form:
            from pipeline.load.forms import NOT_CLOSED as FORM_NOT_CLOSED

            return FORM_NOT_CLOSED.at()
        if self.rejected:
            return NOT_CLOSED.at(None, f"{self.rejected} rows")
        first, last = self.loader.complete
        told = [(CLOSED, f"{matched.closed} records")] if matched.closed else []
        told += [(SPARED, counted(matched.spared, "record"))] if matched.spared else []
        return concat(fault.at(None, what, first=first, last=last) for fault, what in told)


def _last_day(records: pl.DataFrame) -> pl.Expr:
    return pl.coalesce("date_to", "date") if "date_to" in records.columns else pl.col("date")


def _span(records: pl.DataFrame) -> tuple[date, date] | None:
    if "date" not in records.columns or not records.height:
        return None
    first, last = records.select(pl.col("date").min().alias("first"), _last_day(records).max().alias("last")).row(0)
    return first, last
