"""``make bench``: every measurement, as a ratio in one run."""

from __future__ import annotations

import sys

from tests.bench import due, figures, levels, loading, orders, reports, statistics

if __name__ == "__main__":
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    loading.measure(rows)
    statistics.measure()
    levels.measure()
    figures.measure()
    due.measure(due.TIMES if rows >= 1_000_000 else due.TIMES[:1])
    orders.measure()
    reports.measure(reports.FULL if rows >= 1_000_000 else 100)
