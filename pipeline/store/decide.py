"""Deciding: what a person says of two lines or of a rejected row is written down, and the store follows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.file_names import last_part
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import toml_of
from pipeline.common.whole_files import standing
from pipeline.store.decisions import (
    DECIDED,
    OTHER_FILE,
    Decision,
    Held,
    OfTwo,
    Place,
    decisions_of,
    entry,
    follow,
    held,
    of_two,
    read_decisions,
)
from pipeline.store.doubles import between, likely_doubles
from pipeline.store.proof.chain import add_decided
from pipeline.store.proof.rules import keep_rules
from pipeline.store.refused import rejected
from pipeline.store.resting import undo_command
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, as_text
from schemas import KINDS, Kind

FILE = "decided.toml"
"""File of the folder of decisions that the command writes to; a person may keep others beside it."""
Where = tuple[str, int | None]
"""A file, and a line of it or None for all of them."""


@dataclass(frozen=True)
class Decided:
    """What was decided: the decisions' numbers, each with its lines, and what has to be done yet.

    Attributes:
        decided: the word: one, two or aside.
        entries: number and lines of each.
        next: commands that make the store follow where it cannot by itself.
    """

    decided: str
    entries: tuple[tuple[int, str], ...]
    next: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        """The form of ``decide --json``."""
        entries = [{"decision": number, "about": about} for number, about in self.entries]
        return {"decided": self.decided, "decisions": entries, "next": list(self.next)}


def decide(workspace: Workspace, word: str, places: Sequence[str], why: str, who: str) -> Decided:
    """Write a decision down and make the store follow it.

    Args:
        workspace: settings and folders.
        word: one of `DECIDED`.
        places: FILE:LINE, two of them, or one for a row set aside; FILE alone stands for all that is asked of it.
        why: the reason.
        who: who says so.

    Raises:
        WrongUsage: another word or number of lines, no reason or name, or nothing to decide there.
        CannotDo: it cannot be followed, or the file of decisions cannot be read.
    """
    at = [_place(one) for one in places]
    _refuse_usage(word, at, why, who)
    with Store(workspace.store) as store:
        former = read_decisions(workspace.decisions)  # one that came before the store was held would be undone
        made = _aside(store, at[0]) if word == "aside" else _pairs(store, word, at)
        _refuse_two(made)
        entries = [one.model_copy(update={"why": as_text(why), "who": as_text(who), "source": FILE}) for one in made]
        entries = [one for one in entries if one.mark not in {other.mark for other in former}]
        path = workspace.decisions / FILE
        with _standing(path, _appended(path, entries)), store.transaction():
            follow(store, (*former, *entries))
            add_decided(store.con)
            numbers = dict(store.rows("SELECT sha256, decision FROM meta.decision WHERE taken_back_at IS NULL"))
            keep_rules(store.con, workspace, max(numbers.values()))
        waiting = _waiting(store, entries) if word == "two" else ()
    return Decided(word, tuple((numbers[one.mark], one.about) for one in entries), waiting)


def _refuse_usage(word: str, at: Sequence[Where], why: str, who: str) -> None:
    if word not in DECIDED:
        known = "; ".join(f"{name} ({what})" for name, what in DECIDED.items())
        raise WrongUsage(f"“{word}” decides nothing.", f"Say {known}.")
    needed = 1 if word == "aside" else 2
    if len(at) != needed:
        what = "one rejected row" if needed == 1 else "two lines, the one that counts first"
        raise WrongUsage(f"“{word}” is about {what}.", f"Name {'it' if needed == 1 else 'them'} as FILE:LINE.")
    if not all(any(letter.isalnum() for letter in text) for text in (why, who)):
        raise WrongUsage("A decision needs a reason and a name.", 'Say --why "..." --who "...": both are kept with it.')


def _refuse_two(made: Sequence[Decision]) -> None:
    """Refuse that two lines of one record both count: of a green in force twice every figure would be double."""
    for one in made:
        if not one.followable:
            changed = (
                " If it changed on a day, give the new row its day in valid_from." if KINDS[one.kind].by_day else ""
            )
            raise CannotDo(
                f"{one.about} are one record ({one.kind.replace('_', ' ')}), so that both cannot count.",
                f"If what counts now is right, decide one; if the former was right, take the later load back.{changed} "
                "swardtally status writes the commands out.",
            )


def _place(text: str) -> Where:
    file, colon, line = as_text(text).rpartition(":")
    return (file, int(line)) if colon and re.fullmatch(r"[0-9]{1,12}", line) and file else (as_text(text), None)


def _in(place: Where, file: str, line: int) -> bool:
    return place[0] in {file, last_part(file)} and place[1] in {None, line}


def _shown(place: Where) -> str:
    return f"line {place[1]} of {place[0]}" if place[1] is not None else place[0]


def _aside(store: Store, at: Where) -> list[Decision]:
    """The rejected rows of this place, once each however often the file was loaded."""
    found = {row.line: row for row in rejected(store) if _in(at, row.file, row.line)}
    if not found:
        raise WrongUsage(f"No rejected row stands at {_shown(at)}.", "swardtally status lists those that do.")
    return [
        _decision("aside", row.kind, Place(file=row.file, line=row.line, says=dict(row.says)))
        for _, row in sorted(found.items())
    ]


def _pairs(store: Store, word: str, at: Sequence[Where]) -> list[Decision]:
    """The decisions about every two lines that are asked about at these places, or about the two that are named."""
    made = [*_of_doubles(store, word, at), *_of_warnings(store, word, at)]
    if not made and None not in {line for _, line in at}:
        made = _of_any(store, word, at)
    if not made:
        where = " and ".join(map(_shown, at))
        raise WrongUsage(f"Nothing is asked about {where}.", "swardtally status lists what is to be decided.")
    return made


def _of_doubles(store: Store, word: str, at: Sequence[Where]) -> list[Decision]:
    pairs = between(likely_doubles(store), at)
    kind = KINDS["job"]
    records = held(store, kind, {*pairs["file"], *pairs["other_file"]}) if pairs.height else []
    by_place = {(one.load_id, one.line, one.key): one for one in records}
    made = []
    for row in pairs.sort("file", "line", "other_file", "other_line", maintain_order=True).iter_rows(named=True):
        later = by_place[row["load_id"], row["line"], row["record"]]
        earlier = by_place[row["other_load"], row["other_line"], row["other_record"]]
        ends = (later, earlier) if _in(at[0], later.file, later.line) and not _first(at, earlier) else (earlier, later)
        made.append(_decision(word, kind.name, *map(_of_held, ends)))
    return made


def _first(at: Sequence[Where], one: Held) -> bool:
    """Whether a record stands where the first place points, and not where the second does."""
    return _in(at[0], one.file, one.line) and not _in(at[1], one.file, one.line)


def _of_held(one: Held) -> Place:
    return Place(file=one.file, line=one.line, says=dict(one.says))


def _of_warnings(store: Store, word: str, at: Sequence[Where]) -> list[Decision]:
    """Decisions about the lines that loading warned of: what took another's place, or said the very same."""
    made = []
    for warning in of_two(store):
        later, former = (warning.file, warning.line), (warning.other_file, warning.other_line)
        ends = (later, former) if _in(at[0], *later) and _in(at[1], *former) else (former, later)
        if not (_in(at[0], *ends[0]) and _in(at[1], *ends[1])):
            continue
        if warning.other_load is not None:
            made += _of_versions(store, word, warning, ends[0] == later)
            continue
        if word == "one" and warning.code == OTHER_FILE and ends[0] == former:
            raise CannotDo(
                f"{warning.message} So {_shown(former)} does not count now.",
                f"If it is the one that counts, take the later load back: {undo_command(store, warning.load_id)}",
            )
        made.append(_decision(word, warning.kind, *(_said_at(store, warning, end) for end in ends)))
    return made


def _of_versions(store: Store, word: str, warning: OfTwo, later_first: bool) -> list[Decision]:
    """A decision about each record of a line and the one of its former version that differs in fewest fields."""
    kind = KINDS[warning.kind]
    records = held(store, kind, {warning.file, warning.other_file})
    later = [one for one in records if (one.load_id, one.line) == (warning.load_id, warning.line)]
    former = [one for one in records if (one.load_id, one.line) == (warning.other_load, warning.other_line)]
    made = []
    for one in later:
        apart = {other.old: _differing(one, other) for other in former}
        fitting = [
            other for other in former if apart[other.old] <= {*kind.key, "date_to"} or _of_one_name(kind, one, other)
        ]
        if fitting:
            other = min(fitting, key=lambda end: len(apart[end.old]))
            former.remove(other)
            ends = (one, other) if later_first else (other, one)
            made.append(_decision(word, kind.name, *map(_of_held, ends)))
    return made


def _of_one_name(kind: Kind, one: Held, other: Held) -> bool:
    """Whether two rows of a register, each with its day, are of one name."""
    return kind.by_day and one.says.get(kind.name) == other.says.get(kind.name)


def _differing(one: Held, other: Held) -> set[str]:
    """Fields of which two records say something else."""
    return {name for name in {*one.says, *other.says} if one.says.get(name) != other.says.get(name)}


def _said_at(store: Store, warning: OfTwo, end: tuple[str, int]) -> Place:
    """A line that a warning is about, with what it says: in force, as a former version, or as the other line does."""
    kind = KINDS[warning.kind]
    here = [one for one in held(store, kind, {end[0]}, ended=True) if (one.file, one.line) == end]
    if not here:  # it said the very same as the other, and so is not kept by itself
        other = (warning.other_file, warning.other_line)
        here = [one for one in held(store, kind, {other[0]}, ended=True) if (one.file, one.line) == other]
    return Place(file=end[0], line=end[1], says=dict(here[-1].says) if here else {"line": str(end[1])})


def _of_any(store: Store, word: str, at: Sequence[Where]) -> list[Decision]:
    """A decision about two records that nothing was asked about: of one kind, one green and one day."""
    for kind in KINDS.values():
        if kind.register or kind.ahead or not kind.repeats:
            continue
        records = held(store, kind, {file for file, _ in at})
        one, other = ([record for record in records if _in(place, record.file, record.line)] for place in at)
        pairs = [(a, b) for a in one for b in other if a.old != b.old and _one_work(a, b)]
        if pairs:
            return [_decision(word, kind.name, _of_held(a), _of_held(b)) for a, b in pairs]
    return []


def _one_work(one: Held, other: Held) -> bool:
    """Whether two records are of one green, of days that may be one, and of jobs of one operation."""
    alike = all(one.says.get(name) == other.says.get(name) for name in ("green", "operation"))
    first, last = (
        [end.says.get(name, end.says.get("date", "")) for end in (one, other)] for name in ("date", "date_to")
    )
    return alike and max(first) <= min(last)  # ISO dates sort as text


def _decision(word: str, kind: str, record: Place, other: Place | None = None) -> Decision:
    return Decision.model_validate(
        {"decided": word, "kind": kind, "record": record, "other": other, "why": "-", "who": "-"}
    )


def _appended(path: Path, entries: Sequence[Decision]) -> str:
    """The text of the file with the decisions added to it.

    Raises:
        CannotDo: what stands in it cannot be read.
    """
    former = path.read_bytes() if path.exists() else b""
    text = former.decode("utf-8-sig")
    text += "".join(("\n" if text else "") + entry(one) for one in entries)
    written = [one.mark for one in decisions_of(toml_of(text.encode(), path.name), path.name)]
    assert written[len(written) - len(entries) :] == [one.mark for one in entries], "an entry is not read as written"
    return text


@contextmanager
def _standing(path: Path, text: str) -> Iterator[None]:
    """Have a file of decisions stand with this text while the store follows it; where that fails it is as it was.

    Raises:
        CannotDo: it cannot be written.
    """
    with ExitStack() as until_done:
        try:
            until_done.enter_context(standing({path.resolve(): text.encode()}))
        except OSError as error:
            raise CannotDo(
                f"The decision could not be written to {path}: {error.strerror or error}.",
                "Nothing was changed. Make room on the disk, close that file where it is open, and decide again.",
            ) from error
        yield


def _waiting(store: Store, entries: Sequence[Decision]) -> tuple[str, ...]:
    """What is to be done before both of two count, where one of them is not in force yet."""
    commands: dict[str, None] = {}
    for warning in of_two(store):
        if any(one.other and warning.between(one.record, one.other) for one in entries):
            if warning.code == OTHER_FILE:
                commands[undo_command(store, warning.load_id)] = None
            commands[f"swardtally load {warning.file}"] = None
    return tuple(commands)


def take_back(workspace: Workspace, store: Store, number: int) -> tuple[str, str]:
    """Take a decision back: its entry leaves the file, what it did is undone, and it stays in the history.

    Returns:
        The file of decisions and the lines it was about.

    Raises:
        WrongUsage: it has been taken back already.
        CannotDo: a record stands by it that would stay, or the entry cannot be cut out of the file.
    """
    ((source, about, mark, back, brought),) = store.rows(
        "SELECT source, about, sha256, taken_back_at, "
        "CASE WHEN decided = 'two' AND record = other_record THEN greatest(of_load, other_load) END "
        "FROM meta.decision WHERE decision = ?",
        [number],
    )
    if back is not None:
        raise WrongUsage(f"Decision {number} has been taken back already.", "swardtally history lists them.")
    if brought is not None:
        raise CannotDo(
            f"Decision {number} cannot be taken back: by it load {brought} brought the second of {about}, and nothing "
            "would ask about it any more.",
            f"Take that load back first: {undo_command(store, brought)}",
        )
    decisions = read_decisions(workspace.decisions)
    path = workspace.decisions / source
    with _standing(path, _without(path, mark)), store.transaction():
        follow(store, [one for one in decisions if one.mark != mark], taken_back=mark)
        add_decided(store.con)
        keep_rules(store.con, workspace, number)
    return source, about


def _without(path: Path, mark: str) -> str:
    """The text of a file of decisions without one entry; everything else stands as a person wrote it.

    An entry that is gone already was deleted by hand, or by an undo that was stopped before the store had followed.
    """
    text = path.read_text("utf-8-sig") if path.exists() else ""
    starts = [found.start() for found in re.finditer(r"(?m)^[ \t]*\[\[decision\]\]", text)]
    held_by = decisions_of(toml_of(text.encode(), path.name), path.name)
    ends = [*starts[1:], len(text)]
    if mark not in {one.mark for one in held_by}:
        return text
    for start, end, one in zip(starts, ends, held_by, strict=False):
        if one.mark != mark:
            continue
        rest = text[:start] + text[end:]
        if [left.mark for left in decisions_of(toml_of(rest.encode(), path.name), path.name)] == [
            other.mark for other in held_by if other.mark != mark
        ]:
            return rest
    raise CannotDo(
        f"The entry could not be cut out of {path.name}.", "Delete it there by hand, and load any file: it follows."
    )
