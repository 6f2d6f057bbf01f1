"""Hours and cost as a person reads them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from pipeline.cli.narrow import narrowed
from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out
from pipeline.common.money import rounded
from pipeline.common.words import long_date
from schemas.codes import code_list

if TYPE_CHECKING:
    from pipeline.plan.account import Account, SeasonCost
    from pipeline.plan.cost import Per, Sum
    from pipeline.publish.costs import Costs

NONE = "-"
ALL = "all of them"
_HEADERS = ("season", "works", "hours", "of which", "cost", "of which", "cost per m²")


def costs(done: Costs, *, quiet: bool) -> None:
    """One green whole; of several a line each, and all of them whole."""
    if len(done.greens) > 1:
        _each(done)
        out("")
    _account(done.whole, done.currency)
    if done.unpriced and not quiet:
        err(done.unpriced)


def _each(done: Costs) -> None:
    so_far = " so far" if any(one.this.so_far for one in done.greens) else ""
    out(f"Season {done.season.name}{so_far}, cost in {done.currency}")
    rows = [
        (one.about, f"{one.this.cost.of:,}", *_sums(one.this.hours, one.this.cost), _each_one(one.this.per_m2),
         number(one.budget.value), _difference(one))
        for one in done.greens
    ]  # fmt: skip
    headers = ("green", "works", "hours", "of which", "cost", "of which", "cost per m²", "budget", "less budget")
    table(*narrowed(headers, rows, {1, 2, 4, 6, 7, 8}, {"cost per m²"}))


def _difference(one: Account) -> str:
    found = one.against.get(f"{one.this.season} less its budget")
    if found is None:
        return NONE
    return "not compared" if found.difference is None else number(found.difference)


def _account(one: Account, currency: str) -> None:
    out(f"{one.about}{f', {one.name}' if one.name != one.about else ''}: hours and cost in {currency}")
    rows = [row for season in (one.this, one.last) for row in _logged(season)]
    rows += [_row(f"{season.season} planned", season.hours, season.cost, season.per_m2)
             for season in (one.plan, one.next_plan) if season.items]  # fmt: skip
    table(*narrowed(_HEADERS, rows, {1, 2, 4, 6}, {"cost per m²"}))
    for season in (one.plan, one.next_plan):
        if not season.items:
            out(f"{season.season}: nothing is planned.")
        for text in season.after_closing:
            out(f"{season.season} planned, without {text}.")
        for lacking in season.without:
            out(f"{season.season} planned, cost not known of {lacking}.")
    _budget(one)
    for words, found in one.against.items():
        difference = f"{number(found.difference)}{f' ({found.why})' if found.why else ''}"
        out(f"{words[:1].upper()}{words[1:]}: {found.why if found.difference is None else difference}.")
    for season in (one.this, one.last):
        if season.short:
            out(f"{season.season}: {season.short}.")
        _per(season, currency)
        if season.check:
            out(f"{season.season}: {season.check}")
    _operations(one.this)


def _logged(season: SeasonCost) -> list[tuple[str, ...]]:
    """A season's sums as the log has them, and with rates where these add something."""
    so_far = f" to {long_date(season.until)}" if season.so_far and season.until else ""
    rows = [_row(f"{season.season}{so_far}", season.hours, season.cost_logged, None if season.cost.by_rate
                 else season.per_m2)]  # fmt: skip
    if season.cost.by_rate:
        rows.append(_row(f"{season.season} with rates", season.hours, season.cost, season.per_m2))
    return rows


def _row(name: str, hours: Sum, cost: Sum, each: Per | None) -> tuple[str, ...]:
    return (name, f"{cost.of:,}", *_sums(hours, cost), NONE if each is None else _each_one(each))


def _sums(hours: Sum, cost: Sum) -> tuple[str, str, str, str]:
    """Hours and cost, each with of how many works it is; what is known of only some of a log is at least so much."""
    return (number(hours.value, 1), hours.of_how_many or ALL, number(cost.value), cost.of_how_many or ALL)


def _each_one(one: Per) -> str:
    return f"{'' if one.whole.complete or one.value is None else 'at least '}{number(one.value)}"


def _budget(one: Account) -> None:
    if one.budget.value is not None:
        out(f"Budget of {one.this.season}: {number(one.budget.value)} ({one.budget.source}).")
    elif one.budget.why:
        out(f"Budget of {one.this.season}: not known: {one.budget.why}.")
    else:
        out(f"Budget of {one.this.season}: none is set (a target of cost or cost_m2 sets one).")


def _per(season: SeasonCost, currency: str) -> None:
    for name, found in (("kg of nitrogen", season.per_kg_nitrogen), ("mm of dressing", season.per_mm_dressing)):
        if found.value is not None:
            why = f" ({found.why})" if found.why else ""
            out(f"{season.season}: {number(found.value)} {currency} a {name}{why}.")


def _operations(season: SeasonCost) -> None:
    if not season.operations:
        return
    out("")
    labels = {name: code.label for name, code in code_list("operation").items()}
    rows = [(labels[one.operation], f"{one.works:,}", *_sums(one.hours, one.cost)) for one in season.operations]
    table((f"operations of {season.season}", *_HEADERS[1:-1]), rows, frozenset({1, 2, 4}))


def number(value: Decimal | None, decimals: int = 2) -> str:
    """A sum with its decimals, thousands parted; a dash where it is not known."""
    return NONE if value is None else f"{rounded(value, decimals):,}"
