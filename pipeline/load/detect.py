"""What a file holds: read with the profile its headers call for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from pipeline.common.faults import FaultKind, concat, refuse_file
from pipeline.load.rejects_file import is_rejects_file, reading_of_rejects_file
from pipeline.profiles.profile import Profile, best_profile, kind_of_headers
from pipeline.read.sheet import Reading, Sheet
from pipeline.read.table import read_sheet
from schemas import KINDS, Kind

KIND_UNKNOWN = FaultKind(
    "file.kind_unknown",
    "Cannot tell what the file holds",
    "The headers fit no source profile and no single kind of record: {value}.",
    "Say what it holds with --kind (one of {kinds}), or write a source profile for it.",
)
PROFILE_UNDECIDED = FaultKind(
    "profile.undecided",
    "Profile not decided yet",
    "Profile {profile} is this file's, and {value} still says “?”{more}.",
    "Open the profile, decide every “?” (the comment beside it says how), and load again.",
)


@dataclass(frozen=True)
class DetectedFile:
    """A file read, and what it was found to hold.

    Attributes:
        sheet: its cells.
        kind: kind of record, None where it cannot be told.
        profile: source profile, None where none is used.
        faults: faults met while reading it.
        is_rejects_file: whether it is a rejects file, with rows to mend.
        rules: fingerprint of every profile and of the corrections of the file.
        path: where the file lies.
        form_part: sheet of a form with several, "" where the file is one sheet.
        rejects_of: name of the CSV whose rejected rows a workbook holds, "" of any other file.
    """

    sheet: Sheet
    kind: Kind | None
    profile: Profile | None
    faults: pl.DataFrame
    is_rejects_file: bool = False
    rules: str = ""
    path: Path = Path()
    form_part: str = ""
    rejects_of: str = ""

    @property
    def file(self) -> str:
        """The file as the person named it."""
        return self.sheet.file

    @property
    def profile_name(self) -> str:
        """Name of the profile, "" where none."""
        return self.profile.name if self.profile else ""

    @property
    def part(self) -> str:
        """Name of the part of the file that it is, "" where it is the whole."""
        return self.form_part


def detect(
    path: Path, shown: str, profiles: tuple[Profile, ...], known: frozenset[str], kind: str, profile: str
) -> DetectedFile:
    """Read a file with the profile its headers call for.

    Args:
        path: the file.
        shown: how the person named it.
        profiles: source profiles of the workspace.
        known: folded headers any of them or any kind knows.
        kind: kind of record the person named, "" to find out.
        profile: profile the person named, "" to find out.
    """
    ours = is_rejects_file(path)
    plain = reading_of_rejects_file(known) if ours else Reading(known_headers=known)
    sheet = read_sheet(path, plain)
    named = next((p for p in profiles if p.name == profile), None)
    if named is None and not kind:
        named = best_profile(profiles, sheet.headers, shown) or _by_its_own_reading(path, profiles, known)
    if named is not None and not ours and named.reading != type(named.reading)():
        sheet = read_sheet(path, named.reading_with(known))
    sheet = replace(sheet, file=shown)
    if named is not None and named.undecided:
        faults = concat([sheet.faults, _not_decided(named)])
        return DetectedFile(sheet, None, named, faults, ours, path=path)
    record_kind = named.record_kind if named else KINDS[kind] if kind else kind_of_headers(sheet.headers)
    faults = sheet.faults
    if record_kind is None and not refuse_file(sheet.faults):
        shown_headers = ", ".join(header for header in sheet.headers if header)
        faults = concat([faults, KIND_UNKNOWN.at(None, shown_headers, kinds=", ".join(KINDS))])
    return DetectedFile(sheet, record_kind, named, faults, ours, path=path)


def _not_decided(profile: Profile) -> pl.DataFrame:
    first, *rest = profile.undecided
    more = f" (and {len(rest)} more)" if rest else ""
    return PROFILE_UNDECIDED.at(None, first, profile=profile.name, more=more)


def _by_its_own_reading(path: Path, profiles: tuple[Profile, ...], known: frozenset[str]) -> Profile | None:
    """A profile that says how its files are read, and whose headers are found once they are read so."""
    for profile in profiles:
        if profile.reading != type(profile.reading)() and profile.match.headers:
            sheet = read_sheet(path, profile.reading_with(known))
            if best_profile((profile,), sheet.headers, path.name):
                return profile
    return None
