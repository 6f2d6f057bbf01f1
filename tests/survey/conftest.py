"""A small visit: levels on a grid with one low, counts, readings, a core, sieves and a photo of one flat green."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from PIL import Image

from pipeline.load.files import load_paths
from pipeline.survey.build import condition_survey
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.survey import render as document
from tests.conftest import CLUBS, GREENS, MATERIALS, TODAY
from tests.indicators.figures import HOUSE
from tests.reports.conftest import VERSION

DAY = date(2026, 9, 16)
LOW = (24.0, 24.0)
"""Where the low lies, m; 12 mm deep."""

OBSERVED = """\
date,green,observed,survey,place,x_m,y_m,method,hammer_kg,drop,depth_from_mm,depth_to_mm,layer,value,unit,hits,points
2026-09-16,ALD-1,moss,V,F1,8,8,point_quadrat,,,,,,,,6,50
2026-09-16,ALD-1,moss,V,F2,32,8,point_quadrat,,,,,,,,4,50
2026-09-16,ALD-1,moss,V,F3,8,32,point_quadrat,,,,,,,,8,50
2026-09-16,ALD-1,thatch_depth,V,C1,8,8,core,,,,,,18,mm,,
2026-09-16,ALD-1,thatch_depth,V,C2,32,8,core,,,,,,20,mm,,
2026-09-16,ALD-1,thatch_depth,V,C3,8,32,core,,,,,,22,mm,,
2026-09-16,ALD-1,root_depth,V,C1,8,8,core,,,,,,90,mm,,
2026-09-16,ALD-1,layer,V,C1,8,8,core,,,0,20,turf and thatch,,,,
2026-09-16,ALD-1,layer,V,C1,8,8,core,,,20,150,{layer},,,,
"""
SIEVES = """\
date,green,sample,size_mm,basis,value,unit
2026-09-16,ALD-1,RZ,0.002,passing,3,%
2026-09-16,ALD-1,RZ,0.05,passing,6,%
2026-09-16,ALD-1,RZ,0.15,passing,12,%
2026-09-16,ALD-1,RZ,0.25,passing,30,%
2026-09-16,ALD-1,RZ,0.5,passing,80,%
2026-09-16,ALD-1,RZ,1,passing,97,%
2026-09-16,ALD-1,RZ,2,passing,100,%
"""


def levels() -> str:
    """A grid of 4 m over 40 m, even but for a bowl of 12 mm at ``LOW``."""
    lines = ["date,green,survey,x_m,y_m,z_mm,instrument,accuracy_mm"]
    for i in range(11):
        for j in range(11):
            x, y = 4.0 * i, 4.0 * j
            off = max(0.0, 1.0 - ((x - LOW[0]) ** 2 + (y - LOW[1]) ** 2) / 64.0)
            lines.append(f"2026-09-16,ALD-1,L,{x},{y},{1500 - 12 * off:.2f},rotating laser,1.5")
    return "\n".join(lines) + "\n"


def jpeg() -> bytes:
    made = io.BytesIO()
    Image.new("RGB", (640, 480), "#446644").save(made, "JPEG")
    return made.getvalue()


def load_visit(workspace: Workspace, folder: Path, layer: str, caption: str) -> Workspace:
    """The workspace with registers and the visit loaded."""
    folder.mkdir()
    (folder / "core.jpg").write_bytes(jpeg())
    files = {
        "clubs.csv": CLUBS,
        "greens.csv": GREENS,
        "materials.csv": MATERIALS,
        "targets.csv": HOUSE,
        "levels.csv": levels(),
        "observations.csv": OBSERVED.format(layer=f'"{layer}"'),
        "sieves.csv": SIEVES,
        "photos.csv": f'date,green,picture,caption,place\n2026-09-16,ALD-1,core.jpg,"{caption}",C1\n',
        "jobs.csv": "date,green,operation\n2026-03-16,ALD-1,scarifying\n",
    }
    for name, text in files.items():
        (folder / name).write_text(text, "utf-8")
        (loaded,) = load_paths(workspace, [folder / name], today=TODAY)
        assert not loaded.failed, loaded.as_json()
    return workspace


@pytest.fixture
def visit(workspace: Workspace, tmp_path: Path) -> Callable[..., Workspace]:
    """A workspace of its own that holds the visit; words of a surveyor may be given."""

    def _visit(layer: str = "sandy loam", caption: str = "Core beside the ruler") -> Workspace:
        return load_visit(workspace, tmp_path / "in", layer, caption)

    return _visit


@pytest.fixture(scope="session")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    """The visit, loaded once for the run and only read."""
    folder = tmp_path_factory.mktemp("visit") / "workspace"
    folder.mkdir()
    make_workspace(folder)
    return load_visit(open_workspace(folder), folder.parent / "in", "sandy loam", "Core beside the ruler")


@pytest.fixture(scope="session")
def found(seen: Workspace) -> ConditionSurvey:
    """Its condition survey."""
    return condition_survey(seen, "ALD-1", DAY)


@pytest.fixture(scope="session")
def pdf(found: ConditionSurvey) -> bytes:
    """Its document."""
    return document.render(found, version=VERSION)
