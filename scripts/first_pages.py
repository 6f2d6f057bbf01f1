"""docs/first-pages/: page one of condition reports, of the demo's greens and of stores that lack nearly everything."""

from __future__ import annotations

import sys
import tempfile
from importlib.metadata import version
from pathlib import Path

from pipeline.load.files import load_paths
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.condition.render import render
from scripts.contact_sheet import GREYS, ROOT, SEASON, page
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY
from tests.first_page.stores import CASES, WITHOUT_TARGETS, season_of

GREENS_READ = ("ALD-1", "HOL-1", "KET-1")
"""Greens of the demo whose pages docs/first-pages.md has the reading of."""
FOLDER = ROOT / "docs" / "first-pages"
WIDTH = 860


def main(demo: Path) -> None:
    """Write the pictures from the reports of a demo, and of each small store."""
    FOLDER.mkdir(exist_ok=True)
    for green in GREENS_READ:
        _drawn(next((demo / "reports" / SEASON).glob(f"{green}-condition-*.pdf")), green)
    for name, files in CASES.items():
        with tempfile.TemporaryDirectory() as folder:
            workspace = _store(Path(folder), files, WITHOUT_TARGETS if name == "no-target-set" else "")
            pdf = workspace.folder / f"{name}.pdf"
            pdf.write_bytes(render(season_of(workspace, SEASON), version=version("swardtally")))
            _drawn(pdf, name)


def _store(folder: Path, files: dict[str, str], settings: str) -> Workspace:
    """A workspace with the small county of the tests and these files."""
    make_workspace(folder)
    if settings:
        (folder / "settings.toml").write_text(settings, "utf-8")
    workspace = open_workspace(folder)
    for name, text in {"clubs": CLUBS, "greens": GREENS, "materials": MATERIALS, **files}.items():
        path = folder / f"{name}.csv"
        path.write_text(text, "utf-8")
        (done,) = load_paths(workspace, [path], today=TODAY)
        assert not done.failed and not done.counts.rejected, done.faults
    return workspace


def _drawn(pdf: Path, name: str) -> None:
    page(pdf, 0, WIDTH).quantize(GREYS).save(FOLDER / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "demo"))
