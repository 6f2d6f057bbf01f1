"""``make offices``: two offices load into one shared store at once; exit 1 where a row is lost or stands twice."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from tests.shared import offices
from tests.shared.server import lacking, server


def main() -> int:
    """Exit code; 3 where there is no server to be had."""
    parser = argparse.ArgumentParser(prog="python -m tests.shared")
    parser.add_argument("--files", type=int, default=500, metavar="N", help="files of each office")
    parser.add_argument("--kills", type=int, default=10, metavar="N", help="times that one is killed")
    parser.add_argument("--seed", type=int, default=730_110, help="what the moments are drawn by")
    asked = parser.parse_args()
    if why := lacking():
        sys.stdout.write(f"Not run: {why}.\n")
        return 3
    wrong = 0
    with server() as running, tempfile.TemporaryDirectory() as name:
        for what, way, more in (
            ("two at once", offices.side_by_side, ()),
            ("one of them killed", offices.one_killed, (asked.kills, asked.seed)),
            ("taken back and corrected between", offices.undone_between, ()),
        ):
            folder = Path(name) / way.__name__
            folder.mkdir()
            came = way(running, folder, asked.files, *more)  # type: ignore[operator]
            right = came.same and came.whole
            wrong += not right
            sys.stdout.write(
                f"{what}: {asked.files} files each, {came.rows:,} rows of {came.expected:,}, "
                f"{'the same hash' if came.same else 'ANOTHER HASH'}, {'verified' if came.whole else 'NOT WHOLE'}, "
                f"{came.kills} kills, {came.seconds:,.0f} s\n"
            )
            sys.stdout.flush()
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
