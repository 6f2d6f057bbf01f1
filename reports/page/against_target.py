"""The figures of a green that have a target, by what is said of each, and the sentence on one that is not on it.

One home for them, so that a green's report and its club's summary say the same in the same words.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.first_page.standing import waiting_lines, waits
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.judgement import Judgement, by_reading, doubtful, has_target, judgement, miss
from pipeline.indicators.families import DESCRIBED
from reports.page import figures, remarks

Check = tuple[Judgement | figures.Waits, Indicator]
"""What is said of a figure that has a target, and the figure."""


def checks_of(season: GreenSeason) -> list[Check]:
    """The figures that have a value and a target, in their order; one that rests on an entry under a warning waits."""
    lines = waiting_lines(season.questions)
    checks = [one for one in season.indicators if one.value is not None and has_target(one)]
    return [(figures.WAITS if waits(one, lines) else judgement(one), one) for one in checks]


def not_on_target(checks: Sequence[Check]) -> list[Check]:
    """Those that are off or close, or would be if the entry that they wait for is right, in the order they are told.

    What is off comes before what is close, the farthest from its target first; last what is about the crew and not the
    green.
    """
    return sorted(
        (check for check in checks if judgement(check[1]) in ("off", "close")),
        key=lambda check: (_of_the_crew(check[1]), judgement(check[1]) == "close", -miss(check[1])),
    )


def apart_sentence(indicator: Indicator) -> str:
    """A figure that is off its target or close to a limit of it, and the doubt its interval leaves.

    Example: "Top dressing applied is 2.5 kg/m², below the target of 4–6 kg/m²."
    """
    goal = figures.target_text(indicator)
    one_sided = indicator.target_low is None or indicator.target_high is None
    if indicator.reached and indicator.standing == "above":
        where = f"off its target of {goal}"
    elif judgement(indicator) == "off":
        where = f"{indicator.standing} the target of {goal}"
    else:
        where = f"close to {'the' if one_sided else 'a'} limit of its target of {goal}"
    if by_reading(indicator):
        where += ", nearer than laboratories differ"
    elif doubtful(indicator):
        where += f": the interval ({figures.interval_text(indicator)}) reaches across it"
    if indicator.questioned:
        where += f", {remarks.IF_RIGHT}"
    return f"{figures.named(indicator)} is {figures.value_text(indicator)}, {where}."


def _of_the_crew(one: Indicator) -> bool:
    """Whether a figure is about those who work: it stands behind all that is about the green."""
    what = DESCRIBED.get(one.name)
    return what is not None and what.of_the_crew
