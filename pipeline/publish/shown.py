"""Figures of one green and season to be printed: from the table of figures where they stand, else from the records."""

from __future__ import annotations

from pipeline.common.closest import as_known
from pipeline.figures.shown import figures_shown
from pipeline.indicators.base.green_season import GreenFigures
from pipeline.store.last_day import last_day
from pipeline.store.register import aliases_among
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


def green_shown(workspace: Workspace, green: str, season: str = "") -> GreenFigures:
    """The figures of a green's season with entries to check first and data notes.

    Raises:
        WrongUsage: the green is not in the register.
        CannotDo: the store cannot be read, or holds no dated record and no season was named.
    """
    with Store(workspace.store, read_only=True) as store:
        held = store.rows("SELECT green, aliases FROM green ORDER BY green")
        (code,) = as_known("green", [green], {one for one, _ in held}, aliases_among(held))
        span = workspace.season_asked(season, None if season else last_day(store))
        if kept := figures_shown(store, workspace.settings, span, code):
            return kept
        from pipeline.indicators.base.records import read_records  # a second that what stands there saves
        from pipeline.season.green import green_figures

        return green_figures(read_records(store), code, span, workspace)
