"""The comparison as a command: from the store to its files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pipeline.common.closest import refuse_unknown
from pipeline.common.file_names import file_stem
from pipeline.compare.build import comparison
from pipeline.compare.comparison import Comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.figures.compared import county_in
from pipeline.indicators.base.records import read_records
from pipeline.publish.branding import house_style_of
from pipeline.publish.writer import Planned, Written, write_documents
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Compared:
    """A comparison and what became of its document and the tables beside it.

    Attributes:
        comparison: what the files hold.
        written: the document.
        files: PDF and CSV; none where it could not be written.
    """

    comparison: Comparison
    written: Written
    files: tuple[Path, ...]

    def as_json(self) -> dict[str, Any]:
        """The form of ``compare --json``: what the files hold, and what became of them."""
        done = self.comparison
        told: dict[str, Any] = asdict(done)
        told["as_of"] = done.as_of.isoformat()
        told["withheld"] = dict(done.withheld)
        for one, own in zip(told["own"], done.own, strict=True):
            cell = one.pop("cell")
            one["group"], one["greens"] = (cell["group"], cell["n"]) if own.cell else (None, None)
        files = [str(path) for path in self.files]
        return {**told, "files": files, "unchanged": self.written.unchanged, "fault": self.written.fault}


def compare(
    workspace: Workspace,
    *,
    region: str = "",
    season: str = "",
    club: str = "",
    names: Sequence[str] = (),
    out: Path | None = None,
    force: bool = False,
) -> Compared:
    """The comparison of a season, written as PDF and CSV: all of its files or none.

    Args:
        workspace: the workspace.
        region: region whose groups are wanted; "" for all.
        season: season; "" for the latest.
        club: club whose own greens are named; "" for the association.
        names: indicators wanted; empty for all that can be compared.
        out: folder for the files; None for the workspace's reports of that season.
        force: write again what would come out the same.

    Raises:
        WrongUsage: a region, club or indicator is not known.
        CannotDo: the store cannot be read or holds no dated record, or a setting names what is not there.
    """
    from reports.comparison.data import csv_files

    house = house_style_of(workspace)
    with Store(workspace.store, read_only=True) as store:
        clubs = {code: (str(name), of) for code, name, of in store.rows("SELECT club, name, region FROM club")}
        refuse_unknown("region", [region] if region else [], {of for _, of in clubs.values() if of}, listed=True)
        refuse_unknown("club", [club] if club else [], set(clubs), listed=True)
        refuse_unknown("indicator that can be compared", names, NAMES, listed=True)
        span = workspace.season_asked(season, None if season else last_day(store))
        county = county_in(store, span, workspace, names or NAMES)
        if county is None:
            county = county_of(read_records(store), span, workspace, names or NAMES)
    done = comparison(county, region=region, club=club, club_name=clubs[club][0] if club else "")
    path = (out or workspace.reports / span.name) / f"{comparison_stem(club, region)}-{span.name}.pdf"
    tables = {f"{path.stem}-{file.name}": file.content for file in csv_files(done)}
    planned = Planned("comparison", span.name, path, lambda: done, club=club, beside=tables)
    (written,) = write_documents([planned], house=house, force=force)
    return Compared(done, written, () if written.fault else (path, *map(path.with_name, tables)))


def comparison_stem(club: str, region: str) -> str:
    """The start of the names of a comparison's files: its club and region, each by the one rule, in small letters."""
    about = [file_stem(club) if club else "all", *([file_stem(region)] if region else [])]
    return f"comparison-{'+'.join(about)}".lower()
