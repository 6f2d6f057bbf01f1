"""Hours and cost of greens from the store: seasons as logged, plans, budgets, as rows for a spreadsheet too."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from pipeline.common.collecting import collected_once
from pipeline.common.grouped import grouped
from pipeline.common.money import rounded
from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import write_whole
from pipeline.common.words import counted
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.look import ORDINARY
from pipeline.indicators.base.part import Part
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.reading import read_records
from pipeline.plan.account import Account, SeasonCost, together
from pipeline.plan.cost import Sum
from pipeline.plan.due_records import jobs_since
from pipeline.plan.pricing import pricing
from pipeline.plan.read import done_works, planned_works
from pipeline.publish.on_record import season_asked
from pipeline.publish.programme import greens_of, in_play
from pipeline.season.account import green_account, logged_seasons
from pipeline.store.last_day import last_days
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace

COLUMNS = (
    "about", "season", "what", "operation", "works", "hours", "hours_logged_for", "hours_by_rate_for", "cost",
    "cost_logged_for", "cost_by_rate_for", "currency", "note",
)  # fmt: skip
"""Columns of the table: ``what`` is "logged" for what the log says alone, "with rates", or "planned"."""


@dataclass(frozen=True)
class Costs:
    """Accounts of greens, and of all of them together.

    Attributes:
        season: the season asked for.
        currency: of all sums.
        greens: the account of each green.
        whole: of all of them; that of the green where there is one.
        unpriced: that the store has no rate by which to work out what is not logged; "" where it has.
    """

    season: Season
    currency: str
    greens: tuple[Account, ...]
    whole: Account
    unpriced: str

    def as_json(self) -> dict[str, Any]:
        """The form of ``costs --json``."""
        with collected_once():
            return {
                "season": self.season.name,
                "currency": self.currency,
                "unpriced": self.unpriced,
                "greens": [account_as_json(one) for one in self.greens],
                "whole": account_as_json(self.whole),
            }


def costs(workspace: Workspace, whose: str = "", season: str = "") -> Costs:
    """What a green, the greens of a club, or all greens in play take in hours and money.

    Args:
        workspace: the workspace.
        whose: green or club; "" for every green in play.
        season: season; "" for the one in hand.

    Raises:
        WrongUsage: the green or club is not known.
        CannotDo: the store cannot be read, or has no dated record of a green.
    """
    with collected_once():
        return _costs(workspace, whose, season)


def _costs(workspace: Workspace, whose: str, season: str) -> Costs:
    with Store(workspace.store, read_only=True) as store:
        span = season_asked(store, workspace, season, ORDINARY)
        register = store.register(workspace.settings.season_start)
        if whose:
            codes, _ = greens_of(register, whose, span.start)
        else:
            codes = sorted(in_play(register, span.start)["green"])
        if not codes:
            raise CannotDo("No green is in play.", "Load the registers of clubs and greens first.")
        lasts = last_days(store)
        records = replace(read_records(store, codes, part=_part(codes, span)), last_days=lasts)
        following = season_on(span, 1)
        jobs = grouped(done_works(store, codes, (season_on(span, -1).start, span.end)), lambda one: one.green)
        plans = grouped(planned_works(store, codes, (span.start, following.end)), lambda one: one.green)
        by = pricing(store, records, workspace.settings)
    priced = by.by.remembering
    own, before = (
        [green_records(records, green, one, workspace) for green in codes] for one in (span, season_on(span, -1))
    )
    logs = zip(own, logged_seasons(own, jobs, priced), logged_seasons(before, jobs, priced), strict=True)
    accounts = tuple(
        green_account(one, (this, last), plans.get(one.green["green"], []), priced) for one, this, last in logs
    )
    whole = accounts[0] if len(accounts) == 1 else together(_about(whose, codes), _about(whose, codes), accounts)
    return Costs(span, workspace.settings.currency, accounts, whole, by.lacking)


def _about(whose: str, codes: Sequence[str]) -> str:
    return whose or counted(len(codes), "green")


def _part(greens: Sequence[str], span: Season) -> Part:
    """What of the records an account is made from: jobs of its two seasons, and the first day of the log."""
    values = {"greens": list(greens), "since": [season_on(span, -1).start] * len(greens)}
    return Part({name: jobs_since(name) for name in ("job", "application")}, values, date.max)


def written(done: Costs, path: Path) -> Path:
    """The accounts as a CSV, one line a sum.

    Raises:
        CannotDo: it cannot be written.
    """
    from reports.page.attachments import csv_bytes

    try:
        write_whole({path: csv_bytes(COLUMNS, _rows(done))})
    except OSError as error:
        raise CannotDo(f"{path} could not be written: {error.strerror or error}.", "Name another file.") from error
    return path


def _rows(done: Costs) -> Iterator[tuple[Any, ...]]:
    accounts = [*done.greens, *([done.whole] if len(done.greens) > 1 else [])]
    for one in accounts:
        for season in (one.this, one.last):
            yield _row(one, season, "logged", "", (season.hours, season.cost_logged), done)
            yield _row(one, season, "with rates", "", (season.hours, season.cost), done)
            for each in season.operations:
                yield _row(one, season, "with rates", each.operation, (each.hours, each.cost), done)
        for season in (one.plan, one.next_plan):
            if season.items:
                yield _row(one, season, "planned", "", (season.hours, season.cost), done)
                for each in season.operations:
                    yield _row(one, season, "planned", each.operation, (each.hours, each.cost), done)


def _row(
    one: Account, season: SeasonCost, what: str, operation: str, sums: tuple[Sum, Sum], done: Costs
) -> tuple[Any, ...]:
    hours, cost = sums
    told = (_cell(hours.value), hours.logged, hours.by_rate, _cell(cost.value), cost.logged, cost.by_rate)
    said = [f"hours {hours.said}" if hours.said else "", cost.said]
    if what == "planned" and not operation:
        said += [f"cost not known of {why}" for why in season.without]
        said += [f"without {text}" for text in season.after_closing]
    note = "; ".join(dict.fromkeys(filter(None, said)))
    return (one.about, season.season, what, operation or None, cost.of, *told, done.currency, note or None)


def _cell(value: Decimal | None) -> Decimal | None:
    return None if value is None else rounded(value)


def account_as_json(one: Account) -> dict[str, Any]:
    """An account as ``costs --json`` has it; sums say of how many works they are."""
    seasons = {"this": one.this, "last": one.last, "plan": one.plan, "next_plan": one.next_plan}
    return {
        "about": one.about,
        "name": one.name,
        "greens": list(one.greens),
        **{name: season_as_json(season) for name, season in seasons.items()},
        "budget": {"value": _cell(one.budget.value), "source": one.budget.source, "why": one.budget.why},
        "compared": {
            name: {"difference": _cell(each.difference), "why": each.why} for name, each in one.against.items()
        },
    }


def season_as_json(one: SeasonCost) -> dict[str, Any]:
    """A season of an account."""
    sums = {"hours": one.hours, "cost": one.cost, "cost_logged": one.cost_logged}
    each = {"per_m2": one.per_m2, "per_kg_nitrogen": one.per_kg_nitrogen, "per_mm_dressing": one.per_mm_dressing}
    return {
        "season": one.season,
        "until": None if one.until is None else one.until.isoformat(),
        "so_far": one.so_far,
        **{name: sum_as_json(found) for name, found in sums.items()},
        **{
            name: {
                "value": None if found.value is None else rounded(found.value, 4),
                "quantity": found.quantity,
                "why": found.why,
            }
            for name, found in each.items()
        },
        "without": list(one.without),
        "after_closing": list(one.after_closing),
        "operations": [
            {
                "operation": of.operation,
                "works": of.works,
                "hours": sum_as_json(of.hours),
                "cost": sum_as_json(of.cost),
            }
            for of in one.operations
        ],
        "check": one.check,
    }


def sum_as_json(one: Sum) -> Mapping[str, Any]:
    """A sum with of how many works it is."""
    return {
        "value": _cell(one.value),
        "logged": one.logged,
        "by_rate": one.by_rate,
        "of": one.of,
        "complete": one.complete,
        "said": one.said,
    }
