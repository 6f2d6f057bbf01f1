"""What matters over all greens in plain words: which figure gives which sentence, and nothing beyond the figures.

The rules, in the order their sentences are printed:

1. How many greens are behind an even spread, and the one farthest behind with its total; or that none is.
2. On how many greens something is overdue.
3. The least quantities due, added up over all greens by what and unit.
4. On which greens a change over the years is clear, and on how many chance alone would show one.
5. How many greens had no visit on record for ``DAYS_UNSEEN`` days, counted back from the last day of records; three
   are named at most.
6. On how many greens records are missing or waiting to be mended.
7. Which laboratory's results moved together on many greens in one year.
8. Jobs, hours and cost as logged; "at least" where some jobs give none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.common.words import listed
from pipeline.summaries.changes import changes
from pipeline.summaries.club_season import Behind, GreenLine, RoundUp
from reports.page import changes as over_years
from reports.page import text
from reports.page.effort import effort_words
from reports.page.figures import asked

DAYS_UNSEEN = 21
"""A last visit longer ago than this is told in "What matters": common practice, no source."""


def short(line: GreenLine) -> str:
    """The green's code, or its name where the code cannot be read."""
    return text.clean(line.green, 24) or text.clean(line.green_name, 24) or "(no name)"


def lags_of(greens: Sequence[GreenLine]) -> list[tuple[GreenLine, Behind]]:
    """Every total that lags, with its green, the farthest first."""
    every = [(line, lag) for line in greens for lag in line.behind]
    return sorted(every, key=lambda pair: (-pair[1].share, pair[0].club, pair[0].green))


def matters(whole: RoundUp) -> Iterator[str]:
    """Greens behind, things due and passed, greens not seen for long, gaps, hours and cost: one sentence each."""
    behind = [line for line in whole.greens if line.behind]
    lags = lags_of(whole.greens)
    if lags:
        line, lag = lags[0]
        yield (
            f"{text.count(len(behind), 'green is', 'greens are')} behind an even spread; the farthest is "
            f"{place(line)}: {text.inside(text.clean(lag.what, 60))} {done_text(lag)} of "
            f"{total_text(lag.planned, lag.unit)} by its last day counted."
        )
    elif any(line.effort.jobs for line in whole.greens):
        yield "No green is more than a tenth of its goal behind an even spread."
    passed = [due for due in whole.due if due.overdue]
    if passed:
        green_count = len({green for due in passed for green in due.greens})
        yield f"Overdue on {text.count(green_count, 'green')}."
    yield from _quantities(whole)
    names = {line.green: short(line) for line in whole.greens}
    yield from over_years.sentences(changes({line.green: line.changes for line in whole.greens}), names.__getitem__)
    unseen = [
        n
        for n in whole.greens
        if n.last_visit is None or (whole.as_of - (n.last_visit_to or n.last_visit)).days > DAYS_UNSEEN
    ]
    if unseen:
        listing = listed([short(line) for line in unseen[:3]]) if len(unseen) <= 3 else ""
        where = f" ({listing})" if listing else ""
        yield f"{text.count(len(unseen), 'green')}{where} had no visit on record for {DAYS_UNSEEN} days or more."
    lacking = [line for line in whole.greens if line.gaps]
    if lacking:
        yield f"Records are missing or waiting to be mended on {text.count(len(lacking), 'green')}."
    steps = dict.fromkeys(said for line in whole.greens for said in line.laboratory)
    yield from (text.sentence(text.clean(said, 400)) for said in steps)
    yield from _effort_sentence(whole)


def _quantities(whole: RoundUp) -> Iterator[str]:
    """Totals of what is due of each unit, as far as a least quantity is known."""
    sums: dict[tuple[str, str, str], float] = {}
    for due in whole.due:
        if due.low is not None:
            key = (text.clean(due.what, 60).partition(",")[0], due.unit, " as delivered" if due.basis else "")
            sums[key] = sums.get(key, 0.0) + due.low
    parts = [
        f"{text.inside(text.clean(what, 60))} {text.quantity(low, text.clean(unit, 12), 0 if low >= 10 else 1)}{sort}"
        for (what, unit, sort), low in sums.items()
    ]
    if parts:
        yield f"Due at the least, on all greens together: {listed(parts)}."


def _effort_sentence(whole: RoundUp) -> Iterator[str]:
    if parts := effort_words(whole.total, whole.currency):
        yield f"{text.count(whole.total.jobs, 'job')} logged, {listed(parts)}."


def place(line: GreenLine) -> str:
    """The green's name and its club's."""
    return f"{text.clean(line.green_name, 40) or short(line)} of {text.clean(line.club_name, 50) or line.club}"


def total_text(value: float, unit: str) -> str:
    """A total with its unit, three digits at most unless more are needed to say it."""
    return text.with_unit(text.limit_number(value, text.places_of_three(value)), text.clean(unit, 12))


def done_text(lag: Behind) -> str:
    """What is on; where nothing of the kind is logged, those words: a job may be missing from the log."""
    shown = total_text(lag.done, lag.unit) if lag.done else "none logged"
    return asked(shown, questioned=lag.questioned)
