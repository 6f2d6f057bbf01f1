"""A person's name out of every text of the store's tables."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

from pipeline.common.refusal import CannotDo
from pipeline.common.words import listed
from pipeline.forget.person import Person
from pipeline.store.layout import Connection, tables
from pipeline.store.proof.seals import WRITTEN, may_name
from pipeline.store.sql_text import quoted
from schemas import KINDS, Kind

NO_TEXT = frozenset(
    {"sha256", "rules_sha256", "salt", "leaf", "head", "covers", "profile", "version", "encoding", "data_version"}
    | {"code_version", "rows_sha256", "mark", "parts"}
)
"""Columns that are hashes, marks and names of profiles, which are no person's."""
NAMES = ("name",)
"""Free words of registers that name a thing and no person: a club's name, a green's."""


def refuse_where_it_names_a_thing(con: Connection, person: Person) -> None:
    """Refuse a name that is a club's, a green's or a material's too: what was done there would name nothing any more.

    Raises:
        CannotDo: with where it stands.
    """
    found = []
    for kind in KINDS.values():
        private = may_name(kind)
        for field in kind.stored:
            named = kind.register and field.name in NAMES
            if field.store_type == "VARCHAR" and (field.name not in private or named):
                texts = con.execute(f'SELECT DISTINCT "{field.name}" FROM history.{kind.name} ORDER BY ALL').fetchall()  # noqa: S608
                found += [text for (text,) in texts if text and person.stands_in(text)]
    profiles = con.execute("SELECT DISTINCT profile FROM meta.load ORDER BY profile").fetchall()
    found += [f"source profile {name}" for (name,) in profiles if person.stands_in(name)]
    if found:
        raise CannotDo(
            f"“{listed(person.spellings)}” stands in what is no person's name: {listed(sorted(set(found))[:5])}.",
            "Name the person as the records do, with more of the name. Nothing was changed.",
        )


def replace_in_tables(con: Connection, person: Person) -> dict[str, int]:
    """Put the token in place of the name in every text; how many texts of each table were changed.

    What is made from the records (schema ``derived``) is left: it is made anew.
    """
    changed: dict[str, int] = {}
    for table, column in _texts():
        pairs = list(_replaced(con, table, column, person))
        for former, now in pairs:
            con.execute(f'UPDATE {table} SET "{column}" = {quoted(now)} WHERE "{column}" = {quoted(former)}')  # noqa: S608
        if pairs:
            changed[table] = changed.get(table, 0) + len(pairs)
    for kind in KINDS.values():
        _say_once(con, kind, person)
    return changed


def _say_once(con: Connection, kind: Kind, person: Person) -> None:
    """Take out of a record's cells as written what is now the very same as what was understood of them."""
    sql = f"SELECT rowid, * FROM history.{kind.name} WHERE contains({WRITTEN}, {quoted(person.token)})"  # noqa: S608
    found = con.execute(sql)
    names = [one[0] for one in found.description or ()]
    for values in found.fetchall():
        row = dict(zip(names, values, strict=True))
        written = json.loads(row[WRITTEN])
        left = {name: text for name, text in written.items() if row.get(name) != text or person.token not in text}
        if left != written:
            told = quoted(json.dumps(left, ensure_ascii=False)) if left else "NULL"
            con.execute(f"UPDATE history.{kind.name} SET {WRITTEN} = {told} WHERE rowid = {row['rowid']:d}")  # noqa: S608


def _texts() -> Iterator[tuple[str, str]]:
    for table, _, columns in tables():
        if table.startswith("derived."):
            continue
        for name, declared, _ in columns:
            if declared.startswith("VARCHAR") and name not in NO_TEXT:
                yield table, name


def _replaced(con: Connection, table: str, column: str, person: Person) -> Iterator[tuple[str, str]]:
    """Every text of a column that the name stands in, and the same without it."""
    where = " OR ".join(f'contains(lower("{column}"), {quoted(part)})' for part in sorted(_sure_parts(person)))
    rows = con.execute(
        f'SELECT DISTINCT "{column}" FROM {table} WHERE "{column}" IS NOT NULL AND ({where}) ORDER BY ALL'  # noqa: S608
    ).fetchall()
    for (text,) in rows:
        gone = person.gone_from(text)
        if gone != text:
            yield text, gone


def _sure_parts(person: Person) -> set[str]:
    """What stands in lower case in every text that a spelling does: the longest run of plain letters of each.

    Other letters have several forms (“ß” and “SS”, accents), and one may stand as its number; of a spelling
    without two plain letters nothing is sure, and every text is looked into.
    """
    runs = (re.findall(r"[a-hj-z]{2,}", one, re.IGNORECASE | re.ASCII) for one in person.spellings)
    return {max(found, key=len, default="").lower() for found in runs}
