"""Former values of records: what each said before, what took its place, and which load did it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from pipeline.common.closest import offered
from pipeline.common.refusal import WrongUsage
from pipeline.store.sql_text import number_as_told
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, as_text
from schemas import KINDS, Kind
from schemas.field import Field


@dataclass(frozen=True)
class Change:
    """One value of one record that another took the place of, or a record that is no longer in force.

    Attributes:
        kind: kind of record.
        key: its natural key in words.
        field: field that changed; the one of the value where the whole record ended, "" where the kind has none.
        former: what it said, None where it was blank.
        now: what it says since, None where it is blank or the record ended.
        how: a way of schemas.kind.ENDINGS, or COUNTED_ONCE.
        load_id: load or decision that changed it.
        when: when that load came, UTC.
        file: file of that load.
        line: line of the record that took the place, None where the record ended.
        former_file: file the former value came from.
        former_line: its line there.
    """

    kind: str
    key: str
    field: str
    former: str | None
    now: str | None
    how: str
    load_id: int
    when: str
    file: str
    line: int | None
    former_file: str
    former_line: int

    def as_json(self) -> dict[str, Any]:
        """The form of ``history --json``."""
        return asdict(self)


def changes(workspace: Workspace, *, file: str = "", green: str = "") -> list[Change]:
    """Values that were changed, in the order of loads and lines; grain: record and field.

    Only what this file said or changed, and only records of this green; "" stands for any.

    Raises:
        WrongUsage: no such file was loaded, or there is no such green.
    """
    file, green = as_text(file), as_text(green)
    with Store(workspace.store, read_only=True) as store:
        _refuse_unknown(store, file, green)
        found = [one for kind in KINDS.values() if not green or "green" in kind.by_name
                 for one in _of_kind(store, kind, file, green)]  # fmt: skip
    return sorted(found, key=lambda one: (one.load_id, one.line or 0, one.former_line, one.kind))


def _refuse_unknown(store: Store, file: str, green: str) -> None:
    files = [name for (name,) in store.rows("SELECT DISTINCT file FROM meta.load")] if file else []
    if file and file not in files:
        said = f"No file “{file}” was loaded{offered(file, files)}."
        raise WrongUsage(said, "swardtally history lists the files by their names.")
    greens = [name for (name,) in store.rows("SELECT DISTINCT green FROM history.green")] if green else []
    if green and green not in greens:
        raise WrongUsage(f"There is no green “{green}”{offered(green, greens)}.", "swardtally status lists the greens.")


def _column(side: str, field: Field) -> str:
    return f'{side}."{field.name}"'


def _of_kind(store: Store, kind: Kind, file: str, green: str) -> list[Change]:
    """Changes of one kind: records that ended, each beside the one of the same key that took its place.

    Twins are paired in the order loading paired them: by load and line.
    """
    fields = [field for field in kind.stored if field.type != "image"]
    names = [field.name for field in fields]
    columns = ", ".join(
        f"CAST({number_as_told(_column(side, field), field)} AS VARCHAR)" for side in "on" for field in fields
    )
    key = ", ".join(f'k."{name}"' for name in kind.key)
    same = " AND ".join(f'n."{name}" IS NOT DISTINCT FROM o."{name}"' for name in kind.key)
    rows = store.rows(
        f"""
        WITH old AS (
            SELECT k.*, row_number() OVER (
                PARTITION BY {key}, k.ended_by, k.ended_as ORDER BY k.load_id, k.line, k.rowid) AS place
            FROM history.{kind.name} AS k WHERE k.ended_by IS NOT NULL
        ), new AS (
            SELECT k.*, row_number() OVER (PARTITION BY {key}, k.load_id ORDER BY k.line, k.rowid) AS place
            FROM history.{kind.name} AS k WHERE k.load_id IN (SELECT o.ended_by FROM old AS o)
        )
        SELECT o.ended_as, o.ended_by, CAST(l.came_at AS VARCHAR), l.file, n.line, f.file, o.line, {columns}
        FROM old AS o
        JOIN (
            SELECT load_id, file, loaded_at AS came_at FROM meta.load
            UNION ALL SELECT decision, 'decisions/' || source, decided_at FROM meta.decision
        ) AS l ON l.load_id = o.ended_by
        JOIN meta.load AS f ON f.load_id = o.load_id
        LEFT JOIN new AS n ON o.ended_as = 'superseded' AND n.load_id = o.ended_by AND n.place = o.place AND {same}
        WHERE (? = '' OR l.file = ? OR f.file = ?) AND (? = '' OR {"o.green = ?" if "green" in names else "? = ''"})
        ORDER BY ALL
        """,  # noqa: S608 (names from KINDS)
        [file, file, file, green, green],
    )
    found = []
    for how, load_id, when, new_file, line, old_file, old_line, *values in rows:
        former, now = dict(zip(names, values, strict=False)), dict(zip(names, values[len(names) :], strict=True))
        said = ", ".join(str(former[name]) for name in kind.key if former[name])
        at = (load_id, when, new_file, line, old_file, old_line)
        if how == "superseded":
            found += [
                Change(kind.name, said, name, former[name], now[name], how, *at)
                for name in names
                if former[name] != now[name]
            ]
        else:
            found.append(Change(kind.name, said, kind.value_field, former.get(kind.value_field), None, how, *at))
    return found
