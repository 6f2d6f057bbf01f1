"""What a crew's phrase says, operation by operation: each with the amounts that can be of nothing else."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NoReturn

from pipeline.common.faults import FaultKind
from pipeline.common.words import listed
from pipeline.profiles.style import Refused
from pipeline.standardise.cells.coded import OPERATION_AGAIN
from pipeline.standardise.cells.crew_words import OPERATIONS, Said, each_said, said_again
from schemas.codes import code_list

AMOUNT_WHICH = FaultKind(
    "operation.amount_which",
    "Amount beside an operation that may be several things",
    "{column}: “{value}” says “{amount}” beside {operation}, which {readings}.",
    "Write which it is (80mm deep, 50mm centres, 5mm hoc), or give the operation a line of its own.",
)
OPERATION_TWICE = FaultKind(
    "operation.twice",
    "One operation twice in one cell",
    "{column}: “{value}” names {operation} twice, with an amount: it may be one job in two words, or two.",
    "Name it once (x2 where it was done twice), or give each a line of its own.",
)

_OPENED = {name: code.facts["disturbs"] for name, code in code_list(OPERATIONS).items() if "disturbs" in code.facts}
BLADED = frozenset(name for name, how in _OPENED.items() if how in {"blade", "slit"})
HOLED = frozenset(name for name, how in _OPENED.items() if how in {"solid", "hollow"})
MOWN = frozenset({"mowing"})
PUTS_ON = frozenset(
    {
        "top_dressing", "overseeding", "turfing", "fertilising", "liming", "wetting_agent", "moss_treatment",
        "plant_protection", "irrigation",
    }
)  # fmt: skip
"""Operations that put something on: a material and its amount on their line can be of no other."""
TAKES_OFF = frozenset(_OPENED) | {"mowing", "edging", "debris_collection", "dew_removal", "brushing"}
GONE_OVER = (
    frozenset(_OPENED) | MOWN | {"brushing", "drag_matting", "rolling", "levelling", "top_dressing", "overseeding"}
)
"""Operations of which "twice" and "both ways" say how often the machine went over."""
THICKEST_TINE_MM = 30.0
"""Up to this a bare size beside a tine may be its diameter as well as its depth: common practice, no source."""

_COUNTS = {"single": "1", "one": "1", "twice": "2", "double": "2", "two": "2", "both": "2", "triple": "3", "three": "3"}
_TIMES = re.compile(
    r"x ?(\d+)|(\d+)x|(single|twice|double|triple)|(?:in )?(\d|one|two|three|both)-(?:way|direction|pass|time).*"
)
_LENGTH = re.compile(
    r"(?:(?:to|at|@) )?(?P<size>\d[\d.,/–-]*)(?P<unit>mm|cm|in|inch|inches|\")"
    r"(?: (?P<of>deep|depth|centres|centers|spacing|hoc|high|height))?"
)
_MIX = re.compile(r"(\d{1,3})[/:](\d{1,2})")
_MM = {"mm": 1.0, "cm": 10.0}
_INCH = 25.4


@dataclass(frozen=True)
class Piece:
    """One operation of a phrase.

    Attributes:
        operation: its word in the list.
        fields: fields of the record that its amounts fill, as written.
        part: words that say that a part of the green was treated.
    """

    operation: str
    fields: dict[str, str] = field(default_factory=dict)
    part: str = ""


def pieces_said(text: str) -> tuple[Piece, ...]:
    """The operations a phrase names, each with its own amounts; () where it is none, or the one word and no more.

    Raises:
        Refused: an amount has two readings, or stands for nothing that a record keeps.
    """
    said = each_said(text)
    if not said or (len(said) == 1 and not said[0].amounts):
        return ()
    pieces = [Piece(one.operations[0], _placed(one), " ".join(one.part)) for one in said]
    for at in range(1, len(pieces)):
        if said[at].joined:
            _refuse_shared(said, pieces, at)
    done = _once(pieces)
    if again := said_again(said):
        raise Refused(OPERATION_AGAIN, operation=_label(again))
    return done


def _once(pieces: list[Piece]) -> tuple[Piece, ...]:
    """The pieces, of two words for one thing one ("swept up and collected")."""
    kept: dict[str, Piece] = {}
    for piece in pieces:
        former = kept.get(piece.operation)
        if former is not None and (former != piece or piece.fields):
            raise Refused(OPERATION_TWICE, operation=_label(piece.operation))
        kept[piece.operation] = piece
    return tuple(kept.values())


def _refuse_shared(said: tuple[Said, ...], pieces: list[Piece], at: int) -> None:
    """Refuse an amount that may be of all the operations that "and" joins: scarified and tined x2."""
    last = pieces[at]
    for name, text in last.fields.items():
        others = [one for one in pieces[:at] if name not in one.fields and _takes(one.operation, name, last.operation)]
        if others and len(others) == at:
            _refuse(last.operation, _shown(name, text), _of_all(last, others))
    before = pieces[at - 1]
    for name, text in before.fields.items() if said[at - 1].leads else ():
        if name not in last.fields and _takes(last.operation, name, before.operation):
            _refuse(before.operation, _shown(name, text), _of_all(before, [last]))


def _shown(name: str, text: str) -> str:
    return f"x{text}" if name == "passes" else text


def _of_all(one: Piece, others: list[Piece]) -> str:
    return f"may be of {_label(one.operation)} alone, or of {listed([_label(other.operation) for other in others])} too"


def _takes(operation: str, name: str, beside: str) -> bool:
    """Whether an amount that was put into a field of one operation could be of this one as well."""
    if name in {"depth_mm", "cut_height_mm"}:
        return operation in MOWN | frozenset(_OPENED)
    if name == "passes":
        return operation in GONE_OVER
    return operation in PUTS_ON and beside in PUTS_ON


def _placed(said: Said) -> dict[str, str]:
    """The fields that the amounts beside one operation fill; of two for one field both readings are refused."""
    operation, rest = said.operations[0], []
    found: dict[str, str] = {}
    for amount in said.amounts:
        name, text = _place(operation, amount)
        if name == "quantity":
            rest.append(text)
        elif name in found:
            _refuse(operation, amount, f"says the same thing as “{found[name]}”, or another")
        else:
            found[name] = text
    if not rest:
        return found
    if "passes" in found:
        _refuse(operation, f"{rest[0]} x{found['passes']}", "may be all that was put on, or as much each time")
    return {**found, "quantity": " ".join(rest)}


def _place(operation: str, amount: str) -> tuple[str, str]:
    """The field that an amount fills, and what is read into it."""
    if times := _TIMES.fullmatch(amount):
        word = next(group for group in times.groups() if group)
        if operation in GONE_OVER:
            return "passes", _COUNTS.get(word, word)
        _refuse(operation, amount, "counts no passes there: it may be how often it was done, or what was used")
    if length := _LENGTH.fullmatch(amount):
        name = _of_length(operation, amount, length["size"], length["unit"], length["of"] or "")
        return name, length["size"] + length["unit"]
    mix = _MIX.fullmatch(amount)
    if mix and operation == "top_dressing" and int(mix[1]) + int(mix[2]) == 100:
        return "material", amount
    if operation not in PUTS_ON:
        _refuse(operation, amount, "no field of its record takes")
    return "quantity", amount


def _of_length(operation: str, amount: str, size: str, unit: str, of: str) -> str:
    """The field that a length beside an operation fills."""
    if of in {"deep", "depth"} and operation in _OPENED:
        return "depth_mm"
    if of in {"centres", "centers", "spacing"} and operation in HOLED | BLADED:
        return "spacing_along_mm" if operation in HOLED else "blade_spacing_mm"
    if operation in MOWN and of in {"", "hoc", "high", "height"}:
        return "cut_height_mm"
    if of or operation not in _OPENED:
        _refuse(operation, amount, "no field of its record takes")
    if operation == "hollow_coring":
        _refuse(operation, amount, "may be the bore of the tine or the depth")
    if operation in HOLED and _thin(size, unit):
        _refuse(operation, amount, "may be the diameter of the tine or the depth")
    return "depth_mm"


def _thin(size: str, unit: str) -> bool:
    """Whether a size may be that of a tine."""
    first = re.match(r"\d+(?:\.\d+)?", size)
    return first is None or "/" in size or float(first.group()) * _MM.get(unit, _INCH) <= THICKEST_TINE_MM


def _refuse(operation: str, amount: str, readings: str) -> NoReturn:
    raise Refused(AMOUNT_WHICH, operation=_label(operation), amount=amount, readings=readings)


def _label(operation: str) -> str:
    return code_list(OPERATIONS)[operation].label.lower()


def operations_in_words(operations: list[str]) -> str:
    """The operations as a sentence lists them."""
    return listed([_label(one) for one in operations])
