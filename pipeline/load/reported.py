"""Figures of seasons already reported that a changed register alters: which, and in which documents.

A season counts as reported where documents of it lie in the workspace's folder of reports. Its figures are made before
and after the rows are written, of the greens that the rows concern, and told apart: nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isclose
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.file_names import file_stem
from pipeline.common.refusal import CannotDo
from pipeline.common.words import listed
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace
from schemas import Kind

if TYPE_CHECKING:
    from pipeline.indicators.base.records import Records

ALTERS_REPORTED = FaultKind(
    "load.alters_reported",
    "Figures already reported come out otherwise now",
    "{value} {change} what has been reported of season {season}, {greens}: {figures}. Documents: {documents}.",
    "If it was so all along, write the documents again. If it changed on a day, take this load back (undo LOAD), leave "
    "the former row as it was, and add a row of the same name with that day under valid_from.",
    severity="warning",
)
AT_ONCE = 100
"""Greens whose figures are made at once: memory is that of so many, whatever their number."""
MOST_NAMED = 20
"""Greens, figures and documents named one by one; how many more there are is said."""
_NAMED_ALONE = ("club", "green", "material")
"""Registers whose rows are looked at: a target says itself for which season it holds."""

Said = tuple[float | None, ...]
"""What a figure says: its value and the ends of its target."""
Figures = Mapping[str, Mapping[tuple[str, str], tuple[str, Said]]]
"""Of each green: name and band of a figure, its label and what is said by it."""
ROUNDING = 1e-9
"""Share of a value that figures made among others may differ by, as a computer adds: no alteration."""


@dataclass(frozen=True)
class Reported:
    """Seasons that were reported, and their figures before a file of a register is written.

    Attributes:
        workspace: where the documents lie.
        kind: the register.
        names: what the file's new rows are about.
        figures: season and its figures.
    """

    workspace: Workspace
    kind: Kind
    names: Sequence[str]
    figures: Mapping[Season, Figures]

    @classmethod
    def before(cls, store: Store, workspace: Workspace, kind: Kind, names: Sequence[str]) -> Reported | None:
        """What has been reported that these rows may bear on; None where nothing has been."""
        seasons = _seasons(workspace) if kind.name in _NAMED_ALONE and names else []
        if not seasons:
            return None
        from pipeline.indicators.base.reading import read_records  # few loads are of a register of a reported season

        records = read_records(store)
        return cls(workspace, kind, names, {one: _figures(records, one, workspace, kind, names) for one in seasons})

    def altered(self, store: Store) -> pl.DataFrame:
        """A warning for each season of which a figure comes out otherwise, once the rows are written."""
        from pipeline.indicators.base.reading import read_records

        records = read_records(store)
        return concat(
            self._told(records, season, differing)
            for season, before in self.figures.items()
            if (differing := _differing(before, _figures(records, season, self.workspace, self.kind, self.names)))
        )

    def _told(self, records: Records, season: Season, differing: Mapping[str, Sequence[str]]) -> pl.DataFrame:
        one = len(self.names) == 1
        figures = list(dict.fromkeys(label for labels in differing.values() for label in labels))
        return ALTERS_REPORTED.at(
            None,
            f"The {self.kind.name}{'' if one else 's'} {_named(self.names)}",
            change="changes" if one else "change",
            season=season.name,
            greens=_named(list(differing)),
            figures=_named(figures),
            documents=_named(_documents(self.workspace, records, season, list(differing))),
        )


def _seasons(workspace: Workspace) -> list[Season]:
    """Seasons of which documents lie in the folder of reports."""
    found = []
    for folder in sorted(workspace.reports.glob("*")) if workspace.reports.is_dir() else ():
        if next(folder.glob("*.pdf"), None):
            try:
                found.append(workspace.season(folder.name))
            except CannotDo:
                continue  # another folder of the user's
    return found


def _documents(workspace: Workspace, records: Records, season: Season, greens: Sequence[str]) -> list[str]:
    """Documents of a season that hold figures of these greens."""
    clubs = dict(records.greens.select("green", "club").iter_rows())
    stems = {f"{file_stem(green)}-{what}-" for green in greens for what in ("condition", "survey")}
    stems |= {f"{file_stem(clubs[green])}-summary-" for green in greens if green in clubs}
    beginnings = (*sorted(stems), "round-up-", "comparison-")
    return sorted(
        one.name for one in (workspace.reports / season.name).glob("*.pdf") if one.name.startswith(beginnings)
    )


def _figures(records: Records, season: Season, workspace: Workspace, kind: Kind, names: Sequence[str]) -> Figures:
    """Figures of the season, of the greens that rows of these names bear on and that documents tell of."""
    from pipeline.indicators.base.asked import Asked
    from pipeline.indicators.base.green_records import green_records
    from pipeline.season.green import indicators_of  # a tenth of a second that few loads need

    concerned = _concerned(records, season, kind, names)
    told_of = [green for green in concerned if _documents(workspace, records, season, [green])]
    found = {}
    for first in range(0, len(told_of), AT_ONCE):
        greens = told_of[first : first + AT_ONCE]
        made = indicators_of(Asked.about(green_records(records, green, season, workspace) for green in greens))
        for green, figures in zip(greens, made.values(), strict=True):
            found[green] = {
                (one.name, one.band): (one.label, (one.value, one.target_low, one.target_high)) for one in figures
            }
    return found


def _concerned(records: Records, season: Season, kind: Kind, names: Sequence[str]) -> list[str]:
    if kind.name != "material":
        return records.greens.filter(pl.col(kind.name).is_in(list(names)))["green"].to_list()
    used = pl.concat(
        [records.jobs.select("green", "material", "date"), records.sieves.select("green", "material", "date")]
    )
    rows = used.filter(pl.col("material").is_in(list(names)) & (pl.col("date") <= season.end))
    return sorted(rows["green"].drop_nulls().unique().to_list())


def _differing(before: Figures, after: Figures) -> dict[str, list[str]]:
    """Of each green the labels of the figures that are not as before, gone or new.

    Of a green of which there were no figures none is altered: of a store made anew its documents are older.
    """
    found = {}
    for green, old in before.items():
        new = after.get(green, {})
        both = [(old.get(key), new.get(key)) for key in dict.fromkeys([*old, *new])]
        labels = [(one or other or ("",))[0] for one, other in both if not (one and other and _same(one[1], other[1]))]
        if labels:
            found[green] = labels
    return found


def _same(one: Said, other: Said) -> bool:
    """Whether two say the same but for rounding."""
    pairs = zip(one, other, strict=True)
    return all(a == b or (a is not None and b is not None and isclose(a, b, rel_tol=ROUNDING)) for a, b in pairs)


def _named(words: Sequence[str]) -> str:
    """The words as a list, the first of many."""
    if len(words) <= MOST_NAMED:
        return listed(words)
    return f"{', '.join(words[:MOST_NAMED])} and {len(words) - MOST_NAMED:,} more"
