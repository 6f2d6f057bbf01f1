"""``make demo-twice``: the whole demo twice, every file and every table compared; exit 1 where anything differs."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.twice.comparing import compared, differences
from tests.twice.making import TWO, start


def main() -> int:
    """Say what was compared and what differs; the exit code."""
    with tempfile.TemporaryDirectory() as name:
        folders = [Path(name) / "first", Path(name) / "second"]
        for number, folder in enumerate(folders):
            process = start(folder, number, "demo")
            faults = process.communicate()[1]
            assert process.returncode == 0 and not faults, faults
            environment, threads = TWO[number]
            told = ", ".join(f"{key}={value}" for key, value in environment.items())
            _say(f"{folder.name} demo: {told}, DuckDB threads {threads}")
        found = differences(*folders)
        for line in found:
            _say(line)
        number, rows = compared(folders[0])
        _say(f"{number:,} files and {rows:,} rows of the store compared: {len(found)} differences")
    return 1 if found else 0


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
