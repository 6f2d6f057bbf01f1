"""What waits for a person, as ``status`` prints it: each matter with the commands that close it, to be pasted whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pipeline.cli.terminal import out, with_workspace
from pipeline.common.shown_text import one_line

if TYPE_CHECKING:
    from pipeline.indicators.base.open_matters import OpenMatter

SHOWN = 10
"""Faults or matters shown of each kind; the rest stands in the rejects file, and in ``--json``."""
OPEN = {
    "double": "Lines to decide about",
    "rejected": "Rejected rows outside the store",
    "question": "Values to check",
    "decision": "Decisions that fit no more",
}
"""Sorts of what is open, in the order of printing, and how each is headed."""


def waiting(matters: Sequence[OpenMatter]) -> None:
    """Print all that is open, a sort at a time."""
    for sort, title in OPEN.items():
        _open(title, [one for one in matters if one.sort == sort])


def _open(title: str, matters: Sequence[OpenMatter]) -> None:
    """What is open of one sort: the first ones, each with its commands, then how many more there are."""
    if not matters:
        return
    out()
    out(f"{title}: {len(matters):,}")
    left = SHOWN
    for together in _by_command(matters):
        if left <= 0:
            break
        _together(together, together[:left])
        left -= len(together)
    if len(matters) > SHOWN:
        out(f"  and {len(matters) - SHOWN:,} more (--json lists all)")


def _by_command(matters: Sequence[OpenMatter]) -> list[list[OpenMatter]]:
    """Rejected rows of one file, which one command closes, together; any other matter by itself."""
    found: dict[object, list[OpenMatter]] = {}
    for at, one in enumerate(matters):
        found.setdefault((one.file, one.next[0][0]) if one.sort == "rejected" else at, []).append(one)
    return list(found.values())


def _together(matters: Sequence[OpenMatter], shown: Sequence[OpenMatter]) -> None:
    """Matters that the same commands close, with these commands; behind each, as a shell's comment, what it means."""
    first = matters[0]
    several = len(matters) > 1
    for one in shown:
        where = f"{one.file}, line {one.line}: " if one.line else ""
        out(one_line(f"  {where}{one.text}"))
    for at, (command, means) in enumerate(first.next):
        of_first = f"line {first.line}: " if several and at else ""
        out(one_line(f"    → {with_workspace(command)}  # {of_first}{_of_several(means) if several else means}"))


def _of_several(means: str) -> str:
    return means.replace("once it is mended there", "once they are mended there")
