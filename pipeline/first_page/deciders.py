"""Who decides about a work: common practice in clubs, no source; a workspace may say otherwise in its settings.

The committee decides about what closes the green for days, changes its surface for seasons, or is a large part of the
year's money; the greenkeeper about routine; what is a plant protection product only a licensed person, by its label.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pipeline.indicators.base.first_page import Decider

COMMITTEE = frozenset(
    {
        "scarifying",  # renovation: days of uneven play
        "hollow_coring",  # renovation: two weeks and more of uneven play
        "solid_tining",  # holes show for a week or two
        "deep_aeration",  # hired machine, pipes and cables
        "slitting",  # cuts open in dry weather
        "levelling",  # seasons of work, or turf lifted
        "turfing",  # parts closed for months
        "overseeding",  # weeks of longer grass
        "top_dressing",  # the largest material of the year
        "ditch_and_bank_work",  # building work
    }
)
DECIDERS: tuple[Decider, ...] = ("Licensed person", "Committee", "Greenkeeper")
"""Who decides, the one first whom works told together need most."""
LICENSED = frozenset({"plant_protection", "moss_treatment"})
"""What may be a plant protection product."""


def decides(operations: Iterable[str], own: Mapping[str, Decider]) -> Decider:
    """Who decides about works of these operations: the one that any of them needs most.

    Args:
        operations: codes of the job log.
        own: what the workspace says of operations.
    """
    found = {_of(one, own) for one in operations}
    if "Licensed person" in found:
        return "Licensed person"
    return "Committee" if "Committee" in found else "Greenkeeper"


def _of(operation: str, own: Mapping[str, Decider]) -> Decider:
    if operation in LICENSED:  # the law's, whatever a workspace says
        return "Licensed person"
    return own.get(operation) or ("Committee" if operation in COMMITTEE else "Greenkeeper")
