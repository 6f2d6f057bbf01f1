"""A store that was damaged, or is none: a sentence and exit code 3, never a crash, and not a byte of it changed."""

from __future__ import annotations

import os
import random
import stat
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.store import opening
from pipeline.store.known import Known
from pipeline.store.store import Store
from tests.cli.test_cli_commands import Call, call, place
from tests.thorough import THOROUGH, one_in, thorough

__all__ = ["call", "place"]

COMMANDS = (
    ("status",), ("show", "ALD-1"), ("history",), ("history", "--green", "ALD-1"), ("due",), ("costs",), ("order",),
    ("changed", "--since", "2026-01-01"), ("compare",), ("forms", "--kind", "job"), ("doctor",), ("undo", "4"),
    ("load", "{log}"), ("words", "{log}"), ("show", "ALD-1", "--known-by", "2026-11-29"), ("report", "--all"),
    ("programme", "ALD"), ("verify",), ("survey", "ALD-1", "2026-05-04"),
    ("decide", "one", "a.csv:2", "b.csv:2", "--why", "x", "--who", "y"),
)  # fmt: skip
"""One call of every command that reads or writes a store, and of some in two ways."""
LOG = "date,green,operation,hours\n2026-05-11,ALD-1,mowing,1\n"

MORE = 20 if THOROUGH else 4
"""Bits turned behind the headers of a store."""

Damage = Callable[[Path], None]


def _sql(*statements: str) -> Damage:
    def do(path: Path) -> None:
        with duckdb.connect(str(path)) as con:
            for one in statements:
                con.execute(one)

    return do


def _other(*statements: str) -> Damage:
    def do(path: Path) -> None:
        path.unlink()
        _sql(*statements)(path)

    return do


def _bytes(content: bytes) -> Damage:
    return lambda path: path.write_bytes(content) and None


def _cut(share: float) -> Damage:
    return lambda path: os.truncate(path, int(path.stat().st_size * share))


def _flip(share: float, bit: int) -> Damage:
    """One bit turned, at this share of the file."""

    def do(path: Path) -> None:
        raw = bytearray(path.read_bytes())
        raw[int((len(raw) - 1) * share)] ^= 1 << bit
        path.write_bytes(raw)

    return do


def _instead(make: Callable[[Path], object]) -> Damage:
    def do(path: Path) -> None:
        path.unlink()
        make(path)

    return do


NO_STORE: dict[str, tuple[Damage, str]] = {
    "empty": (_bytes(b""), "it is empty (0 bytes)"),
    "a text": (_bytes(b"club,name\n" * 2_000), "it is no DuckDB file, or a damaged one"),
    "a file of another database": (_bytes(b"SQLite format 3\0" + bytes(9_000)), "it is no DuckDB file"),
    "a folder": (_instead(Path.mkdir), "it is a folder"),
    "a pipe": (_instead(os.mkfifo), "it is no file (a pipe or a device)"),
    "a device": (_instead(lambda path: path.symlink_to("/dev/zero")), "it is no file (a pipe or a device)"),
    "a link to itself": (_instead(lambda path: path.symlink_to(path.name)), "no store"),
    "three bytes": (_cut(0.000_001), "it is no DuckDB file, or a damaged one"),
    "half of it": (_cut(0.5), "Could not read enough bytes"),
    "no row of the layout": (_sql("DELETE FROM meta.layout"), "the version of its layout is not in it"),
    "two rows of it": (_sql("INSERT INTO meta.layout SELECT * FROM meta.layout"), "the version of its layout"),
    "a version below 1": (_sql("UPDATE meta.layout SET version = -3"), "the version of its layout is not in it"),
    "no table of the layout": (_sql("DROP TABLE meta.layout"), "the version of its layout is not in it"),
    "tables of another program": (_other("CREATE TABLE customers (a INT)"), "tables of another program (customers)"),
    "a schema meta of another": (
        _other("CREATE SCHEMA meta", "CREATE TABLE meta.layout (version INT)", "INSERT INTO meta.layout VALUES (1)"),
        "tables of another program (layout)",
    ),
}
"""What stands in a store's place and is none, and what is said of it."""


def _mark(path: Path) -> object:
    found = path.lstat()
    return path.read_bytes() if stat.S_ISREG(found.st_mode) else stat.S_IFMT(found.st_mode)


@pytest.mark.parametrize("what", NO_STORE)
def test_what_is_no_store_is_refused_for_reading_and_for_writing(place: Path, what: str) -> None:
    """Whatever stands there is told as what it is, and is as it was: no layout is made in another's file."""
    path = place / "store.duckdb"
    damage, said = NO_STORE[what]
    damage(path)
    before = _mark(path)
    for read_only in (True, False):
        with pytest.raises(CannotDo) as refused, Store(path, read_only=read_only):
            pass
        assert said in refused.value.message or "symbolic link" in refused.value.message
        assert "\n" not in refused.value.message
    assert _mark(path) == before


@pytest.mark.parametrize("what", one_in(8, NO_STORE))
def test_every_command_ends_with_3_on_what_is_no_store(call: Call, place: Path, tmp_path: Path, what: str) -> None:
    """1 would say that rows were rejected, 70 that the program is at fault; doctor tells it as a check that failed."""
    path = place / "store.duckdb"
    NO_STORE[what][0](path)
    (tmp_path / "log.csv").write_text(LOG)
    for words in COMMANDS:
        done = call(*(word.format(log=tmp_path / "log.csv") for word in words), "-w", place)
        expected = {3}
        if words[0] == "doctor":
            expected = {1} if what != "a link to itself" else {0}
        elif words[0] in {"decide"}:
            expected = {2, 3}
        elif what == "a link to itself" and words[0] == "words":
            expected = {0, 3}  # a link that leads nowhere is no store yet: words are asked of the file alone
        assert done.code in expected, (words, done.err)
        assert "Traceback" not in done.err


def test_single_bits_turned_all_over_a_store(place: Path, tmp_path: Path, call: Call) -> None:
    """What meets the bit ends with 3, what does not does its work; nothing crashes, and the file is as it was."""
    path, draw = place / "store.duckdb", random.Random(14)  # noqa: S311 (places, no secret)
    whole, met = path.read_bytes(), 0
    (tmp_path / "log.csv").write_text(LOG)
    for share in (0.0, 8 / len(whole), 20 / len(whole), 4_100 / len(whole), *(draw.random() for _ in range(MORE))):
        for words in (("status",), ("history", "--green", "ALD-1")):
            path.write_bytes(whole)
            _flip(share, draw.randrange(8))(path)
            hurt = path.read_bytes()
            done = call(*words, "-w", place)
            assert done.code in {0, 3}, (share, words, done.err)
            assert path.read_bytes() == hurt
            met += done.code == 3
    assert met, "some bit was met"


@thorough
@pytest.mark.parametrize("seed", range(8))
def test_single_bits_and_every_command(place: Path, tmp_path: Path, call: Call, seed: int) -> None:
    """The same for all commands, those that write among them: a load that meets the bit ends with 3, or says after
    it that figures could not be brought up and ends with 1."""
    path, draw = place / "store.duckdb", random.Random(seed)  # noqa: S311 (the same)
    whole = path.read_bytes()
    (tmp_path / "log.csv").write_text(LOG)
    share = draw.random()
    for words in COMMANDS:
        path.write_bytes(whole)
        path.with_name("store.duckdb.wal").unlink(missing_ok=True)
        _flip(share, draw.randrange(8))(path)
        done = call(*(word.format(log=tmp_path / "log.csv") for word in words), "-w", place)
        assert done.code != 70, (share, words, done.err)
        assert "Traceback" not in done.err


def test_a_store_reaches_nothing_beside_it(place: Path, tmp_path: Path) -> None:
    """No statement reads another file, attaches one or loads an extension, and none can switch that on."""
    path = place / "store.duckdb"
    (tmp_path / "other.csv").write_text("a\n1\n")
    beyond = (
        f"FROM read_csv('{tmp_path / 'other.csv'}')", f"ATTACH '{tmp_path / 'x.duckdb'}'", "INSTALL httpfs",
        f"COPY (SELECT 1) TO '{tmp_path / 'y.csv'}'", "SET enable_external_access = true",
        "FROM 'https://example.invalid/a.csv'",
    )  # fmt: skip
    for store in (Store(path, read_only=True), Known(path, None)):
        with store:
            for statement in beyond:
                with pytest.raises(duckdb.Error):
                    store.con.execute(statement)
    with Store(path) as store:
        for setting in opening.SEALED:
            assert store.rows(f"SELECT current_setting('{setting}')") == [(False,)]
        with pytest.raises(duckdb.Error):
            store.con.execute("FROM 'https://example.invalid/a.csv'")


@pytest.mark.parametrize(
    "address",
    [":memory:", "http://a.invalid/b.duckdb", "s3://a/b.duckdb", "postgres:dbname=a", "md:a", "store.duckdb?a=b",
     "a\\u0000b", "a\\u001bb", " "],
)  # fmt: skip
def test_an_address_is_no_path_of_a_store(call: Call, place: Path, address: str) -> None:
    """DuckDB would go where the address leads, or keep the records nowhere."""
    (place / "settings.toml").write_text(f'store = "{address}"\n')
    done = call("status", "-w", place)
    assert (done.code, done.err.startswith("settings.toml does not fit: line 1, store = ")) == (3, True)


def test_a_workspace_that_is_called_like_an_address(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A path is a path, whatever it begins with."""
    place.rename(tmp_path / "md:records")
    monkeypatch.chdir(tmp_path)
    assert call("history", "-w", "md:records").code == 0
    monkeypatch.chdir(tmp_path / "md:records")
    assert call("history").code == 0


@pytest.mark.parametrize("said", ["Permission denied", "Read-only file system"])
def test_a_store_one_may_not_write_is_not_called_damaged(
    place: Path, monkeypatch: pytest.MonkeyPatch, said: str
) -> None:
    """Whoever is told to restore a backup for want of rights may put an older store in the place of a sound one."""

    def refused(*_: object, **__: object) -> None:
        raise duckdb.IOException(f'IO Error: Cannot open file "store.duckdb": {said}')

    monkeypatch.setattr(duckdb, "connect", refused)
    with pytest.raises(CannotDo) as told:
        Store(place / "store.duckdb")
    assert said in told.value.message
    assert told.value.hint.startswith("You may not read or write it: look at the rights of the file and of its folder.")
