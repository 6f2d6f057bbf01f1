"""Which packs to buy: least cost, then least left over, then fewest packs, then by name; proved, or with its bound.

Two things alone tie one place (a material at a drop) to another: a supplier's carriage, charged once for all that it
brings to a drop, and a price break, which counts the packs of all drops. Cost, mass and number of packs are otherwise
sums over places. So parts that no carriage and no break ties to one another are bought apart, exactly: whatever the
whole order, its cost is the sum of its parts' costs, each of which is at least the least of that part, and those
together are an order. The same holds of each sum that decides between orders of one cost.

Breaks tie nearly everything in a large order. So they are first let go: every pack at its lowest price, whatever the
number. No order costs less than that. Where the packs so found reach the breaks they were priced by, they cost just
that and are the least; and any other order of that cost was among those looked through for the least left over. Only
parts where a break is missed are solved again as a whole.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from time import monotonic

from pipeline.plan.purchase.market import (
    Bought,
    Market,
    Packs,
    Part,
    Place,
    at_once,
    cheapest,
    cost_of,
    tied,
    total_packs,
)
from pipeline.plan.purchase.offers import Break, Ware
from pipeline.plan.purchase.packing import least_of
from pipeline.plan.purchase.ways import Rank, Way, ways, ways_at_breaks

TRIES = 4
"""Times that breaks which were missed are priced anew, to have an order in hand before the whole is solved."""
MOST_PACKS = 5_000
"""Kinds of packs at places up to which a part is solved as a whole: of more, no solver proves anything in a minute."""
UNEVEN = 10
"""How much more than its even share of the time one part may take while others wait."""


def bought(amounts: Mapping[Place, int], market: Market, seconds: float) -> Bought:
    """The packs to buy for amounts at drops.

    Args:
        amounts: g or ml to buy, above 0, by drop and material; there is a ware of each material.
        market: what is to be had.
        seconds: time for it; where that runs out the best found is returned, with a bound.
    """
    useful = {material: _worth_while(material, some, amounts) for material, some in market.wares.items()}
    market = Market(useful, market.carriage, monotonic() + seconds)
    first = _apart(_parts(amounts, market, breaks=True), market.loose())
    missed = sum(not market.as_priced(found.packs) for _, found in first)
    packs: dict[tuple[Place, Rank], int] = {}
    at_least, settled = 0, True
    for part, found in first:
        done = found
        if not market.as_priced(found.packs):
            done = _as_a_whole(part, found, market, missed)
            missed -= 1
        packs |= done.packs
        at_least += done.at_least
        settled = settled and done.settled
    return Bought(dict(sorted(packs.items())), at_least, settled)


def _worth_while(material: str, wares: Sequence[Ware], amounts: Mapping[Place, int]) -> tuple[Ware, ...]:
    """The wares without breaks so high that reaching them costs more than all packs that can be of use without."""
    own = [amount for (_, one), amount in amounts.items() if one == material]
    return tuple(replace(ware, breaks=_reached(ware, sum(-(-one // ware.size) for one in own))) for ware in wares)


def _reached(ware: Ware, useful: int) -> tuple[Break, ...]:
    """The breaks of a ware of which so many packs can be of use.

    The highest break is dropped, and so on down, where its least number costs as much as any useful number at a lower
    one: an order that has it keeps its needs with useful packs alone, at no more cost and with less left over.
    """
    within = [one for one in ware.breaks if one.packs <= useful]
    if not within or within[0].packs > 1:
        return ware.breaks
    above = [one.packs - 1 for one in ware.breaks[1:]] + [useful]
    most = max(
        min(useful, last) * one.price for one, last in zip(ware.breaks, above, strict=True) if one.packs <= useful
    )
    breaks = list(ware.breaks)
    while breaks[-1].packs > useful and breaks[-1].packs * breaks[-1].price >= most:
        breaks.pop()
    return tuple(breaks)


def _parts(amounts: Mapping[Place, int], market: Market, *, breaks: bool) -> list[Part]:
    """Amounts in the smallest parts that nothing ties together: carriage above nothing, and breaks where they count."""
    of: dict[Place, Place] = {place: place for place in amounts}

    def first(place: Place) -> Place:
        while of[place] != place:
            of[place] = of[of[place]]
            place = of[place]
        return place

    seen: dict[tuple[object, ...], Place] = {}
    for place in sorted(amounts):
        drop, material = place
        for ware in market.wares[material]:
            ties: list[tuple[object, ...]] = (
                [("carriage", drop, ware.supplier)] if market.carriage[ware.supplier] else []
            )
            ties += [("break", ware.rank)] if breaks and tied(ware) else []
            for tie in ties:
                of[first(place)] = first(seen.setdefault(tie, place))
    parts: dict[Place, Part] = defaultdict(dict)
    for place in sorted(amounts):
        parts[first(place)][place] = amounts[place]
    return list(parts.values())


def _apart(parts: Sequence[Part], market: Market) -> list[tuple[Part, Bought]]:
    """What to buy for each part in a market without breaks; what is the same at several drops is solved once."""
    pieces = [(part, piece) for part in parts for piece in _parts(part, market, breaks=False)]
    found_ways = _ways(parts, market)
    known: dict[tuple[tuple[str, int], ...], Bought] = {}
    done: dict[int, list[Bought]] = defaultdict(list)
    for number, (part, piece) in enumerate(pieces):
        alike = tuple((material, amount) for (_, material), amount in piece.items())
        if alike not in known:
            seconds = market.seconds((len(pieces) - number) / UNEVEN)
            known[alike] = least_of(piece, market, seconds, found_ways) or _plain(piece, market)
        drop = next(iter(piece))[0]
        found = known[alike]
        there = {((drop, material), rank): count for ((_, material), rank), count in found.packs.items()}
        done[id(part)].append(replace(found, packs=there))
    return [(part, _together(done[id(part)])) for part in parts]


def _ways(parts: Iterable[Part], market: Market) -> dict[Place, tuple[Way, ...]]:
    """The ways to cover each place in a market without breaks, where a table of them is not too long."""
    by_material: dict[str, dict[Place, int]] = defaultdict(dict)
    for part in parts:
        for place, amount in part.items():
            by_material[place[1]][place] = amount
    found: dict[Place, tuple[Way, ...]] = {}
    for material, amounts in by_material.items():
        of = ways(amounts.values(), market.wares[material], market.carriage)
        if of is not None:
            found |= {place: of[amount] for place, amount in amounts.items()}
    return found


def _ways_at_breaks(part: Part, market: Market) -> dict[Place, tuple[Way, ...]]:
    """The ways to cover each place of a part whose material is bought there alone, so that breaks count no more."""
    times = Counter(material for _, material in part)
    found: dict[Place, tuple[Way, ...]] = {}
    for place, amount in part.items():
        if times[place[1]] == 1 and (some := ways_at_breaks(amount, market.wares[place[1]], market.carriage)):
            found[place] = some
    return found


def _together(some: Sequence[Bought]) -> Bought:
    packs: dict[tuple[Place, Rank], int] = {}
    for one in some:
        packs |= one.packs
    return Bought(packs, sum(one.at_least for one in some), all(one.settled for one in some))


def _as_a_whole(part: Part, loose: Bought, market: Market, parts: int) -> Bought:
    """What to buy for a part that misses a break: the best of a few orders priced anew and of the whole programme.

    Args:
        part: its places.
        loose: its order with breaks let go: what it costs at least.
        market: with breaks.
        parts: how many such parts are still to do, this one among them.
    """
    seconds = market.seconds(parts)
    until = monotonic() + seconds
    small = sum(len(market.wares[material]) for _, material in part) <= MOST_PACKS
    tried = _priced_anew(part, loose.packs, replace(market, until=until - seconds / 2 if small else until))
    left = max(0.0, until - monotonic())
    whole = least_of(part, market, left, _ways_at_breaks(part, market)) if small else None
    if whole and whole.settled:
        return whole
    at_least = max(loose.at_least, whole.at_least if whole else 0)
    best = min([tried, *([whole.packs] if whole else [])], key=lambda packs: (cost_of(packs, market), _mass(packs)))
    return Bought(best, min(at_least, cost_of(best, market)), settled=False)


def _priced_anew(part: Part, packs: Packs, market: Market) -> Packs:
    """The best of a few orders, each at the prices that the one before it reached where those are above its own.

    Prices only rise from one to the next, so what has no pack that became dearer stays the least as it is.
    """
    pieces = _parts(part, market, breaks=False)
    priced = {one.rank: cheapest(one) for _, material in part for one in market.wares[material]}
    best = _filled_up(packs, market)
    for _ in range(TRIES):
        dearer = _dearer(packs, priced, market)
        if not dearer:
            break
        priced |= dearer
        anew = {place for (place, rank) in packs if rank in dearer}
        touched = [piece for piece in pieces if anew & set(piece)]
        now = {material: tuple(priced[one.rank] for one in market.wares[material]) for _, material in part}
        again = _together([found for _, found in _apart(touched, replace(market, wares=now))]).packs
        places = {place for piece in touched for place in piece}
        packs = {key: number for key, number in packs.items() if key[0] not in places} | dict(again)
        best = min(best, _filled_up(packs, market), key=lambda one: (cost_of(one, market), _mass(one)))
    return best


def _dearer(packs: Packs, priced: Mapping[Rank, Ware], market: Market) -> dict[Rank, Ware]:
    """Wares that cost more by the number bought than they were priced at; below the least number, filled up to it."""
    found = {}
    for rank, number in total_packs(packs).items():
        ware = market.ware(rank)
        first = ware.breaks[0]
        reached = ware.in_force(number) or replace(first, price=-(-first.packs * first.price // number))
        if reached.price > priced[rank].breaks[0].price:
            found[rank] = at_once(ware, reached)
    return found


def _filled_up(packs: Packs, market: Market) -> Packs:
    """Packs with as many more, at the first drop that has any, as the least number that can be ordered asks for."""
    full = dict(packs)
    for rank, number in total_packs(packs).items():
        short = market.ware(rank).breaks[0].packs - number
        if short > 0:
            full[next(key for key in full if key[1] == rank)] += short
    return full


def _mass(packs: Packs) -> int:
    return sum(number * rank[2] for (_, rank), number in packs.items())


def _plain(part: Part, market: Market) -> Bought:
    """One ware for each place, the cheapest with its carriage, where no time is left for better."""
    packs = {}
    at_least = 0
    for (drop, material), amount in part.items():
        some = market.wares[material]
        number = {one.rank: -(-amount // one.size) for one in some}
        best = min(
            some, key=lambda one: (number[one.rank] * one.breaks[0].price + market.carriage[one.supplier], one.rank)
        )
        packs[(drop, material), best.rank] = number[best.rank]
        at_least += min(-(-amount * one.breaks[0].price // one.size) for one in some)
    return Bought(packs, at_least, settled=False)
