"""What stands in the note of a planned work: sentences that this code wrote there, and what a person typed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from pipeline.common.amounts import AmountText, joined
from pipeline.common.measured import remembered
from pipeline.plan.due import MORE_THAN_IT_TAKES
from pipeline.plan.entries import LICENSED_PRACTICE
from pipeline.plan.from_last import NO_AMOUNT
from pipeline.plan.from_template import NO_AREA, NO_RATE
from pipeline.plan.sheet import ENDED, NOT_COUNTED
from pipeline.plan.templates import templates
from pipeline.plan.works import Planned

_RANGE = r"[\d.]+(?: to [\d.]+)?"
_LACKING = (
    *map(re.escape, (NO_AREA, NO_RATE, NO_AMOUNT, MORE_THAN_IT_TAKES, "no amount is given", "two targets hold alike")),
    "its entry is to be checked first: ", r"[\d.,]+ kg N, and which feed is left open",
    r"no job of season \S+ is logged", r"\d+ (?:dressing|feed)\w*(?: entry| entries)? of season ",
)  # fmt: skip
"""How a sentence of ours begins on why an amount is not known."""
_UP_TO_ITS_END = r".*?\.(?=\s+[A-Z“]|$)"
_MADE = (
    rf"Height of cut {_RANGE} mm\.",
    rf"Tines of {_RANGE} mm(?: at {_RANGE} mm)?\.",
    rf"N-P-K {_RANGE}-{_RANGE}-{_RANGE}\.",
    r"Only where the green needs it\.",
    rf"[\d.]+ g/m² of nitrogen at one time; at most [\d.]+ g/m² of soluble nitrogen \({_UP_TO_ITS_END}",
    rf"Amount: (?:{'|'.join(_LACKING)}){_UP_TO_ITS_END}",
)


@dataclass(frozen=True)
class Note:
    """A note, parted.

    Attributes:
        ours: what this code wrote into it, its quantities remembered; words of a template's source stand as they are.
        own: what a person typed, as it stands there; "" where nobody did.
    """

    ours: AmountText
    own: str


def note_of(work: Planned) -> Note:
    """The note of a work, parted into what this code wrote and what a person did."""
    ours: list[str] = []
    own: list[str] = []
    end = 0
    for found in re.finditer(_every(_finding(work)), work.note):
        own.append(work.note[end : found.start()].strip())
        said = found["made"]
        ours.append(remembered(said) if said else found[0])
        end = found.end()
    own.append(work.note[end:].strip())
    return Note(joined(" ", ours), " ".join(filter(None, own)))


def _finding(work: Planned) -> str:
    """What was found, of which a line of a finding says in its basis and again in its note; "" of any other line."""
    head = work.basis.partition(", ")[0] if work.operation == "inspection" else ""
    return head if head and work.note.startswith(f"{head}: ") else ""


@cache
def _every(finding: str) -> str:
    """The pattern of all sentences that this code writes, those of templates too."""
    of_templates = {one for template in templates().values() for one in template.caution}
    for template in templates().values():
        for line in template.line:
            of_templates |= {line.note, f"{line.material[:1].upper()}{line.material[1:]}." if line.material else ""}
    whole = [NOT_COUNTED, ENDED, LICENSED_PRACTICE, *sorted(filter(None, of_templates), key=len, reverse=True)]
    made = [*_MADE, *([re.escape(finding) + ": " + _UP_TO_ITS_END] if finding else [])]
    return rf"(?:^|(?<=\s))(?:(?P<made>{'|'.join(made)})|{'|'.join(map(re.escape, whole))})(?=\s|$)"
