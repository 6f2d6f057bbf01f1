"""Level surveys from CSV to map: a green of 40 × 40 m at 0.5 m, and a laser scan of 100,000 scattered points."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.surface.levels import levels
from pipeline.load.files import load_paths
from pipeline.store.store import Store
from pipeline.survey.level_survey import LevelSurvey
from pipeline.survey.levels import level_survey
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace

DAY = date(2026, 9, 16)
SCANNED = 100_000
GREENS = "green,club,area_m2,length_m,width_m,shape\nGRID,C,1600,40,40,flat\nSCAN,C,1600,40,40,flat\n"


def _points(green: str, draw: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    if green == "SCAN":
        x, y = draw.uniform(0, 40, (2, SCANNED))
        return np.round(x, 4), np.round(y, 4)
    x, y = np.meshgrid(np.arange(81) / 2, np.arange(81) / 2)
    return x.ravel(), y.ravel()


def _lines(green: str) -> Iterator[str]:
    draw = np.random.default_rng(1)
    x, y = _points(green, draw)
    z = 1000 + 8 * np.sin(x / 5) * np.cos(y / 7) - 15 * np.exp(-((x - 10) ** 2 + (y - 25) ** 2) / 8)
    z += draw.normal(0, 1, z.size)
    yield "date,green,survey,x_m,y_m,z_mm\n"
    for one in zip(x, y, z, strict=True):
        yield f"{DAY},{green},S,{one[0]:g},{one[1]:g},{one[2]:.1f}\n"


def _workspace(folder: Path) -> Workspace:
    folder.mkdir(exist_ok=True)
    make_workspace(folder)
    for name, text in (("clubs.csv", "club,name,region\nC,Club,Region\n"), ("greens.csv", GREENS)):
        (folder / name).write_text(text)
    workspace = open_workspace(folder)
    load_paths(workspace, [folder / "clubs.csv", folder / "greens.csv"], today=DAY)
    return workspace


def file_to_map(workspace: Workspace, green: str) -> tuple[int, float, float]:
    """Points, seconds to load the file, seconds from the store to figures and map."""
    path = workspace.folder / f"{green}.csv"
    path.write_text("".join(_lines(green)))
    start = time.perf_counter()
    result = load_paths(workspace, [path], today=DAY)[0]
    loaded = time.perf_counter()
    with Store(workspace.store, read_only=True) as store:
        records = green_records(read_records(store), green, workspace.season("2026"), workspace)
    figures = levels(records)
    survey = level_survey(records, DAY)
    end = time.perf_counter()
    assert isinstance(survey, LevelSurvey)
    assert survey.n == result.counts.loaded
    assert math.isclose(sum(band.area_m2 for band in survey.map.bands), 1600, rel_tol=0.02)
    assert figures
    return survey.n, loaded - start, end - loaded


def measure() -> None:
    """Print seconds from file to store and from store to figures and map."""
    with TemporaryDirectory() as name:
        workspace = _workspace(Path(name))
        file_to_map(workspace, "GRID")  # imports
        for green in ("GRID", "SCAN"):
            if green == "GRID":
                workspace = _workspace(Path(name) / "again")
            points, load_s, map_s = file_to_map(workspace, green)
            sys.stdout.write(f"levels, {points:,} points: file to store {load_s:.2f} s, store to figures and map ")
            sys.stdout.write(f"{map_s:.2f} s\n")
