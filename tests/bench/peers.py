"""The same job log checked by libraries that are made for it: pandas with pandera into DuckDB, and frictionless.

pandera's schema is made from the kind's fields: types, limits, blanks, lists of words, names of the registers. It has
no units, no rules across fields, keeps no original and no line, and what it writes cannot be taken back. frictionless
checks the same as a Table Schema (types, constraints) and writes nothing.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import duckdb

from schemas import KINDS
from schemas.codes import code_list
from tests.bench.jobs import GREENS, MATERIALS, OPERATIONS, TYPES

BESIDE = Path(sys.prefix) / "bench" / "bin" / "python"
"""Python with what only measuring needs (tests/bench/requirements.txt); ``make bench`` makes it."""
FIELD_TYPES = {"DATE": "date", "VARCHAR": "string", "DOUBLE": "number", "BIGINT": "integer"}
"""Types of the Table Schema."""


def _allowed(name: str) -> list[str] | None:
    """Words a column may hold; None where any."""
    told = {"green": [f"G{i}" for i in range(GREENS)], "material": list(MATERIALS)}
    field = KINDS["job"].by_name[name]
    return told.get(name) or ([*OPERATIONS, *code_list(field.choices)] if field.choices else None)


def by_pandas(path: Path, target: Path) -> float:
    """Seconds of reading, checking and writing the log by pandas, pandera and DuckDB."""
    import pandas as pd  # type: ignore[import-untyped]
    import pandera.pandas as pa

    kinds = {"VARCHAR": "str", "DOUBLE": "float64", "BIGINT": "Int64"}
    columns = {}
    for name in TYPES:
        field, checks = KINDS["job"].by_name[name], []
        for limit, check in ((field.low, pa.Check.ge), (field.high, pa.Check.le), (field.above, pa.Check.gt)):
            checks += [check(limit)] if limit is not None else []
        allowed = _allowed(name)
        checks += [pa.Check.isin(allowed)] if allowed else []
        columns[name] = pa.Column(nullable=not field.required, checks=checks)
    schema = pa.DataFrameSchema(columns)
    start = time.perf_counter()
    types: dict[str, Any] = {name: kinds[kind] for name, kind in TYPES.items() if kind in kinds}
    frame = pd.read_csv(path, dtype=types, parse_dates=["date"], date_format="%Y-%m-%d")
    frame = schema.validate(frame, lazy=True)
    con = duckdb.connect(str(target))
    con.execute("CREATE TABLE job AS SELECT * FROM frame").fetchall()
    con.close()
    seconds = time.perf_counter() - start
    target.unlink()
    return seconds


def by_frictionless(path: Path) -> float | None:
    """Seconds in which frictionless validates the log; None where it is not here."""
    if not BESIDE.exists():
        return None
    fields = []
    for name, kind in TYPES.items():
        field = KINDS["job"].by_name[name]
        said = {"minimum": field.low, "maximum": field.high, "enum": _allowed(name), "required": field.required or None}
        limits = {what: value for what, value in said.items() if value is not None}
        fields.append({"name": name, "type": FIELD_TYPES[kind], "constraints": limits})
    schema = path.with_suffix(".schema.json")
    schema.write_text(json.dumps({"fields": fields}), "utf-8")
    code = (
        "import sys, time; from frictionless import Resource, Schema, system; start = time.perf_counter()\n"
        "with system.use_context(trusted=True):\n"
        "    report = Resource(path=sys.argv[1], schema=Schema.from_descriptor(sys.argv[2])).validate()\n"
        "assert report.valid, report.flatten(['rowNumber', 'fieldName', 'type'])[:3]\n"
        "print(time.perf_counter() - start)"
    )
    done = subprocess.run([BESIDE, "-c", code, path, schema], capture_output=True, text=True, check=False)
    if done.returncode:
        sys.stdout.write(f"  frictionless failed: {done.stderr.strip().splitlines()[-1]}\n")
        return None
    return float(done.stdout)
