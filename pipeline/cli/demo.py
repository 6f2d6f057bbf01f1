"""The demo: a workspace of an invented county, its records loaded, every report written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import as_file, files
from pathlib import Path

from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import write_whole
from pipeline.figures.refresh import keep_up
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.plan.ordering.placing import Request
from pipeline.publish.comparison import Compared, compare
from pipeline.publish.documents import write_reports
from pipeline.publish.due import due_list, stem_of, write_due
from pipeline.publish.order import write_order
from pipeline.publish.priced import price_loaded
from pipeline.publish.survey import write_surveys
from pipeline.publish.writer import Written
from pipeline.store.proof.seals import salts_of_a_demo
from pipeline.survey.build import OWN_TEXTS
from pipeline.workspace.settings import SETTINGS, SETTINGS_TEXT, Workspace, make_workspace, open_workspace

DEMO_DAY = date(2026, 10, 31)
"""The day the demo's records are taken to be loaded: shortly after the last of them, so that its future dates are."""
SPRING = date(2027, 3, 31)
"""How far ahead the demo's due list looks: the works of early spring."""
CLUB_KM = 160.0
"""Kilometres to one club in a season (invented)."""
FOLDERS = ("registers", "clean", "as_it_arrives")
SETTLED = {
    'vat_pct = "not answered"': "vat_pct = 20",
    "depots = []": 'depots = ["north yard", "south barn"]',
}
"""Lines of the settings that the demo's office has answered: without them no order has VAT, and no drop a depot."""


@dataclass(frozen=True)
class Demo:
    """What the demo made.

    Attributes:
        folder: the workspace.
        loaded: its loads.
        reports: condition reports, season summaries and the round-up.
        surveys: condition surveys.
        comparisons: comparisons, of the association and of a club.
        ahead: files of the year ahead.
        not_ahead: why some of those could not be written.
    """

    folder: Path
    loaded: Sequence[FileResult]
    reports: Sequence[Written]
    surveys: Sequence[Written]
    comparisons: Sequence[Compared]
    ahead: Sequence[Path]
    not_ahead: Sequence[str]

    @property
    def whole(self) -> bool:
        """Whether every document was written."""
        documents = (*self.reports, *self.surveys, *(one.written for one in self.comparisons))
        return not (self.not_ahead or any(one.fault for one in documents))


def make_demo(folder: Path, *, progress: Progress = SILENT) -> Demo:
    """Make the demo workspace in a new or empty folder.

    Raises:
        CannotDo: the folder holds something already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise _not_empty(folder)
    _claim(folder)
    with as_file(files("demo_data")) as source:
        for name in FOLDERS:
            _copy(source / name, folder / "inbox" / name)
    workspace = demo_workspace(folder)
    loaded = []
    with salts_of_a_demo():
        for name in FOLDERS:
            loaded += load_paths(workspace, [folder / "inbox" / name], today=DEMO_DAY, progress=progress)
    keep_up(workspace)
    reports = write_reports(workspace, every=True, progress=progress)
    surveys = write_surveys(workspace, progress=progress)
    comparisons = [compare(workspace, club=club) for club in ("", reports[0].club)]
    ahead, faults = year_ahead(workspace, reports[0].club)
    return Demo(folder, loaded, reports, surveys, comparisons, ahead, faults)


def _claim(folder: Path) -> None:
    """Have the folder to oneself: of two that find it empty at one time, one makes its inbox and the other cannot.

    Raises:
        CannotDo: another was first.
    """
    folder.mkdir(parents=True, exist_ok=True)
    try:
        (folder / "inbox").mkdir()
    except FileExistsError:
        raise _not_empty(folder) from None


def _not_empty(folder: Path) -> CannotDo:
    return CannotDo(f"{folder} is not empty.", "Name a new folder with --out, or empty this one.")


def demo_workspace(folder: Path) -> Workspace:
    """A workspace with the demo's settings and source profiles, and no record."""
    text = SETTINGS_TEXT
    for shipped, answered in SETTLED.items():
        assert shipped in text, f"the settings no longer say {shipped}"
        text = text.replace(shipped, answered)
    write_whole({folder / SETTINGS: text.encode()})
    make_workspace(folder)
    with as_file(files("demo_data")) as source:
        _copy(source / "profiles", folder / "profiles")
        _copy(source / "visit_notes", folder / OWN_TEXTS)
    return open_workspace(folder)


def _copy(source: Path, target: Path) -> None:
    """Write the files of a folder anew, with the rights that every file is made with and not those of the source."""
    found = (path for path in source.rglob("*") if path.is_file())
    write_whole({target / path.relative_to(source): path.read_bytes() for path in found})


def year_ahead(workspace: Workspace, club: str) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """Files of the year ahead: the county's due list and order, one club's programme with its price; and faults."""
    due = write_due(workspace, due_list(workspace, until=SPRING, today=DEMO_DAY), stem_of((), ()))
    order = write_order(workspace, Request(as_of=DEMO_DAY, to="north yard"))
    programme = price_loaded(workspace, club, travel_km=CLUB_KM)
    faults = (due.written.fault if due.written else "", order.fault, programme.written.fault)
    return (*due.files, *order.files, *programme.files), tuple(fault for fault in faults if fault)
