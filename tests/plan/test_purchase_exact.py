"""Two hundred fixed orders, by integer programme and by a table that goes through all there is."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

import pytest

from pipeline.plan.purchase import ways
from tests.plan.orders import by_table, cost_and_left, made, small_order
from tests.thorough import one_in


@pytest.mark.parametrize("first", one_in(4, range(0, 200, 25)))
@pytest.mark.parametrize("steps", [0, ways.MOST_STEPS])
def test_cost_and_what_is_left_over_are_those_of_the_table(
    monkeypatch: pytest.MonkeyPatch, first: int, steps: int
) -> None:
    """Equal to the last digit, by whole packs (no table of ways) and by ways."""
    monkeypatch.setattr(ways, "MOST_STEPS", steps)
    for number in range(first, first + 25):
        needs, offers = small_order(number)
        found = made(needs, offers)
        assert found.over_least == 0 and found.settled
        assert cost_and_left(found) == by_table(needs, offers), f"order {number}"


def test_the_orders_have_what_makes_an_order_hard() -> None:
    """Two hundred orders of one pack each would prove little."""
    seen: Counter[str] = Counter()
    for number in range(200):
        found = made(*small_order(number))
        deliveries = [delivery for supplier in found.suppliers for delivery in supplier.deliveries]
        lines = [line for delivery in deliveries for line in delivery.lines]
        seen["break"] += any(line.from_packs > 1 for line in lines)
        seen["carriage"] += any(delivery.carriage for delivery in deliveries)
        seen["two suppliers"] += len(found.suppliers) > 1
        seen["packs for a break"] += any("more whole packs" in one.text for one in found.questions)
        seen["left over"] += cost_and_left(found)[1] > Decimal(0)
    assert seen["packs for a break"] >= 4, seen
    assert min(seen[one] for one in ("break", "carriage", "two suppliers", "left over")) >= 25, seen
