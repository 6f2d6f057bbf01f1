"""What visits measured and counted."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.docs.indicators.described import Described
from schemas.codes import code_list


def observations() -> Iterator[Described]:
    """Three a thing: the figure, its spread over the green, its change since the visit before."""
    for name, code in code_list("observation").items():
        if name == "layer":  # drawn in the survey, no figure of its own
            continue
        unit, figure = str(code.facts["unit"]), str(code.facts["figure"])
        suffix = {"%": "pct", "mm/h": "mm_h"}.get(unit, unit)
        stem, family = figure.removesuffix(f"_{suffix}"), str(code.facts["family"])
        yield Described(
            figure, code.label, unit, family, "method",
            "Last visit of the season, one figure a method: hammer, drop, depth and ring are part of it.",
            f"{_COUNTED}; {_MEASURED.lower()} where no points were counted." if unit == "%" else f"{_MEASURED}.",
        )  # fmt: skip
        yield Described(
            f"{stem}_cv_pct", f"{code.label}: spread over the green", "%", family, "method",
            "How much the green differs from place to place; from three readings on.",
            "Standard deviation over mean of the visit's readings.",
        )  # fmt: skip
        yield Described(
            f"{stem}_change_{suffix}", f"{code.label}: change since the visit before",
            "%-points" if unit == "%" else unit, family, "method",
            "Later less earlier, only where the method is the same.",
            "Newcombe's interval for counts, Welch's t interval for readings; a change is shown only where it leaves "
            "nought out.",
        )  # fmt: skip


_COUNTED = (
    "Hits over points of all places, with Wilson's interval; points count for fewer where places differ by more than "
    "chance"
)

_MEASURED = "Mean of the readings with the t interval of their spread"
