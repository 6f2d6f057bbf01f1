"""Needs as the order counts them: by material and drop in g or ml, less what is there, and split per green again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from pipeline.common.words import listed
from pipeline.plan.purchase.offers import converted
from pipeline.plan.purchase.parts import SMALLEST, Balance, Material, Need, Share, Stock, Stopped, Unit, places_of
from schemas.codes import code_list

PESTICIDE = "plant_protection"
"""The sort of material that is never ordered, whatever else is known of it."""


@dataclass(frozen=True)
class Cell:
    """What one drop needs of one material, in whole g or ml.

    Attributes:
        material: as the register names it.
        drop: depot or club.
        unit: kg or l: what its g or ml are thousandths of.
        planned: by green, as delivered.
        needed: by green, with the allowance for overspread.
        stock: what lies there.
        on_order: what is on its way there.
        needs: what it was made of.
    """

    material: str
    drop: str
    unit: Unit
    planned: Mapping[str, int]
    needed: Mapping[str, int]
    stock: int = 0
    on_order: int = 0
    needs: tuple[Need, ...] = ()

    @property
    def in_all(self) -> int:
        """What is needed."""
        return sum(self.needed.values())

    @property
    def from_stock(self) -> int:
        """What of it lies there already: used first."""
        return min(self.in_all, self.stock)

    @property
    def from_on_order(self) -> int:
        """What of the rest is on its way."""
        return min(self.in_all - self.from_stock, self.on_order)

    @property
    def to_buy(self) -> int:
        """What is left to buy, never below nothing."""
        return self.in_all - self.from_stock - self.from_on_order

    def stopped(self, reason: str) -> Stopped:
        """That none of it is ordered."""
        return Stopped(self.material, self.drop, tuple(sorted(self.needed)), reason, places_of(self.needs))

    def balance(self, bought: int) -> Balance:
        """Where it comes from, and what is left over, with so much bought."""
        planned = sum(self.planned.values())
        counts = (
            planned,
            self.in_all - planned,
            self.in_all,
            self.from_stock,
            self.from_on_order,
            bought,
            self.stock - self.from_stock,
            self.on_order - self.from_on_order,
            bought - self.to_buy,
        )
        return Balance(self.material, self.drop, self.unit, *(one * SMALLEST for one in counts))

    def shares(self) -> list[Share]:
        """What each green gets of it and from where, by green: each sum exact.

        Stock is shared out by what each needs, what is on its way by what each needs still, the rest is bought.
        """
        greens = sorted(self.needed)
        needed = [self.needed[green] for green in greens]
        stock = shared_out(self.from_stock, needed)
        rest = [one - had for one, had in zip(needed, stock, strict=True)]
        coming = shared_out(self.from_on_order, rest)
        return [
            Share(
                green,
                self.material,
                self.drop,
                self.unit,
                *(one * SMALLEST for one in (all_, had, due, all_ - had - due)),
            )
            for green, all_, had, due in zip(greens, needed, stock, coming, strict=True)
        ]


@dataclass
class Asked:
    """Needs sorted out.

    Attributes:
        cells: what can be ordered, by material and drop; stock that nothing asks for as cells without greens.
        stopped: what cannot be, and why.
    """

    cells: list[Cell] = field(default_factory=list)
    stopped: list[Stopped] = field(default_factory=list)


def asked(needs: Iterable[Need], stock: Iterable[Stock], materials: Mapping[str, Material]) -> Asked:
    """Needs by material and drop with what stock there is, and what cannot be ordered.

    Args:
        needs: of all greens.
        stock: of all depots.
        materials: by name.
    """
    made = Asked()
    by_material: dict[str, list[Need]] = defaultdict(list)
    lacking: dict[tuple[str, str, str], list[Need]] = defaultdict(list)
    for one in needs:
        reason = _why_not(one, materials.get(one.material))
        if reason:
            lacking[one.material, one.drop, reason].append(one)
        elif one.amount:
            by_material[one.material].append(one)
    for (material, drop, reason), some in lacking.items():
        greens = tuple(sorted({one.green for one in some}))
        made.stopped.append(Stopped(material, drop, greens, reason, places_of(some)))
    stocked: dict[tuple[str, str], list[Stock]] = defaultdict(list)
    for lot in stock:
        assert lot.amount >= 0 and lot.on_order >= 0, "stock below nothing"
        stocked[lot.material, lot.depot].append(lot)
    for material, some in by_material.items():
        _of_material(made, materials[material], some, stocked)
    for (material, depot), lots in stocked.items():
        made.cells += _not_asked_for(material, depot, lots)
    made.cells.sort(key=lambda one: (one.drop, one.material, one.unit))
    made.stopped.sort(key=lambda one: (one.material, one.drop, one.reason))
    return made


def shared_out(amount: int, weights: Sequence[int]) -> list[int]:
    """A whole amount in whole parts by weight that add up to it.

    What is left after rounding down goes to the largest remainders.

    Args:
        amount: what is shared out; at most the sum of the weights, so that no part is above its weight.
        weights: of each part, whole and none below 0; of two remainders alike the earlier goes first.

    Source: the method of largest remainders (Hamilton's), with quotas by weight.
    """
    total = sum(weights)
    if not total:
        return [0] * len(weights)
    parts = [amount * one // total for one in weights]
    remainders = [amount * one % total for one in weights]
    for place in sorted(range(len(weights)), key=lambda at: -remainders[at])[: amount - sum(parts)]:
        parts[place] += 1
    return parts


def _why_not(need: Need, material: Material | None) -> str:  # noqa: PLR0911 (one reason a line)
    """Why a need cannot be ordered; "" where it can be counted at least."""
    if not need.material:
        return "no material is named"
    if material is None:
        return "it is not in the register of materials, so nothing says that it is no plant protection product"
    if material.sort == PESTICIDE:
        return "it is a plant protection product: those are never ordered here"
    if material.sort not in code_list("material_sort"):
        return "the register does not say its sort, so nothing says that it is no plant protection product"
    if need.amount is None:
        return need.lacking or "how much of it is needed is not known"
    if not need.drop:
        return "where to deliver it is not known"
    if need.delivered_of_dry is None:
        return "it is planned as dry mass, and its moisture is not known"
    assert need.amount >= 0 and need.delivered_of_dry > 0, "a need below nothing"
    return ""


def _of_material(
    made: Asked, material: Material, needs: Sequence[Need], stocked: dict[tuple[str, str], list[Stock]]
) -> None:
    """Add the cells of one material; what stock it takes up is taken out of ``stocked``."""
    units = {one.unit for one in needs}
    unit: Unit = needs[0].unit if len(units) == 1 else "kg"
    by_drop: dict[str, list[Need]] = defaultdict(list)
    for one in needs:
        by_drop[one.drop].append(one)
    for drop, some in by_drop.items():
        lots = stocked.get((material.name, drop), [])
        counted_in = sorted({one.unit for one in lots} | units)
        if any(one != unit for one in counted_in) and not material.density_kg_l:
            reason = f"it is counted in {listed(counted_in)}, and what a litre of it weighs is not known"
            greens = tuple(sorted({one.green for one in some}))
            made.stopped.append(Stopped(material.name, drop, greens, reason, places_of([*some, *lots])))
            continue
        stocked.pop((material.name, drop), None)
        made.cells.append(_cell(material, unit, some, lots))


def _cell(material: Material, unit: Unit, needs: Sequence[Need], lots: Sequence[Stock]) -> Cell:
    """Needs and stock of one drop in one unit: needs that are converted are rounded up, stock is rounded down."""

    def in_unit(amount: int, of: Unit, *, up: bool) -> int:
        other = converted(amount, of, unit, material.density_kg_l, up=up)
        assert other is not None, "a density looked for before"
        return other

    planned: dict[str, int] = {}
    for one in needs:
        amount = in_unit(_counted(one.amount, one.delivered_of_dry), one.unit, up=True)
        planned[one.green] = planned.get(one.green, 0) + amount
    needed = {green: amount + _percent(amount, material.overspread_pct) for green, amount in planned.items()}
    there = sum(in_unit(_counted(one.amount), one.unit, up=False) for one in lots)
    coming = sum(in_unit(_counted(one.on_order), one.unit, up=False) for one in lots)
    return Cell(material.name, needs[0].drop, unit, planned, needed, there, coming, tuple(needs))


def _not_asked_for(material: str, depot: str, lots: Sequence[Stock]) -> list[Cell]:
    """Stock that no green of its depot asks for, a cell a unit."""
    return [
        Cell(
            material,
            depot,
            unit,
            {},
            {},
            sum(_counted(one.amount) for one in lots if one.unit == unit),
            sum(_counted(one.on_order) for one in lots if one.unit == unit),
        )
        for unit in sorted({one.unit for one in lots})
    ]


def _counted(amount: Decimal | None, times: Decimal | None = Decimal(1)) -> int:
    """An amount in whole g or ml, half up: half a gram is below what anybody weighs, the noise of a float far below."""
    assert amount is not None and times is not None
    return int((amount * times / SMALLEST).to_integral_value(ROUND_HALF_UP))


def _percent(amount: int, pct: Decimal) -> int:
    assert pct >= 0, "an allowance below nothing"
    return int((amount * pct / 100).to_integral_value(ROUND_HALF_UP))
