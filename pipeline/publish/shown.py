"""Figures of one green and season to be printed: from the table of figures where they stand, else from the records."""

from __future__ import annotations

from pipeline.common.closest import as_known
from pipeline.figures.shown import figures_shown
from pipeline.indicators.base.green_season import GreenFigures
from pipeline.indicators.base.look import ORDINARY, Look
from pipeline.indicators.base.looked_at import as_looked_at, opened
from pipeline.publish.on_record import season_of_one
from pipeline.store.register import aliases_among
from pipeline.workspace.settings import Workspace


def green_shown(
    workspace: Workspace, green: str, season: str = "", look: Look = ORDINARY, *, lines: bool = True
) -> tuple[GreenFigures, str]:
    """The figures of a green's season with entries to check first and data notes, and what is to be said beside them.

    Where no season is named it is the latest, or the green's own last one before that; ``look`` where it is not of all
    that is in the store now. ``lines``: whether those behind each figure are wanted; those in question
    always are there.

    Raises:
        WrongUsage: the green is not in the register, or the day of the look lies before the season.
        CannotDo: the store cannot be read, or holds no dated record, or none of the green by the season named.
    """
    with opened(workspace, look) as store:
        records = None if look.ordinary else as_looked_at(store, look)
        held = store.rows("SELECT green, aliases FROM green ORDER BY green")
        (code,) = as_known("green", [green], {one for one, _ in held}, aliases_among(held))
        span, told = season_of_one(store, workspace, code, season, look)
        if look.ordinary and (kept := figures_shown(store, workspace.settings, span, code, lines=lines)):
            return kept, told
        from pipeline.indicators.base.reading import read_records  # a second that what stands there saves
        from pipeline.season.green import green_figures

        return green_figures(records or read_records(store), code, span, workspace), told
