"""Importing the statistics must stay cheap: `--help` may not wait for scipy."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pipeline.statistics


def test_no_heavy_import_and_none_upward() -> None:
    folder = Path(pipeline.statistics.__file__).parent
    modules = sorted(f"pipeline.statistics.{file.stem}" for file in folder.glob("*.py") if file.stem != "__init__")
    assert len(modules) >= 8
    program = f"import sys, {', '.join(modules)}; print(*sorted(sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.split()
    assert not {"scipy", "polars", "duckdb", "statsmodels", "weasyprint"} & set(loaded)
    own = [name for name in loaded if name.startswith(("pipeline.", "schemas", "reports"))]
    assert [name for name in own if not name.startswith("pipeline.statistics")] == []
