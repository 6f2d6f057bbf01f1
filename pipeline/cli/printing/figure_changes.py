"""Which figures changed, as a person reads it: by green and season, a line a figure with the reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from pipeline.cli.printing.columns import fits, hanging, laid_out, whole, words
from pipeline.cli.printing.figures import figure, target
from pipeline.cli.printing.table import banded
from pipeline.cli.terminal import err, out, screen_width
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted, listed, on_lines
from pipeline.figures.changed import Changed, FigureChange, Run, SeasonChange, Step
from pipeline.figures.span import Cause, Refresh
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.base.judgement import said
from schemas import KINDS

MOST_NAMED = 5
"""Loads, decisions or places named in a message or beside a figure; more are counted."""
MOST_RUNS = 3
"""Runs of lines named of one file; more are counted."""
BOTH = " → "


def figure_changes(found: Changed, *, quiet: bool) -> None:
    """What changed by green and season; messages on standard error say over which span, and what is not seen here."""
    seasons = [(one, [figure for figure in one.figures if _seen(figure)]) for one in found.seasons]
    if not quiet:
        _head(found)
    refreshes = {one.number: one for one in found.refreshes}
    for (_, how), some in groupby(seasons, lambda of: (of[0].green, of[0].how)):
        if how:
            _came_or_went([one for one, _ in some])
            continue
        for one, figures in some:
            if figures:
                _season(one, figures, refreshes)
    if not quiet:
        _foot(found, seasons)


def _head(found: Changed) -> None:
    if not found.refreshes:
        return
    causes = [cause for one in found.refreshes for cause in one.causes]
    due_to = _some([*dict.fromkeys(map(_cause, causes))], "and")
    if found.since:
        err(one_line(f"Since {_named(found.since, causes)}, that one included, figures were brought up for: {due_to}."))
    else:
        err(one_line(f"Figures were last brought up for: {due_to}."))
    for note in found.notes:
        err(one_line(note))
    err()


def _foot(found: Changed, seasons: Sequence[tuple[SeasonChange, Sequence[FigureChange]]]) -> None:
    """What is not listed, and whether the figures in the store are those of the records."""
    shown = sum(len(figures) for _, figures in seasons)
    small = sum(len(one.figures) for one, _ in seasons) - shown
    if small:
        differ = "differs" if small == 1 else "differ"
        err(f"{counted(small, 'figure')} more {differ} by less than is printed; --json lists all.")
    if not found.refreshes and not found.stale:
        err("Nothing is kept yet of what changed: that begins with the next load, undo or decision.")
    elif not seasons:
        err("No figure changed.")
    if found.stale:
        err(
            f"The figures in the store are not brought up: {found.stale}. What that changes is listed once the next "
            "load, undo or decision brings them up."
        )


def _named(since: str, causes: Sequence[Cause]) -> str:
    if not since.isdecimal():
        return f"the day {since}"
    sort = next((one.what for one in causes if one.number == int(since) and one.what in ("load", "decision")), "number")
    return f"{sort} {int(since)}"


def _came_or_went(some: Sequence[SeasonChange]) -> None:
    """A line for the seasons of one green that got their first figures, or have none any more."""
    first, last, number = some[0], some[-1], sum(one.number for one in some)
    names = first.season if len(some) == 1 else f"{first.season} to {last.season} ({len(some)})"
    of = f"{first.green}, season{'s' if len(some) > 1 else ''} {names}"
    has, it = ("has", "it") if len(some) == 1 else ("have", "they")
    if first.how == "came":
        _told(f"{of}: {has} figures now ({number:,}), as of {last.as_of}; {it} had none")
    else:
        _told(f"{of}: {has} no figures any more; {it} had {number:,}, as of {last.was_as_of}")


def _season(one: SeasonChange, figures: Sequence[FigureChange], refreshes: Mapping[int, Refresh]) -> None:
    """A heading, and a line a figure; where the screen is too narrow for that, the reason on lines below it."""
    moved = one.was_as_of != one.as_of
    _told(f"{one.green}, season {one.season}, as of {f'{one.was_as_of}{BOTH}' if moved else ''}{one.as_of}")
    told = [_row(figure, refreshes) for figure in figures]
    width = screen_width()
    if fits(rows := [[whole(cell) for cell in row] for row in told], width):
        for (line,) in laid_out(rows, 0, at=0):
            out(line)
        return
    beside = [[words(name), *map(words, others)] for name, *others, _ in told]
    for lines, (*_, because) in zip(laid_out(beside, width, at=0), told, strict=True):
        for line in [*lines, *hanging(because, width, 4)]:
            out(line)


def _told(text: str) -> None:
    """A sentence on as many lines as the screen needs."""
    for line in hanging(one_line(text), screen_width()):
        out(line)


def _row(one: FigureChange, refreshes: Mapping[int, Refresh]) -> tuple[str, str, str, str, str]:
    """Name and value; what is said of it and target, each where it differs; and the reason."""
    told = one.either
    name = banded(told.label, told.band)
    was, now = _read(one.was), _read(one.now)
    value = _both(was[0], now[0])
    if one.was and one.now and one.was.unit == one.now.unit and None not in (one.was.value, one.now.value):
        bare = _both(*(" ".join(figure(replace(side, unit=""))) for side in (one.was, one.now)))
        value = f"{bare} {told.unit}".rstrip()
    steps = [*one.steps[:-1], _of_a_figure_gone(one.steps[-1], refreshes)] if one.now is None else one.steps
    because = "; ".join(dict.fromkeys(_because(step, refreshes[step.refresh]) for step in steps))
    if one.was is None or one.now is None:
        return name, value, "" if said(told) == "no target" else said(told), "", because
    word, aim = (_both(before or "none", after or "none") for before, after in zip(was[1:], now[1:], strict=True))
    return name, value, word if BOTH in word else "", f"target {aim}" if BOTH in aim else "", because


def _both(was: str, now: str) -> str:
    return now if was == now else f"{was}{BOTH}{now}"


def _read(one: Indicator | None) -> tuple[str, str, str]:
    """What a reader sees of a figure: value, what is said of it, target."""
    if one is None:
        return "no figure", "", ""
    return "not known" if one.value is None else " ".join(figure(one)), said(one), target(one)


def _seen(one: FigureChange) -> bool:
    """Whether a reader sees that it changed."""
    return _read(one.was) != _read(one.now)


def _of_a_figure_gone(step: Step, refreshes: Mapping[int, Refresh]) -> Step:
    """The step without lines that stand as before: a figure that is no more rests on none of its lines any more."""
    causes = refreshes[step.refresh].causes
    own = tuple(run for run in step.runs if any(_explained(cause, [run]) for cause in causes))
    return replace(step, runs=own or step.runs)


def _because(step: Step, refresh: Refresh) -> str:
    """What a change is due to: the lines it differs by, and all it can be due to where no line says it."""
    by_lines = [one for one in refresh.causes if _explained(one, step.runs)]
    lines = _lines(step.runs, by_lines or refresh.causes)
    also = [one for one in refresh.causes if one not in by_lines]
    if not by_lines:
        every = _some([_cause(one) for one in also], "or")
        return f"{every}: {lines}" if lines else every
    also = [one for one in also if _of_no_line(one)]
    perhaps = f", perhaps {_some([_cause(one) for one in also], 'or')} too" if also else ""
    return f"{_some([_cause(replace(one, file='')) for one in by_lines], 'and')}: {lines}{perhaps}"


def _explained(cause: Cause, runs: Iterable[Run]) -> bool:
    """Whether lines say that a load, or one taken back, has part in a change."""
    ways = {"load": ("came", "questioned"), "undo": ("went", "answered")}.get(cause.what, ())
    return any(run.load_id == cause.number and run.way in ways for run in runs)


def _of_no_line(cause: Cause) -> bool:
    """Whether something changes figures without a line of theirs: a register, a decision, settings, the program."""
    return cause.what not in ("load", "undo") or KINDS[cause.kind].register


_SAID = {"came": "", "went": "no longer ", "questioned": "to be checked: ", "answered": "no longer to be checked: "}


def _lines(runs: Sequence[Run], causes: Sequence[Cause]) -> str:
    """The lines by which a figure differs, file by file: a few, and how many more.

    Their load is named but where it is the one of ``causes``, which stand before them.
    """
    parts = []
    came = {(run.file, run.load_id, at) for run in runs if run.way == "came" for at in range(run.first, run.last + 1)}
    for (way, file, load_id), some in groupby(_in_order(runs), lambda run: (run.way, run.file, run.load_id)):
        lines = [at for run in some for at in range(run.first, run.last + 1)]
        if way == "questioned":
            lines = [at for at in lines if (file, load_id, at) not in came]
        if lines:
            of_load = "" if [one.number for one in causes] == [load_id] else f" (load {load_id})"
            parts.append(f"{_SAID[way]}{on_lines(lines, MOST_RUNS)} of {file}{of_load}")
    left = f"; and {counted(len(parts) - MOST_NAMED, 'more place')}" if len(parts) > MOST_NAMED else ""
    return "; ".join(parts[:MOST_NAMED]) + left


def _in_order(runs: Sequence[Run]) -> Iterator[Run]:
    for way in _SAID:
        yield from (run for run in runs if run.way == way)


def _cause(one: Cause) -> str:
    """What something was due to, in words."""
    named = f"{_short(one)} ({one.file})" if one.file else _short(one)
    return f"{named} taken back" if one.what in ("undo", "decision taken back") else named


def _short(one: Cause) -> str:
    if one.number is None:
        return {"settings": "settings that were edited", "version": "another version of the program"}.get(
            one.what, "figures made anew as a whole, so that what was there before is not known"
        )
    return f"{'load' if one.what in ('load', 'undo') else 'decision'} {one.number}"


def _some(texts: Sequence[str], word: str) -> str:
    """A few of them as a list in a sentence, and how many more; what came and went again left none."""
    if not texts:
        return "a load or decision that was taken back again"
    more = [f"{len(texts) - MOST_NAMED:,} more"] if len(texts) > MOST_NAMED else []
    told = [*texts[:MOST_NAMED], *more]
    return listed(told) if word == "and" else f" {word} ".join(told)
