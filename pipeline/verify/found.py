"""What of a store is not as it was written, told without reading an original again."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.figures.sealed import altered_figures
from pipeline.store.layout_held import altered_layout
from pipeline.store.proof.check import FIGURE, LAYOUT, Alteration, alterations
from pipeline.store.store import Store


def found_altered(store: Store) -> list[Alteration]:
    """What the chain does not say: of the chain, of what it covers, and of the figures made from that."""
    found = records_altered(store)
    if any(one.what == LAYOUT for one in found):
        return found
    return [*found, *(_figures(green, season) for green, season in altered_figures(store))]


def records_altered(store: Store) -> list[Alteration]:
    """The same without the figures.

    Where tables or views are not those that loading makes, that alone: what is read through them tells nothing.
    """
    layout = [Alteration(LAYOUT, None, said) for said in altered_layout(store.con)]
    return layout or alterations(store.con)


def in_short(found: Sequence[Alteration]) -> str:
    """What was changed by another way than loading, in a sentence or two: the first of it, and how much more."""
    more = f" And {len(found) - 1} more." if len(found) > 1 else ""
    return f"The store is not what was loaded. {found[0].message}{more}"


def _figures(green: str, season: str) -> Alteration:
    said = f"Figures of {green} in season {season}: what stands in the store is not what was worked out."
    return Alteration(FIGURE, None, said)
