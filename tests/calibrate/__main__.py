"""``python -m tests.calibrate``: simulate, print the table, write docs/calibration.md; exit 1 if a rule is not kept."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.calibrate.county import line, page, simulate

COUNTIES = 10


def main() -> int:
    """Run the calibration."""
    shares = simulate(COUNTIES)
    (Path(__file__).parents[2] / "docs" / "calibration.md").write_text(page(shares, COUNTIES), "utf-8")
    for one in shares.values():
        sys.stdout.write(f"{'kept' if one.kept() else 'NOT KEPT':8} {line(one)}\n")
    return 0 if all(one.kept() for one in shares.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
