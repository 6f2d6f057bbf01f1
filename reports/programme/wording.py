"""Works of a programme in words: what, how much, how, in the units of the page; and what was not planned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from pipeline.common.amounts import Amount, AmountText
from pipeline.common.grouped import grouped
from pipeline.common.words import listed, often, work_with
from pipeline.plan.basis import put_on, told
from pipeline.plan.notes import note_of
from pipeline.plan.priced import NotPlanned
from pipeline.plan.works import HOW_OFTEN, Planned
from reports.page import text, units
from reports.page.house_style import Units
from schemas.codes import code_list

UNKNOWN = "amount not known"
MOST_LEFT = 1200
"""Characters of a sentence on what was not planned."""


def in_words(same: Sequence[Planned], month: date, units_: Units) -> str:
    """Works of one operation and material in a month, on all greens: what, how much, and where they go beyond it."""
    one = same[0]
    of_green = grouped(same, lambda each: each.green)
    each = [sum(work.size or 0.0 for work in works) for works in of_green.values()]
    if all(work.size is None for work in same):
        much = HOW_OFTEN if all(work.times is None for work in same) else UNKNOWN
    elif len(each) > 1 and max(each) == min(each):
        much = f"{size_words(each[0], one, units_)} on each of {text.count(len(each), 'green')}"
    else:
        much = size_words(sum(each), one, units_)
        much += f" in all on {text.count(len(each), 'green')}" if len(each) > 1 else ""
    if much not in (UNKNOWN, HOW_OFTEN) and any(work.size is None for work in same):
        much += ", and more whose amount is not known"
    last, after = max(work.last for work in same), (month + timedelta(days=31)).replace(day=1)
    return f"{what(one)}: {much}{f', until {text.short_day(last)}' if last >= after else ''}"


def what(one: Planned) -> str:
    """A work, and what is put on in brackets, where the work does not say it."""
    label = code_list("operation")[one.operation].label
    return work_with(label, text.clean(one.material, 60) if one.material else "", "{} ({})")


def size_words(size: float, one: Planned, units_: Units) -> str:
    """How much of a work: a mass, a volume or a number of times."""
    if one.unit == "times":
        return often(round(size))
    return held(size, one.unit, units_)


def held(size: float, unit: str, units_: Units) -> str:
    """A mass or volume in words; it is known to the digits it was planned with, whatever units it is told in."""
    return said(put_on(size, unit), units_)


def basis_of(one: Planned, units_: Units) -> str:
    """Why a line is planned, what this code wrote of it in the units of the page, anything else as it was loaded."""
    return worded(told(one.basis), units_)


def worded(made: str, units_: Units) -> str:
    """A text with its quantities in the units of the page, each kept together on a line."""
    parts = made.parts if isinstance(made, AmountText) else (made,)
    return "".join(said(part, units_) if isinstance(part, Amount) else part for part in parts)


def said(amount: Amount, units_: Units) -> str:
    """A quantity in the units of the page, kept together on a line."""
    return units.said(amount) if units_ == "US" else text.with_unit(amount.number, amount.unit)


def how(one: Planned, units_: Units) -> str:
    """How a work is done, as far as the programme says: depth and passes."""
    depth = Amount(one.depth_mm, "mm", ".3g") if one.depth_mm else None
    deep = "" if depth is None else f"{said(depth, units_)} deep"
    over = f"{one.passes:g} passes" if one.passes and one.passes != 1 else ""
    return ", ".join(filter(None, [deep, over]))


def noted(one: Planned) -> str:
    """What stands beside a work: its note, else why its amount is not known; that its material is in no register."""
    return " ".join(filter(None, [one.note or _unsized(one), one.caution]))


def noted_in(one: Planned, units_: Units) -> str:
    """The same for a page: what this code wrote in its units; what a person typed as it stands, told as theirs."""
    note = note_of(one)
    own = f"Note in the programme: “{note.own}”" if note.own else ""
    return " ".join(filter(None, [worded(note.ours, units_) if one.note else _unsized(one), own, one.caution]))


def _unsized(one: Planned) -> str:
    return text.sentence(f"Amount: {one.unsized}") if one.unsized else ""


def left_out(of: Sequence[NotPlanned], units_: Units) -> Iterator[str]:
    """What was not planned, the same of several greens and operations in one sentence."""
    labels = {name: code.label for name, code in code_list("operation").items()}
    greens = grouped(of, lambda one: (one.operation, one.source, one.why))
    alike = grouped(greens, lambda key: (key[1], key[2], tuple(dict.fromkeys(one.green for one in greens[key]))))
    for (source, why, where), keys in alike.items():
        works = listed([text.inside(labels.get(operation, operation)) for operation, *_ in keys])
        named = f"{listed(list(where))}: {works}, of {source}: {worded(told(why), units_).rstrip('.')}."
        yield text.clean(named, MOST_LEFT)
