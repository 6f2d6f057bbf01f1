"""Loading a file: which profile it calls for, what it holds, and whether the store knows it already."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from hashlib import file_digest, sha256
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.faults import concat
from pipeline.common.limits import STANDARD, Limits
from pipeline.forms.hints import of_a_form, of_plain_file
from pipeline.load.call import Call
from pipeline.load.detect import DetectedFile, Search, detect
from pipeline.load.ledger import last_load, same_again
from pipeline.load.loading import Loading
from pipeline.load.photos import with_pictures
from pipeline.load.rejects import part_of, stale, to_be_mended
from pipeline.load.result import FileResult, all_rejected
from pipeline.load.shared_out import by_area, shares_out
from pipeline.profiles.corrections import correct, fingerprint, for_file, for_part
from pipeline.profiles.fitting import apart
from pipeline.profiles.profile import all_known_headers
from pipeline.standardise.frame import standardise
from pipeline.standardise.shape.down import filled_down
from pipeline.standardise.shape.given import with_given
from pipeline.store import decisions
from pipeline.store.proof.chain import add_decided
from pipeline.store.proof.rules import keep_rules
from pipeline.store.register import Register
from pipeline.validate.carried import carried
from pipeline.validate.validate import validate
from schemas import KINDS, Kind


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
class Loader(Call):
    """Loads files into an open store."""

    _register: list[Register] = field(default_factory=list, init=False)
    _known: frozenset[str] = field(default=frozenset(), init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_known", all_known_headers(self.profiles))

    def detect(self, path: Path, shown: str, kind: str = "", profile: str = "") -> tuple[DetectedFile | Loaded, ...]:
        """Tell what a file holds: by the store where it was loaded before as it is, else by reading it.

        One part, but where several profiles each say that they read a part of it, or it is a form of several sheets:
        those are loads of their own.
        """
        rules = self._rules(shown)
        if self.complete is None and path.stat().st_size <= self.limits.largest:  # else it is not read at all
            with path.open("rb") as source:
                digest = file_digest(source, "sha256").hexdigest()
            row = last_load(self.store, digest, shown, rules, kind, profile)
            # A picture beside the file may have changed; of several parts or sheets one may have been refused.
            in_parts = row and (self._in_parts(row["profile"]) or _is_form(path, self.limits))
            if row and not (KINDS[row["kind"]].pictured or in_parts):
                return (Loaded(path, row, kind, profile),)
        return self.read(path, shown, kind, profile)

    def _in_parts(self, name: str) -> bool:
        """Whether a profile says that it reads a part of a file, and another that it reads another part."""
        mine = next((one for one in self.profiles if one.name == name), None)
        return mine is not None and any(apart(mine, other) for other in self.profiles if other is not mine)

    def _rules(self, shown: str) -> str:
        """Fingerprint of all that a file is read by: any profile may come to fit it."""
        mine = fingerprint(for_file(self.corrections, shown))
        mine += "".join(one.mark for one in self.decisions if any(place.in_file(shown) for place in one.places))
        ignored = self.workspace.settings.ignore_sheets
        worked = [f"working {hours}" for hours in self.working_h if hours is not None]
        said = [f"{name} = {text}" for name, text in sorted(self.given.items())]
        limits = [] if self.limits == STANDARD else [self.limits.model_dump_json()]
        parts = [*sorted(one.sha256 for one in self.profiles), mine, *ignored, *worked, *said, *limits]
        return sha256("|".join(parts).encode()).hexdigest()

    @property
    def limits(self) -> Limits:
        """How much of a file is read."""
        return self.workspace.settings.limits

    @property
    def working_h(self) -> tuple[float | None, float | None]:
        """Hours of a working day and of a working week, None where the settings do not say."""
        settings = self.workspace.settings
        return settings.working_day_h or None, settings.working_week_h or None

    def read(self, path: Path, shown: str, kind: str = "", profile: str = "") -> tuple[DetectedFile, ...]:
        """What a file holds, read anew whether or not it was loaded before."""
        return self.read_by(self.search(path, kind, profile), path, shown, named=bool(kind or profile))

    def search(self, path: Path, kind: str = "", profile: str = "") -> Search:
        """What the profile of a file is looked for by, where the person named this kind or profile."""
        named = profile or part_of(self.store, path.name)
        ignored = self.workspace.settings.ignore_sheets
        ours = to_be_mended(self.store, self.workspace, path)
        return Search(self.profiles, self._known, kind, named, ours, ignored, self.given, self.limits)

    def read_by(self, search: Search, path: Path, shown: str, *, named: bool) -> tuple[DetectedFile, ...]:
        """What a file holds, without asking the store; ``named``: the person said what it is."""
        if parts := () if named else self._form_parts(path, shown):
            return tuple(self._corrected(self._with_given(part), part.file) for part in parts)
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

    def wait_turn(self, one: DetectedFile | Loaded) -> tuple[DetectedFile | Loaded, ...]:
        """What a file holds, after another office could write to a shared store: found anew where that knew it."""
        if not self.store.pass_on():
            return (one,)
        self._register.clear()
        return self.detect(one.path, one.file, one.named_kind, one.named_profile) if isinstance(one, Loaded) else (one,)

    def load(self, detected: DetectedFile | Loaded) -> FileResult:
        """Load a file once it is known what it holds."""
        if decisions.stale(self.store, self.decisions):  # one was written or deleted by hand
            with self.store.transaction() as con:
                decisions.follow(self.store, self.decisions)
                add_decided(con)
                keep_rules(con, self.workspace, 0)
        if isinstance(detected, Loaded):
            if again := same_again(self.store, detected.row):
                return replace(again, faults=concat([again.faults, stale(self.store, self.workspace, detected.path)]))
            (detected,) = self.read(detected.path, detected.row["file"], detected.named_kind, detected.named_profile)
        return replace(self._load(detected), part=detected.part)

    def _load(self, detected: DetectedFile) -> FileResult:
        sheet, profile = detected.sheet, detected.profile_name
        if detected.kind is None:
            return FileResult(sheet.file, "", profile, all_rejected(sheet), detected.faults)
        register = self._read_register()
        standard = standardise(sheet, detected.kind, detected.profile, register.green_aliases, working_h=self.working_h)
        if standard.broken:
            faults = _with_hints(detected, standard.faults)
            return FileResult(sheet.file, detected.kind.name, profile, all_rejected(sheet), faults)
        if detected.profile and shares_out(detected.profile):
            standard = by_area(standard, register)
        if detected.kind.pictured:
            standard = with_pictures(standard, detected.path.parent, self.limits)
        if detected.kind.register:
            register = replace(register, met=self.store.names_met(detected.kind.name))
        standard, rests = carried(standard, register)
        checked = validate(standard, register, self.today)
        checked = replace(checked, faults=_with_hints(detected, checked.faults))
        done = Loading(self, detected, standard, checked, rests).write()
        self.loaded.append(sheet.file)
        if detected.kind.register:
            self._register.clear()
        return done

    def _form_parts(self, path: Path, shown: str) -> tuple[DetectedFile, ...]:
        """The tables of a form; none where the file is no form."""
        if not _is_form(path, self.limits):
            return ()
        from pipeline.load.forms import form_parts

        return tuple(form_parts(path, shown, self.profiles, self.limits))

    def _read_register(self) -> Register:
        """The registers as the files loaded so far left them: read again only after one of them was loaded."""
        if not self._register:
            self._register.append(self.store.register(self.workspace.settings.season_start))
        return self._register[0]


def _is_form(path: Path, limits: Limits) -> bool:
    """Whether a file may be a form, which is a workbook."""
    with path.open("rb") as file:
        if not file.read(2).startswith(b"PK"):
            return False
    from pipeline.forms.filled import is_form

    return is_form(path, limits)


def _with_hints(detected: DetectedFile, faults: pl.DataFrame) -> pl.DataFrame:
    """The faults, each with what to do in the file itself where no profile reads it."""
    if detected.profile is not None:
        return faults
    return of_a_form(faults) if detected.form else of_plain_file(faults)
