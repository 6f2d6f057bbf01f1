"""Results as a person reads them: plain tables on standard output, messages on standard error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from pipeline.cli.terminal import err, one_line, out
from pipeline.cli.waiting import SHOWN, waiting
from pipeline.common.faults import errors
from pipeline.common.words import counted
from pipeline.indicators.base.judgement import digits, judgement, said

if TYPE_CHECKING:
    from pipeline.cli.demo import Demo
    from pipeline.cli.doctor import Check
    from pipeline.compare.comparison import Comparison, Own
    from pipeline.draft import Draft
    from pipeline.indicators.base.green_season import Indicator, Shown
    from pipeline.indicators.base.open_matters import OpenMatter
    from pipeline.indicators.tracing import Trace, Traced
    from pipeline.load.result import FileResult
    from pipeline.publish.comparison import Compared
    from pipeline.publish.forms import WrittenForm
    from pipeline.publish.writer import Written
    from pipeline.store.changes import Change
    from pipeline.store.decide import Decided
    from pipeline.store.inventory import Inventory
    from pipeline.store.undo import Undone

LONG_HINT = 300
"""Characters of a hint from which on it is said in full under the first file alone."""


def _table(headers: Sequence[str], rows: Sequence[Sequence[object]], right: frozenset[int] = frozenset()) -> None:
    cells = [[one_line(str(cell)) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in [list(headers), *cells]) for i in range(len(headers))]
    for row in [list(headers), *cells]:
        parts = [cell.rjust(widths[i]) if i in right else cell.ljust(widths[i]) for i, cell in enumerate(row)]
        out("  ".join(parts).rstrip())


def load_results(results: Sequence[FileResult], *, dry_run: bool, quiet: bool) -> None:
    """A line a file, then the faults of each file grouped by kind."""
    counts = ("rows", "loaded", "unchanged", "superseded", "withdrawn", "closed", "rejected", "ignored")
    rows = []
    for one in results:
        span = f"{one.span[0]} to {one.span[1]}" if one.span else ""
        rows.append((one.shown, one.kind or "?", *(getattr(one.counts, name) for name in counts), span))
    _table(("file", "kind", *counts, "dates"), rows, frozenset(range(2, 2 + len(counts))))
    if quiet:
        return
    told: dict[str, str] = {}
    for one in results:
        _faults(one, told)
    err("")
    err(_summary(results, dry_run=dry_run))


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


def draft(made: Draft, *, quiet: bool) -> None:
    """Where a drafted profile was written, what each column became, and what a person must decide."""
    if made.path is None:
        for message, hint in errors(made.faults).select("message", "hint").iter_rows():
            err(f"{made.file}: {message}\n    → {hint}")
        return
    out(str(made.path))
    _table(("column", made.kind, "unit", ""), [(one.header, one.field, one.unit, one.how) for one in made.mapped])
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
        err(one_line(f"Not known: {shown}{more}. Once the rest is decided: swardtally words {made.file}"))
    todo = "decide every “?”" if made.asks else "look it over"
    err(f"\nNext: open {made.path}, {todo}, then: swardtally load {made.file}")


def figure(one: Indicator) -> str:
    """A value with its interval and unit; words where there is none."""
    if one.value is None:
        return "–"
    text = f"{one.value:,.{digits(one)}f}"
    if one.low is not None and one.high is not None:
        text += f" ({one.low:,.{one.decimals}f} to {one.high:,.{one.decimals}f})"
    return f"{text} {one.unit}".rstrip() + (" ?" if one.questioned else "")


def target(one: Indicator) -> str:
    """The target's band in words, "" where there is none."""
    if one.target_low is None and one.target_high is None:
        return ""
    if one.target_low is None:
        return f"{'under' if one.reached else 'at most'} {one.target_high:g}"
    if one.target_high is None:
        return f"at least {one.target_low:g}"
    return f"{one.target_low:g} to {one.target_high:g}"


def _season(season: Shown, *, quiet: bool) -> None:
    if not quiet:
        err(f"{season.club_name}, {season.green_name}: season {season.season}, as of {season.as_of}")


def green(season: Shown, *, quiet: bool) -> None:
    """The indicators of a green's season."""
    _season(season, quiet=quiet)
    rows = [(_banded(one.label, one.band), figure(one), one.n, target(one), said(one)) for one in season.indicators]
    _table(("indicator", "value", "n", "target", "standing"), rows, frozenset({2}))
    if quiet:
        return
    for question in season.questions:
        err(f"check first: {question.place.file}, line {question.place.line}: {question.text}")
    for note in season.data_notes:
        err(f"{note.severity}: {note.text}")


def green_as_json(season: Shown) -> dict[str, Any]:
    """The form of ``show --json``."""
    names = (
        "name", "band", "value", "unit", "low", "high", "n", "target_low", "target_high", "target_source", "standing",
        "judgement", "verdict", "method", "note", "questioned",
    )  # fmt: skip
    figures = []
    for one in season.indicators:
        made = {
            "judgement": judgement(one),
            "verdict": one.verdict.word if one.verdict else None,
            "questioned": [asdict(place) for place in one.questioned],
        }
        figures.append({name: made[name] if name in made else getattr(one, name) for name in names})
    return _season_as_json(season, figures)


def _season_as_json(season: Shown, figures: list[dict[str, Any]]) -> dict[str, Any]:
    return {"green": season.green, "club": season.club, "season": season.season, "indicators": figures}


def traces_as_json(season: Shown, found: Sequence[Trace]) -> dict[str, Any]:
    """The form of ``show --evidence --json``: each indicator as ``show --json`` has it, and what lies behind it."""
    told = []
    for one in found:
        plain = green_as_json(replace(season, indicators=(one.indicator,)))["indicators"][0]
        behind = {name: [asdict(record) for record in getattr(one, name)] for name in ("records", "registers")}
        told.append({**plain, "formulas": list(one.formulas), **behind})
    return _season_as_json(season, told)


def traces(season: Shown, found: Sequence[Trace], *, quiet: bool) -> None:
    """Each indicator with how it was made, then a line for every record behind it."""
    _season(season, quiet=quiet)
    for i, one in enumerate(found):
        if i:
            out()
        _trace(one)


def _trace(one: Trace) -> None:
    told = one.indicator
    out(f"{_banded(told.label, told.band)} ({told.name}): {figure(told)}")
    interval = f"{told.low:g} to {told.high:g}" if told.low is not None and told.high is not None else "none"
    goal = f"{target(told)} {told.unit}".rstrip() + f" ({told.target_source})" if target(told) else "none"
    facts = {
        "method": told.method,
        "formula": ", ".join(one.formulas) or "none of its own: the method says it all",
        "interval": interval,
        "target": goal,
        "standing": told.standing,
        "judgement": judgement(told),
        "verdict": told.verdict.word if told.verdict else "",
        "n": told.n,
        "note": told.note,
        "check first": "; ".join(f"{place.file}, line {place.line}" for place in told.questioned),
    }
    for name, text in facts.items():
        if text != "":
            out(f"  {name}: {text}")
    _records("records behind it", one.records)
    _records("registers they name", one.registers)


def _records(title: str, records: Sequence[Traced]) -> None:
    if not records:
        out(f"  {title}: none")
        return
    rows = [
        (one.kind, one.file, one.line, one.load_id, one.date or "", _cells(one.stored), _cells(one.written))
        for one in records
    ]
    out(f"  {title}: {len(rows):,}")
    _table(("kind", "file", "line", "load", "date", "as stored", "as written"), rows, frozenset({2, 3}))


def _cells(cells: dict[str, Any]) -> str:
    """Cells of a record on one line; its day stands in a column of its own."""
    shown = {name: f"{cell:.10g}" if isinstance(cell, float) else str(cell) for name, cell in cells.items()}
    return "; ".join(f"{name}={' '.join(text.split())}" for name, text in shown.items() if name != "date")


def reports(written: Sequence[Written], *, quiet: bool) -> None:
    """A line a report, then what failed."""
    for one in written:
        if not one.fault:
            out(str(one.path))
    if quiet:
        return
    fresh = [one for one in written if not one.fault and not one.unchanged]
    pages = sum(one.pages for one in fresh)
    err(f"{counted(len(fresh), 'report')} with {counted(pages, 'page')} written.")
    _not_written(written)


def forms(written: Sequence[WrittenForm], *, quiet: bool) -> None:
    """A line a file that stands there now, then why others were not written."""
    for one in written:
        if not (one.fault or one.nothing):
            out(str(one.path))
    if quiet:
        return
    for one in written:
        if one.fault:
            err(f"{one.path}: not written: {one.fault}.")
        elif one.nothing:
            err(f"{one.path}: nothing to write: {one.nothing}.")
        elif one.left:
            err(f"{one.path}: it lacks rows of its CSV: {one.left}.")
    if not written:
        err("No rejected rows stand in the workspace.")


def _not_written(written: Sequence[Written]) -> None:
    """How many would come out the same, and a line for each that failed."""
    if same := sum(one.unchanged for one in written):
        err(
            f"{counted(same, 'report')} would come out the same and {'was' if same == 1 else 'were'} left as "
            f"{'it is' if same == 1 else 'they are'} (--force writes {'it' if same == 1 else 'them'} again)."
        )
    for one in written:
        if one.fault:
            err(f"{one.green or one.club or one.document}: not written: {one.fault}")


def comparison(done: Compared, *, quiet: bool) -> None:
    """A line a group, or for a club a line each of its own greens; then the files."""
    if done.comparison.club:
        own = [
            (
                one.green,
                _banded(one.topic.name, one.topic.band),
                f"{one.value:,.{one.topic.decimals}f} {one.topic.unit}".rstrip() + (" ?" if one.questioned else ""),
                _place(one),
                one.cell.group if one.cell else "no group large enough",
            )
            for one in done.comparison.own
        ]
        if own:
            _table(("green", "indicator", "value", "place from the smallest", "among"), own)
        else:
            out(f"No figure of the club's own greens can be compared: {nothing_shown(done.comparison)}.")
    else:
        cells = [
            (
                _banded(one.topic.name, one.topic.band),
                one.group,
                one.n,
                one.clubs,
                f"{one.median:,.{one.topic.decimals}f} {one.topic.unit}".rstrip() + (" ?" if one.questioned else ""),
                f"{one.quarter:,.{one.topic.decimals}f} to {one.three_quarters:,.{one.topic.decimals}f}",
            )
            for one in done.comparison.cells
        ]
        if cells:
            _table(("indicator", "group", "greens", "clubs", "median", "middle half"), cells, frozenset({2, 3}))
        else:
            out(f"No group of like greens can be shown: {nothing_shown(done.comparison)}.")
    if not quiet:
        for path in done.files:
            err(str(path))
        _not_written([done.written])


def nothing_shown(compared: Comparison) -> str:
    """Why a comparison holds no group."""
    from pipeline.compare.protection import FEWEST_CLUBS, FEWEST_GREENS

    needed = f"a group needs {FEWEST_GREENS} greens of {FEWEST_CLUBS} clubs"
    if withheld := sum(count for _, count in compared.withheld):
        return f"{counted(withheld, 'group')} withheld, too small or easy to work out ({needed})"
    return f"of season {compared.season} no figure of like greens is held that could be compared ({needed})"


def _place(own: Own) -> str:
    if own.cell is None or own.place_low is None:
        return ""
    held = str(own.place_low) if own.place_low == own.place_high else f"{own.place_low} to {own.place_high}"
    return f"{held} of {own.cell.n}"


def _banded(name: str, band: str) -> str:
    return f"{name}, {band}" if band else name


def inventory(held: Inventory, matters: Sequence[OpenMatter], *, quiet: bool) -> None:
    """What the store holds, by kind and green, and what waits for a person, each with the commands that close it."""
    _table(("kind", "records", "first", "last"), held.kinds, frozenset({1}))
    out()
    kinds = [kind for kind, *_ in held.kinds if any(kind in one.latest for one in held.greens)]
    days = [
        (one.club, one.green, one.name, one.last, *(one.latest.get(kind, "") for kind in kinds)) for one in held.greens
    ]
    _table(("club", "green", "name", "latest record", *kinds), days)
    waiting(matters)
    if not quiet:
        err(f"Store: {held.store}")


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
    _table((*names, "taken back"), rows, frozenset({0, *range(4, len(names))}))
    if decisions:
        out()
        shown = ("decision", "decided_at", "decided", "about", "why", "who")
        told = [[*(one[name] for name in shown), one["taken_back_at"] or ""] for one in decisions]
        _table((*shown, "taken back"), told, frozenset({0}))
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
    _table(("kind", "record", "field", "was", "is", "was said by", "changed by", "load", "when"), rows, frozenset({7}))
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
    _table(("", "what", "found"), [("ok" if one.fine else "missing", one.what, one.found) for one in found])
    for one in found:
        if not one.fine and not quiet:
            err(f"{one.what}: {one.hint}")


def demo(made: Demo, *, quiet: bool) -> None:
    """What the demo made and where."""
    load_results(made.loaded, dry_run=False, quiet=True)
    reports([*made.reports, *made.surveys], quiet=quiet)
    for one in made.comparisons:
        for path in one.files[:1]:
            out(str(path))
    if not quiet:
        _not_written([one.written for one in made.comparisons])
        rejected = sum(one.counts.rejected for one in made.loaded)
        err(f"{counted(rejected, 'row')} were rejected on purpose: see {made.folder / 'rejected'}.")
        err(f"Look at a green next: swardtally show ALD-1 --workspace {made.folder}")
