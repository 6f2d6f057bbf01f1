"""The comparison as a command: from the store to its files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.common.closest import refuse_unknown
from pipeline.common.file_names import file_stem
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo
from pipeline.compare.build import comparison, settled
from pipeline.compare.comparison import Comparison
from pipeline.compare.county import county_of
from pipeline.compare.figures import NAMES
from pipeline.figures.compared import county_in
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.indicators.base.reading import read_records
from pipeline.publish.branding import house_style_of
from pipeline.publish.on_record import refuse_bare, season_asked
from pipeline.publish.seals import refuse_altered, seal_of_all
from pipeline.publish.writer import Planned, Written, these, write_documents
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
        told["as_of"], told["known_by"] = done.as_of.isoformat(), told.pop("look")["known_by"]
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
    look: Look = ORDINARY,
    club: str = "",
    names: Sequence[str] = (),
    out: Path | None = None,
    issued_on: date | None = None,
    force: bool = False,
) -> Compared:
    """The comparison of a season, written as PDF and CSV: all of its files or none.

    Args:
        workspace: the workspace.
        region: region whose groups are wanted; "" for all.
        season: season; "" for the latest.
        look: what counts, where it is not all that is in the store now.
        club: club whose own greens are named; "" for the association.
        names: indicators wanted; empty for all that can be compared.
        out: folder for the files; None for the workspace's reports of that season.
        issued_on: the day printed as that of issue; None prints none.
        force: write again what would come out the same.

    Raises:
        WrongUsage: a region, club or indicator is not known.
        CannotDo: the store cannot be read or holds no dated record or none of the season, or a setting names what is
            not there.
    """
    (done,) = _written(_Asked(workspace, region, season, look, names, out, issued_on), [club], force)
    return done


def compare_each_club(
    workspace: Workspace,
    *,
    region: str = "",
    season: str = "",
    look: Look = ORDINARY,
    names: Sequence[str] = (),
    out: Path | None = None,
    issued_on: date | None = None,
    force: bool = False,
    progress: Progress = SILENT,
) -> list[Compared]:
    """The comparison of every club that has a green, by code, each as ``compare`` writes it for that club.

    Of a region the clubs are its own. Arguments and errors are those of :func:`compare`; a document that fails does not
    stop the others.
    """
    return _written(_Asked(workspace, region, season, look, names, out, issued_on), None, force, progress)


@dataclass(frozen=True)
class _Asked:
    """What comparisons of one county have in common."""

    workspace: Workspace
    region: str
    season: str
    look: Look
    names: Sequence[str]
    out: Path | None
    issued_on: date | None


def _written(asked: _Asked, clubs: Sequence[str] | None, force: bool, progress: Progress = SILENT) -> list[Compared]:
    """The comparison of each of these clubs, or of every one with a green; "" is the association."""
    from reports.comparison.data import csv_files

    workspace, region, look, names = asked.workspace, asked.region, asked.look, asked.names
    house = house_style_of(workspace, issued_on=asked.issued_on)
    refuse_altered(workspace)
    with opened(workspace, look) as store:
        records = None if look.ordinary else as_looked_at(store, look)
        named = {code: (str(name), of) for code, name, of in store.rows("SELECT club, name, region FROM club")}
        refuse_unknown("region", [region] if region else [], {of for _, of in named.values() if of}, listed=True)
        refuse_unknown("club", list(filter(None, clubs or [])), set(named), listed=True)
        refuse_unknown("indicator that can be compared", names, NAMES, listed=True)
        span = season_asked(store, workspace, asked.season, look)
        if asked.season:
            refuse_bare(store, workspace, span)
        clubs = _clubs_with_greens(store, region) if clubs is None else clubs
        county = county_in(store, span, workspace, names or NAMES) if records is None else None
        if county is None:
            county = county_of(records or read_records(store), span, workspace, names or NAMES)
        seal = seal_of_all(store, list(county.members))
    made, done, planned = settled(county), [], []
    for club in clubs:
        one = comparison(county, region=region, club=club, club_name=named[club][0] if club else "", made=made)
        name = f"{comparison_stem(club, region)}-{span.name}{look.stem}.pdf"
        path = (asked.out or workspace.reports / span.name) / name
        tables = {f"{path.stem}-{file.name}": file.content for file in csv_files(one)}
        done.append(one)
        planned.append(
            Planned("comparison", span.name, path, partial(_same, one), club=club, beside=these(tables), seal=seal)
        )
    _refuse_one_file(planned)
    written = write_documents(planned, house=house, force=force, progress=progress, what="Comparisons")
    return [
        Compared(one, outcome, () if outcome.fault else (plan.path, *map(plan.path.with_name, plan.beside(one))))
        for one, plan, outcome in zip(done, planned, written, strict=True)
    ]


def _refuse_one_file(planned: Sequence[Planned]) -> None:
    """Refuses clubs whose codes differ by letters that a file's name does not tell apart: one would be lost."""
    by_path: dict[Path, str] = {}
    for one in planned:
        if (other := by_path.setdefault(one.path, one.club)) != one.club:
            raise CannotDo(
                f"Clubs {other} and {one.club} would be written to one file, {one.path.name}.",
                "Write each by itself: --club with a folder of its own as --out.",
            )


def _same(one: Comparison) -> Comparison:
    return one


def _clubs_with_greens(store: Store, region: str) -> list[str]:
    """Codes of the clubs, of a region where one is named, that have a green in the register.

    Raises:
        CannotDo: there is none.
    """
    sql = "SELECT club FROM club WHERE club IN (SELECT club FROM green) AND (? = '' OR region = ?) ORDER BY club"
    clubs = [club for (club,) in store.rows(sql, [region, region])]
    if not clubs:
        raise CannotDo("No club has a green.", "Load the registers of clubs and greens first.")
    return clubs


def comparison_stem(club: str, region: str) -> str:
    """The start of the names of a comparison's files: its club and region, each by the one rule, in small letters."""
    about = [file_stem(club) if club else "all", *([file_stem(region)] if region else [])]
    return f"comparison-{'+'.join(about)}".lower()
