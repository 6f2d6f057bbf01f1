"""The least record of any kind, and how it comes into a store without a file."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.store.store import Store
from schemas import Kind
from schemas.codes import code_list

DAY = date(2026, 3, 16)
_OF_KIND: dict[str, dict[str, Any]] = {  # of what a rule asks for one of several ways
    "planned_work": {"programme": "X-1", "green": "X-1"},
    "price": {"pack_kg": 20.0},
    "stock": {"packs": 20.0},
    "rate": {"amount": Decimal(20)},
}


def sound(kind: Kind) -> dict[str, Any]:
    """The least record of a kind that nothing can be said against; every name in it is X-1."""
    plain: dict[str, Any] = {
        "text": "words", "date": DAY, "number": 20.0, "whole": 5, "money": Decimal(20), "flag": False,
    }  # fmt: skip
    row: dict[str, Any] = {}
    for field in kind.stored:
        if not field.required and field.name != kind.value_field:
            row[field.name] = None
        elif field.choices:
            row[field.name] = next(iter(code_list(field.choices)))
        else:
            row[field.name] = plain.get(field.type, "X-1")
    if kind.name == "target":  # it is held against the indicators that there are
        row |= {"indicator": "speed_s", "unit": "s"}
    row |= _OF_KIND.get(kind.name, {})
    if kind.of_green:  # a sieve analysis is of a green's root zone, or of a material
        row["green"] = "X-1"
    return row


def put(store: Store, kind: Kind, row: dict[str, Any], load_id: int = 1) -> None:
    """Put a record into the store as line 2 of a load of its own."""
    loads = {"load_id": load_id, "file": f"{kind.name}.csv", "kind": kind.name, "loaded_at": "2026-11-01 00:00:00"}
    columns = store.rows(
        "SELECT column_name, data_type FROM duckdb_columns() WHERE schema_name = 'meta' AND table_name = 'load'"
    )
    values = [loads.get(name, 0 if declared == "BIGINT" else "") for name, declared in columns]
    store.con.execute(f"INSERT INTO meta.load VALUES ({', '.join('?' * len(values))})", values)
    names = ", ".join(f'"{name}"' for name in row)
    store.con.execute(
        f"INSERT INTO history.{kind.name} ({names}, load_id, line) VALUES ({', '.join('?' * len(row))}, ?, 2)",
        [*row.values(), load_id],
    )
