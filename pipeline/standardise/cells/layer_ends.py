"""Ends of a layer: a cell that says both (``0-20 mm``) gives both, for a layer's end has no middle."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from pipeline.profiles.style import Problem, Refused, Style
from pipeline.standardise.cells.distinct import Cells, plain
from pipeline.standardise.cells.numbers import span_of

OTHER_END = {"depth_from_mm": "depth_to_mm", "depth_to_mm": "depth_from_mm"}
"""The ends of a layer, each with the other."""
_LOOKS_LIKE_ONE = r"\d.*(?:-|–|—|−|\bto\b|\.\.).*\d"


def both_ends(name: str, source: Cells, style: Style) -> tuple[Cells, Cells] | None:
    """The cells with the field's own end of each layer alone, and those of the other end; None where none says both.

    Args:
        name: the field, an end of a layer.
        source: its cells.
        style: how the source writes numbers.
    """
    texts = source.cells.drop_nulls().unique()
    layers = {text: ends for text in texts.filter(texts.str.contains(_LOOKS_LIKE_ONE)) if (ends := _ends(text, style))}
    if not layers or source.scaled != (1.0, 0.0):
        return None
    own, other = (0, 1) if name == "depth_from_mm" else (1, 0)
    mine = source.cells.replace({text: ends[own] for text, ends in layers.items()})
    its = source.cells.replace_strict(
        {text: ends[other] for text, ends in layers.items()}, default=None, return_dtype=pl.String
    )
    return replace(source, cells=mine), replace(source, cells=its)


def _ends(text: str, style: Style) -> tuple[str, str] | None:
    """Upper and lower end as cells of their own, each with the unit behind; None where the text is no range."""
    notes: list[Problem] = []
    try:
        span = span_of(plain(text), style, notes)
    except Refused:
        return None
    if not notes or span.low == span.high:
        return None
    low, high = (f"{end:.12g}".replace(".", style.decimal) + f" {span.rest}".rstrip() for end in (span.low, span.high))
    return low, high
