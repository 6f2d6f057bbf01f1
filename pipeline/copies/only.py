"""Which rows of a store are of one club, or of one green: what is written where not everything is."""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.common.refusal import WrongUsage
from pipeline.store.layout import Connection
from pipeline.store.sql_text import quoted
from schemas import KINDS
from schemas.kind import Kind


def rows_of(con: Connection, *, club: str = "", green: str = "") -> Mapping[str, str]:
    """SQL of the rows of each table that are of a club or a green; a table that is not named has none.

    Of a green: its records and those of its club that name no green, its entry and its club's, former ones too,
    materials that its records name, weather of its stations, targets that may hold for it; loads that brought or ended
    a line of these, and faults of lines that name it. Prices, stock and rates are of the one who keeps the store.

    Args:
        con: connection of a store of this version's layout.
        club: code of a club; all of its greens.
        green: code of a green.

    Raises:
        WrongUsage: the store knows no such club or green.
    """
    greens = f"SELECT green FROM history.green WHERE {_is('green', green) if green else _is('club', club)}"  # noqa: S608
    clubs = f"SELECT club FROM history.green WHERE green IN ({greens})" if green else f"SELECT {quoted(club)}"  # noqa: S608
    asked = "green" if green else "club"
    if not con.execute(f"SELECT 1 FROM history.{asked} WHERE {_is(asked, green or club)} LIMIT 1").fetchall():  # noqa: S608
        raise WrongUsage(f"There is no {asked} {green or club} in the store.", "swardtally status lists the greens.")
    found = {f"history.{kind.name}": sql for kind in KINDS.values() if (sql := _of_kind(kind, greens, clubs))}
    found["history.material"] = f"material IN ({_materials(found)})"
    brought = " UNION ALL ".join(_column(column, found) for column in ("load_id", "ended_by"))
    found["meta.load"] = f"load_id IN ({brought})"
    found["meta.fault"] = f"green IN ({greens})"
    found["meta.layout"] = "true"
    return found


def _is(column: str, value: str) -> str:
    return f"{column} = {quoted(value)}"


def _of_kind(kind: Kind, greens: str, clubs: str) -> str:
    """SQL of the rows of a kind; "" where none are of a club or green."""
    refers = {field.refers for field in kind.stored if field.refers}
    regions = f"SELECT region FROM history.club WHERE club IN ({clubs})"  # noqa: S608
    scopes = {"green": greens, "club": clubs, "region": regions}
    each = [f"(scope = {quoted(scope)} AND scope_name IN ({sql}))" for scope, sql in scopes.items()]
    own = {
        "club": f"club IN ({clubs})",
        "green": f"green IN ({greens})",
        "target": " OR ".join(["scope = 'standard'", *each]),
    }
    if kind.name in own:
        return own[kind.name]
    if "green" in refers:
        of_club = f" OR (green IS NULL AND (club IS NULL OR club IN ({clubs})))" if "club" in refers else ""
        return f"green IN ({greens}){of_club}"
    if any(field.name == "station" for field in kind.stored):
        return f"station IN (SELECT station FROM history.green WHERE green IN ({greens}))"  # noqa: S608
    return ""


def _materials(found: Mapping[str, str]) -> str:
    """SQL of the materials that the rows found name."""
    naming = [kind.name for kind in KINDS.values() if any(one.refers == "material" for one in kind.stored)]
    return _column("material", {name: found[name] for name in (f"history.{one}" for one in naming) if name in found})


def _column(column: str, rows: Mapping[str, str]) -> str:
    """SQL of the values of a column in these rows of these tables, none of them NULL."""
    each = (f"SELECT {column} FROM {name} WHERE {column} IS NOT NULL AND ({sql})" for name, sql in rows.items())  # noqa: S608
    return " UNION ALL ".join(each)
