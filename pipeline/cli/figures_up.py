"""Figures brought up at the end of a command that changed records, and what is said where they could not be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipeline.cli.options import say
from pipeline.common.refusal import CannotDo

if TYPE_CHECKING:
    from pipeline.workspace.settings import Workspace


def kept_up(here: Workspace) -> bool:
    """Whether the figures in the store were brought up to its records; where not, the records stay, and it is said."""
    from pipeline.common.interrupt import came
    from pipeline.figures.refresh import keep_up

    try:
        keep_up(here)
    except CannotDo as error:
        why = error.message
    except (KeyboardInterrupt, Exception) as error:
        if not (isinstance(error, KeyboardInterrupt) or came()):
            raise
        why = "this was stopped."
    else:
        return True
    say(False, f"The store's records are as said above; {figures_not_up(why)}")
    return False


def figures_not_up(why: str) -> str:
    """What is said where the records are as they should be and their figures could not be brought up."""
    return (
        f"its figures are not brought up yet: {why} Until a load, undo or decision does, show and "
        "report make them from the records."
    )
