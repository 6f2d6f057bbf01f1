"""Decisions of a person: two lines are one job or two, a rejected row is set aside. Each has a reason, a name, a guard.

They stand in decisions/*.toml of the workspace, and what the store holds follows from them: it is worked out anew with
every load, so that the same files and the same decisions make the same store, and an entry that is deleted has no
effect left. A record is named by its file and by what it says; the line tells those apart that say the same.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from pipeline.common.faults import FaultKind, concat, errors
from pipeline.common.file_names import last_part, without_ending
from pipeline.common.misfits import misfits
from pipeline.common.money import plain
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import read_toml, toml_files
from pipeline.store.keys import key_text
from pipeline.store.refused import Refused, rejected, whose_rejects
from pipeline.store.store import Store
from pipeline.workspace.shared import Shared
from schemas import KINDS, Kind
from schemas.kind import COUNTED_ONCE

if TYPE_CHECKING:
    import polars as pl

OTHER_FILE, SAID_TWICE, KEY_CHANGED = "record.other_file", "record.said_twice", "record.key_changed"
FROM_START = "register.from_start"
OF_TWO = (OTHER_FILE, SAID_TWICE, KEY_CHANGED)
"""Warnings of loading that are about two lines: they stand until somebody decides."""
DECIDED = {
    "one": "the two lines are one job: the record counts, the other no longer does",
    "two": "both were done, and both count",
    "aside": "the rejected row is set aside: it is in the store already, or is not wanted",
}
"""What can be decided, and what it means."""
DOES_NOT_FIT = FaultKind(
    "decision.does_not_fit",
    "Decision no longer fits",
    "{source} decides about {about}, but that is no longer what stands there: it is not followed.",
    "Take it back (undo {decision}); status lists what is still to be decided.",
    severity="warning",
)
NOT_TWO = FaultKind(
    "decision.not_two",
    "Decision that two lines of one record both count",
    "{source} says that {about} both count, but of this kind ({kind}) they are one record: it is not followed.",
    "Take it back (undo {decision}). If both lines stand in the store by it, take the load of the wrong one back too "
    "(undo LOAD; history lists the loads).",
    severity="warning",
)
ASIDE = FaultKind(
    "decision.aside",
    "Set aside",
    "The row was set aside: it is not asked for any more ({why}; {who}).",
    "Nothing need be done; the decision stands in decisions/{source}.",
    severity="note",
)


class Place(BaseModel):
    """A line of a file, and what it says: the guard."""

    model_config = ConfigDict(defer_build=True, extra="forbid", frozen=True, strict=True)

    file: str = Field(min_length=1)
    line: int = Field(ge=1)
    says: dict[str, str] = Field(min_length=1)

    def in_file(self, file: str) -> bool:
        """Whether a file, named as it is shown or by its last part, is the one that is meant."""
        return self.file in {file, last_part(file)}

    def fits(self, said: Mapping[str, str]) -> bool:
        """Whether a record or row says what this place said when the decision was made."""
        return all(said.get(name, "") == text for name, text in self.says.items())

    def __str__(self) -> str:
        return f"line {self.line} of {self.file}"


class Decision(BaseModel):
    """One decision, as it stands in decisions/*.toml."""

    model_config = ConfigDict(defer_build=True, extra="forbid", frozen=True, strict=True)

    decided: Literal["one", "two", "aside"]
    kind: str
    record: Place
    other: Place | None = None
    why: str = Field(min_length=1)
    who: str = Field(min_length=1)
    source: str = ""

    @model_validator(mode="after")
    def _whole(self) -> Decision:
        if self.kind not in KINDS:
            raise ValueError(f"there is no kind of record “{self.kind}”")
        if (self.other is None) != (self.decided == "aside"):
            raise ValueError("`one` and `two` need a record and an `other`, `aside` the record alone")
        return self

    @property
    def places(self) -> tuple[Place, ...]:
        """The lines it is about."""
        return (self.record, self.other) if self.other else (self.record,)

    @property
    def about(self) -> str:
        """The lines it is about, in words."""
        return " and ".join(map(str, self.places))

    @property
    def followable(self) -> bool:
        """Whether it may be followed: two records of one key are in force only of a kind that repeats."""
        kind = KINDS[self.kind]
        one_key = len({tuple(place.says.get(name) for name in kind.key) for place in self.places}) == 1
        return self.decided != "two" or kind.repeats or not one_key

    @property
    def mark(self) -> str:
        """SHA-256 of the entry, wherever it stands: by it the store knows it again."""
        return sha256(self.model_dump_json(exclude={"source"}).encode()).hexdigest()


def read_decisions(folder: Path) -> tuple[Decision, ...]:
    """Every decision of a workspace, in order of files and place.

    Raises:
        CannotDo: a file is not TOML, or holds what a decision may not hold.
    """
    found: list[Decision] = []
    for path in toml_files(folder):
        found += decisions_of(read_toml(path), path.name)
    return tuple(found)


def decisions_of(data: dict[str, Any], name: str) -> list[Decision]:
    """The decisions in a document; a message calls its file by this name.

    Raises:
        CannotDo: as :func:`read_decisions`.
    """
    if set(data) - {"decision"} or not isinstance(data.get("decision", []), list):
        raise CannotDo(f"{name} may only hold [[decision]] tables.", "docs/decisions.md shows one.")
    found = []
    for number, one in enumerate(data.get("decision", []), 1):
        try:
            found.append(Decision.model_validate({**one, "source": name}))
        except (ValidationError, TypeError) as error:
            what = misfits(error, "decision") if isinstance(error, ValidationError) else str(error)
            raise CannotDo(f"{name}, decision {number}: {what}", "docs/decisions.md shows one.") from None
    return found


@dataclass(frozen=True)
class Held:
    """A record in force, as a decision knows it again."""

    old: int
    load_id: int
    line: int
    file: str
    key: str
    says: Mapping[str, str]


@dataclass(frozen=True)
class OfTwo:
    """A warning of loading about two lines: the later one and the one it met.

    ``other_load`` is known where the other line may stand at the same place of the same file, in its former version.
    """

    nr: int
    code: str
    kind: str
    load_id: int
    file: str
    line: int
    other_file: str
    other_line: int
    message: str
    other_load: int | None = None

    def between(self, one: Place, other: Place) -> bool:
        """Whether it is about these two lines."""
        ends = ((self.file, self.line), (self.other_file, self.other_line))
        return any(
            one.in_file(a) and one.line == line and other.in_file(b) and other.line == other_line
            for (a, line), (b, other_line) in (ends, ends[::-1])
        )

    def about(self, one: Held | None, other: Held | None) -> bool:
        """Whether these records may be the two: of several versions of a file the line alone does not tell."""
        return self.other_load is None or {end and end.load_id for end in (one, other)} == {
            self.load_id,
            self.other_load,
        }


def of_two(store: Store) -> list[OfTwo]:
    """The warnings about two lines that stand, in order of files and lines."""
    rows = store.rows(
        "SELECT f.rowid, f.code, l.kind, f.load_id, l.file, f.line, f.value, f.message FROM meta.fault AS f "
        "JOIN meta.load AS l ON l.load_id = f.load_id WHERE list_contains(?, f.code) AND f.settled_by IS NULL "
        "ORDER BY l.file, f.line, f.load_id, f.code, f.value",
        [list(OF_TWO)],
    )
    found = []
    for nr, code, kind, load_id, file, line, value, message in rows:
        of_version = r" \(load (?P<load>\d+)\)" if code == KEY_CHANGED else ""
        met = value.removeprefix(f"line {line} of {file} and ")
        other = re.fullmatch(rf"line (?P<line>\d+) of (?P<file>.+?){of_version}", met, re.DOTALL)
        if other:
            at = other.groupdict()
            load = int(at["load"]) if of_version else None
            found.append(OfTwo(nr, code, kind, load_id, file, line, at["file"], int(at["line"]), message, load))
    return found


def held(store: Store, kind: Kind, files: Iterable[str], *, ended: bool = False) -> list[Held]:
    """Records of a kind in force (or all versions) of these files, named as shown or by their last part."""
    names = sorted(files)
    fields = ", ".join(f'k."{field.name}"' for field in kind.stored if field.type != "image")
    rows = store.frame(
        f"SELECT k.rowid AS old, k.load_id, k.line, l.file, {fields} FROM history.{kind.name} AS k "  # noqa: S608 (names from KINDS)
        f"JOIN meta.load AS l ON l.load_id = k.load_id WHERE (k.ended_by IS NULL{' OR true' if ended else ''}) "
        "AND (list_contains($names, l.file) OR list_contains($names, regexp_extract(l.file, '[^/]*$')))",
        by=("load_id", "line", "old"),
        names=names,
    )
    return [
        Held(row["old"], row["load_id"], row["line"], row["file"], row["record"], said_of(kind, row))
        for row in rows.with_columns(key_text(kind)).iter_rows(named=True)
    ]


def said_of(kind: Kind, row: Mapping[str, Any]) -> dict[str, str]:
    """What a record says, field by field as text; a blank is left out, and so are notes."""
    names = [field.name for field in kind.stored if field.type not in {"image", "text"} or field.key]
    return {name: _as_text(row[name]) for name in names if row[name] is not None}


def _as_text(value: object) -> str:
    if isinstance(value, Decimal):
        return plain(value)
    if isinstance(value, float):
        return f"{value:.10g}"
    return value.isoformat() if isinstance(value, date) else str(value)


def meant(place: Place, among: Iterable[Held]) -> Held | None:
    """The record that a place means: the only one of its file that says so, else the one of these on its line."""
    fitting = [one for one in among if place.in_file(one.file) and place.fits(one.says)]
    if len(fitting) > 1:
        fitting = [one for one in fitting if one.line == place.line]
    return fitting[0] if len(fitting) == 1 else None


def lift(store: Store) -> None:
    """Take every effect of decisions off the records and warnings; :func:`follow` puts them back."""
    kinds = store.rows("SELECT DISTINCT kind FROM meta.decision WHERE decided = 'one' ORDER BY kind")
    for (kind,) in kinds:
        store.con.execute(
            f"UPDATE history.{kind} SET ended_by = NULL, ended_as = NULL WHERE ended_as = ?",  # noqa: S608 (checked against KINDS)
            [COUNTED_ONCE],
        )
    store.con.execute(
        "UPDATE meta.fault SET settled_by = NULL WHERE settled_by IN (SELECT d.decision FROM meta.decision AS d)"
    )


def stale(store: Store, decisions: Sequence[Decision]) -> bool:
    """Whether the store follows other decisions than these."""
    standing = store.rows("SELECT sha256 FROM meta.decision WHERE taken_back_at IS NULL")
    return {mark for (mark,) in standing} != {one.mark for one in decisions}


def follow(store: Store, decisions: Sequence[Decision], *, taken_back: str = "") -> None:
    """Make the store's records and warnings what these decisions say; inside a transaction.

    What was decided before and is in no file any more is taken back, and stays in the history of decisions. Not so of a
    shared store: what this workspace lacks another office may have.

    Args:
        store: the store.
        decisions: every decision of the workspace.
        taken_back: mark of the one that is taken back now.

    Raises:
        CannotDo: a shared store follows a decision that the workspace lacks.
    """
    known = bool(store.rows("SELECT 1 FROM meta.decision LIMIT 1"))
    if not known and not decisions:
        return
    lift(store)
    numbers = _numbered(store, decisions, taken_back)
    warnings = of_two(store)
    for kind in dict.fromkeys(one.kind for one in decisions):
        mine = [one for one in decisions if one.kind == kind]
        pairs = [one for one in mine if one.other]
        records = held(store, KINDS[kind], {place.file for one in pairs for place in one.places}) if pairs else []
        for one in mine:
            if one.other:
                _follow_pair(store, numbers[one.mark], one, records, warnings)
            else:
                _set_aside(store, numbers[one.mark], one)


def next_number(store: Store) -> int:
    """Number of the next load or decision; one that was taken back is not given again."""
    number: int = store.rows(
        "SELECT coalesce(max(n), 0) + 1 FROM (SELECT load_id AS n FROM meta.load UNION ALL "
        "SELECT load_id FROM meta.undone UNION ALL SELECT decision FROM meta.decision)"
    )[0][0]
    return number


def now() -> datetime:
    """This second, UTC, as the store keeps times."""
    return datetime.now(UTC).replace(tzinfo=None, microsecond=0)


def _refuse_lacking(store: Store, number: int) -> None:
    ((source, about),) = store.rows("SELECT source, about FROM meta.decision WHERE decision = ?", [number])
    raise CannotDo(
        f"The shared store follows decision {number} (decisions/{source}: {about}), which this workspace lacks.",
        "Put the decisions/ of the office that made it beside your own, or take it back for all: swardtally undo "
        f"{number}. Nothing was changed.",
    )


def _numbered(store: Store, decisions: Sequence[Decision], taken_back: str) -> dict[str, int]:
    """The number of each decision by its mark; new ones are entered, those that are gone are taken back."""
    standing = dict(store.rows("SELECT sha256, decision FROM meta.decision WHERE taken_back_at IS NULL"))
    gone = sorted(standing[mark] for mark in standing.keys() - {one.mark for one in decisions})
    lacking = [number for number in gone if number != standing.get(taken_back)]
    if lacking and isinstance(store.path, Shared):
        _refuse_lacking(store, lacking[0])
    for mark in standing.keys() - {one.mark for one in decisions}:
        store.con.execute(
            "UPDATE meta.decision SET taken_back_at = ?, fits = false WHERE decision = ?", [now(), standing[mark]]
        )
    for one in decisions:
        if one.mark not in standing:
            standing[one.mark] = next_number(store)
            store.con.execute(
                "INSERT INTO meta.decision (decision, source, sha256, decided, kind, about, file, other_file, why, "
                "who, decided_at, fits) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, false)",
                [
                    standing[one.mark],
                    one.source,
                    one.mark,
                    one.decided,
                    one.kind,
                    one.about,
                    one.record.file,
                    one.other and one.other.file,
                    one.why,
                    one.who,
                    now(),
                ],
            )
    return standing


def _follow_pair(store: Store, number: int, one: Decision, records: Sequence[Held], warnings: Sequence[OfTwo]) -> None:
    assert one.other is not None
    if not one.followable:
        records, warnings = (), ()
    record, other = meant(one.record, records), meant(one.other, records)
    asked = [end for end in warnings if end.between(one.record, one.other) and end.about(record, other)]
    both = record is not None and other is not None
    fits = both or bool(asked and (record or other))
    if one.decided == "one" and both and other is not None:
        store.con.execute(
            f"UPDATE history.{one.kind} SET ended_by = ?, ended_as = ? WHERE rowid = ?",  # noqa: S608 (checked against KINDS)
            [number, COUNTED_ONCE, other.old],
        )
    if fits and (both or one.decided == "one"):
        for warning in asked:
            store.con.execute("UPDATE meta.fault SET settled_by = ? WHERE rowid = ?", [number, warning.nr])
            store.con.execute(  # the same change, asked about as a value: one question, one answer
                "UPDATE meta.fault SET settled_by = ? WHERE load_id = ? AND line = ? AND code = ? "
                "AND settled_by IS NULL",
                [number, warning.load_id, warning.line, FROM_START],
            )
    ends = [(end.load_id, end.line, end.key) if end else (None, None, None) for end in (record, other)]
    store.con.execute(
        "UPDATE meta.decision SET fits = ?, of_load = ?, of_line = ?, record = ?, other_load = ?, other_line = ?, "
        "other_record = ? WHERE decision = ?",
        [fits, *ends[0], *ends[1], number],
    )


def _set_aside(store: Store, number: int, one: Decision) -> None:
    every = rejected(store)
    found = [row for row in every if one.record.in_file(row.file) and one.record.fits(row.says)]
    if len({row.line for row in found}) > 1:
        found = [row for row in found if row.line == one.record.line]
    for row in (*found, *_rejected_again(store, one.record, every)):
        store.con.execute(
            "UPDATE meta.fault SET settled_by = ? WHERE load_id = ? AND line = ? AND severity = 'error'",
            [number, row.load_id, row.line],
        )
    last = found[-1] if found else None
    store.con.execute(
        "UPDATE meta.decision SET fits = ?, of_load = ?, of_line = ? WHERE decision = ?",
        [last is not None, last and last.load_id, last and last.line, number],
    )


def _rejected_again(store: Store, place: Place, every: Sequence[Refused]) -> list[Refused]:
    """The rows of files of rejected rows that are a row of their own file which was set aside, and say the same still.

    Told by the line they had there; where a person deleted that, by what they say, if one row alone says it.
    """
    whose = whose_rejects(store)
    found = []
    for file in dict.fromkeys(row.file for row in every):
        if not any(place.in_file(one) for one in whose.get(without_ending(file), ())):
            continue
        fitting = [row for row in every if row.file == file and place.fits(row.says)]
        known = [row for row in fitting if row.stood == place.line]
        found += known or ([row for row in fitting if row.stood is None] if len(fitting) == 1 else [])
    return found


def beside(store: Store, kind: Kind, file: str, decisions: Sequence[Decision]) -> list[int]:
    """Records of the store that a file's rows are not paired with, for somebody said that both were done (rowids)."""
    if not kind.repeats:
        return []
    pairs = [one for one in decisions if one.decided == "two" and one.kind == kind.name and one.other]
    places = [
        other
        for one in pairs
        for own, other in (one.places, one.places[::-1])
        if own.in_file(file) and not other.in_file(file)
    ]
    records = held(store, kind, {place.file for place in places}) if places else []
    return sorted({one.old for place in places if (one := meant(place, records))})


def unfitting(store: Store, file: str = "") -> list[tuple[int, str, pl.DataFrame]]:
    """Decisions not followed though their files are loaded (number, source, what is told); of one file, or of all."""
    rows = store.rows(
        "SELECT decision, source, about, decided, kind, file, other_file FROM meta.decision "
        "WHERE NOT fits AND taken_back_at IS NULL ORDER BY decision"
    )
    names = {name for (name,) in store.rows("SELECT DISTINCT file FROM meta.load")} if rows else set()
    loaded = names | {last_part(name) for name in names}
    found = []
    for number, source, about, decided, kind, *files in rows:
        named = {one for one in files if one}
        if named <= loaded and (not file or {file, last_part(file)} & named):
            why = NOT_TWO if decided == "two" and not KINDS[kind].repeats else DOES_NOT_FIT
            facts = {
                "source": f"decisions/{source}",
                "about": about,
                "decision": number,
                "kind": kind.replace("_", " "),
            }
            found.append((number, source, why.at(None, None, **facts)))
    return found


def told(store: Store, file: str, faults: pl.DataFrame) -> pl.DataFrame:
    """What decisions about a file come to (FAULT_SCHEMA): those that fit no more, and rejected rows set aside.

    ``faults`` are those met in it.
    """
    unfit = [fault for _, _, fault in unfitting(store, file)]
    rows = store.rows(
        "SELECT DISTINCT f.line, d.source, d.why, d.who, d.decision FROM meta.fault AS f "
        "JOIN meta.decision AS d ON d.decision = f.settled_by "
        "WHERE d.decided = 'aside' AND d.fits AND f.severity = 'error' "
        "AND f.load_id = (SELECT max(l.load_id) FROM meta.load AS l WHERE l.file = ?) ORDER BY f.line, d.decision",
        [file],
    )
    lines = set(errors(faults)["line"]) if rows else set()
    aside = [
        ASIDE.at(line, None, source=source, why=why, who=who) for line, source, why, who, _ in rows if line in lines
    ]
    return concat([*unfit, *aside])


def entry(one: Decision) -> str:
    """A decision as a table of a TOML file."""
    lines = ["[[decision]]", f"decided = {_quoted(one.decided)}", f"kind = {_quoted(one.kind)}"]
    for name, place in zip(("record", "other"), one.places, strict=False):
        says = ", ".join(f"{_quoted(key)} = {_quoted(text)}" for key, text in place.says.items())
        lines.append(f"{name} = {{ file = {_quoted(place.file)}, line = {place.line}, says = {{ {says} }} }}")
    return "\n".join([*lines, f"why = {_quoted(one.why)}", f"who = {_quoted(one.who)}", ""])


def _quoted(text: str) -> str:
    """A text as a TOML string on one line."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
