"""Words of a file that no list and no register knows, and the aliases that a person gives them in its profile."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import closest, offered
from pipeline.common.faults import concat
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import toml_of
from pipeline.common.words import listed
from pipeline.draft.document import key, quoted
from pipeline.draft.known import Known, known_names
from pipeline.load.detect import PROFILE_UNDECIDED
from pipeline.load.files import load_paths
from pipeline.profiles.profile import Profile, read_profile, read_profiles
from pipeline.standardise.cells.coded import UNKNOWN_WORD
from pipeline.validate.validate import UNKNOWN_MATERIAL, UNKNOWN_REFERENCE
from pipeline.workspace.settings import Workspace
from schemas.codes import code_list, fold, spellings
from schemas.field import Field

_UNKNOWN = (UNKNOWN_WORD.code, UNKNOWN_REFERENCE.code, UNKNOWN_MATERIAL.code)


@dataclass(frozen=True)
class UnknownWord:
    """A word that loading does not know.

    Attributes:
        list: list of words or register that it is looked for in ("operation", "green").
        word: as the file writes it.
        count: records it stands in.
        line: the first of their lines.
        closest: codes whose names are nearest, best first.
    """

    list: str
    word: str
    count: int
    line: int
    closest: tuple[str, ...]


@dataclass(frozen=True)
class FileWords:
    """The unknown words of one file.

    Attributes:
        file: the file.
        profile: its source profile.
        path: file of that profile.
        unknown: the words, most frequent first.
        known: names of the store's registers.
    """

    file: str
    profile: str
    path: Path
    unknown: tuple[UnknownWord, ...]
    known: Known

    def as_json(self) -> dict[str, Any]:
        """The form of ``words --json``."""
        words = [{**vars(one), "closest": list(one.closest)} for one in self.unknown]
        return {"file": self.file, "profile": self.profile, "path": str(self.path), "words": words}

    def code_of(self, list_name: str, said: str) -> str:
        """The code that a person's answer stands for.

        Raises:
            WrongUsage: it is neither a word of the list nor a name in the register.
        """
        names = _names(list_name, self.known)
        code = {fold(name): code for name, code in names.items()}.get(fold(said))
        if code is None:
            what = list_name.replace("_", " ")
            hint = f"Known are {', '.join(dict.fromkeys(names.values()))}." if names else "Its register is empty."
            raise WrongUsage(f"“{said}” is no {what}{offered(said, names)}.", hint)
        return code


def unknown_words(
    workspace: Workspace,
    path: Path,
    *,
    profile: str = "",
    today: date | None = None,
    given: Mapping[str, str] | None = None,
) -> FileWords:
    """The words of a file that loading it would not know; nothing is changed.

    Raises:
        WrongUsage: there is no such file or profile, or the file is read without a profile.
        CannotDo: its profile is not decided yet, or the file cannot be read.
    """
    if not path.is_file():
        raise WrongUsage(f"There is no file {path}.", "Check the spelling and the folder.")
    results = load_paths(workspace, [path], profile=profile, dry_run=True, today=today, given=given)
    faults, names = concat(one.faults for one in results), list(dict.fromkeys(one.profile for one in results))
    if len(names) > 1:
        raise WrongUsage(f"{path.name} is read by profiles {listed(names)}.", "Name one of them with --profile.")
    if PROFILE_UNDECIDED.code in faults["code"]:
        raise CannotDo(
            f"Profile {names[0]} still says “?”.", "Decide every “?” first; words are asked for once it loads."
        )
    found = next((one for one in read_profiles(workspace.profiles) if one.name in names), None)
    if found is None:
        raise WrongUsage(
            f"{path.name} is read without a source profile, and words are kept in one.",
            f"Draft it: swardtally profile {path.name}",
        )
    known = known_names(workspace)
    return FileWords(path.name, found.name, _file_of(workspace, found), _unknown(faults, found, known), known)


def _file_of(workspace: Workspace, profile: Profile) -> Path:
    return next(path for path in sorted(workspace.profiles.glob("*.toml")) if read_profile(path).name == profile.name)


def _unknown(faults: pl.DataFrame, profile: Profile, known: Known) -> tuple[UnknownWord, ...]:
    met = faults.filter(pl.col("code").is_in(_UNKNOWN) & pl.col("line").is_not_null())
    counted = met.group_by("column", "value", maintain_order=True).agg(pl.len(), pl.col("line").min())
    lists = _lists(profile)
    words: dict[tuple[str, str], UnknownWord] = {}
    for column, word, count, line in counted.iter_rows():
        name = lists.get(str(column), "")
        if not name:
            continue
        names = _names(name, known)
        near = dict.fromkeys(names[one] for one in closest(word, names))
        before = words.get((name, word))
        total, first = (count + before.count, min(line, before.line)) if before else (count, line)
        words[name, word] = UnknownWord(name, word, total, first, tuple(near))
    return tuple(sorted(words.values(), key=lambda one: (-one.count, one.line, one.list, one.word)))


def _lists(profile: Profile) -> dict[str, str]:
    """Column as a person sees it → the list or register that its words are looked for in."""
    fields = profile.record_kind.by_name
    return {origin.header: _list_of(fields[name]) for name, origin in profile.fields.items() if _list_of(fields[name])}


def _list_of(one: Field) -> str:
    return one.refers or one.choices


def _names(list_name: str, known: Known) -> Mapping[str, str]:
    """Every spelling of a list's words, or name of a register, with the code it stands for."""
    return known.names[list_name] if list_name in known.names else spellings(list_name)


def labels(list_name: str, codes: Iterable[str], known: Known) -> list[str]:
    """Codes as a person reads them; a word of a list with its label where that says more."""
    if list_name in known.names:
        return list(codes)
    listed = code_list(list_name)
    return [code if fold(listed[code].label) == fold(code) else f"{code} ({listed[code].label})" for code in codes]


def add_aliases(path: Path, aliases: Mapping[str, Mapping[str, str]]) -> None:
    """Write aliases into a profile's file: list → word as the file writes it → code; all else stays as it stands.

    Raises:
        CannotDo: the profile would not be what was meant; nothing is written.
    """
    before = path.read_text("utf-8")
    text = before
    for name, words in aliases.items():
        text = _with_table(text, name, words)
    wanted = toml_of(before.encode(), path.name)
    for name, words in aliases.items():
        wanted.setdefault("aliases", {}).setdefault(name, {}).update(words)
    try:
        same = toml_of(text.encode(), path.name) == wanted
    except CannotDo:
        same = False
    if not same:
        raise CannotDo(
            f"The words could not be written into {path.name} without changing more of it.",
            "Write them there by hand, under "
            + ", ".join(f"[aliases.{name}]: {_lines(words)}" for name, words in aliases.items()),
        )
    path.write_text(text, "utf-8", newline="\n")


def _with_table(text: str, name: str, words: Mapping[str, str]) -> str:
    """The text with these words under [aliases.NAME], each in the place of its line where it has one, a comment too."""
    lines = text.splitlines()
    head = re.compile(rf"\s*\[\s*aliases\s*\.\s*[\"']?{re.escape(name)}[\"']?\s*\]\s*(#.*)?")
    at = next((i for i, line in enumerate(lines) if head.fullmatch(line)), None)
    if at is None:
        gap = [""] if lines and lines[-1].strip() else []
        return "\n".join([*lines, *gap, f"[aliases.{name}]", *_lines(words).splitlines()]) + "\n"
    end = next((i for i in range(at + 1, len(lines)) if lines[i].lstrip().startswith("[")), len(lines))
    own = [re.compile(rf"(?:#\s*)?(?:{re.escape(key(word))}|{re.escape(quoted(word))})\s*=.*") for word in words]
    kept = [line for line in lines[at + 1 : end] if not any(one.fullmatch(line.strip()) for one in own)]
    return "\n".join([*lines[: at + 1], *_lines(words).splitlines(), *kept, *lines[end:]]) + "\n"


def _lines(words: Mapping[str, str]) -> str:
    return "\n".join(f"{key(word)} = {quoted(code)}" for word, code in words.items())
