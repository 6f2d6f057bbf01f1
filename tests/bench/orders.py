"""An order for six thousand greens at five hundred drops: thirty materials, ten suppliers, breaks and carriage."""

from __future__ import annotations

import sys
import time
from decimal import Decimal

import numpy as np

from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Material, Need, Offer, Order

GREENS = 6_000
DROPS = 500
MATERIALS = 30
SUPPLIERS = 10
SELL = 4
"""Suppliers that have a material."""
SIZES = (10, 15, 20, 25, 1000)


def season(greens: int, drops: int, *, breaks: bool) -> tuple[list[Need], list[Offer], list[Material]]:
    """Needs, offers and materials: each green needs a third of the materials, each in two sizes from some suppliers."""
    draw = np.random.default_rng(16)
    names = [f"material {number:02d}" for number in range(MATERIALS)]
    needs = [
        Need(names[one], Decimal(int(draw.integers(5, 400))), "kg", f"drop {green % drops:03d}", f"green {green:04d}")
        for green in range(greens)
        for one in draw.choice(MATERIALS, MATERIALS // 3, replace=False)
    ]
    offers = []
    for name in names:
        price = Decimal(int(draw.integers(20, 300))) / 100
        for supplier in draw.choice(SUPPLIERS, SELL, replace=False):
            for size in draw.choice(SIZES, 2, replace=False):
                off = Decimal(int(draw.integers(85, 116))) / 100 * (Decimal("0.7") if size == 1000 else 1)
                pack = (price * int(size) * off).quantize(Decimal("0.01"))
                carriage = Decimal(0) if supplier == 0 else Decimal(20 + 5 * int(supplier))
                at = [(1, Decimal(1)), (20, Decimal("0.95")), (100, Decimal("0.9"))]
                for packs, share in at if breaks else at[:1]:
                    cost = (pack * share).quantize(Decimal("0.01"))
                    offers.append(Offer(name, f"supplier {supplier}", Decimal(int(size)), "kg", cost, packs, carriage))
    return needs, offers, [Material(name, "fertiliser") for name in names]


def ordered(greens: int, drops: int, *, breaks: bool) -> tuple[float, Order]:
    """Seconds for an order, and the order."""
    needs, offers, materials = season(greens, drops, breaks=breaks)
    start = time.perf_counter()
    made = order(needs, (), offers, materials, vat_pct=Decimal(20))
    return time.perf_counter() - start, made


def measure(greens: int = GREENS) -> None:
    """Print seconds, how they grow, and how far an order may be from the least."""
    say = sys.stdout.write
    drops = max(1, DROPS * greens // GREENS)
    ordered(20, 2, breaks=True)  # imports
    for breaks in (False, True):
        few, _ = ordered(greens // 10, max(1, drops // 10), breaks=breaks)
        many, made = ordered(greens, drops, breaks=breaks)
        say(f"order for {greens:,} greens at {drops} drops, {'price breaks' if breaks else 'no breaks'}: {many:.1f} s ")
        say(f"(target: 60), at most {100 * made.over_least / made.net:.3f} % above the least, ")
        say(f"ten times the greens take {many / few:.1f} times as long\n")
    alone, made = ordered(60, 1, breaks=True)
    say(f"order for 60 greens at one drop, price breaks: {alone:.1f} s (target: 60), {made.proof}\n")
