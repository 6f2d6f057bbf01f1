"""Findings and the line of counts, as printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.common.amounts import Amount
from pipeline.first_page.standing import NUMBERS
from pipeline.indicators.base import judgement
from pipeline.indicators.base.first_page import Counts, Found, Hollows
from pipeline.indicators.base.green_season import Indicator
from reports.page import figures, text
from reports.page.house_style import Units
from reports.page.units import amount_in

MOST = 150
"""Characters of a finding, three lines beside the box of entries."""


@dataclass(frozen=True)
class FoundLine:
    """One finding: number, first words, and the rest."""

    number: str
    lead: str
    words: str


def count_line(of: Counts, recorded: int, waits_for: str = "the entry below") -> str:
    """How the checks stand, and by name what is off.

    Args:
        of: the counts.
        recorded: figures of the green that have a value.
        waits_for: what those wait for that rest on an entry under a warning.
    """
    if not of.of:
        figures_of = text.count(recorded, "figure")
        return f"{figures_of} recorded, none of them with a target." if recorded else "No figure could be made."
    parts = [f"{of.on_target} of {text.count(of.of, 'check')} on target"]
    parts += [f"{of.close} close"] if of.close else []
    parts += [f"{of.early} too early to say"] if of.early else []
    parts += [f"{of.few} too few to say"] if of.few else []
    parts += [] if of.off else ["none off"]
    told = ", ".join(parts)
    if of.waiting:
        told += f"; {of.waiting} wait{'s' if of.waiting == 1 else ''} for {waits_for}"
    return f"{told}." if not of.off else f"{told}. {_off(of)}"


def _off(of: Counts) -> str:
    """What is off, each by its name."""
    names = [text.clean(f"{name} ({number})" if number > 1 else name) for name, number in of.off_names]
    return f"Off: {', '.join(names)}."


def found_line(number: int, of: Found, units: Units, *, mapped: bool = True) -> FoundLine:
    """One finding: first words, figure and limit, what it means, whether it changed.

    Args:
        number: of the finding.
        of: the finding.
        units: units of display, for what is worded here.
        mapped: whether a map of the levels stands on the same page.
    """
    one = of.figure
    if of.hollows is not None and of.hollows.worst:
        lead, figure = _of_hollows(of.hollows, one, units, "corner 0" if mapped else "the survey’s corner 0")
    elif of.doubtful:
        lead, figure = f"{figures.named(one)}: {_how_near(one)},", _figure(one)
    elif "{value}" in of.lead:
        lead, figure = _filled(of.lead, one), ""
    else:
        there = "there " if "{band}" in of.lead else ""  # of several layers, not the one that the measures show
        label = "" if _named(of.lead, one) else f"{text.inside(text.clean(one.label, 60))} {there}"
        lead, figure = f"{_filled(of.lead, one)}:", f"{label}{_figure(one)}"
    kept = text.sentence(figure)
    for part in _after(of, one):
        if len(lead) + len(kept) + len(part) < MOST:
            kept = f"{kept} {part}".strip()
    return FoundLine(str(number), lead, _inside(kept, lead))


def _how_near(one: Indicator) -> str:
    """How a figure stands whose finding is in doubt: one that is counted as off is off, if by little."""
    return f"just {one.standing} target" if judgement.judgement(one) == "off" else "too close to call"


def _named(lead: str, one: Indicator) -> bool:
    """Whether the first words name their figure: a word of its label of four letters or more is in them."""
    words = [word.strip(",;:()").lower() for word in one.label.split()]
    return "{label}" in lead or any(len(word) > 3 and word in lead.lower() for word in words)


def _inside(words: str, lead: str) -> str:
    """The rest as it goes on from the first words: small after a colon or comma, in brackets as they are."""
    return text.inside(words) if lead.endswith((":", ",")) and not words[:2].isupper() else words


def _after(of: Found, one: Indicator) -> Iterator[str]:
    """What it means for play, where it is beyond doubt, and whether it changed."""
    if of.for_play and not of.doubtful:
        yield text.sentence(text.clean(of.for_play, 300))
    if of.change is not None and of.change.clear:
        beside = ", if the laboratory has not moved" if of.of_laboratory else ""
        yield f"{of.change.word.capitalize()}, a real change{beside}."
    elif of.change is not None and of.change.word == "no clear change":
        yield "No clear change."
    elif of.last is not None:
        yield f"Last season {figures.value_text(of.last)}."


def _filled(lead: str, one: Indicator) -> str:
    words = lead.format(
        label=text.clean(one.label, 60),
        band=text.clean(one.band, 40),
        value=figures.value_text(one),
        target=figures.target_text(one),
        standing=one.standing,
    )
    return text.clean(words.replace(" ()", ""), 120).rstrip(".")


def _figure(one: Indicator) -> str:
    """The figure with its limit: "5.3 % (limit 4)", "94.8 % (at least 95)"."""
    return f"{figures.value_text(one)}{limit(one)}"


def limit(one: Indicator, unit: str = "") -> str:
    """The target in brackets, with a unit where the figure before it is another; "" without one."""
    low, high, places = one.target_low, one.target_high, judgement.digits(one)
    if low is None and high is None:
        return ""
    if low is not None and high is not None:
        low_end, high_end = (text.limit_number(end, places) for end in (low, high))
        return f" (target {text.with_unit(f'{low_end}–{high_end}', unit)})"
    if low is not None:
        return f" (at least {text.with_unit(text.limit_number(low, places), unit)})"
    return f" (limit {text.with_unit(text.limit_number(high or 0.0, places), unit)})"


def _of_hollows(of: Hollows, one: Indicator, units: Units, corner: str) -> tuple[str, str]:
    deep = text.clean(amount_in(Amount(of.deepest_mm, "mm", ".0f"), units))
    across, along = (text.clean(amount_in(Amount(m, "m", ".0f"), units)) for m in (of.across_m, of.along_m))
    where = f"deepest {across} across, {along} along (from {corner})"
    if of.one_side:
        return "One side is low,", f"to {deep}{limit(one, one.unit)}; {where}"
    if of.number == 1:
        return f"One hollow, {deep} deep", f"{limit(one, one.unit).strip()}; {where}"
    number = NUMBERS[of.number].capitalize() if of.number < len(NUMBERS) else str(of.number)
    return f"{number} hollows, to {deep} deep", f"{limit(one, one.unit).strip()}; {where}"
