"""Clubs, greens and materials known so far: what facts refer to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from schemas import KINDS

if TYPE_CHECKING:
    import polars as pl


def _no_targets() -> pl.DataFrame:
    import polars as pl

    return pl.DataFrame(schema=KINDS["target"].frame_schema)


@dataclass(frozen=True)
class Register:
    """The registers a file is checked against.

    Attributes:
        clubs: current clubs, columns as in schemas/club.py.
        greens: current greens.
        materials: current materials.
        targets: current targets that users set.
        season_start: first day of a season, MM-DD.
        by_day: what greens and materials said on which days, with ``holds_from`` and ``holds_until``
            (``Store.registers_by_day``); ``greens`` and ``materials`` are one row each, as the last says.
        met: names that records bear and no register lists (laboratories, stations), where a register refers to them.
    """

    clubs: pl.DataFrame
    greens: pl.DataFrame
    materials: pl.DataFrame
    targets: pl.DataFrame = field(default_factory=_no_targets)
    season_start: str = "10-01"
    by_day: Mapping[str, pl.DataFrame] = field(default_factory=dict)
    met: Mapping[str, frozenset[str]] = field(default_factory=dict)

    def frame(self, kind: str) -> pl.DataFrame:
        """The register of this kind."""
        return {"club": self.clubs, "green": self.greens, "material": self.materials}[kind]

    def joined(self, records: pl.DataFrame, kind: str, fields: Sequence[str]) -> pl.DataFrame:
        """Dated records with these fields of their green or material, as it held on their day; null where unknown."""
        import polars as pl

        held = self.by_day.get(kind)
        if held is None or held["holds_from"].null_count() == held.height:
            return records.join(self.frame(kind).select(kind, *fields), on=kind, how="left", maintain_order="left")
        begins = pl.col("holds_from").fill_null(date.min)
        rows = held.select(kind, *fields, begins).sort("holds_from", maintain_order=True)
        placed = records.with_row_index("place").sort("date", maintain_order=True)
        found = placed.join_asof(
            rows, left_on="date", right_on="holds_from", by=kind, check_sortedness=False, coalesce=True
        )
        return found.sort("place", maintain_order=True).drop("place", "holds_from", strict=False)

    def names(self, kind: str) -> set[str]:
        """Codes of the register's records."""
        return set(self.frame(kind)[kind])

    def spelt(self, kind: str) -> list[str]:
        """Codes and declared other names, for offering the closest."""
        names = sorted(self.names(kind))
        return names + sorted(self.green_aliases) if kind == "green" else names

    @property
    def green_aliases(self) -> dict[str, str]:
        """Other names that the register of greens declares, to the code.

        A name that several greens declare, or that is another's code, stands for none of them.
        """
        return aliases_of(self.greens)


def aliases_of(greens: pl.DataFrame) -> dict[str, str]:
    """Other names that a register of greens declares, to the code.

    A name that several greens declare, or that is another's code, stands for none of them.
    """
    return aliases_among(list(greens.select("green", "aliases").iter_rows()))


def aliases_among(greens: Sequence[tuple[str, str | None]]) -> dict[str, str]:
    """The same from the codes of greens and what stands under ``aliases`` of each."""
    codes = {code for code, _ in greens}
    found: dict[str, set[str]] = {code: {code} for code in sorted(codes)}
    for green, aliases in greens:
        for alias in (aliases or "").split("|"):
            if alias.strip():
                found.setdefault(alias.strip(), set()).add(green)
    return {alias: next(iter(of)) for alias, of in found.items() if len(of) == 1 and alias not in codes}
