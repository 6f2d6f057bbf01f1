"""Source profiles: what a file's headers mean and how its values are written.

A profile is a TOML file in the workspace. It is chosen by the headers of a file, or named with ``--profile``. A file
with a kind's own headers needs none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError, field_validator, model_validator

from pipeline.common.closest import offered
from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import bytes_of, toml_files, toml_of
from pipeline.profiles.parts import Given, Ignore, Long, Match, Origin, ReadingPart, Several
from pipeline.profiles.several import refuse_odd_several
from pipeline.profiles.shared_units import with_shared_units
from pipeline.profiles.style import FILLED, ProfilePart, Style
from pipeline.read.sheet import Reading
from schemas import KINDS, Kind
from schemas.codes import fold, spellings

UNDECIDED = "?"
"""What a drafted profile writes where a person must decide."""
IGNORED = "ignore"
"""What [columns] says of a column that is not needed."""
_SHARED = frozenset({"date", "green", "station"})
_WORDS = frozenset({"text", "code"})


class Profile(ProfilePart):
    """A source profile. Field by field as in docs/profiles.md."""

    name: str = Field(min_length=1)
    kind: str
    title: str = ""
    match: Match = Match()
    reading: ReadingPart = ReadingPart()
    values: Style = Style()
    constants: dict[str, str | int | float | bool] = Field(default_factory=dict)
    fields: dict[str, Origin] = Field(default_factory=dict)
    long: tuple[Long, ...] = Field(default=(), strict=False)
    aliases: dict[str, dict[str, str]] = Field(default_factory=dict)
    only: dict[str, tuple[str, ...]] = Field(default_factory=dict, strict=False)
    several: dict[str, Several] = Field(default_factory=dict)
    given: dict[str, Given] = Field(default_factory=dict)
    ignore: Ignore = Ignore()
    line_as: str = ""
    sha256: str = ""
    undecided: tuple[str, ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _columns_as_fields(cls, value: object) -> object:
        """[columns] says the same as [fields] and [ignore], by header; what is drafted is decided there."""
        if isinstance(value, dict) and "units" in value:
            value = with_shared_units(value)
        if not isinstance(value, dict) or not isinstance(value.get("columns"), dict):
            return value
        rest = {name: part for name, part in value.items() if name != "columns"}
        fields, ignore = rest.get("fields", {}), rest.get("ignore", {})
        if not (isinstance(fields, dict) and isinstance(ignore, dict)):
            return rest
        fields, ignored = dict(fields), []
        for header, said in value["columns"].items():
            more = dict(said) if isinstance(said, dict) else {"field": said}
            name = more.pop("field", None)
            if name == IGNORED:
                ignored.append(header)
            elif isinstance(name, str) and name in fields and _read_from(fields[name], header):
                raise ValueError(f"columns: {header!r} is {name} already, under [fields]: delete its line here")
            elif not isinstance(name, str) or name in fields:
                raise ValueError(f"columns: {header!r} needs a field of its own, or {IGNORED!r}; it says {name!r}")
            else:
                fields[name] = {"from": header, **more}
        return {**rest, "fields": fields, "ignore": {**ignore, "headers": [*ignore.get("headers", ()), *ignored]}}

    @field_validator("fields", mode="before")
    @classmethod
    def _bare_columns(cls, value: object) -> object:
        if not isinstance(value, dict):
            return value
        return {name: {"from": origin} if isinstance(origin, str) else origin for name, origin in value.items()}

    @field_validator("only", mode="before")
    @classmethod
    def _lists(cls, value: object) -> object:
        if not isinstance(value, dict):
            return value
        named = {name: FILLED if words is True else words for name, words in value.items()}
        return {name: tuple(words) if isinstance(words, list) else (words,) for name, words in named.items()}

    @model_validator(mode="after")
    def _names_exist(self) -> Profile:
        if self.undecided:
            return self
        if self.kind not in KINDS:
            raise ValueError(
                f"kind {self.kind!r} is not known{offered(self.kind, KINDS)}; kinds are {', '.join(KINDS)}"
            )
        known = KINDS[self.kind].by_name
        self._refuse_idle_keys()
        columns = {column for origin in self.fields.values() for column in origin.columns}
        named = [*self.constants, *self.fields, *(name for name in self.given if name not in columns)]
        for entry in self.long:
            named += [*entry.constants, *([entry.into] if entry.into else [])]
        for name in named:
            if name not in known:
                near = offered(name, known)
                raise ValueError(f"{name!r} is not a field of {self.kind}{near}; its fields are {', '.join(known)}")
        lists = {*known, *(f.choices for f in known.values()), *(f.refers for f in known.values())} - {""}
        if unknown := sorted(set(self.aliases) - lists):
            near = offered(unknown[0], lists)
            raise ValueError(f"aliases.{unknown[0]} is neither a field nor a list of {self.kind}{near}")
        if self.long and not (KINDS[self.kind].value_field or all(entry.into for entry in self.long)):
            raise ValueError(f"each [[long]] entry of kind {self.kind} needs `into`, the field its cells go to")
        self._refuse_idle_aliases()
        self._refuse_idle_limits()
        self._refuse_odd_line_as()
        refuse_odd_several(self)
        return self

    def _refuse_idle_keys(self) -> None:
        """Refuse what would be set aside in silence: a field said twice, a part of a value that nothing joins."""
        for name in self.constants:
            if name in self.fields or name in self.given:
                raise ValueError(f"{name} stands in [constants] and has a column or a pattern of its own too")
        columns = {column for origin in self.fields.values() for column in origin.columns}
        said = [set(entry.says) for entry in self.long]
        for entry in said:
            if entry != said[0] or not entry <= columns:
                raise ValueError("`says` of every [[long]] names the same columns, which a field joins")

    def _refuse_idle_aliases(self) -> None:
        """Refuse an alias for a word that is in no list: every cell that it is meant for would be refused instead."""
        for name, words in self.aliases.items():
            field = KINDS[self.kind].by_name.get(name)
            of_list = (
                field.choices if field else next((f.choices for f in KINDS[self.kind].fields if f.choices == name), "")
            )
            known = spellings(of_list) if of_list else {}
            for word, code in words.items():
                if of_list and fold(code) not in known:
                    near = offered(code, known)
                    raise ValueError(f"aliases.{name}: {word!r} stands for {code!r}, which is no {of_list}{near}")

    def _refuse_odd_line_as(self) -> None:
        """Refuse to put the number of a row's line where another value goes, or where it is no name of a sample."""
        fields = KINDS[self.kind].fields
        may = [one.name for one in fields if one.key and one.type in _WORDS and not (one.refers or one.required)]
        if self.line_as and self.line_as not in may:
            named = ", ".join(may) or "it has none"
            raise ValueError(f"`line_as` needs a name or number that tells records of {self.kind} apart ({named})")
        if self.line_as in self.fields or self.line_as in self.constants:
            raise ValueError(f"`line_as` fills {self.line_as}, which has a value of its own already")

    def _refuse_idle_limits(self) -> None:
        """Refuse a limit of detection beside a field that cannot be below one."""
        kind = KINDS[self.kind]
        limited = [name for name, origin in self.fields.items() if origin.limit is not None]
        limited += [entry.into or kind.value_field for entry in self.long if entry.limit is not None]
        for name in limited:
            if name != kind.value_field or "below_limit" not in kind.by_name:
                raise ValueError(f"`limit` holds for a laboratory's result alone, not for {name} of {self.kind}")

    @property
    def record_kind(self) -> Kind:
        """The kind of record its files hold."""
        return KINDS[self.kind]

    @property
    def said(self) -> tuple[str, ...]:
        """Columns that are in no file: the profile says itself what stands in them."""
        return (*self.given, *(self.long[0].says if self.long else ()))

    @property
    def headers_read(self) -> tuple[str, ...]:
        """Headers of every column the profile reads, as it writes them."""
        names = [column for origin in self.fields.values() for column in origin.columns if column not in self.said]
        return (*names, *(entry.column for entry in self.long), *self.limit_columns, *self.only)

    @property
    def limit_columns(self) -> tuple[str, ...]:
        """Headers of the columns that give each row's limit of detection."""
        limits = [*(one.limit for one in self.fields.values()), *(one.limit for one in self.long)]
        return tuple(dict.fromkeys(limit for limit in limits if isinstance(limit, str)))

    @cached_property
    def wanted(self) -> frozenset[str]:
        """Folded headers of every column the profile reads or is known by."""
        return frozenset(fold(name) for name in (*self.headers_read, *self.match.headers))

    @cached_property
    def unit_words(self) -> dict[str, str]:
        """Units in the file's own words, folded, with the word of the list each stands for."""
        unit = self.record_kind.by_name.get("unit")
        if unit is None or not unit.choices:
            return {}
        said = {**self.aliases.get(unit.choices, {}), **self.aliases.get(unit.name, {})}
        return {fold(word): name for word, name in said.items()}

    @property
    def explained(self) -> frozenset[str]:
        """Folded headers that the profile reads or knows not to be needed."""
        return self.wanted | {fold(header) for header in (*self.ignore.headers, *self.said)}

    def of_sheet(self, name: str) -> Profile:
        """The same, for one of the sheets it reads."""
        return self.model_copy(update={"reading": self.reading.model_copy(update={"sheet": name, "sheets": None})})

    def reading_also(self, name: str, header: str) -> Profile:
        """The same, with one more field read from a column."""
        fields = {**self.fields, name: Origin.model_validate({"from": header})}
        ignore = self.ignore.model_copy(update={"headers": (*self.ignore.headers, header)})  # `wanted` is kept
        return self.model_copy(update={"fields": fields, "ignore": ignore})

    def beside(self, others: Iterable[Profile]) -> Profile:
        """The same, read beside others of the same file: what they read is not left out of it."""
        read = tuple(dict.fromkeys(header for one in others for header in one.headers_read))
        if not read:
            return self
        ignore = self.ignore.model_copy(update={"headers": self.ignore.headers + read})
        return self.model_copy(update={"ignore": ignore})

    def reading_with(self, known_headers: frozenset[str], ignored_sheets: tuple[str, ...] = ()) -> Reading:
        """How a file is to be read, given the headers that any profile or kind knows and the sheets nobody needs."""
        said = self.reading.model_dump(exclude={"sheets"})
        given = {key: value for key, value in said.items() if value is not None}
        return Reading(**given, known_headers=known_headers, ignored_sheets=(*ignored_sheets, *self.ignore.sheets))


def _read_from(origin: object, header: str) -> bool:
    """Whether a field, as [fields] says it, comes from this column."""
    said = origin.get("from") if isinstance(origin, dict) else origin
    return any(
        isinstance(one, str) and fold(one) == fold(header) for one in (said if isinstance(said, list) else [said])
    )


def read_profile(path: Path) -> Profile:
    """The profile in a TOML file; of one that still says "?", where it does and what loading needs to tell its files.

    Raises:
        CannotDo: the file is not TOML, or a key in it is not what a profile may hold; the message names the key.
    """
    content = bytes_of(path)
    data = toml_of(content, path.name)
    undecided = tuple(dict.fromkeys(_undecided(data)))
    if undecided:
        data.pop("units", None)  # names alone are left of it
        data = {"name": path.stem, "kind": UNDECIDED, **_decided(data)}
    try:
        return Profile.model_validate({**data, "sha256": sha256(content).hexdigest(), "undecided": undecided})
    except ValidationError as error:
        what = misfits(error, "profile", Profile, content.decode("utf-8-sig"))
        raise CannotDo(f"Profile {path.name} does not fit: {what}", "docs/profiles.md lists every key.") from None


def read_profiles(folder: Path) -> tuple[Profile, ...]:
    """Every profile of a workspace, also those not decided yet, in order of file names; two of one name are refused."""
    profiles = tuple(read_profile(path) for path in toml_files(folder))
    names = [profile.name for profile in profiles]
    for name in names:
        if names.count(name) > 1:
            raise CannotDo(f"Two profiles are named {name!r}.", f"Rename one of them in {folder.name}/.")
    return profiles


def kind_named(name: str) -> Kind | None:
    """The kind a person names; None where it is left to the file.

    Raises:
        WrongUsage: there is no such kind.
    """
    if name and name not in KINDS:
        raise WrongUsage(f"“{name}” is not a kind of record{offered(name, KINDS)}.", f"Kinds are {', '.join(KINDS)}.")
    return KINDS.get(name)


def kind_of_headers(headers: Iterable[str]) -> Kind | None:
    """The kind whose required fields all stand among these headers under a known name; None where not exactly one.

    Of several that fit, the one that knows clearly most of the headers. Day, place and words that it could do without
    tell none: a kind that needs no more would be read out of any file.
    """
    seen = {fold(header) for header in headers}
    scores = []
    for kind in KINDS.values():
        met = [one for one in kind.asked if seen & {fold(name) for name in one.headers}]
        own = [one for one in met if one.name not in _SHARED and (one.name in kind.needed or one.type not in _WORDS)]
        names = {one.name for one in met}
        if kind.told_by_headers and own and names.issuperset(kind.needed_beside(names)) and _gives_value(kind, names):
            scores.append((len(met), kind))
    scores.sort(key=lambda pair: -pair[0])
    if not scores or (len(scores) > 1 and scores[0][0] == scores[1][0]):
        return None
    return scores[0][1]


def _gives_value(kind: Kind, names: set[str]) -> bool:
    """Whether these fields give the kind's value: places alone are no levels: a hammer drops at places too."""
    ways = [{kind.value_field}, *map(set, kind.value_from)]
    return not kind.value_field or any(way <= names for way in ways)


def all_known_headers(profiles: Iterable[Profile]) -> frozenset[str]:
    """Folded headers that any profile or kind knows: by them the header line of a file is found."""
    names = {fold(name) for kind in KINDS.values() for field in kind.asked for name in field.headers}
    for profile in profiles:
        names |= profile.wanted
    return frozenset(names)


def _undecided(data: object, place: str = "") -> Iterator[str]:
    """Places of a document that still say "?"."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _undecided(value, f"{place}.{key}" if place else str(key))
    elif isinstance(data, list):
        for value in data:
            yield from _undecided(value, place)
    elif data == UNDECIDED:
        yield place


def _decided(data: Any) -> Any:
    """A document without what still says "?", and without tables that do not say where they come from."""

    def kept(value: object) -> bool:
        return value != UNDECIDED and not (
            isinstance(value, dict) and UNDECIDED in (value.get("from"), value.get("field"))
        )

    if isinstance(data, dict):
        return {key: _decided(value) for key, value in data.items() if kept(value)}
    if isinstance(data, list):
        return [_decided(value) for value in data if kept(value)]
    return data
