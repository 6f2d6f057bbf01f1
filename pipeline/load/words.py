"""Words of a file that no list and no register knows, and the aliases that a person gives them in its profile.

A form has no profile: its words are chosen from its lists, and another name of a green belongs into the register. So
its unknown words are told, with what to write in the form, and kept nowhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from operator import itemgetter
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import closest, offered
from pipeline.common.faults import concat, errors
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import toml_files, toml_of
from pipeline.common.whole_files import write_whole
from pipeline.common.words import listed
from pipeline.draft.document import key, quoted
from pipeline.draft.known import Known, known_names
from pipeline.draft.several import greens_named
from pipeline.load.detect import PROFILE_UNDECIDED, DetectedFile
from pipeline.load.files import load_paths, profiles_for
from pipeline.load.load import Loader
from pipeline.load.read_otherwise import READ_OTHERWISE
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import Profile, read_profile
from pipeline.standardise.cells.coded import UNKNOWN_WORD
from pipeline.standardise.frame import Standard, standardise
from pipeline.store.register import Register
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas.codes import code_list, fold, spellings
from schemas.field import Field

_SEVERAL = re.compile(r"\b(?:both|all|and|each|every|greens)\b|[&+/,;]", re.IGNORECASE)
"""What a word has that may name several greens: it is told of [several.green] beside the aliases."""


@dataclass(frozen=True)
class UnknownWord:
    """A word that loading does not know.

    Attributes:
        list: list of words or register that it is looked for in ("operation", "green").
        word: as the file writes it.
        count: records it stands in.
        line: the first of their lines.
        closest: codes whose names are nearest, best first.
        sheet: the part of the file that line is of, "" where it has one.
    """

    list: str
    word: str
    count: int
    line: int
    closest: tuple[str, ...]
    sheet: str = ""


@dataclass(frozen=True)
class FileWords:
    """The unknown words of one file.

    Attributes:
        file: the file.
        profile: its source profile, None of a form.
        path: file of that profile, None of a form.
        unknown: the words, most frequent first.
        known: names of the store's registers.
        lists: lists and registers that its words are looked for in.
        unread: parts of it that are refused as a whole, each with the reason: their words are not among these.
    """

    file: str
    profile: Profile | None
    path: Path | None
    unknown: tuple[UnknownWord, ...]
    known: Known
    lists: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The form of ``words --json``."""
        words = [{**vars(one), "closest": list(one.closest)} for one in self.unknown]
        profile = {"profile": self.profile.name if self.profile else "", "path": str(self.path or "")}
        return {"file": self.file, **profile, "words": words, "unread": list(self.unread)}

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
            if list_name == "green" and (greens := greens_named(said, self.known)):
                hint = f"An alias is one green's. {self.for_several('the word', greens)}"
            raise WrongUsage(f"“{said}” is no {what}{offered(said, names)}.", hint)
        return code

    def for_several(self, word: str, greens: Iterable[str]) -> str:
        """What to write where a word names several greens."""
        if self.path is None:
            return "Give each green a line of its own."
        codes = ", ".join(quoted(green) for green in greens)
        return f"Of several, write under [several.green] of {self.path}: words = {{ {key(word)} = [{codes}] }}"

    @property
    def several(self) -> str:
        """The same of the first unknown word that may name several greens, "" where none may."""
        for one in self.unknown:
            if one.list == "green" and _SEVERAL.search(one.word):
                return self.for_several(one.word, greens_named(one.word, self.known) or ("…", "…"))
        return ""

    def why_known(self, word: str) -> str:
        """What a word that is not unknown stands for, and where that is said; "" where nothing knows it."""
        profile = self.profile
        for name, words in profile.aliases.items() if profile else ():
            for taught, code in words.items():
                if fold(taught) == fold(word):
                    return f"it stands for {code} in {self._place(f'aliases.{name}', taught)}"
        several = profile.several.get("green") if profile else None
        for taught, greens in several.words.items() if several else ():
            if fold(taught) == fold(word):
                return f"it stands for {listed(greens)} in {self._place('several.green', taught)}"
        for name in self.lists:
            known = {fold(one): meant for one, meant in _names(name, self.known).items()}
            if fold(word) in known:
                return f"it is known as the {name.replace('_', ' ')} {known[fold(word)]}"
        return ""

    def _place(self, table: str, word: str) -> str:
        """Where the profile says what a word stands for: its file, and the line where one begins with the word."""
        assert self.path is not None
        own = re.compile(rf"\s*(?:{re.escape(key(word))}|{re.escape(quoted(word))})\s*=")
        found = [i for i, line in enumerate(self.path.read_text("utf-8").splitlines(), 1) if own.match(line)]
        return f"{self.path}, line {found[0]}" if len(found) == 1 else f"[{table}] of {self.path}"


def unknown_words(
    workspace: Workspace,
    path: Path,
    *,
    profile: str = "",
    today: date | None = None,
    given: Mapping[str, str] | None = None,
) -> FileWords:
    """The words of a file that loading it would not know, also in rows rejected for another reason.

    Nothing is changed.

    Raises:
        WrongUsage: there is no such file or profile, or a file that is no form is read without a profile.
        CannotDo: its profile is not decided yet, or the file is refused as a whole.
    """
    if not path.is_file():
        raise WrongUsage(f"There is no file {path}.", "Check the spelling and the folder.")
    profiles = profiles_for(workspace, profile)
    with _store(workspace) as store:
        loader = Loader(
            store, workspace, profiles, today or datetime.now(UTC).date(),
            corrections=read_corrections(workspace.corrections), given=given or {},
        )  # fmt: skip
        parts = loader.read(path, path.name, profile=profile)
        register = store.register(workspace.settings.season_start)
    _refuse_unread(path, parts)
    aliases, hours = register.green_aliases, loader.working_h
    read = [(one, standardise(one.sheet, one.kind, one.profile, aliases, hours)) for one in parts if one.kind]
    sound = [(one, standard) for one, standard in read if not standard.broken]
    unread = [_why_unread(one, one.faults) for one in parts if not one.kind]
    unread += [_why_unread(one, standard.faults) for one, standard in read if standard.broken]
    if not sound:
        raise CannotDo(unread[0], "Words are asked for once it loads.")
    known, own = known_names(workspace), parts[0].profile
    named = next((one for one in profiles if own and one.name == own.name), None)
    return FileWords(
        path.name,
        named,
        _file_of(workspace, named) if named else None,
        _unknown(sound, register, known),
        known,
        tuple(dict.fromkeys(name for _, standard in sound for name in _lists(standard).values())),
        tuple(unread),
    )


def loads_in_the_way(
    workspace: Workspace, path: Path, *, profile: str = "", given: Mapping[str, str] | None = None
) -> tuple[str, ...]:
    """The commands that take back what loading the file again, as its profile reads it now, would be refused for."""
    results = load_paths(workspace, [path], profile=profile, dry_run=True, given=given)
    faults = concat(one.faults for one in results)
    hints = faults.filter(pl.col("code") == READ_OTHERWISE.code)["hint"]
    return tuple(dict.fromkeys(undo for hint in hints for undo in re.findall(r"swardtally undo \d+", hint)))


@contextmanager
def _store(workspace: Workspace) -> Iterator[Store]:
    """The workspace's store to read in; an empty one where it has none."""
    if workspace.store.exists():
        with Store(workspace.store, read_only=True) as store:
            yield store
    else:
        with Store(Path(":memory:")) as store:
            yield store


def _refuse_unread(path: Path, parts: Iterable[DetectedFile]) -> None:
    """Refuses a file of several profiles, of one not decided yet, or of none though it is no form."""
    parts = list(parts)
    names = list(dict.fromkeys(one.profile_name for one in parts))
    if PROFILE_UNDECIDED.code in concat(one.faults for one in parts)["code"]:
        raise CannotDo(
            f"Profile {names[0]} still says “?”.", "Decide every “?” first; words are asked for once it loads."
        )
    if len(names) > 1:
        raise WrongUsage(f"{path.name} is read by profiles {listed(names)}.", "Name one of them with --profile.")
    if not names[0] and not parts[0].form:
        sheet = f' --sheet "{parts[0].sheet.name}"' if parts[0].sheet.name else ""
        raise WrongUsage(
            f"{path.name} is read without a source profile, and words are kept in one.",
            f"Draft it: swardtally profile {path.name}{sheet}",
        )


def _why_unread(part: DetectedFile, faults: pl.DataFrame) -> str:
    return f"{part.shown} is refused as a whole: {errors(faults)['message'][0]}"


def _file_of(workspace: Workspace, profile: Profile) -> Path:
    return next(path for path in toml_files(workspace.profiles) if read_profile(path).name == profile.name)


def _unknown(
    read: Iterable[tuple[DetectedFile, Standard]], register: Register, known: Known
) -> tuple[UnknownWord, ...]:
    """The unknown words of all parts of a file, the most frequent first."""
    words: dict[tuple[str, str], UnknownWord] = {}
    for part, standard in read:
        sheet = part.file.removeprefix(part.path.name).strip()
        for name, word, count, line in sorted(_met(standard, register), key=itemgetter(3)):
            first = words.get((name, word))
            if first is None:
                names = _names(name, known)
                near = tuple(dict.fromkeys(names[one] for one in closest(word, names)))
                first = UnknownWord(name, word, 0, line, near, sheet)
            words[name, word] = replace(first, count=first.count + count)
    return tuple(sorted(words.values(), key=lambda one: (-one.count, one.line, one.list, one.word)))


def _met(standard: Standard, register: Register) -> Iterator[tuple[str, str, int, int]]:
    """List, word, number of records and first line of each unknown word of one part."""
    lists = _lists(standard)
    met = standard.faults.filter((pl.col("code") == UNKNOWN_WORD.code) & pl.col("line").is_not_null())
    counted = met.group_by("column", "value", maintain_order=True).agg(pl.len(), pl.col("line").min())
    for column, word, count, line in counted.iter_rows():
        if name := lists.get(str(column)):
            yield name, word, count, line
    for one in standard.kind.stored:
        if one.refers and one.refers != standard.kind.name:
            named = pl.col(one.name)
            unknown = standard.records.filter(named.is_not_null() & ~named.is_in(sorted(register.names(one.refers))))
            met = unknown.group_by(named, maintain_order=True).agg(pl.len(), pl.col("line").min())
            for word, count, line in met.iter_rows():
                yield one.refers, word, count, line


def _lists(standard: Standard) -> dict[str, str]:
    """Column as a person sees it → the list or register that its words are looked for in."""
    fields = standard.kind.by_name
    return {header: _list_of(fields[name]) for name, header in standard.columns.items() if _list_of(fields[name])}


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
    write_whole({path.resolve(): text.encode()})


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
