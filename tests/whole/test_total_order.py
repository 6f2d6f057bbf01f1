"""Rows keep their order on the way to a figure or a file: what may change it says that it does not."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import KINDS
from tests.conftest import Load

ROOT = Path(__file__).parents[2]


def may_reorder(tree: ast.AST) -> Iterator[str]:
    """Calls on frames after which tied rows may stand in any order, as written."""
    for call in ast.walk(tree):
        if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Attribute)):
            continue
        named = {one.arg for one in call.keywords}
        by_columns = bool(call.args) and "key" not in named
        if (
            (call.func.attr == "group_by")
            or (call.func.attr == "join" and named & {"on", "left_on"})
            or (call.func.attr == "unique" and by_columns)
            or (call.func.attr == "sort" and by_columns)
        ) and not (named & {"maintain_order"} or _is_of_numpy(call.func) or _sorts_distinct_rows(call.func)):
            yield ast.unparse(call)


def _is_of_numpy(function: ast.Attribute) -> bool:
    return isinstance(function.value, ast.Name) and function.value.id == "np"


def _sorts_distinct_rows(function: ast.Attribute) -> bool:
    """Whether it is ``….unique().sort(…)``: the rows differ, and the sort names every column of them."""
    value = function.value
    return isinstance(value, ast.Call) and isinstance(value.func, ast.Attribute) and value.func.attr == "unique"


@pytest.mark.parametrize("folder", ["pipeline", "reports", "schemas"])
def test_what_may_reorder_rows_says_that_it_keeps_their_order(folder: str) -> None:
    """polars leaves tied rows in any order, other ones with more threads: a report that differs from day to day."""
    for path in sorted((ROOT / folder).rglob("*.py")):
        found = list(may_reorder(ast.parse(path.read_text("utf-8"))))
        assert not found, f"{path.relative_to(ROOT)}: {found[0]}"


def test_the_rule_finds_what_it_forbids() -> None:
    tree = ast.parse('a.sort("b"); a.group_by("b"); a.join(c, on="b"); a.unique("b"); d.sort(key=len); ", ".join(e)')
    assert len(list(may_reorder(tree))) == 4


def test_records_of_one_line_are_read_in_one_order(county: Load, workspace: Workspace) -> None:
    """A wide sheet gives several records a line: the view alone gave them in the order of a hash join."""
    rows = "".join(f"2026-02-{day:02},ALD-1,{'ph' if day % 2 else 'organic matter'},5,\n" for day in range(28, 0, -1))
    county("soil.csv", "date,green,analyte,value,unit\n" + rows.replace(",5,\n", ",5,%\n").replace("ph,5,%", "ph,5,pH"))
    with Store(workspace.store) as store:
        store.con.execute("UPDATE history.soil_test SET line = 2")
    with Store(workspace.store, read_only=True) as store:
        read = store.current("soil_test").select(KINDS["soil_test"].reading_order).rows()
    assert len(read) == 28
    assert read == sorted(read, key=lambda row: [(value is not None, value) for value in row])
