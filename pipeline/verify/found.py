"""What of a store is not as it was written, told without reading an original again."""

from __future__ import annotations

from pipeline.figures.sealed import altered_figures
from pipeline.store.proof.check import FIGURE, Alteration, alterations
from pipeline.store.store import Store


def found_altered(store: Store) -> list[Alteration]:
    """What the chain does not say: of the chain, of what it covers, and of the figures made from that."""
    return [*alterations(store.con), *(_figures(green, season) for green, season in altered_figures(store))]


def _figures(green: str, season: str) -> Alteration:
    said = f"Figures of {green} in season {season}: what stands in the store is not what was worked out."
    return Alteration(FIGURE, None, said)
