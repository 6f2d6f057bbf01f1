"""Files that belong together appear together: whatever goes wrong, none is new while another is old."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.common.whole_files import write_whole

NAMES = ("a.pdf", "a-groups.csv", "a-own.csv")


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def failing_at(number: int, real: Callable[..., object]) -> Callable[..., object]:
    """The call, which fails the so-manieth time as a full disk does."""
    calls: list[int] = []

    def call(*given: object) -> object:
        calls.append(1)
        if len(calls) == number:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*given)

    return call


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize("step", ["os.fsync", "pathlib.Path.replace"])
@pytest.mark.parametrize("before", [{}, {"a.pdf": b"old", "a-own.csv": b"old too"}])
def test_each_file_stands_as_before_where_any_step_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, before: dict[str, bytes], step: str, number: int
) -> None:
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)
    real = os.fsync if step == "os.fsync" else Path.replace
    monkeypatch.setattr(step, failing_at(number, real))
    with pytest.raises(OSError, match="No space"):
        write_whole({tmp_path / name: b"new" for name in NAMES})
    monkeypatch.undo()
    assert held(tmp_path) == before
    write_whole({tmp_path / name: b"new" for name in NAMES})
    assert held(tmp_path) == dict.fromkeys(NAMES, b"new")
