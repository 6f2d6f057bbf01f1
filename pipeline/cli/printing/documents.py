"""Which documents, forms and other files were written, and what a comparison found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from pipeline.cli.narrow import fits, narrowed
from pipeline.cli.printing.loading import load_results
from pipeline.cli.printing.table import banded, parted, table
from pipeline.cli.terminal import err, out
from pipeline.common.words import counted, place_words

if TYPE_CHECKING:
    from pipeline.cli.demo import Demo
    from pipeline.compare.comparison import Comparison, Own
    from pipeline.publish.comparison import Compared
    from pipeline.publish.forms import WrittenForm
    from pipeline.publish.writer import Written


def reports(written: Sequence[Written], *, quiet: bool) -> None:
    """A line a report, then what failed."""
    for one in written:
        if not one.fault:
            out(str(one.path))
    if not quiet:
        fresh = [one for one in written if not one.fault and not one.unchanged]
        pages = sum(one.pages for one in fresh)
        err(f"{counted(len(fresh), 'report')} with {counted(pages, 'page')} written.")
    _not_written(written, quiet=quiet)


def forms(written: Sequence[WrittenForm], *, quiet: bool) -> None:
    """A line a file that stands there now, then why others were not written."""
    for one in written:
        if not (one.fault or one.nothing):
            out(str(one.path))
    for one in written:
        if one.fault:
            err(f"{one.path}: not written: {one.fault}.")
        elif one.nothing and not quiet:
            err(f"{one.path}: nothing to write: {one.nothing}.")
        elif one.left:
            err(f"{one.path}: it lacks rows of its CSV: {one.left}.")
    if not written and not quiet:
        err("No rejected rows stand in the workspace.")


def _not_written(written: Sequence[Written], *, quiet: bool) -> None:
    """How many would come out the same (a message), and a line for each that failed."""
    if not quiet and (same := sum(one.unchanged for one in written)):
        err(
            f"{counted(same, 'report')} would come out the same and {'was' if same == 1 else 'were'} left as "
            f"{'it is' if same == 1 else 'they are'} (--force writes {'it' if same == 1 else 'them'} again)."
        )
    for one in written:
        if one.fault:
            err(f"{one.green or one.club or one.document}: not written: {one.fault}")


def comparison(done: Compared, *, quiet: bool, names: bool = False) -> None:
    """A line a group, or for a club a line each of its own greens; then the files.

    Args:
        done: the comparison and its files.
        quiet: print no files.
        names: print in a last column the machine name of each figure.
    """
    own = bool(done.comparison.club)
    lines = list(_own(done.comparison) if own else _groups(done.comparison))
    if lines:
        right, may_go = ((), ()) if own else ((2, 3), ("clubs", "middle half"))
        rows = [(*row, name) if names else row for name, row in lines]
        headers: tuple[str, ...] = (*(OWN if own else GROUPS), *(["name"] if names else []))
        if fits(headers, rows):
            table(headers, rows, frozenset(right))
        else:
            if own:
                headers, rows = _among_below(headers, rows)
            at = headers.index("figure")
            bare, fewer, left = narrowed(headers, rows, right, may_go, under=at)
            parted(bare, fewer, bare.index("figure"), left)
    else:
        what = "figure of the club's own greens can be compared" if own else "group of like greens can be shown"
        out(f"No {what}: {nothing_shown(done.comparison)}.")
    if not quiet:
        for path in done.files:
            err(str(path))
    _not_written([done.written], quiet=quiet)


OWN = ("green", "figure", "value", "place", "among")
GROUPS = ("figure", "group", "greens", "clubs", "median", "middle half")


def _own(compared: Comparison) -> Iterator[tuple[str, tuple[object, ...]]]:
    """The machine name and the cells of each figure of a club's own greens."""
    for one in compared.own:
        topic = one.topic
        value = f"{one.value:,.{topic.decimals}f} {topic.unit}".rstrip() + (" ?" if one.questioned else "")
        among = one.cell.group if one.cell else "no group large enough"
        yield topic.name, (one.green, banded(topic.label, topic.band), value, _place(one), among)


def _among_below(
    headers: Sequence[str], rows: Sequence[tuple[object, ...]]
) -> tuple[tuple[str, ...], list[tuple[object, ...]]]:
    """The table for a narrow screen: among whom a figure has its place stands below what the figure is."""
    figure, among = headers.index("figure"), headers.index("among")
    told = [(*row[:figure], (row[figure], f"  among {row[among]}"), *row[figure + 1 :]) for row in rows]
    return tuple(headers[:among]) + tuple(headers[among + 1 :]), [row[:among] + row[among + 1 :] for row in told]


def _groups(compared: Comparison) -> Iterator[tuple[str, tuple[object, ...]]]:
    """The machine name and the cells of each group."""
    for one in compared.cells:
        topic = one.topic
        median = f"{one.median:,.{topic.decimals}f} {topic.unit}".rstrip() + (" ?" if one.questioned else "")
        middle = f"{one.quarter:,.{topic.decimals}f} to {one.three_quarters:,.{topic.decimals}f}"
        yield topic.name, (banded(topic.label, topic.band), one.group, one.n, one.clubs, median, middle)


def comparisons(done: Sequence[Compared], *, quiet: bool) -> None:
    """A line a club: how many figures of its own greens found their like, and its document."""
    rows = [
        (one.comparison.club, sum(own.cell is not None for own in one.comparison.own), one.written.path)
        for one in done
        if not one.written.fault
    ]
    table(("club", "figures among their like", "document"), rows, frozenset({1}))
    _not_written([one.written for one in done], quiet=quiet)


def nothing_shown(compared: Comparison) -> str:
    """Why a comparison holds no group."""
    from pipeline.compare.protection import FEWEST_CLUBS, FEWEST_GREENS

    needed = f"a group needs {FEWEST_GREENS} greens of {FEWEST_CLUBS} clubs"
    if withheld := sum(count for _, count in compared.withheld):
        return f"{counted(withheld, 'group')} withheld, too small or easy to work out ({needed})"
    return f"of season {compared.season} no figure of like greens is held that could be compared ({needed})"


def _place(own: Own) -> str:
    if own.cell is None or own.place_low is None or own.place_high is None:
        return ""
    return place_words(own.place_low, own.place_high, own.cell.n)


def demo(made: Demo, *, quiet: bool) -> None:
    """What the demo made and where."""
    load_results(made.loaded, dry_run=False, quiet=True)
    reports([*made.reports, *made.surveys], quiet=quiet)
    for one in made.comparisons:
        for path in one.files[:1]:
            out(str(path))
    _not_written([one.written for one in made.comparisons], quiet=quiet)
    for path in made.ahead:
        out(str(path))
    for fault in made.not_ahead:
        err(f"Not written: {fault}.")
    if not quiet:
        rejected = sum(one.counts.rejected for one in made.loaded)
        err(f"{counted(rejected, 'row was', 'rows were')} rejected on purpose: see {made.folder / 'rejected'}.")
        err(f"Look at a green next: swardtally show ALD-1 --workspace {made.folder}")
