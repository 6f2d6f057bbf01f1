"""Areas of greens by the day: a work is told by the area that its green had on the work's own day.

Pure. Of days to come the area is the newest known, or the one that the register says from a later day on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from pipeline.common.grouped import grouped
from pipeline.plan.works import Done, Planned

Since = tuple[date | None, float | None]
"""First day of an area, None from the start; and the area in m², None where it is not recorded."""


@dataclass(frozen=True)
class Areas:
    """Areas of greens, each from its day on.

    Attributes:
        held: of each green its areas one after the other.
    """

    held: Mapping[str, Sequence[Since]] = field(default_factory=dict)

    def on(self, green: str, day: date) -> float | None:
        """The area of a green on a day, m²; None where it is not recorded."""
        area = None
        for since, held in self.held.get(green, ()):
            if since is not None and since > day:
                break
            area = held
        return area or None

    def of(self, work: Done | Planned) -> float | None:
        """The area of a work's green on its first day: of a planned work the day on which its window opens."""
        return self.on(work.green, work.first)


def areas_of(held: pl.DataFrame) -> Areas:
    """The areas that a register of greens says (``Store.registers_by_day``)."""
    rows = held.select("green", "holds_from", "area_m2").sort("green", "holds_from", maintain_order=True).iter_rows()
    by_green = grouped(rows, lambda row: str(row[0]))
    return Areas({green: tuple((since, area) for _, since, area in some) for green, some in by_green.items()})
