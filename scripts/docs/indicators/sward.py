"""What visits measured and counted."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.indicators.ground.readings import figure_names
from schemas.codes import code_list
from scripts.docs.indicators.described import Described


def observations() -> Iterator[Described]:
    """Three a thing: the figure, its spread over the green, its change since the visit before."""
    for name, code in code_list("observation").items():
        if name == "layer":  # drawn in the survey, no figure of its own
            continue
        unit, figure, family = (str(code.facts[name]) for name in ("unit", "figure", "family"))
        spread, change = figure_names(code)
        yield Described(
            figure, code.label, unit, family, "method",
            "Last visit of the season, one figure a method: hammer, drop, depth and ring are part of it.",
            f"{_COUNTED}; {_MEASURED.lower()} where no points were counted." if unit == "%" else f"{_MEASURED}.",
        )  # fmt: skip
        yield Described(
            spread, f"{code.label}: spread over the green", "%", family, "method",
            "How much the green differs from place to place; from three readings on.",
            "Standard deviation over mean of the visit's readings.",
        )  # fmt: skip
        yield Described(
            change, f"{code.label}: change since the visit before",
            "%-points" if unit == "%" else unit, family, "method",
            "Later less earlier, only where the method is the same.",
            "Newcombe's interval for counts, Welch's t interval for readings; a change is shown only where it leaves "
            "zero out.",
        )  # fmt: skip


_COUNTED = (
    "Hits over points of all places, with Wilson's interval; points count for fewer where places differ by more than "
    "chance"
)

_MEASURED = "Mean of the readings with the t interval of their spread"
