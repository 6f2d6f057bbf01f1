"""Totals of a season that still runs: below a target that is of the whole season they are not, they are open."""

from __future__ import annotations

from dataclasses import replace

from pipeline.common.amounts import Amount, AmountText
from pipeline.common.words import long_date
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator


def so_far(one: Indicator, records: GreenRecords, what: Description) -> Indicator:
    """The figure with "too early" for "below" while its season runs and it can still grow; else as it is.

    What lies over the upper end stays over it, whatever comes; what lies within is within so far, and says so. No plan
    of the year is known, so that none is judged by: how much an even spread would have come to stands beside it, as a
    yardstick. Works of a green do not come evenly (dressing comes in autumn, feed in spring), so that "behind an even
    spread" is no verdict.

    Args:
        one: the figure, with its target and standing.
        records: of its green and season.
        what: its description.
    """
    season = records.season
    if not what.accumulates or records.as_of >= season.end or one.standing not in ("below", "within"):
        return one
    until = long_date(season.end)
    if one.standing == "within":
        note = AmountText(one.note, " " if one.note else "", f"So far: the season runs to {until}.")
        return replace(one, note=note, so_far=True)
    assert one.value is not None
    assert one.target_low is not None
    share = (records.as_of - season.start).days / (season.end - season.start).days
    still_open, even = (
        Amount(value, one.unit, f",.{what.decimals}f", bare=not one.unit)
        for value in (one.target_low - one.value, share * one.target_low)
    )
    said = AmountText("Open: ", still_open, f" until {until}; an even spread would be at ", even, " by now.")
    return replace(one, standing="too early", note=AmountText(said, " " if one.note else "", one.note))
