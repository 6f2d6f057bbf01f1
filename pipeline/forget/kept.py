"""A person's name out of the kept originals and rules: each is kept anew under its new hash."""

from __future__ import annotations

import json
from collections.abc import Mapping

from pipeline.common.marks import mark_of_part
from pipeline.forget.contents import CannotRedact, gone_from_bytes
from pipeline.forget.person import Person
from pipeline.store.layout import Connection
from pipeline.store.proof.originals import Altered, as_bytes, keep, kept_bytes, mark_of, packed
from pipeline.store.proof.rules import RULES


def replace_in_originals(con: Connection, person: Person) -> tuple[dict[str, str], list[int]]:
    """Keep everything anew that the name stands in; former hash → new one, and loads whose file had to be dropped.

    A workbook from which the name cannot be taken is dropped, and its load stands by its records alone.
    """
    roles = con.execute("SELECT DISTINCT role, sha256 FROM meta.source ORDER BY ALL").fetchall()
    encodings = dict(con.execute("SELECT sha256, encoding FROM meta.load ORDER BY load_id").fetchall())
    moved: dict[str, str] = {}
    dropped: list[str] = []
    for role, mark in sorted(roles, key=lambda one: (one[0] == RULES, one)):  # a list of rules after what it lists
        try:
            content = kept_bytes(con, mark)
            gone = _rules(con, content, person, moved) if role == RULES else gone_from_bytes(
                content, person, [encodings.get(mark, "utf-8")]
            )  # fmt: skip
        except CannotRedact:
            dropped.append(mark)
            continue
        except Altered:
            continue
        _keep_anew(con, content, gone, moved)
    loads = _loads_of(con, dropped)
    for former, now in moved.items():
        con.execute(f"UPDATE meta.source SET sha256 = '{now}' WHERE sha256 = '{former}'")  # noqa: S608 (hashes)
    for mark in dropped:
        con.execute(f"DELETE FROM meta.source WHERE sha256 = '{mark}'")  # noqa: S608
    for mark in (*moved, *dropped):
        con.execute(f"DELETE FROM meta.original WHERE sha256 = '{mark}'")  # noqa: S608
    _rename_loads(con, moved)
    return moved, loads


def _rules(con: Connection, content: bytes, person: Person, moved: dict[str, str]) -> bytes:
    """A list of rules with the hashes of those that were kept anew."""
    listed: Mapping[str, str] = json.loads(content)
    now = {}
    for place, mark in listed.items():
        if mark not in moved:
            former = kept_bytes(con, mark)
            _keep_anew(con, former, gone_from_bytes(former, person, ["utf-8"]), moved)
        now[place] = moved.get(mark, mark)
    return as_bytes(now)


def _keep_anew(con: Connection, former: bytes, now: bytes, moved: dict[str, str]) -> None:
    """Keep bytes that the name is gone from, where they are others, and note under which hash."""
    if now != former:
        kept = packed(now)
        keep(con, kept)
        moved[mark_of(former)] = kept.mark


def _loads_of(con: Connection, marks: list[str]) -> list[int]:
    found = []
    for mark in marks:
        sql = f"SELECT load_id FROM meta.source WHERE sha256 = '{mark}' ORDER BY load_id"  # noqa: S608 (a hash)
        found += [load_id for (load_id,) in con.execute(sql).fetchall()]
    return sorted(set(found))


def _rename_loads(con: Connection, moved: Mapping[str, str]) -> None:
    """Give loads the hash of their file, and of the part of it, as it is now: the same bytes would be met again."""
    for table in ("load", "undone"):
        for load_id, file, mark in con.execute(f"SELECT load_id, file, sha256 FROM meta.{table}").fetchall():  # noqa: S608
            part = file.rpartition(" [")[2].removesuffix("]") if file.endswith("]") else ""
            of_parts = {mark_of_part(one, part): mark_of_part(now, part) for one, now in moved.items()} if part else {}
            if fresh := {**of_parts, **moved}.get(mark):
                con.execute(f"UPDATE meta.{table} SET sha256 = '{fresh}' WHERE load_id = {load_id:d}")  # noqa: S608
