"""What a file holds: read with the profile its headers call for, or with several that each read a part of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from shlex import quote

import polars as pl

from pipeline.common.faults import FaultKind, concat, refuse_file
from pipeline.common.file_names import fits_any
from pipeline.common.limits import STANDARD, Limits
from pipeline.common.marks import mark_of_part
from pipeline.common.words import listed
from pipeline.load.left_out import LeftOut, layers_left_out, sheets_left_out
from pipeline.load.rejects_file import is_rejects_file, reading_of_rejects_file
from pipeline.profiles.fitting import Fit, called_for, fit
from pipeline.profiles.profile import Profile, kind_of_headers
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import header_cells, read_sheet, taken_in
from pipeline.read.text.columns import MADE
from pipeline.standardise.shape.given import with_given
from schemas import KINDS, Kind
from schemas.codes import fold

KIND_UNKNOWN = FaultKind(
    "file.kind_unknown",
    "Cannot tell what the file holds",
    "The headers fit no source profile and no single kind of record: {value}.",
    "Draft a source profile for it: profile {file}; or say what it holds with --kind (one of {kinds}).",
)
PROFILE_UNDECIDED = FaultKind(
    "profile.undecided",
    "Profile not decided yet",
    "Profile {profile} is this file's, and {value} still says “?”{more}.",
    "Open the profile, decide every “?” (the comment beside it says how), and load again.",
)
PROFILES_TIED = FaultKind(
    "profile.tied",
    "Two profiles fit the file alike",
    "Profiles {value} fit this file equally well, and nothing says which is meant.",
    "Name one with --profile, or delete the other; if they are for files of different names, say so with file under "
    "[match]; if each reads a part of the file (a sheet, a layer), say which with sheet under [reading], or with part "
    "under [match].",
)


@dataclass(frozen=True)
class DetectedFile:
    """A file read, and what it, or one part of it, was found to hold.

    Attributes:
        sheet: its cells.
        kind: kind of record, None where it cannot be told.
        profile: source profile, None where none is used.
        faults: faults met while reading it.
        is_rejects_file: whether it is a rejects file, with rows to mend.
        rules: fingerprint of every profile and of the corrections of the file.
        path: where the file lies.
        beside: profiles that read the other parts of the file.
        form: whether it is a filled form, or a sheet of one.
        form_part: sheet of a form with several, "" where the file is one sheet.
        of_sheet: whether it is one of several sheets that one profile reads.
        rejects_of: name of the CSV whose rejected rows a workbook holds, "" of any other file.
    """

    sheet: Sheet
    kind: Kind | None
    profile: Profile | None
    faults: pl.DataFrame
    is_rejects_file: bool = False
    rules: str = ""
    path: Path = Path()
    beside: tuple[str, ...] = ()
    form: bool = False
    form_part: str = ""
    rejects_of: str = ""
    of_sheet: bool = False

    @property
    def file(self) -> str:
        """The file as the person named it."""
        return self.sheet.file

    @property
    def profile_name(self) -> str:
        """Name of the profile, "" where none."""
        return self.profile.name if self.profile else ""

    @property
    def shown(self) -> str:
        """The file, and which part of it, as a person reads it."""
        return self.file if not self.part or self.file.endswith(f" {self.part}") else f"{self.file} ({self.part})"

    def saying(self, more: pl.DataFrame) -> DetectedFile:
        """The same with further faults."""
        sheet = replace(self.sheet, faults=concat([self.sheet.faults, more]))
        return replace(self, sheet=sheet, faults=concat([self.faults, more]))

    @property
    def part(self) -> str:
        """Name of the profile where it reads but a part of the file, or of the form's sheet; else ""."""
        return self.form_part or (self.profile_name if self.beside else "")

    @property
    def place(self) -> str:
        """What tells it from the other parts of its file, as the place of its rejected rows holds it."""
        return f"{self.profile_name}\n{self.sheet.name}" if self.of_sheet else self.part


@dataclass(frozen=True)
class Search:
    """What a file's profile is looked for by.

    Attributes:
        profiles: source profiles of the workspace.
        known: folded headers any of them or any kind knows.
        kind: kind of record the person named, "" to find out.
        profile: profile the person named, "" to find out.
        ours: whether the store knows the file as one of rejected rows.
        ignored: sheets that the settings say are not needed.
        given: by field, what the person says of the whole file.
        limits: how much of the file is read.
    """

    profiles: tuple[Profile, ...]
    known: frozenset[str]
    kind: str = ""
    profile: str = ""
    ours: bool = False
    ignored: tuple[str, ...] = ()
    given: Mapping[str, str] = field(default_factory=dict)
    limits: Limits = STANDARD


def detect(path: Path, shown: str, search: Search) -> tuple[DetectedFile, ...]:
    """Read a file with the profile its headers call for; several parts where several profiles say which they read.

    Args:
        path: the file.
        shown: how the person named it.
        search: what its profile is looked for by.
    """
    book = _Book(path, shown, search, ours=search.ours or is_rejects_file(path))
    named, tied = book.profiles()
    if tied:
        names = listed([f"“{one.name}”" for one in tied])
        sheet = replace(book.sheet, file=shown, faults=concat([book.sheet.faults, PROFILES_TIED.at(None, names)]))
        return (DetectedFile(sheet, None, None, sheet.faults, book.ours, path=path),)
    parts = tuple(part for profile in named or (None,) for part in book.parts(profile, named))
    read = [one.sheet.name for one in parts]
    told = []
    for at, part in enumerate(parts):
        found = [] if at else [sheets_left_out(part.sheet, read, LeftOut(named, search.ignored))]
        found += [] if part.sheet.name in read[:at] else [layers_left_out(part.sheet, named)]
        told.append(part.saying(concat(found)))
    return tuple(told)


@dataclass
class _Book:
    """A file, read as often as its profiles read it in different ways."""

    path: Path
    shown: str
    search: Search
    ours: bool
    _read: dict[Reading, Sheet] = field(default_factory=dict)

    @property
    def plain(self) -> Reading:
        """How it is read while no profile says how."""
        known = self.search.known
        return (
            reading_of_rejects_file(known)
            if self.ours
            else Reading(known_headers=known, ignored_sheets=self.search.ignored)
        )

    @property
    def sheet(self) -> Sheet:
        """What it holds while no profile says how it is read."""
        return self.read(self.plain)

    def read(self, how: Reading) -> Sheet:
        if how not in self._read:
            self._read[how] = read_sheet(self.path, replace(how, limits=self.search.limits))
        return self._read[how]

    def as_said(self, profile: Profile) -> Sheet:
        """The file as a profile says it is read."""
        return self.read(profile.reading_with(self.search.known, self.search.ignored))

    def read_by(self, profile: Profile | None) -> Sheet:
        """The file as a profile says it is read; a file of rejected rows is laid out as this program writes it."""
        own = profile is not None and not self.ours and profile.reading != type(profile.reading)()
        return self.as_said(profile) if own and profile else self.sheet

    def profiles(self) -> tuple[tuple[Profile, ...], tuple[Profile, ...]]:
        """The profiles it is read by, and those of which nothing says which is meant."""
        search = self.search
        named = tuple(one for one in search.profiles if one.name == search.profile)
        if named or search.kind:
            return named, ()
        return called_for(self._fitting(self.sheet.headers) or self._by_their_own_reading(search.profiles))

    def _fitting(self, headers: Sequence[str]) -> list[tuple[Fit, Profile]]:
        """The profiles that fit the headers, with those that name another sheet of the workbook and fit that."""
        found, elsewhere = [], []
        for profile in self.search.profiles:
            how_well = fit(profile, headers, self.shown)
            if self._of_another_sheet(profile):
                elsewhere.append(profile)
            elif how_well:
                found.append((how_well, profile))
        return found + self._by_their_own_reading(elsewhere)

    def _of_another_sheet(self, profile: Profile) -> bool:
        """Whether a profile names a sheet that the workbook has, and that is not the one found without it."""
        wanted = profile.reading.sheet
        others = {one.name for one in self.sheet.unread}
        return not self.ours and wanted is not None and wanted in others

    def _by_their_own_reading(self, profiles: Sequence[Profile]) -> list[tuple[Fit, Profile]]:
        """Profiles that say how their files are read, and whose headers are found once they are read so."""
        found = []
        for profile in profiles:
            if profile.reading != type(profile.reading)() and profile.match.headers and not self.ours:
                one = next(iter(self._each_sheet(profile)), profile)
                may = self._may_fit(profile, one.reading_with(self.search.known))
                how_well = fit(profile, self.as_said(one).headers, self.shown) if may else None
                found += [(how_well, profile)] if how_well else []
        return found

    def _may_fit(self, profile: Profile, how: Reading) -> bool:
        """Whether the file's names of columns, read so, may be a profile's: told without reading every row."""
        cells = None if how in self._read else header_cells(self.path, replace(how, limits=self.search.limits))
        if cells is None:
            return True
        seen = frozenset(map(fold, cells))
        wanted = [fold(header) for header in profile.match.headers]
        return profile.match.fits(seen | {name for name in wanted if MADE.fullmatch(name)}, self.shown)

    def _each_sheet(self, profile: Profile) -> list[Profile]:
        """A profile that reads several sheets, once for each that it fits; none where it does not speak of sheets."""
        wanted = profile.reading.sheets
        if not wanted or self.ours:
            return []
        from pipeline.read.workbook.workbook import sheet_names  # most files are text

        found = []
        raw = taken_in(self.path, self.search.limits)
        for name in sheet_names(raw, self.search.limits) if isinstance(raw, bytes) else ():
            named = fits_any(name, wanted)
            one = profile.of_sheet(name)
            if named and LeftOut((profile,), self.search.ignored).needed(name):
                headers = frozenset(map(fold, self.as_said(one).headers))
                found += [one] if profile.match.fits(headers, self.shown) else []
        return found

    def parts(self, profile: Profile | None, named: Sequence[Profile]) -> list[DetectedFile]:
        """What one profile reads of the file: one part, or one of each sheet that it reads."""
        sheets = self._each_sheet(profile) if profile else []
        others = [one for one in named if one is not profile]
        return [_of_sheet(self.part(one, [one, *others])) for one in sheets] or [self.part(profile, named)]

    def part(self, profile: Profile | None, named: Sequence[Profile]) -> DetectedFile:
        """What one profile reads of the file; the whole of it where there is no other."""
        sheet = replace(self.read_by(profile), file=self.shown)
        others = tuple(one for one in named if one is not profile)
        beside = tuple(one.name for one in others)
        if profile is not None and profile.undecided:
            faults = concat([sheet.faults, _not_decided(profile)])
            return DetectedFile(sheet, None, profile, faults, self.ours, path=self.path, beside=beside)
        kind = self.search.kind
        headers = (*sheet.headers, *self.search.given)
        record_kind = profile.record_kind if profile else KINDS[kind] if kind else kind_of_headers(headers)
        if record_kind and not refuse_file(sheet.faults):
            sheet, profile = with_given(sheet, profile, record_kind, self.search.given)
        faults = sheet.faults
        if record_kind is None and not refuse_file(sheet.faults):
            shown = ", ".join(header for header in sheet.headers if header)
            unknown = KIND_UNKNOWN.at(None, shown, kinds=", ".join(KINDS), file=quote(self.path.as_posix()))
            faults = concat([faults, unknown])
        read = profile.beside(others) if profile else None
        return DetectedFile(sheet, record_kind, read, faults, self.ours, path=self.path, beside=beside)


def _of_sheet(part: DetectedFile) -> DetectedFile:
    """One of several sheets that one profile reads, as a file of its own: its lines are numbered like the others'."""
    sheet = part.sheet
    own = mark_of_part(sheet.sha256, sheet.name)
    return replace(part, sheet=replace(sheet, file=f"{sheet.file} [{sheet.name}]", sha256=own), of_sheet=True)


def _not_decided(profile: Profile) -> pl.DataFrame:
    first, *rest = profile.undecided
    more = f" (and {len(rest)} more)" if rest else ""
    return PROFILE_UNDECIDED.at(None, first, profile=profile.name, more=more)
