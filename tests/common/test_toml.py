"""TOML that a person wrote is read in one place, and refused with file, line and what to do."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.common.toml import read_toml, toml_of
from pipeline.findings.findings import rules
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import read_profiles
from pipeline.store.decisions import read_decisions
from pipeline.workspace.settings import open_workspace

ROOT = Path(__file__).parents[2]
READERS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "settings": ("settings.toml", open_workspace),
    "profiles": ("crew.toml", read_profiles),
    "corrections": ("mended.toml", read_corrections),
    "findings": ("own.toml", rules),
    "decisions": ("decided.toml", read_decisions),
}


@pytest.mark.parametrize("reader", READERS)
def test_every_file_of_a_user_is_refused_in_the_same_words(tmp_path: Path, reader: str) -> None:
    """Four readers once told the same slip in different words, and a wrong encoding without a line."""
    name, read = READERS[reader]
    (tmp_path / name).write_bytes(b"# a\nb = \n")
    with pytest.raises(CannotDo) as caught:
        read(tmp_path)
    assert caught.value.message == f"{name} is not readable TOML: Invalid value (at line 2, column 5)"
    assert caught.value.hint == "Mend the line it names."
    (tmp_path / name).write_bytes("# Fußweg\n# Süd\n".encode("cp1252"))
    with pytest.raises(CannotDo) as caught:
        read(tmp_path)
    assert caught.value.message == f"{name} is not readable TOML: line 1 is not in UTF-8"
    assert caught.value.hint == "Save it as UTF-8."


def test_a_name_given_twice_is_said_so(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('[house]\nname = "a"\nname = "b"\n', "utf-8")
    with pytest.raises(CannotDo, match=r"a name is given twice \(at line 3, column 11\)"):
        open_workspace(tmp_path)


def test_a_mark_of_utf_8_is_no_part_of_the_first_key(tmp_path: Path) -> None:
    """A plain editor puts it before the text, where it cannot be seen."""
    path = tmp_path / "x.toml"
    path.write_bytes(b'\xef\xbb\xbfstore = "a"\n')
    assert read_toml(path) == {"store": "a"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = 1\nb = " + "[" * 5000, "lists and tables lie too deep in each other (at line 2)"),
        ("a = " + "[" * 60 + "]" * 60, "lists and tables lie too deep in each other (at line 1)"),
        ("[\n" + "a." * 5000 + "b]", "Invalid"),
        ("[" + "a." * 5000 + "b]", "lists and tables lie too deep in each other (at line 1)"),
        ("a = " + "{b=" * 2000, "lists and tables lie too deep in each other (at line 1)"),
        ("a = 1\nb = " + "9" * 5000, "a whole number is too large (at line 2)"),
        ("a = 0x" + "f" * 9000, "a whole number is too large (at line 1)"),
        ("a = 9223372036854775808", "a whole number is too large (at line 1)"),
    ],
)  # fmt: skip
def test_depth_and_digits_beyond_bounds_are_told(text: str, said: str) -> None:
    """Each ended in a traceback: Python gives up at some depth, and at 4,300 digits (TOML 1.0.0: 64 bits)."""
    with pytest.raises(CannotDo) as caught:
        toml_of(text.encode(), "x.toml")
    assert caught.value.message.startswith(f"x.toml is not readable TOML: {said}")
    assert caught.value.hint


def test_the_largest_whole_number_is_read() -> None:
    """TOML 1.0.0, Integer: -2^63 to 2^63 - 1."""
    assert toml_of(b"a = 9223372036854775807\nb = -9223372036854775808", "x") == {"a": 2**63 - 1, "b": -(2**63)}


def test_toml_is_read_in_one_place() -> None:
    """Beside it only data that is shipped with the code below it, and cannot be wrong in a user's hands."""
    found = {
        str(path.relative_to(ROOT))
        for folder in ("pipeline", "schemas", "reports")
        for path in (ROOT / folder).rglob("*.py")
        if re.search(r"^import tomllib", path.read_text("utf-8"), re.MULTILINE)
    }
    assert found == {"pipeline/common/toml.py", "schemas/codes/__init__.py", "pipeline/agronomy/soil/reference.py"}


HARD: dict[str, tuple[bytes, str]] = {
    "lists 3,000 deep": (b"a = " + b"[" * 3_000 + b"]" * 3_000, "lie too deep in each other (at line 1)"),
    "tables 2,000 deep": (b"a" + b".a" * 2_000 + b" = 1", "lie too deep in each other (at line 1)"),
    "lists 51 deep": (b"a = " + b"[" * 51 + b"]" * 51, "lie too deep in each other (at line 1)"),
    "a number of 6,000 digits": (b"# a\na = " + b"9" * 6_000, "a whole number is too large (at line 2)"),
    "one of 5,000 digits of sixteen": (b"a = 0x" + b"f" * 5_000, "a whole number is too large (at line 1)"),
    "a day there is not": (b"a = 2026-02-31", "Invalid date or datetime (at line 1"),
    "six megabytes": (b"#" + b" " * 6_000_000, "is too large to be read: 6 MB; 5 MB are the most"),
}
"""What a reader of TOML gives up on in other ways than by its own error, and what is said of it."""


@pytest.mark.parametrize("what", HARD)
@pytest.mark.parametrize("reader", READERS)
def test_what_breaks_a_reader_is_a_refusal(tmp_path: Path, reader: str, what: str) -> None:
    """Python gives up some hundred brackets deep, and writes no number of 4,300 digits: both were crashes."""
    name, read = READERS[reader]
    content, said = HARD[what]
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CannotDo) as caught:
        read(tmp_path)
    assert caught.value.message.startswith(name)
    assert said in caught.value.message
    assert len(caught.value.message) < 200


@pytest.mark.parametrize("reader", READERS)
def test_what_is_no_file_is_said_to_be_none(tmp_path: Path, reader: str) -> None:
    """A pipe would be waited for without end."""
    name, read = READERS[reader]
    (tmp_path / "store.duckdb").touch()  # a workspace, whatever its settings are
    for make, said in ((Path.mkdir, "it is a folder"), (os.mkfifo, "it is no file but a pipe or a device")):
        make(tmp_path / name)
        with pytest.raises(CannotDo) as caught:
            read(tmp_path)
        assert caught.value.message == f"{name} cannot be read: {said}."
        (tmp_path / name).rmdir() if (tmp_path / name).is_dir() else (tmp_path / name).unlink()
