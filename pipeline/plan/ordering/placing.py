"""From the store to an order: what planned works and targets still ask for, stock, prices, and where things go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

import polars as pl

from pipeline.common.amounts import AmountText, in_list
from pipeline.common.closest import as_known
from pipeline.common.file_names import MOST_PLAIN, file_stem
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.reading import read_records
from pipeline.plan.due import season_due
from pipeline.plan.from_targets import Feed
from pipeline.plan.market import depots_in_stock, last_counted, order_references, prices, prices_on, stock_on
from pipeline.plan.ordering import goods
from pipeline.plan.ordering.beside import lines_beside, unlogged
from pipeline.plan.ordering.goods import Registered
from pipeline.plan.ordering.open_works import NAMED, Wanted, of_lines
from pipeline.plan.ordering.placed import PackOf, PlacedOrder, ToGreen
from pipeline.plan.ordering.places import Places, places
from pipeline.plan.ordering.rejected import rejected_of_order
from pipeline.plan.ordering.targets import Planless, of_targets, planless
from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Order, Question, in_currency, said, weighed
from pipeline.plan.read import without_green
from pipeline.store.last_day import last_day
from pipeline.store.register import Register
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace

NO_PRICES = "No price is recorded: load a list of materials with supplier, pack, price and carriage."
MOST_OVERSPREAD = Decimal(50)
"""An allowance above this, %, is a slip of the hand: half as much again is beyond any spreader's loss."""


@dataclass(frozen=True)
class Request:
    """What is to be ordered.

    Attributes:
        season: name of the season; "" for the one that can still be added to on the day.
        until: order for works whose window begins by this day, instead of for a season; None for a season.
        clubs: codes of clubs; empty for all.
        as_of: the day whose log, stock and prices count; None for the last on record.
        to: depot, or "clubs", for what comes in packs; "" lets the depots known decide.
        loads_to: the same of dressing, gravel and turf.
        targets: whether what targets ask for is ordered where no programme plans it.
        feed: the feed that nitrogen of a target is ordered as; "" leaves it open, and stopped.
        overspread_pct: what is ordered beyond what is planned, %.
    """

    season: str = ""
    until: date | None = None
    clubs: Sequence[str] = ()
    as_of: date | None = None
    to: str = ""
    loads_to: str = ""
    targets: bool = False
    feed: str = ""
    overspread_pct: Decimal = Decimal(0)


@dataclass
class _Placing:
    """An order while it is put together."""

    store: Store
    workspace: Workspace
    asked: Request
    register: Register
    clubs: Sequence[str]
    day: date
    seasons: Sequence[Season]
    registered: Mapping[str, Registered]
    where: Places
    questions: list[Question] = field(default_factory=list)
    decided: list[str] = field(default_factory=list)

    @property
    def greens(self) -> pl.DataFrame:
        """The register of the greens asked for."""
        own = self.register.greens
        return own.filter(pl.col("club").is_in(self.clubs)) if self.clubs else own

    def drop_of(self, green: str, material: str) -> str:
        """Where a material goes for a green."""
        held = self.registered.get(material)
        return self.where.of(green, held.material.sort if held else "")


def place_order(workspace: Workspace, asked: Request) -> PlacedOrder:
    """The order that a workspace's records ask for.

    Raises:
        WrongUsage: a club, depot or feed is not known, days contradict each other, or several depots could be meant.
        CannotDo: the store cannot be read, or there is nothing to begin from.
    """
    if not 0 <= asked.overspread_pct <= MOST_OVERSPREAD:
        raise WrongUsage(
            f"{said(asked.overspread_pct)} % is no allowance for overspread.", f"Say 0 to {MOST_OVERSPREAD} %."
        )
    with Store(workspace.store, read_only=True) as store:
        of = _begun(store, workspace, asked)
        wanted = _works(of)
        made = _ordered(of, wanted)
        name, folder = _name(of)
    greens = _greens(of, made)
    packs = tuple(PackOf(name, one.pack, one.unit) for name, one in of.registered.items() if one.pack is not None)
    settings = workspace.settings
    used = {share.material for share in made.shares}
    drops = sorted({one.drop for one in made.balances})
    return PlacedOrder(
        name=name,
        folder=folder,
        day=of.day,
        season=of.seasons[-1].name,
        of=_said(of),
        currency=settings.currency,
        vat_pct=_vat(workspace),
        depots=tuple((drop, of.where.codes.get(drop, drop)) for drop in drops),
        greens=greens,
        packs=tuple(one for one in packs if one.material in used),
        decided=tuple(_decided(of, wanted, made)),
        order=made,
    )


def _begun(store: Store, workspace: Workspace, asked: Request) -> _Placing:
    register = store.register(workspace.settings.season_start)
    if not register.greens.height:
        raise CannotDo("There is no green to order for.", "Load the registers of clubs and greens first.")
    clubs = as_known("club", asked.clubs, register.names("club"))
    day = asked.as_of or _latest(store)
    depots = depots_in_stock(store)
    club_of = {green: club or "" for green, club in register.greens.select("green", "club").iter_rows()}
    names = {code: name or "" for code, name in register.clubs.select("club", "name").iter_rows()}
    where = places(asked.to, asked.loads_to, workspace.settings.depots, depots, names, club_of)
    registered = goods.materials_on(store, day, asked.overspread_pct)
    return _Placing(store, workspace, asked, register, clubs, day, _seasons(workspace, asked, day), registered, where)


def _latest(store: Store) -> date:
    """The last day that jobs, soil tests and the like, or a count of stock, speak of."""
    days = [one for one in (last_day(store), last_counted(store)) if one is not None]
    if not days:
        raise CannotDo(
            "Nothing is logged and no stock is counted, so that no day can be told.", "Name the day with --as-of."
        )
    return max(days)


def _seasons(workspace: Workspace, asked: Request, day: date) -> list[Season]:
    if asked.season and asked.until:
        raise WrongUsage("--season and --until are two ways to say the same.", "Keep one of the two.")
    if asked.season:
        return [workspace.season(asked.season)]
    found = [season_due(workspace.season_of(day), day)]
    if asked.until is None:
        return found
    if asked.until < day:
        raise WrongUsage(
            f"{long_date(asked.until)} lies before the day of the order, {long_date(day)}.",
            "Name a later day, or the day of the order with --as-of.",
        )
    while found[-1].end < asked.until:
        found.append(season_on(found[-1], 1))
    return found


def _works(of: _Placing) -> Wanted:
    """What is asked for, by programmes and, where wanted, by targets."""
    codes = set(of.greens["green"])
    # a window that begins by a day may end in the season after it
    ends = season_on(of.seasons[-1], 1) if of.asked.until else of.seasons[-1]
    lines = lines_beside(of.store, sorted(codes) if of.clubs else None, of.day, (of.seasons[0], ends))
    planned = [line.planned for line in lines if line.planned.last <= of.seasons[-1].end]
    until = of.asked.until or of.seasons[-1].end
    gone = of.greens.filter(pl.col("closed_on") <= of.day)
    given_up = dict(gone.select("green", "closed_on").iter_rows())
    found = of_lines((line for line in lines if line.planned.first <= until), of.drop_of, given_up)
    bare = planless(sorted(codes - set(given_up)), planned, of.registered)
    last = last_day(of.store)
    if last is not None and last < of.day:
        of.decided.append(f"The log ends on {long_date(last)}: what was done since is counted as still open.")
    if not planned:
        of.questions.append(Question(f"No work is planned in {_of_seasons(of.seasons)} on these greens."))
    if planned and len(bare.dressing) + len(bare.feeding) < 2 * len(codes - set(given_up)):
        of.decided.append(
            "What targets ask for beyond a programme that has dressing or a feed is not ordered: the due list has it."
        )
    of.questions += _clubs_without_green(of)
    asked = [line for line in lines if line.planned.first <= until and line.planned.green not in given_up]
    of.questions += unlogged(of.store, asked, of.day, of.workspace.season_of)
    if of.asked.targets:
        return found.and_also(_by_targets(of, bare))
    of.questions += _without_targets(of, bare)
    return found


NO_GREEN = "no green in force when"


def _clubs_without_green(of: _Placing) -> Iterator[Question]:
    if places_ := without_green(of.store):
        one = len(places_) == 1
        lines = (
            f"1 planned line is of a club that has {NO_GREEN} its window opens"
            if one
            else (f"{counted(len(places_), 'planned line')} are of clubs that have {NO_GREEN} their windows open")
        )
        yield Question(f"{lines}: nothing is ordered for {'it' if one else 'them'}.", places_)


def _without_targets(of: _Placing, bare: Planless) -> Iterator[Question]:
    """That greens have no dressing or feed in their programmes, whose targets may ask for some."""
    for greens, what in ((bare.dressing, "dressing"), (bare.feeding, "feed with nitrogen")):
        if greens:
            yield Question(
                f"No {what} is planned in {_of_seasons(of.seasons)} on {counted(len(greens), 'green')} ({_some(greens)}"
                f"): what {'its' if len(greens) == 1 else 'their'} targets may ask for is not in this order."
            )


def _some(greens: Sequence[str]) -> str:
    more = len(greens) - NAMED
    return listed([*greens[:NAMED], *([f"{more:,} more"] if more > 0 else [])])


def _by_targets(of: _Placing, bare: Planless) -> Wanted:
    """What the targets of a season ask for, of greens whose programmes do not plan it.

    Raises:
        WrongUsage: it is asked to a day and not for a season, of a season that is over, or of a day before the last
            that is logged.
    """
    season = of.seasons[-1]
    if of.asked.until is not None:
        raise WrongUsage("A target is of a whole season.", "Ask for --targets with --season, or without --until.")
    last = last_day(of.store)
    if season.end <= of.day:
        raise WrongUsage(f"Season {season.name} is over: its targets ask for nothing any more.", "Name a later season.")
    if last is not None and last > of.day:
        raise WrongUsage(
            f"What is open of a target counts all that is logged, and jobs are logged up to {long_date(last)}.",
            "Leave out --as-of, or --targets.",
        )
    solids = {name: one.n_pct if one.solid else None for name, one in of.registered.items()}
    feed = Feed.named(of.asked.feed, solids) if of.asked.feed else None
    records = read_records(of.store, list(bare.greens)) if bare.greens else None
    own = (green_records(records, green, season, of.workspace) for green in bare.greens) if records else ()
    made = of_targets(own, bare, of.day, feed, of.drop_of)
    greens = {one.green for one in made.needs}
    of.decided.append(
        f"For {counted(len(greens), 'green')} whose programme has no dressing or feed, what the season’s targets still "
        "ask for is counted in."
    )
    return made


def _ordered(of: _Placing, wanted: Wanted) -> Order:
    """The order, with what stops and questions were met before it was worked out."""
    every = prices(of.store)
    offers = goods.offers_of(prices_on(every, of.day))
    found = stock_on(of.store, of.day)
    stock = goods.counted_stock(found, of.where)
    needs = goods.with_known_stock(wanted.needs, stock.unknown)
    names = {one.material for one in needs}
    made = order(
        needs, stock.stock, offers, [one.material for one in of.registered.values()], vat_pct=_vat(of.workspace)
    )
    bought = {one.material for one in made.stopped if "no offer" in one.reason}
    from_stock = {(one.material, one.drop) for one in made.balances if one.from_stock}
    on_its_way = {(one.material, one.drop) for one in made.balances if one.from_on_order}
    asked = (
        *([] if every else [Question(NO_PRICES)]),
        *rejected_of_order(of.store, of.greens["green"].to_list(), of.seasons),
        *([Question(made.proof)] if made.over_least else []),
        *wanted.questions,
        *of.questions,
        *stock.questions,
        *goods.perhaps_gone(of.store, found, (from_stock, on_its_way), of.where, of.day),
        *goods.later_prices(every, names, of.day),
        *goods.later_stock(of.store, of.day),
        *goods.priced_by_the_register(of.registered, bought, offers),
        *_shared_stock(of, made),
    )
    stopped = sorted([*wanted.stopped, *made.stopped], key=lambda one: (one.material, one.drop, one.reason))
    currency = of.workspace.settings.currency
    return replace(
        made,
        stopped=tuple(replace(one, reason=in_currency(one.reason, currency)) for one in stopped),
        questions=tuple(replace(one, text=in_currency(one.text, currency)) for one in (*asked, *made.questions)),
    )


def _shared_stock(of: _Placing, made: Order) -> Iterator[Question]:
    """That an order of some clubs takes stock of a depot that others may be counting on."""
    if not of.clubs:
        return
    taken = [
        AmountText(weighed(one.from_stock + one.from_on_order, one.unit), f" of {one.material} at {one.drop}")
        for one in made.balances
        if one.drop not in of.where.codes and one.from_stock + one.from_on_order
    ]
    if taken:
        yield Question(
            AmountText(
                f"This order is of {listed(list(of.clubs))} alone and takes ",
                in_list(taken),
                ". The needs of other clubs are not set against it: an order for them would take the same again.",
            )
        )


def _vat(workspace: Workspace) -> Decimal | None:
    """The rate of VAT where sums are to be told with it."""
    settings = workspace.settings
    return settings.vat_pct if settings.prices_with_vat and isinstance(settings.vat_pct, Decimal) else None


def _greens(of: _Placing, made: Order) -> tuple[ToGreen, ...]:
    named = {one.green for one in made.shares} | {green for one in made.stopped for green in one.greens}
    rows = of.register.greens.select("green", "name", "club").iter_rows()
    return tuple(
        ToGreen(green, name or green, club or "", of.where.club_of.get(green) or club or "")
        for green, name, club in sorted(rows, key=lambda row: (row[2] or "", row[0]))
        if green in named
    )


def _of_seasons(seasons: Sequence[Season]) -> str:
    return f"season{'s' if len(seasons) > 1 else ''} {listed([one.name for one in seasons])}"


def _said(of: _Placing) -> str:
    """What was asked for, in words."""
    works = f"works of {_of_seasons(of.seasons)} that are still open on {long_date(of.day)}"
    begun = f", of windows that begin by {long_date(of.asked.until)}" if of.asked.until else ""
    whose = f", {'clubs' if len(of.clubs) > 1 else 'club'} {listed(list(of.clubs))}" if of.clubs else ", all clubs"
    return f"{works[0].upper()}{works[1:]}{begun}{whose}"


def _decided(of: _Placing, wanted: Wanted, made: Order) -> Iterator[str]:
    yield of.where.said
    yield f"Log, stock and prices are those of {long_date(of.day)}. Planned amounts are taken as delivered, not dry."
    yield from of.decided
    extra = of.asked.overspread_pct
    yield (
        f"{said(extra)} % is added for what misses the green and stays in the spreader."
        if extra
        else "Nothing is added for what misses the green and stays in the spreader."
    )
    if wanted.over:
        works = counted(wanted.over, "work")
        them = "it" if wanted.over == 1 else "them"
        yield f"{works} not done in a season that was over by {long_date(of.day)}: nothing is ordered for {them}."
    if made.suppliers:
        yield in_currency(made.proof, of.workspace.settings.currency)
    if not made.settled:
        yield "Another order of the same cost may leave less over: time ran out before that was settled."
    vat = of.workspace.settings.vat_pct
    if _vat(of.workspace) is None:
        yield (
            "Sums are without VAT."
            if not isinstance(vat, Decimal) or not vat
            else f"Sums are without VAT ({said(vat)} %)."
        )


def _name(of: _Placing) -> tuple[str, str]:
    """What the order and its folder are called: the first name of its kind that no order in the stock bears."""
    asked, day = of.asked, of.day.isoformat()
    span = f"until {asked.until.isoformat()}" if asked.until else of.seasons[-1].name
    whose = f" {'+'.join(of.clubs)}" if of.clubs else ""
    base = f"order of {day} for {span}{whose}"
    until = (span.replace(" ", "-"),) if asked.until else ()
    whose_files = "+".join(map(file_stem, of.clubs))
    if len(whose_files) > MOST_PLAIN:  # a file system takes 255 bytes, whatever the number of clubs
        whose_files = file_stem(whose_files)
    folder = "-".join(("order", day, *until, *([whose_files] if of.clubs else ())))
    held = order_references(of.store)
    for number in range(1, len(held) + 2):
        name = base if number == 1 else f"{base}, no {number}"
        if not any(one.endswith(f", {name}") for one in held):
            break
    return name, folder if number == 1 else f"{folder}-{number}"
