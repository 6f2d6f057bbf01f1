"""A large job log for measuring: believable rows, written quickly."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import polars as pl

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace

TODAY = date(2026, 11, 1)
CLUBS = 250
GREENS = 1000
TYPES = {
    "date": "DATE",
    "green": "VARCHAR",
    "operation": "VARCHAR",
    "material": "VARCHAR",
    "reference": "VARCHAR",
    "logged_by": "VARCHAR",
    "depth_mm": "DOUBLE",
    "passes": "DOUBLE",
    "mass_kg": "DOUBLE",
    "hours": "DOUBLE",
    "people": "BIGINT",
    "cost": "DOUBLE",
    "note": "VARCHAR",
}
"""Columns of the log, as DuckDB types them."""
MATERIALS = ("spring granular 9-4-6 + 2 Fe", "straight sand")
OPERATIONS = ("mowing", "top dressing", "fertilising", "solid tining", "scarifying", "inspection")


def workspace_with_registers(folder: Path) -> Workspace:
    """A new workspace with clubs, greens and one material."""
    folder.mkdir(parents=True)
    make_workspace(folder)
    _raise_limits(folder / "settings.toml")
    clubs = "".join(f"C{i},Club {i},County {i % 5}\n" for i in range(CLUBS))
    greens = "".join(f"G{i},C{i % CLUBS},Green {i},{1200 + i % 300}\n" for i in range(GREENS))
    (folder / "clubs.csv").write_text(f"club,name,region\n{clubs}", "utf-8")
    (folder / "greens.csv").write_text(f"green,club,name,area_m2\n{greens}", "utf-8")
    (folder / "materials.csv").write_text(
        f"material,sort,n_pct,pack_kg\n{MATERIALS[0]},fertiliser,9,25\n{MATERIALS[1]},top dressing,,\n",
        "utf-8",
    )
    workspace = open_workspace(folder)
    done = load_paths(workspace, [folder / n for n in ("clubs.csv", "greens.csv", "materials.csv")], today=TODAY)
    assert not any(result.failed for result in done)
    return workspace


def _raise_limits(path: Path) -> None:
    """Have a larger file read than is without being asked."""
    text = path.read_text("utf-8")
    for setting, most in (("text_mb", 2_000), ("lines", 20_000_000), ("cells", 300_000_000)):
        text, found = re.subn(rf"^{setting} = [0-9]+", f"{setting} = {most}", text, flags=re.MULTILINE)
        assert found == 1, setting
    path.write_text(text, "utf-8")


def write_jobs(path: Path, rows: int, bad_share: float = 0.0) -> None:
    """A job log of so many rows; a share of them with a depth that cannot be."""
    i = pl.int_range(0, rows, eager=True).alias("i")
    every = round(1 / bad_share) if bad_share else 0
    bad = (pl.col("i") % every == 0) if every else pl.lit(value=False)
    operation = pl.col("i") % len(OPERATIONS)
    fed, tined, scarified = operation == 2, operation == 3, operation == 4
    depth = pl.when(tined).then(20 + pl.col("i") % 60).when(scarified).then(2 + pl.col("i") % 4)
    frame = i.to_frame().select(
        (pl.date(2019, 1, 1) + pl.duration(days=pl.col("i") % 2800)).cast(pl.String).alias("date"),
        (pl.lit("G") + (pl.col("i") * 7919 % GREENS).cast(pl.String)).alias("green"),
        operation.replace_strict(dict(enumerate(OPERATIONS)), return_dtype=pl.String).alias("operation"),
        pl.when(fed).then(pl.lit(MATERIALS[0])).otherwise(None).alias("material"),
        (pl.lit("J-") + pl.col("i").cast(pl.String)).alias("reference"),
        (pl.lit("crew ") + (pl.col("i") % 7).cast(pl.String)).alias("logged_by"),
        pl.when(bad).then(pl.lit("9999")).otherwise(depth.cast(pl.String)).alias("depth_mm"),
        (1 + pl.col("i") % 2).cast(pl.String).alias("passes"),
        pl.when(fed).then(pl.lit("50")).otherwise(None).alias("mass_kg"),
        (1 + pl.col("i") % 9 / 2).cast(pl.String).alias("hours"),
        (1 + pl.col("i") % 3).cast(pl.String).alias("people"),
        (20 + pl.col("i") % 400).cast(pl.String).alias("cost"),
        pl.when(pl.col("i") % 5 == 0).then(pl.lit("dry, light wind")).otherwise(None).alias("note"),
    )
    frame.write_csv(path)


def load(workspace: Workspace, path: Path) -> FileResult:
    """Load one file."""
    return load_paths(workspace, [path], today=TODAY)[0]
