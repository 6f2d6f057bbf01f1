"""An environment with the locked libraries of the product alone, as somebody has it who installs the wheel."""

from __future__ import annotations

import subprocess
import sys
import venv
from collections.abc import Sequence
from pathlib import Path

from scripts.supply.lock import locked, runtime_names


def runtime_lock() -> str:
    """The lines of the lock that the product needs on this machine, with their hashes."""
    names = runtime_names()
    return "".join(one.text for one in locked() if one.name in names)


def make_runtime(folder: Path, wheel: Path | None = None) -> Path:
    """Make the environment anew, without pip in it; with the wheel, where one is named.

    Returns:
        Its folder of programs.

    Raises:
        subprocess.CalledProcessError: pip refused, for instance a file whose hash is not the locked one.
    """
    venv.EnvBuilder(clear=True, symlinks=True).create(folder)
    programs = folder / ("Scripts" if sys.platform == "win32" else "bin")
    wanted = folder / "requirements.txt"
    wanted.write_text(runtime_lock(), "utf-8")
    _pip(programs, ["--require-hashes", "--requirement", str(wanted)])
    if wheel is not None:
        _pip(programs, [str(wheel)])
    return programs


def _pip(programs: Path, what: Sequence[str]) -> None:
    command = [sys.executable, "-m", "pip", "--python", str(programs / "python"), "install", "--quiet"]
    subprocess.run([*command, "--disable-pip-version-check", "--no-deps", *what], check=True)  # noqa: S603 (fixed words)
