"""Accepted records into the store: one file, one transaction, one load, every row accounted for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext, suppress
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path

import polars as pl

from pipeline.common.faults import concat, no_faults
from pipeline.common.interrupt import held
from pipeline.common.places import resolved
from pipeline.common.words import counted
from pipeline.load.blank import split_blank, without_result
from pipeline.load.call import Call
from pipeline.load.clock import of_times
from pipeline.load.complete import NOT_CLOSED, closed, no_source
from pipeline.load.detect import DetectedFile
from pipeline.load.kept import keep_rest, lacking, told_by
from pipeline.load.key_changed import key_changed, settle_gone
from pipeline.load.ledger import (
    loads_of,
    record_faults,
    record_late,
    record_load,
    record_rests,
    record_warnings,
    settle_mended,
    told_before,
    without_confirmed,
)
from pipeline.load.match import Complete, drop_temporary, match, write_records
from pipeline.load.match_faults import SAID_TWICE, changed, goes_back, replaces, said_twice, superseded, taken_back
from pipeline.load.matched import Matched, held_by_others
from pipeline.load.read_otherwise import constants_changed, read_otherwise
from pipeline.load.rejects import Rejects, decide, holding_itself, originals, stale
from pipeline.load.rejects_file import rejected_csv
from pipeline.load.reported import Reported
from pipeline.load.result import Counts, FileResult, all_rejected
from pipeline.load.source import loads_of_source
from pipeline.load.sources import keep_sources
from pipeline.load.species import added_to
from pipeline.standardise.frame import Standard
from pipeline.store import decisions
from pipeline.store.layout import Connection
from pipeline.store.proof.chain import add_load
from pipeline.store.proof.originals import pack
from pipeline.validate.validate import Checked
from pipeline.workspace.settings import rejects_name
from schemas import Kind


@dataclass(frozen=True)
class Loading:
    """One file on its way into the store."""

    call: Call
    detected: DetectedFile
    standard: Standard
    checked: Checked
    rests: Mapping[int, int]

    @property
    def kind(self) -> Kind:
        """Kind of record it holds."""
        return self.standard.kind

    @property
    def rejected(self) -> int:
        """How many of its rows are rejected."""
        return self.checked.rejected.height + self.detected.sheet.rejected.height

    def write(self) -> FileResult:
        """Match the accepted records with the store's, write what is new, and the rejected rows to their file.

        Raises:
            CannotDo: the store or the rejected rows cannot be written; nothing of the file was kept.
            StoppedAfter: Ctrl-C came meanwhile; the file is loaded.
        """
        dry_run, rejects = self.call.dry_run, self._rejects()
        writing = rejects.standing() if rejects and not dry_run else nullcontext()
        with (
            self.detected.path.open("rb") as source,
            ThreadPoolExecutor(1) as beside,
            held(),
            writing,
            self.call.store.transaction() as con,
        ):
            original = beside.submit(pack, source)  # compressing holds no lock of Python's
            result = self._write(con, rejects)
            if result.load_id is not None:
                keep_sources(con, self.call, self.detected, original.result(), result.load_id)
                add_load(con, result.load_id)
            if rejects and not dry_run:
                rejects.record(con)
        return result

    def _write(self, con: Connection, rejects: Rejects | None) -> FileResult:
        store, dry_run = self.call.store, self.call.dry_run
        with_value, blank = split_blank(self.kind, self.checked.accepted)
        taking_back = blank.clear() if self.kind.repeats else blank
        known = loads_of(store, self.detected.sheet.sha256, self.kind.name, self.detected.beside)
        decided, file = self.call.decisions, self.detected.sheet.file
        if decided:
            decisions.lift(store)  # what a decision leaves out is in the store all the same
        beside = decisions.beside(store, self.kind, file, decided)
        taken = tuple(known)
        told = told_by(self.kind, self.standard, self.detected.profile, with_value)
        matched = match(con, self.kind, with_value, taking_back, self._complete(), self._apart(), taken, beside, told)
        rivals = tuple(one.name for one in self.call.profiles if one.name != self.detected.profile_name)
        twice = read_otherwise(con, self.kind, matched, taken, rivals, beside)
        if twice is not None:
            drop_temporary(con, matched)
            decisions.follow(store, decided)
            return self._refused(twice)
        counts = self._counts(matched, blank.height)
        counts.check()
        unused = without_result(self.standard, blank, matched.withdrawn + matched.blank_former)
        constants = constants_changed(con, self.kind, matched, self.detected.profile, taken, told)
        keys = key_changed(con, self.kind, self.detected, told, taken, list(constants), self.call.loaded)
        kept = [keep_rest(con, self.kind, told, matched), *constants.values(), keys]
        faults = concat([self._faults(matched, rejects, tuple(known.values())), unused, *kept])
        load_id = max(decisions.next_number(store), self.call.number)
        copied = file not in known.values() and faults["code"].str.starts_with(SAID_TWICE.code).any()
        keep = counts.effect or not known or copied or not told_before(store, self.detected, faults)
        if not dry_run:  # of a rehearsal there is no load to take back
            faults = _numbered(faults, load_id if keep else max(known))
        counts = counts.warned(without_confirmed(faults))
        if keep:
            record_load(con, load_id, self.detected, counts)
            record_faults(store, load_id, faults, self.kind, self.standard.records, matched, self.detected.sheet.stood)
            settle_mended(store, load_id, self.detected)
            record_rests(con, self.kind, load_id, matched, known, self.rests)
            reported = Reported.before(store, self.call.workspace, self.kind, self._names_changed(con))
            held_fields = lacking(self.kind, told) if matched.superseded else ()
            write_records(con, self.kind, load_id, matched, held_fields)
            if matched.ends:
                settle_gone(con, self.kind, load_id)
            if reported and (altered := _numbered(reported.altered(store), load_id)).height:
                record_late(store, load_id, altered)
                faults = concat([faults, altered])
        drop_temporary(con, matched)
        decisions.follow(store, decided)
        asked = self._doubles(load_id) if counts.effect else no_faults()
        of_decisions = decisions.told(store, file, faults) if decided else no_faults()
        faults = without_confirmed(concat([faults, asked, of_decisions]))
        if (warned := counts.warned(faults)) != counts:
            counts = warned
            record_warnings(con, load_id, counts)
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
        return frozenset(_places(self.detected.path.parent, self.standard.records["picture"].drop_nulls()))

    def _refused(self, fault: pl.DataFrame) -> FileResult:
        """What comes of a file that may not be loaded as it is read now."""
        faults = concat([fault, self.checked.faults])
        sheet, profile = self.detected.sheet, self.detected.profile_name
        return FileResult(sheet.file, self.kind.name, profile, all_rejected(sheet), faults)

    def _doubles(self, load_id: int) -> pl.DataFrame:
        """Warnings of jobs that this load brought and that may be in the store already, from another hand."""
        if self.kind.name != "job":
            return no_faults()
        from pipeline.store import doubles

        return doubles.told(doubles.likely_doubles(self.call.store, load_id))

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
        return decide(self.call.store, self.call.workspace, *here)

    def _faults(self, matched: Matched, rejects: Rejects | None, former: tuple[str, ...]) -> pl.DataFrame:
        """Everything that is said of the file."""
        file = self.detected.sheet.file
        before = frozenset(self.call.loaded)
        taken = replaces(self.kind, matched.superseded_lines, file, self.detected.profile_name, before)
        back = goes_back(matched.back_lines, taken, file)
        left = rejects.faults if rejects else self._stale()
        later = superseded(matched, file, former)
        named = concat([changed(self.kind, matched.superseded_lines, taken, file), taken_back(matched, file)])
        met = self.kind.repeats and matched.unchanged
        twice = said_twice(held_by_others(self.call.store.con, self.kind, file), file) if met else no_faults()
        species = added_to(self.call.store.con, self.kind, self.standard.columns, matched)
        of_time = of_times(self.call, self.checked.faults)
        return concat(
            [self.checked.faults, of_time, taken, named, back, twice, species, later, self._closed(matched), left]
        )

    def _stale(self) -> pl.DataFrame:
        return stale(self.call.store, self.call.workspace, self.detected.path, self.detected.place)

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
        files = originals(self.call.store, name)
        loads = self.call.store.rows("SELECT load_id, file FROM meta.load WHERE kind = ?", [self.kind.name])
        return tuple(load_id for load_id, file in loads if file in files or (not files and rejects_name(file) == name))

    def _complete(self) -> Complete | None:
        """The days the file is complete for; None where nothing may be closed."""
        days = self.call.complete
        if days is None or self.rejected or self.kind.register or self.detected.form:
            return None
        return Complete(*days, self._of_source)

    @cached_property
    def _of_source(self) -> tuple[int, ...]:
        """Loads of the file's source before it."""
        return loads_of_source(self.call.store, self.kind, self.detected.sheet.file, self.detected.profile_name)

    def _closed(self, matched: Matched) -> pl.DataFrame:
        """What is said of records that a file declared complete does not hold."""
        if self.call.complete is None:
            return no_faults()
        if self.detected.form:
            from pipeline.load.forms import NOT_CLOSED as FORM_NOT_CLOSED

            return FORM_NOT_CLOSED.at()
        if self.rejected:
            return NOT_CLOSED.at(None, counted(self.rejected, "row of the file was", "rows of the file were"))
        about = (self.detected.sheet.file, self.detected.profile_name)
        held = self.kind.register or self._of_source
        if not held and (alone := no_source(self.call.store, self.kind, self.call.complete, *about)).height:
            return alone
        return closed(matched, self.call.complete, *about)


def _numbered(faults: pl.DataFrame, load_id: int) -> pl.DataFrame:
    """Faults whose hints name the load they are of by its number."""
    said = pl.col("hint").str.replace_all("undo LOAD", f"undo {load_id}", literal=True)
    return faults.with_columns(said)


def _last_day(records: pl.DataFrame) -> pl.Expr:
    return pl.coalesce("date_to", "date") if "date_to" in records.columns else pl.col("date")


def _span(records: pl.DataFrame) -> tuple[date, date] | None:
    if "date" not in records.columns or not records.height:
        return None
    first, last = records.select(pl.col("date").min().alias("first"), _last_day(records).max().alias("last")).row(0)
    return first, last


def _places(folder: Path, names: Iterable[str]) -> Iterator[Path]:
    """Where files of these names lie from a folder; of a name that leads nowhere, nothing."""
    for name in names:
        with suppress(OSError, ValueError):  # links in a circle, a name no file can have
            yield resolved(folder / name)
