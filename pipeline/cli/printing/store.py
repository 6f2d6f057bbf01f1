"""What the store holds, what came when, and what was decided, changed and taken back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pipeline.cli.narrow import narrowed
from pipeline.cli.printing.columns import hanging
from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out, screen_width
from pipeline.cli.waiting import waiting
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted

if TYPE_CHECKING:
    from pipeline.cli.doctor import Check
    from pipeline.indicators.base.open_matters import OpenMatter
    from pipeline.store.changes import Change
    from pipeline.store.decide import Decided
    from pipeline.store.inventory import Inventory
    from pipeline.store.undo import Undone


def inventory(held: Inventory, matters: Sequence[OpenMatter], *, quiet: bool) -> None:
    """What the store holds, by kind and green, and what waits for a person, each with the commands that close it."""
    for line in hanging(_at_a_glance(held, len(matters)), screen_width()):
        out(line)
    out()
    table(("kind", "records", "first", "last"), held.kinds, frozenset({1}))
    out()
    kinds = [kind for kind, *_ in held.kinds if any(kind in one.latest for one in held.greens)]
    days = [
        (one.club, one.green, one.name, one.last, *(one.latest.get(kind, "") for kind in kinds)) for one in held.greens
    ]
    table(*narrowed(("club", "green", "name", "latest record", *kinds), days, (), kinds))
    waiting(matters)
    if held.clock:
        err(held.clock)
    if not quiet:
        err(f"Store: {held.store}")


def _at_a_glance(held: Inventory, waiting_for_a_person: int) -> str:
    """One sentence: greens, clubs, the days there are records of, and how much waits for a person."""
    clubs = {one.club for one in held.greens}
    days = sorted(str(day) for _, _, *ends in held.kinds for day in ends if day)
    span = f", records from {days[0]} to {days[-1]}" if days else ", no dated record yet"
    waits = f"{counted(waiting_for_a_person, 'thing')} below" if waiting_for_a_person else "nothing"
    return (
        f"{counted(len(held.greens), 'green')} of {counted(len(clubs), 'club')}{span}. Waiting for a person: {waits}."
    )


def decided(made: Decided, *, quiet: bool) -> None:
    """The number of each decision and its lines, and what is to be done yet."""
    for number, about in made.entries:
        out(one_line(f"Decision {number} ({made.decided}): {about}."))
    if quiet:
        return
    if not made.entries:
        err("That was decided before; nothing changed.")
    for command in made.next:
        err(f"Next: {command}")
    if made.entries:
        err(f"Kept in decisions/; to take it back: swardtally undo {made.entries[0][0]}")


def history(loads: Sequence[dict[str, Any]], decisions: Sequence[dict[str, Any]], *, quiet: bool) -> None:
    """A line a load, then a line a decision; the last column says when one was taken back."""
    counts = ("rows", "loaded", "unchanged", "superseded", "withdrawn", "closed", "rejected")
    names = ("load_id", "loaded_at", "file", "kind", *counts)
    rows = [[*(load[name] for name in names), load["undone_at"] or ""] for load in loads]
    may_go = ("kind", *(name for name in counts if name not in {"rows", "rejected"}))
    table(*narrowed((*names, "taken back"), rows, {0, *range(4, len(names))}, may_go))
    if decisions:
        out()
        shown = ("decision", "decided_at", "decided", "about", "why", "who")
        told = [[*(one[name] for name in shown), one["taken_back_at"] or ""] for one in decisions]
        table(*narrowed((*shown, "taken back"), told, {0}, ("decided_at", "who")))
    if not loads and not quiet:
        err("Nothing has been loaded yet.")


def changes(found: Sequence[Change], *, quiet: bool) -> None:
    """A line a value that was changed: what it was and is, and which line of which load did it."""
    rows = []
    for one in found:
        now = one.now if one.how == "superseded" else one.how
        place = f"{one.file}:{one.line}" if one.line else one.file
        said = (one.former or "", now or "", f"{one.former_file}:{one.former_line}", place)
        rows.append((one.kind, one.key, one.field, *said, one.load_id, one.when))
    headers = ("kind", "record", "field", "was", "is", "was said by", "changed by", "load", "when")
    table(*narrowed(headers, rows, {7}, ("was said by", "when")))
    if not found and not quiet:
        err("Nothing was changed.")


def undone(done: Undone, *, quiet: bool) -> None:
    """What taking a load or a decision back did."""
    if done.about:
        out(one_line(f"Decision {done.load_id} ({done.about}) was taken back."))
        return
    out(f"Load {done.load_id} ({done.file}) was taken back.")
    if not quiet:
        kind = done.kind.replace("_", " ")
        err(f"{counted(done.removed, kind)} removed, {counted(done.restored, kind)} in force again.")


def checks(found: Sequence[Check], *, quiet: bool) -> None:
    """A line a check; what to do where one is not fine."""
    table(("", "what", "found"), [("ok" if one.fine else "not ok", one.what, one.found) for one in found])
    for one in found:
        if not one.fine and not quiet:
            err(f"{one.what}: {one.hint}")
