"""What works are priced by, from the store: rates and prices of all days, and what the registers say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from pipeline.indicators.base.records import Records
from pipeline.plan.account import Priced
from pipeline.plan.areas import areas_of
from pipeline.plan.cost import Facts
from pipeline.plan.market import prices, rates
from pipeline.plan.unit_price import Pack, PriceBook
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings


@dataclass(frozen=True)
class Pricing:
    """What works are priced by, and the prices it is made from.

    Attributes:
        by: what they are priced by.
        book: the prices, by day, with pack and supplier.
    """

    by: Priced
    book: PriceBook

    @property
    def lacking(self) -> str:
        """That no work can be priced, for there is no rate of labour; "" where there is one."""
        if any(one.of == "labour" for one in self.by.rates):
            return ""
        return "No rate of labour is loaded: work without a cost of its own is not priced."


def pricing(store: Store, records: Records, settings: Settings) -> Pricing:
    """What the works of the greens of these records are priced by.

    Areas are those of each work's day; what the register of materials says is what it says now.
    """
    materials = records.frames["material"]
    facts = {
        row["material"]: Facts(
            row["n_pct"],
            row["bulk_density_t_m3"] or settings.bulk_density_t_m3,
            row["moisture_pct"],
            row["moisture_basis"] or "dry",
        )
        for row in materials.iter_rows(named=True)
    }
    book = PriceBook(prices(store), dict(_named_packs(materials)))
    return Pricing(Priced(rates(store), book.on, facts, areas_of(records.by_day["green"])), book)


def _named_packs(materials: pl.DataFrame) -> Iterator[tuple[str, Pack]]:
    for material, kg, litres in materials.select("material", "pack_kg", "pack_l").iter_rows():
        if kg:
            yield material, ("kg", kg)
        elif litres:
            yield material, ("l", litres)
