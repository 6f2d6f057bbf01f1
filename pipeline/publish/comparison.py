"""The comparison as a command: from the store to its files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pipeline.common.closest import offered
from pipeline.common.faults import CannotDo, WrongUsage
from pipeline.compare.build import comparison
from pipeline.compare.comparison import Comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.indicators.base.records import Records, latest_season, read_records
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace

MOST_NAMED = 20
"""Names listed where one is not known."""


@dataclass(frozen=True)
class Compared:
    """A comparison and the files it was written to."""

    comparison: Comparison
    files: tuple[Path, ...]

    def as_json(self) -> dict[str, Any]:
        """The form of ``compare --json``: what the files hold."""
        done = self.comparison
        told: dict[str, Any] = asdict(done)
        told["as_of"] = done.as_of.isoformat()
        told["withheld"] = dict(done.withheld)
        for one, own in zip(told["own"], done.own, strict=True):
            cell = one.pop("cell")
            one["group"], one["greens"] = (cell["group"], cell["n"]) if own.cell else (None, None)
        return {**told, "files": [str(path) for path in self.files]}


def compare(
    workspace: Workspace,
    *,
    region: str = "",
    season: str = "",
    club: str = "",
    names: Sequence[str] = (),
    out: Path | None = None,
) -> Compared:
    """The comparison of a season, written as PDF and CSV.

    Args:
        workspace: the workspace.
        region: region whose groups are wanted; "" for all.
        season: season; "" for the latest.
        club: club whose own greens are named; "" for the association.
        names: indicators wanted; empty for all that can be compared.
        out: folder for the files; None for the workspace's reports of that season.

    Raises:
        WrongUsage: a region, club or indicator is not known.
        CannotDo: the store cannot be read, or holds no dated record.
    """
    from reports.comparison.data import csv_files
    from reports.comparison.render import render

    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    _known("region", [region] if region else [], set(records.clubs["region"].drop_nulls()))
    _known("club", [club] if club else [], set(records.clubs["club"]))
    _known("indicator that can be compared", names, set(NAMES))
    span = workspace.season(season) if season else latest_season(records, workspace)
    if span is None:
        raise CannotDo("The store holds no dated record yet.", "Load a job log, soil tests or green speeds first.")
    county = county_of(records, span, workspace, names or NAMES)
    done = comparison(county, region=region, club=club, club_name=_club_name(records, club))
    folder = out or workspace.reports / span.name
    folder.mkdir(parents=True, exist_ok=True)
    stem = f"comparison-{_plain(club or region or 'all')}-{span.name}"
    contents = {f"{stem}.pdf": render(done, version=version("swardtally"))}
    contents |= {f"{stem}-{file.name}": file.content for file in csv_files(done)}
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    return Compared(done, tuple(folder / name for name in contents))


def _club_name(records: Records, club: str) -> str:
    return {row["club"]: str(row["name"]) for row in records.clubs.iter_rows(named=True)}.get(club, "")


def _plain(name: str) -> str:
    """Letters, digits and hyphens of a name."""
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "reader"


def _known(what: str, names: Sequence[str], known: set[str]) -> None:
    for name in names:
        if name not in known:
            some = sorted(known)[:MOST_NAMED]
            hint = f"There are: {', '.join(some)}{' and others' if len(known) > len(some) else ''}."
            raise WrongUsage(f"There is no {what} “{name}”{offered(name, known)}.", hint if some else "There are none.")
