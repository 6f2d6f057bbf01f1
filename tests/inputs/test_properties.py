"""Whatever a file holds: what is valid comes back as it was, the rest is counted, and nothing ends in a traceback."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pipeline.load.result import FileResult
from pipeline.profiles.profile import Profile
from schemas import KINDS
from tests.inputs.cases import COUNTS
from tests.inputs.harness import Bench
from tests.inputs.writing import NUMBER, OTHERS, Table, keyed_tables, tables, with_own_headers
from tests.thorough import examples

EXAMPLES = examples(5, 15)
SOME = settings(
    max_examples=EXAMPLES,
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
    suppress_health_check=list(HealthCheck),
)
COMPLETE = (date(2021, 1, 1), date(2026, 12, 31))


@pytest.fixture(scope="session")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file to write each example into."""
    return tmp_path_factory.mktemp("examples") / "export.csv"


def same(found: Any, wanted: Any) -> bool:
    """Whether a value came back: text without doubled blanks, figures within rounding."""
    if isinstance(wanted, str):
        return bool(found == " ".join(wanted.split()))
    if isinstance(wanted, int | float) and not isinstance(wanted, bool):
        return found is not None and float(found) == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    return bool(found == wanted)


def check_records(found: list[dict[str, Any]], records: tuple[dict[str, Any], ...]) -> None:
    assert len(found) == len(records)
    for one, record in zip(found, records, strict=True):
        differing = {name: (one[name], value) for name, value in record.items() if not same(one[name], value)}
        assert not differing


@SOME
@given(table=tables())
def test_valid_records_come_back(county: Bench, file: Path, table: Table) -> None:
    """Guards against an encoding, delimiter, line end, quoting, decimal mark, date order or unit read as another."""
    comes_back(county, file, table)


@pytest.mark.parametrize("kind", sorted(OTHERS))
@settings(SOME, max_examples=examples(1, 3))
@given(data=st.data())
def test_valid_registers_targets_and_weather_come_back(
    county: Bench, file: Path, kind: str, data: st.DataObject
) -> None:
    """Guards against the same in what is loaded seldom: a code made a number, a target's end lost, a wrong unit."""
    comes_back(county, file, data.draw(keyed_tables(kind)))


def comes_back(county: Bench, file: Path, table: Table) -> None:
    """Load a table twice and hold the records against what was written."""
    data, lines = table.bytes_of(table.cells())
    file.write_bytes(data)
    with county.rehearsal() as bench:
        result = bench.load(file, (table.profile,))
        found = [one for one in bench.records(table.kind) if one["load_id"] == result.load_id]
        again = bench.load(file, (table.profile,))
    assert not result.failed, result.faults.to_dicts()
    assert result.counts.loaded == result.counts.rows == len(table.records)
    assert [record["line"] for record in found] == lines
    check_records(found, table.records)
    assert again.counts.unchanged == again.counts.rows == len(table.records)


def kept(bench: Bench) -> dict[str, set[tuple[Any, ...]]]:
    """Every version of every kind in force, by what makes it one."""
    return {
        name: set(bench.store.rows(f"SELECT rowid, * EXCLUDE (ended_by) FROM history.{name} WHERE ended_by IS NULL"))
        for name in KINDS
    }


def check_honest(
    bench: Bench, file: Path, profiles: tuple[Profile, ...], options: dict[str, Any]
) -> tuple[FileResult, list[dict[str, Any]]]:
    """Load a file and hold what it says against what it did."""
    before = kept(bench)
    result = bench.load(file, profiles, **options)
    after = kept(bench)
    counts = result.counts
    assert counts.rows == sum(getattr(counts, name) for name in COUNTS if name != "rows")
    for name in KINDS:
        gone, come = len(before[name] - after[name]), len(after[name] - before[name])
        mine = name == result.kind
        ended = counts.superseded + counts.withdrawn + counts.closed
        assert (gone, come) == ((ended, counts.loaded + counts.superseded) if mine else (0, 0))
    faults = result.as_json()["faults"]
    assert all(fault["code"] and fault["message"] and fault["hint"] for fault in faults)
    errors = [fault for fault in faults if fault["severity"] == "error"]
    assert bool(errors) == result.failed
    assert not counts.rejected or errors
    return result, errors


MARKS = b', ; \t | " \n \r\n \r \0 \xef\xbb\xbf \xff\xfe \xe9 \x81 # \xc2\xa0 sep=;'.split(b" ")
WORDS = (
    b"date green operation analyte value unit material sort club quantity their_value 2024-03-15 03/04/2024 45000 "
    b"ALD-1 scarifying potassium mg/kg <0.5 ND s 1,5 1.369 2_x_25_kg as_needed Total -1e999 Mehlich NA ---"
).split()
PIECES = st.lists(st.sampled_from([b" ", *MARKS, *(word.replace(b"_", b" ") for word in WORDS)]), max_size=60).map(
    b"".join
)
HEADERS = st.sampled_from(
    [
        b"",
        b"date,green,operation,quantity,note\n",
        b"date;green;analyte;value;unit\n",
        b"date\tgreen\tvalue\tunit\n",
        b"their date,their green,their operation,their note\n",
        b"material,sort,analysis,mix,pack\n",
        b"green,club,area_m2,aliases\n",
        b"club,name\n",
        b"indicator,scope,low,unit,source\n",
    ]
)
OPTIONS = st.fixed_dictionaries(
    {},
    optional={
        "kind": st.sampled_from(sorted(KINDS)),
        "profile": st.just("source"),
        "complete": st.just(COMPLETE),
        "dry_run": st.booleans(),
    },
)


def honest_options(options: dict[str, Any]) -> dict[str, Any]:
    """Options that a person can give together: a profile named says the kind."""
    return {name: value for name, value in options.items() if name != "kind" or "profile" not in options}


@SOME
@given(table=tables(), data=st.binary(max_size=200) | st.tuples(HEADERS, PIECES).map(b"".join), options=OPTIONS)
def test_any_bytes_balance(county: Bench, file: Path, table: Table, data: bytes, options: dict[str, Any]) -> None:
    """Guards against a traceback, a row unaccounted for, and an earlier record changed without being counted."""
    with county.rehearsal() as bench:
        file.write_bytes(with_own_headers(table))
        bench.load(file)
        file.write_bytes(data)
        check_honest(bench, file, (table.profile,), honest_options(options))


@st.composite
def mutated(draw: st.DrawFn) -> tuple[Table, bytes]:
    """A valid file, and the same after a few accidents."""
    table = draw(tables())
    cells = table.cells()
    for _ in range(draw(st.integers(0, 2))):
        a, b = draw(st.integers(0, len(cells) - 1)), draw(st.integers(0, len(cells) - 1))
        i, j = draw(st.integers(0, len(table.order) - 1)), draw(st.integers(0, len(table.order) - 1))
        cells[a][i], cells[b][j] = cells[b][j], cells[a][i]
    data = table.bytes_of(cells)[0]
    for _ in range(draw(st.integers(0, 3))):
        at = draw(st.integers(0, len(data)))
        length = draw(st.integers(0, 40))
        how = draw(st.sampled_from(["cut", "double", "insert", "line"]))
        if how == "cut":
            data = data[:at] + data[at + length :]
        elif how == "double":
            data = data[: at + length] + data[at:]
        elif how == "line":
            lines = data.split(b"\n")
            data = b"\n".join([*lines, lines[at % len(lines)]])
        else:
            data = data[:at] + draw(PIECES | st.binary(max_size=8)) + data[at:]
    return table, data


@SOME
@given(case=mutated(), complete=st.sampled_from([None, COMPLETE]))
def test_damaged_files_balance(
    county: Bench, file: Path, case: tuple[Table, bytes], complete: tuple[date, date] | None
) -> None:
    """Guards against damage that costs more than the rows it concerns: the valid file stands in the store first."""
    table, data = case
    with county.rehearsal() as bench:
        file.write_bytes(table.bytes_of(table.cells())[0])
        bench.load(file, (table.profile,))
        file.write_bytes(data)
        check_honest(bench, file, (table.profile,), {"complete": complete})


BREAKS = {"date": "soon", "green": "NOWHERE", "value": "VH", "depth_mm": "deep", "operation": "juggling", "cores": "2½"}


@SOME
@given(table=tables(numbered=True), seed=st.randoms(use_true_random=False))
def test_mended_rows_load(county: Bench, file: Path, table: Table, seed: Any) -> None:
    """Guards against rejected rows that no longer load once mended, or load as something else."""
    cells = table.cells()
    broken = [list(row) for row in cells]
    for number in range(1, len(cells)):
        name = seed.choice([name for name in table.order if name in BREAKS])
        if seed.random() < 0.5:
            broken[number][table.order.index(name)] = BREAKS[name]
    data, lines = table.bytes_of(broken)
    by_line = dict(zip(lines, cells[1:], strict=True))
    file.write_bytes(data)
    with county.rehearsal() as bench:
        first = bench.load(file, (table.profile,))
        assert first.counts.rejected == sum(1 for one, row in zip(broken, cells, strict=True) if one != row)
        if first.rejects_file is not None:
            _mend(first.rejects_file, by_line)
            second = bench.load(first.rejects_file, (table.profile,))
            assert not second.failed, second.faults.to_dicts()
        found = bench.records(table.kind)
    number = NUMBER[table.kind]
    check_records(sorted(found, key=lambda record: str(record[number])), table.records)


def _mend(path: Path, by_line: dict[int, list[str]]) -> None:
    """Put the right cells back, as a person would in a spreadsheet."""
    with path.open(encoding="utf-8-sig", newline="") as source:
        header, *rows = list(csv.reader(source))
    at = header.index("line")
    mended = [[*by_line[int(row[at])], *row[at:]] for row in rows]
    with path.open("w", encoding="utf-8-sig", newline="") as out:
        csv.writer(out).writerows([header, *mended])


def test_number_that_turns_fractional_late(county: Bench, file: Path) -> None:
    """A value that stops being a whole number after 30,000 rows is read as what it is (types are not sniffed)."""
    rows = [f"2026-02-10,ALD-1,potassium,{number % 900},mg/kg,S{number}" for number in range(30_000)]
    rows.append("2026-02-10,ALD-1,potassium,12.75,mg/kg,S30000")
    rows.append("2026-02-10,ALD-1,potassium,½,mg/kg,S30001")
    file.write_text("date,green,analyte,value,unit,sample\n" + "\n".join(rows) + "\n")
    with county.rehearsal() as bench:
        result = bench.load(file)
        last = bench.records("soil_test")[-2:]
    assert result.counts.loaded == result.counts.rows == 30_002
    assert [record["value"] for record in last] == [12.75, 0.5]
