"""The solver's road itself: integer programmes whose optimum is known, through the helper that orders go through."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from pipeline.plan.purchase import least
from pipeline.plan.purchase.least import NotExactError, NothingFitsError, Programme
from tests.outside_checks import outside


def patterns(widths: list[int], raw: int) -> list[tuple[int, ...]]:
    """Every way to cut a roll that leaves less than the narrowest width, widths from the widest down."""
    if len(widths) == 1:
        return [(raw // widths[0],)]
    found = []
    for number in range(raw // widths[0], -1, -1):
        found += [(number, *rest) for rest in patterns(widths[1:], raw - number * widths[0])]
    return found


def rolls(raw: int, demand: dict[int, int]) -> int:
    """Fewest rolls that give all widths demanded."""
    widths = sorted(demand, reverse=True)
    programme = Programme()
    cuts = patterns(widths, raw)
    numbers = [programme.variable(sum(demand.values())) for _ in cuts]
    for at, width in enumerate(widths):
        programme.row({one: cut[at] for one, cut in zip(numbers, cuts, strict=True) if cut[at]}, low=demand[width])
    found = programme.least([dict.fromkeys(numbers, 1)])
    assert found is not None and found.proved
    assert found.at_least == sum(found.values)
    return found.at_least


@outside("worked example", "Gilmore & Gomory 1961/63 as the model library of gams.com has it (cutstock)")
def test_cutting_stock_of_four_widths() -> None:
    assert rolls(100, {45: 97, 36: 610, 31: 395, 14: 211}) == 453


@outside("worked example", "Wikipedia, Cutting stock problem: 5600 mm rolls, thirteen widths, waste 0.401 %")
def test_cutting_stock_of_thirteen_widths() -> None:
    widths = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
    demand = dict(zip(widths, (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20), strict=True))
    assert (number := rolls(5600, demand)) == 73
    used = sum(width * count for width, count in demand.items())
    assert 100 * (1 - used / (number * 5600)) == pytest.approx(0.401, abs=5e-4)


def test_bin_packing() -> None:
    """Eleven items in bins of 100 (from a solver's manual, from memory; gone through by hand: 370 need four)."""
    items = [48, 30, 19, 36, 36, 27, 42, 42, 36, 24, 30]
    programme = Programme()
    used = [programme.variable(1) for _ in range(6)]
    into = {(item, bin_): programme.variable(1) for item in range(len(items)) for bin_ in used}
    for item in range(len(items)):
        programme.row({into[item, bin_]: 1 for bin_ in used}, low=1, high=1)
    for bin_ in used:
        programme.row({**{into[item, bin_]: size for item, size in enumerate(items)}, bin_: -100}, high=0)
    found = programme.least([dict.fromkeys(used, 1)])
    assert found is not None and found.proved and found.at_least == 4


@pytest.mark.parametrize(
    ("capacity", "weights", "values", "best"),
    [
        (165, (23, 31, 29, 44, 53, 38, 63, 85, 89, 82), (92, 57, 49, 68, 60, 43, 67, 84, 87, 72), 309),
        (
            750,
            (70, 73, 77, 80, 82, 87, 90, 94, 98, 106, 110, 113, 115, 118, 120),
            (135, 139, 149, 150, 156, 163, 173, 184, 192, 201, 210, 214, 221, 229, 240),
            1458,
        ),
    ],
)
def test_knapsacks(capacity: int, weights: tuple[int, ...], values: tuple[int, ...], best: int) -> None:
    """Two of a set of test problems, from memory, and by a table of capacities here."""
    table = [0] * (capacity + 1)
    for weight, worth in zip(weights, values, strict=True):
        for room in range(capacity, weight - 1, -1):
            table[room] = max(table[room], table[room - weight] + worth)
    programme = Programme()
    items = [programme.variable(1) for _ in weights]
    programme.row(dict(zip(items, weights, strict=True)), high=capacity)
    found = programme.least([{item: -worth for item, worth in zip(items, values, strict=True)}])
    assert found is not None and found.proved
    assert -found.at_least == table[-1] == best


def test_sums_are_made_least_in_their_order() -> None:
    """Least cost first, then what is left over; large sums one after the other, small ones as one."""
    for scale in (1, 10**6):
        programme = Programme()
        one, two, three = (programme.variable(40) for _ in range(3))
        programme.row({one: 25, two: 20, three: 10}, low=90)
        found = programme.least([{one: 5 * scale, two: 4 * scale, three: 2 * scale}, {one: 25, two: 20, three: 10},
                                 {one: 1, two: 1, three: 1}])  # fmt: skip
        assert found is not None and found.proved
        assert found.values == (2, 2, 0)
        assert found.at_least == 18 * scale


def test_no_time_is_no_answer_and_nothing_that_fits_is_said() -> None:
    programme = Programme()
    one = programme.variable(3)
    programme.row({one: 2}, low=7)
    assert programme.least([{one: 1}], seconds=0) is None
    with pytest.raises(NothingFitsError):
        programme.least([{one: 1}])


@pytest.mark.parametrize("answer", [2.0, 5.0])
def test_an_answer_that_is_wrong_in_whole_numbers_is_not_taken(monkeypatch: pytest.MonkeyPatch, answer: float) -> None:
    """A solver works within a tolerance: three packs of 2.9999999 are not three."""
    done = SimpleNamespace(status=least.OPTIMAL, x=[answer], mip_dual_bound=answer, message="")
    monkeypatch.setattr("scipy.optimize.milp", lambda *_, **__: done)
    programme = Programme()
    one = programme.variable(4)
    programme.row({one: 2}, low=5)
    with pytest.raises(NotExactError):
        programme.least([{one: 1}])


def test_time_that_runs_out_leaves_the_best_found_and_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is not proved must not be called the least."""
    done = SimpleNamespace(status=least.TIME_OUT, x=[4.0], mip_dual_bound=2.2, message="")
    monkeypatch.setattr("scipy.optimize.milp", lambda *_, **__: done)
    programme = Programme()
    one = programme.variable(4)
    programme.row({one: 2}, low=5)
    found = programme.least([{one: 7}])
    assert found is not None
    assert (found.values, found.at_least, found.proved) == ((4,), 21, False)
