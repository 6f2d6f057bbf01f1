"""What loading came to, and what a draft of a profile asks."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING

from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out
from pipeline.cli.waiting import SHOWN
from pipeline.common.faults import errors
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted

if TYPE_CHECKING:
    from pathlib import Path

    from pipeline.draft import Draft
    from pipeline.load.result import FileResult

LONG_HINT = 300
"""Characters of a hint from which on it is said in full under the first file alone."""


def load_results(results: Sequence[FileResult], *, dry_run: bool, quiet: bool) -> None:
    """A line a file, then the faults of each file grouped by kind."""
    counts = ("rows", "loaded", "unchanged", "superseded", "withdrawn", "closed", "rejected", "ignored")
    rows = []
    for one in results:
        span = f"{one.span[0]} to {one.span[1]}" if one.span else ""
        rows.append((one.shown, one.kind or "?", *(getattr(one.counts, name) for name in counts), span))
    table(("file", "kind", *counts, "dates"), rows, frozenset(range(2, 2 + len(counts))))
    if quiet:
        _what_went_wrong(results)
        return
    told: dict[str, str] = {}
    for one in results:
        _faults(one, told)
    err("")
    err(_summary(results, dry_run=dry_run))


def _what_went_wrong(results: Sequence[FileResult]) -> None:
    """A line for each reason why a file is refused or not all of it was read, and where its rejected rows stand."""
    import polars as pl

    from pipeline.load.left_out import LEFT_OUT

    for one in results:
        refused = (pl.col("severity") == "error") & pl.col("line").is_null()
        told = one.faults.filter(refused | pl.col("code").is_in(list(LEFT_OUT))).select("message", "hint")
        for message, hint in told.unique(maintain_order=True).iter_rows():
            err(one_line(f"{one.shown}: {message} → {hint}"))
        if one.counts.rejected and one.rejects_file and not one.refused:
            err(one_line(f"{one.shown}: {counted(one.counts.rejected, 'row')} rejected: see {one.rejects_file}"))


def _summary(results: Sequence[FileResult], *, dry_run: bool) -> str:
    """What all files came to: nothing is said that is not true of every one of them."""
    changed = sum(one.counts.changed for one in results)
    text = (
        f"{counted(changed, 'record')} new or changed." if changed else f"Nothing in the store changed{_why(results)}."
    )
    if dry_run:
        text = f"Dry run: nothing was written. It would have been: {text[0].lower()}{text[1:]}"
    return " ".join([text, *_left(results)])


def _why(results: Sequence[FileResult]) -> str:
    """Why nothing changed, where all of it was held already; "" where anything else holds for any of the files."""
    later = any(one.faults["code"].str.starts_with("load.superseded").any() for one in results)
    held = all(one.counts.unchanged and not one.failed for one in results)
    if later or not held:
        return ""
    return (
        ": every row was there already"
        if not any(one.counts.ignored for one in results)
        else (": every record was there already, and the other rows were left out")
    )


def _left(results: Sequence[FileResult]) -> list[str]:
    """What was not taken, and what to do about it."""
    refused = sum(one.refused for one in results)
    rejected = sum(one.counts.rejected for one in results if not one.refused)
    files = {one.rejects_file for one in results if one.rejects_file}
    told = []
    if refused:
        told.append(f"{counted(refused, 'file')} refused as a whole: what to do stands above.")
    if rejected and files:
        them = "it" if rejected == 1 else "them"
        where = "the file named above and load that" if len(files) == 1 else "the files named above and load those"
        told.append(f"{counted(rejected, 'row')} rejected: mend {them} in {where}.")
    elif rejected:
        told.append(f"{counted(rejected, 'row')} rejected.")
    if missed := sum(one.left_out for one in results):
        told.append(f"Of {counted(missed, 'file')} not all was read: what was left out stands above.")
    return told


def _faults(result: FileResult, told: dict[str, str]) -> None:
    """The faults of a file by kind; a long hint, such as all words of a list, is said in full once.

    ``told`` are the hints said so far, each with the file it stands under.
    """
    faults = result.faults
    if not faults.height:
        return
    err(f"\n{one_line(result.shown)}")
    for (_, severity), part in faults.group_by("code", "severity", maintain_order=True):
        for line, column, message in part.head(SHOWN).select("line", "column", "message").iter_rows():
            where = ", ".join(str(x) for x in (f"line {line}" if line else "", column) if x)
            err(one_line(f"  {severity}{f' ({where})' if where else ''}: {message}"))
        if part.height > SHOWN:
            err(f"  and {part.height - SHOWN:,} more")
        hint = str(part["hint"][0])
        under = told.setdefault(hint, result.shown) if len(hint) > LONG_HINT else result.shown
        err(one_line(f"    → {hint if under == result.shown else f'As said above of {under}.'}"))
    if result.rejects_file:
        err(f"  Rejected rows: {result.rejects_file}")


def draft(made: Draft, *, quiet: bool, path: Path) -> None:
    """Where a drafted profile was written, what each column became, and what a person must decide.

    ``path`` is the file as it was named, to be named so again.
    """
    named = shlex.quote(str(path))
    if made.path is None:
        for message, hint in errors(made.faults).select("message", "hint").iter_rows():
            err(f"{made.file}: {message}\n    → {hint}")
        return
    out(str(made.path))
    table(("column", made.kind, "unit", ""), [(one.header, one.field, one.unit, one.how) for one in made.mapped])
    if quiet:
        return
    if faulty := errors(made.faults).height:
        err(f"\nReading it met {counted(faulty, 'fault')}; loading names them.")
    err(f"\n{counted(len(made.asks), 'thing')} to decide{':' if made.asks else '; look at every guess all the same.'}")
    for ask in made.asks:
        err(f"  {ask.key}{f' ({ask.about})' if ask.about else ''}: {ask.why}")
    if made.unknown:
        shown = ", ".join(f"“{one.word}”" for one in made.unknown[:SHOWN])
        more = f" and {len(made.unknown) - SHOWN} more" if len(made.unknown) > SHOWN else ""
        err(one_line(f"Not known: {shown}{more}. Once the rest is decided: swardtally words {named}"))
    todo = "decide every “?”" if made.asks else "look it over"
    err(f"\nNext: open {made.path}, {todo}, then: swardtally load {named}")
