"""The frozen view-model of a handout: everything formatted, nothing left to work out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pipeline.common.grouped import grouped
from pipeline.common.words import listed, on_lines
from pipeline.first_page.handout import Handout
from pipeline.first_page.standing import NUMBERS, check_first
from pipeline.indicators.base.first_page import Check, FirstPage, Spent
from pipeline.indicators.base.green_season import GreenSeason
from reports.condition.first.actions import closed_line, looks_line, unanswered_line
from reports.condition.first.checks import Paragraph, beside, entry
from reports.condition.first.found import FoundLine, count_line, found_line
from reports.condition.first.page import none_found
from reports.condition.first.spent import SpentCell, below, cells, hours_of, logged_from, money_of, nothing_logged
from reports.handout.level import LEVELS, HandoutLevel
from reports.handout.todo import GreenRows, decided, green_rows, told
from reports.page import remarks, text
from reports.page.actions import NO_SUM, NOT_PRICED, sum_of, total_of
from reports.page.effort import MOST_PLACES, SumDigits, adding_up
from reports.page.house_style import Units

IN_REPORT = "see the condition report"


@dataclass(frozen=True)
class GreenPart:
    """What was found on one green.

    Attributes:
        green: its name.
        verdict: two short sentences at most.
        counts: how its checks stand.
        found: what was found; ``found_none`` where nothing was.
        found_none: that nothing was found.
        spent: what was spent on it, in a sentence; "" where the sums of all say it.
        also: what is to be looked at, rows that were rejected, and what the law wants on record.
    """

    green: str
    verdict: str
    counts: str
    found: tuple[FoundLine, ...]
    found_none: str
    spent: str
    also: str


@dataclass(frozen=True)
class HandoutReport:
    """A handout as printed; every field is final text.

    Attributes:
        about: how many greens, and the days of the season.
        checks_heading: that entries are to be checked first; "" where none stands under a warning.
        checks: these entries, each with its place.
        sums: what was spent on all greens, what is to be done, and how much of it the committee decides.
        unlogged: of which greens nothing is logged; "" where there are none.
        greens: what was found, green by green.
        todo: what to do, green by green.
        todo_label: of how many works the sum is.
        todo_total: what all of it costs.
        one: whether the club has one green.
        lines: a blank line to write on, each.
    """

    title: str
    club: str
    long_name: bool
    about: str
    season: str
    counted: str
    running_head: str
    created: str
    version: str
    density: str
    checks_heading: str
    checks: tuple[Paragraph, ...]
    sums: tuple[SpentCell, ...]
    unlogged: str
    greens: tuple[GreenPart, ...]
    todo: tuple[GreenRows, ...]
    todo_label: str
    todo_total: str
    one: bool
    lines: tuple[str, ...]
    disclaimer: str = remarks.CERTIFIES_NOTHING


def view(of: Handout, level: HandoutLevel = LEVELS[0], *, version: str, units: Units = "metric") -> HandoutReport:
    """The handout of a club.

    Args:
        of: the frozen data, its greens in units of display already.
        level: how closely it is set.
        version: version of the calculation; printed by no shipped template.
        units: units of display, for quantities that are worded here.
    """
    one = len(of.greens) == 1
    names = names_of(of)
    digits = digits_of(of)
    every = [action for _, page in of.pages for action in told(page)]
    label, total = total_of(every, of.any.currency)
    entries = sum(len(page.checks) for _, page in of.pages)
    return HandoutReport(
        **_head(of, version),
        density=f"handout {level.name}",
        checks_heading=check_first(entries).rstrip(".") if entries else "",
        checks=tuple(_checks(of, level)),
        sums=tuple(_sums(of, digits, one=one)),
        unlogged=_unlogged(of),
        greens=tuple(
            _green(
                names[season.green],
                season,
                page,
                level,
                units,
                "" if one else _spent(page.spent, season.currency, units, digits, hours=level.hours),
            )
            for season, page in of.pages
        ),
        todo=tuple(green_rows(names[season.green], page, level, season.currency, units) for season, page in of.pages),
        todo_label=label,
        todo_total=total,
        one=one,
        lines=("",) * level.lines,
    )


def _head(of: Handout, version: str) -> dict[str, Any]:
    club, season = text.name(of.any.club_name), text.name(of.any.season)
    period = f"{text.day(of.any.season_start)} to {text.day(of.any.season_end)}"
    names = names_of(of)
    ends = [(text.clean(one.green, 24) or names[one.green], one.as_of) for one in of.greens]
    counts_to = remarks.records_up_to(of.as_of, [end for end in ends if end[1] < of.as_of])
    green = f"{names[of.any.green]}, " if len(of.greens) == 1 else f"{text.count(len(of.greens), 'green')}, "
    return {
        "title": f"Handout: {club}, season {season}",
        "club": club,
        "long_name": len(club) > remarks.LONG_NAME,
        "about": f"{green}{period}",
        "season": season,
        "counted": remarks.looked(counts_to, of.any.look),
        "running_head": text.clean(club, 60),
        **remarks.stamp(of.as_of, version),
    }


def names_of(of: Handout) -> dict[str, str]:
    """What each green is called, by its code; greens that would be called alike have their codes behind."""
    names = {one.green: text.name(one.green_name) for one in of.greens}
    count = Counter(names.values())
    return {code: name if count[name] == 1 else f"{name} ({text.clean(code, 24)})" for code, name in names.items()}


def _green(name: str, season: GreenSeason, page: FirstPage, level: HandoutLevel, units: Units, spent: str) -> GreenPart:
    also = [unanswered_line(page, level.found), closed_line(page), looks_line(page)] if level.looks else []
    also += [one.words for one in beside(page, 0, "")]
    return GreenPart(
        green=name,
        verdict=" ".join(page.verdict),
        counts=count_line(page.counts, sum(one.value is not None for one in season.indicators), _waits_for(page)),
        found=tuple(
            found_line(i, one, units, mapped=False) for i, one in enumerate(page.found[: level.found], start=1)
        ),
        found_none=none_found(page),
        spent=spent,
        also=" ".join(part for part in also if part),
    )


def _waits_for(page: FirstPage) -> str:
    return "the entry above" if len(page.checks) < 2 else "the entries above"


def digits_of(of: Handout) -> SumDigits:
    """Digits of money and hours with which the greens' sums, as printed, add up to that of all."""
    spent = [page.spent for _, page in of.pages if page.spent]
    return SumDigits(
        hours=adding_up([one.hours.value for one in spent], (1, MOST_PLACES)),
        cost=adding_up([one.cost.value for one in spent]),
    )


def _spent(of: Spent | None, currency: str, units: Units, digits: SumDigits, *, hours: bool) -> str:
    """What was spent on a green: money, hours and last season's, and the budget where there is one; or money alone."""
    if of is None:
        return ""
    found = cells(of, currency, units, digits)
    if not found:
        return nothing_logged(of)
    if not hours:
        whole = of.cost.known == of.cost.jobs
        return in_words(replace(found[0], below="") if whole else found[0])
    shown = [*found[:2], *(found[3:] if of.budget is not None else [])]
    return " ".join(in_words(one) for one in shown)


def in_words(one: SpentCell) -> str:
    """A sum as a sentence: what it is, the sum with the word behind it, and what stands below."""
    value = f"{one.value} {one.unit}".strip()
    below = f"; {text.inside(one.below)}" if "(" in one.below else f" ({text.inside(one.below)})" if one.below else ""
    return f"{one.label}: {value}{below}."


def _sums(of: Handout, digits: SumDigits, *, one: bool) -> Iterator[SpentCell]:
    """Money, hours, what is to be done and what the committee decides of it."""
    currency, pages = of.any.currency, [page for _, page in of.pages]
    if of.cost.jobs:
        where = "the green" if one else _all(len(of.greens) - len(of.unlogged), len(of.greens))
        so_far = " so far" if any(page.spent and page.spent.so_far for page in pages) else ""
        hours, unit = hours_of(of.hours, digits.hours)
        last, begins = (money_of(of.last_cost, currency), hours_of(of.last_hours)[0]), _begins(pages)
        yield SpentCell(
            f"Spent on {where}{so_far}",
            money_of(of.cost, currency, digits.cost),
            "",
            below(of.cost, of.last_cost, last[0], begins),
        )
        yield SpentCell(f"Hours worked{so_far}", hours, unit, below(of.hours, of.last_hours, last[1], begins))
    every = [action for page in pages for action in told(page)]
    label, total = sum_of(every, currency)
    priced = total != NO_SUM
    yield SpentCell(_to_do(pages), (total or "nothing") if priced else NOT_PRICED, "", label if priced else "")
    asked = decided(every)
    label, total = sum_of(asked, currency)
    said = label if total in ("", NO_SUM) else f"{total}, {text.inside(label)}"
    yield SpentCell("The committee decides", text.count(len(asked), "question") if asked else "nothing", "", said)


def _begins(pages: Sequence[FirstPage]) -> str:
    """That logs begin late in the season: the day of one green's, on how many greens of several; "" where none does."""
    days = [page.spent.log_begins for page in pages if page.spent and page.spent.log_begins]
    if not days:
        return ""
    return logged_from(days[0]) if len(pages) == 1 else f"part of the season on {text.count(len(days), 'green')}"


def _to_do(pages: Sequence[FirstPage]) -> str:
    """What is to be done, with the season where it is one for all greens."""
    seasons = {page.season_due for page in pages}
    season = seasons.pop() if len(seasons) == 1 else ""
    return f"To do, season {text.clean(season, 20)}" if season else "To do"


def _all(number: int, of: int) -> str:
    """What so many of the greens are called together."""
    if number < of:
        return f"{number} of {of} greens"
    return "both greens" if of == 2 else f"all {NUMBERS[of] if of < len(NUMBERS) else of} greens"


def _unlogged(of: Handout) -> str:
    """Of which greens nothing is logged; "" where there are none."""
    names = [name for code, name in names_of(of).items() if code in of.unlogged]
    if names and of.cost.jobs:
        return f"No job of this season is logged of {listed(names)}: what is spent there is not known."
    return next((nothing_logged(page.spent) for _, page in of.pages if page.spent), "")


def _checks(of: Handout, level: HandoutLevel) -> Iterator[Paragraph]:
    """The entries under a warning: the first of each green in full, of the others where they stand."""
    names = names_of(of) if len(of.greens) > 1 else {}
    for season, page in of.pages:
        name = names.get(season.green, "")
        for one in page.checks[: level.checks]:
            yield from entry(one, name)
        if left := page.checks[level.checks :]:
            also = "also to be checked" if level.checks else "to be checked"
            yield Paragraph(name, f"{also if name else text.sentence(also)[:-1]}: {places(left)} ({IN_REPORT}).")


def places(checks: Sequence[Check]) -> str:
    """Files and lines of entries: "jobs.csv, lines 12, 40–43"."""
    by_file = grouped((one.question.place for one in checks), lambda one: one.file)
    return "; ".join(f"{text.name(file, 60)}, {on_lines(one.line for one in lines)}" for file, lines in by_file.items())
