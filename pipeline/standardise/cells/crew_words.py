"""Operations as a crew says them: ``mowed the green``, ``autumn scarify``, ``scarified & overseeded``.

A phrase is understood only where every word of it is explained: by a spelling of the list of operations, whatever the
order and ending of its words, or by being one of those that say nothing of what was done (``the``, ``green``,
``quick``). So "no cut" and "to be scarified" are no operation, and a slip of the pen is offered the closest word, never
taken for it. Words and what they stand for: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

from schemas.codes import code_list


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


OPERATIONS = "operation"
"""The list of words whose phrases are understood."""
_SILENT = _words(
    "a the it this that some bit of all whole entire full both green greens sward surface out on over down done "
    "did do gave given give went go ran run put spread apply light lightly heavy heavily quick good nice usual "
    "routine normal first second third last final again today am pm morning afternoon early late spring summer "
    "autumn winter season weekly fortnightly monthly annual yearly by with hand ped pedestrian tractor mounted "
    "machine session power powered"
)
"""Words that say nothing of what was done, or how, or when."""
_PARTICLES = frozenset({"in", "off", "up"})
"""Words that say something only beside another."""
_PART = _words(
    "corner corners end ends patch patches spot spots area areas side sides worn bare bad thin hot dry weak wet "
    "acid tired centre center rink rinks"
)
"""Words that say that it was done to a part of the green."""
_ASIDE = re.compile(r"\s(?:before|after|ready for|for|prior to|ahead of|because of|due to|as per)\s.*$")
"""What a phrase says of why or when: the work named there is another, and not this record's."""
_AMOUNT = re.compile(
    r"(?:^|(?<=\s))(?:(?:to|at|@)\s+)?(?:x\s?\d+|twice|single|double|triple|cross|(?:in\s+)?(?:\d|one|two|three|both)-(?:ways?|directions?|pass(?:es)?|times)|\S*\d\S*)"
    r"(?:\s+(?:depth|centres|centers|spacing|hoc|high|height|cycles?))?(?=\s|$)"
)
"""How often, how deep, how much: a word with a figure in it, and what it is of."""
_DEEP = re.compile(r"(?<=\d)(mm|cm|in|inch|inches|\"|) deep\b")
_BETWEEN = re.compile(r"(\s*(?:,|;|\band\b|\bthen\b|\bplus\b)\s*)")
_TOGETHER = frozenset({"and", "plus"})
"""Words between operations of which what stands behind the last may be said of all."""
_IRREGULAR = {
    "mown": "mow", "sown": "sow", "blown": "blow", "blew": "blow", "swept": "sweep", "fed": "feed", "broke": "break",
    "ground": "ground", "laid": "lay", "relaid": "relay", "sunk": "sink", "dug": "dig",
}  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What a phrase says.

    Attributes:
        operations: the words of the list it names, in its order; () where some word of it is not explained.
        amounts: what it says beside them, as written: ``x2``, ``8mm``; what they are of is not told here.
        part: the words by which it says that a part of the green was treated.
        joined: whether "and" stands before it.
        leads: whether it begins with an amount.
        words: the stems of the words that name it, sorted.
    """

    operations: tuple[str, ...] = ()
    amounts: tuple[str, ...] = ()
    part: tuple[str, ...] = ()
    joined: bool = False
    leads: bool = False
    words: tuple[str, ...] = ()


def said_again(said: Sequence[Said]) -> str:
    """The operation that a phrase names again (``cut, cut``; ``cut, rolled, mown``), "" where it names none so.

    Two words for one thing side by side (``swept up and collected``) are one.
    """
    for at, one in enumerate(said):
        for former in range(at):
            same = said[former].operations == one.operations
            if same and (said[former].words == one.words or former < at - 1):
                return one.operations[0]
    return ""


def operations_said(text: str) -> Said:
    """The operations that a phrase names, and what it says beside them."""
    said = each_said(text)
    if len(said) == 1:
        return said[0]
    names = tuple(dict.fromkeys(name for one in said for name in one.operations))
    return Said(names, sum((one.amounts for one in said), ()), sum((one.part for one in said), ()))


def each_said(text: str) -> tuple[Said, ...]:
    """What each part of a phrase says, one operation each, in its order; () where some word of it is not explained."""
    whole = _understood(text)
    if whole.operations:
        return (whole,)
    pieces, joined = [], False
    for piece in _BETWEEN.split(_spaced(text)):
        if piece and not _BETWEEN.fullmatch(piece):
            leads = bool((first := _AMOUNT.search(piece)) and not first.start())
            pieces.append(replace(_understood(piece), joined=joined, leads=leads))
            joined = False
        joined |= piece.strip() in _TOGETHER
    return tuple(pieces) if len(pieces) > 1 and all(one.operations for one in pieces) else ()


def stem(word: str) -> str:
    """A word without its ending: mow, mows, mowed, mowing come to one. Meant for a short list of words alone."""
    if "/" in word:
        first, _, last = word.rpartition("/")
        return f"{first}/{stem(last)}"
    word = _IRREGULAR.get(word, word)
    for ending in ("ing", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("eed"):
            word = word[: -len(ending)]
            break
    if word.endswith("i") and len(word) > 3:
        word = word[:-1] + "y"
    while len(word) > 3 and word[-1] == word[-2]:
        word = word[:-1]
    return word.rstrip("e") if len(word) > 3 else word


def _understood(text: str) -> Said:
    """What a phrase of one operation says, as a whole, else without what it says of why and when."""
    whole = _spaced(text)
    said = _explained(whole)
    return said if said.operations else _explained(_ASIDE.sub("", f" {whole}"))


def _explained(text: str) -> Said:
    """What a phrase says; nothing where "10mm deep" and "deep tine" would be two operations."""
    if not _DEEP.search(text):
        return _taken_apart(text)
    one, other = _taken_apart(_DEEP.sub(r"\1~deep", text)), _taken_apart(text)
    if one.operations and other.operations and one.operations != other.operations:
        return Said()
    return one if one.operations else other


def _taken_apart(text: str) -> Said:
    amounts = [found.group().strip().replace("~", " ") for found in _AMOUNT.finditer(text)]
    rest = _AMOUNT.sub(" ", text).split()
    for place in range(len(rest) + 1):
        for left_out in combinations([word for word in dict.fromkeys(rest) if word in _PART], place):
            name = _named([word for word in rest if word not in left_out])
            if name:
                telling = [word for word in rest if word not in left_out and not _silent(word)]
                return Said((name,), tuple(amounts), left_out, words=tuple(sorted(map(stem, telling))))
    return Said()


def _named(words: list[str]) -> str:
    """The operation these words name, "" where they name none: all of them, or those that say something."""
    for some in (words, [word for word in words if not _silent(word)]):
        name = _bags().get(tuple(sorted(stem(word) for word in some)), "") if some else ""
        if name:
            return name
    return ""


@cache
def _bags() -> dict[tuple[str, ...], str]:
    """The stems of each spelling, sorted, to its operation.

    A spelling without the words that say nothing stands for its operation too, where it is none of another.

    Raises:
        AssertionError: two operations have one spelling, so that a phrase would be taken for either.
    """
    whole: dict[tuple[str, ...], str] = {}
    telling: dict[tuple[str, ...], set[str]] = {}
    for code in code_list(OPERATIONS).values():
        for phrase in (code.name, code.label, *code.also):
            words = _spaced(phrase).split()
            bag = tuple(sorted(stem(word) for word in words))
            assert whole.setdefault(bag, code.name) == code.name, f"{phrase} stands for two operations"
            some = tuple(sorted(stem(word) for word in words if not _silent(word)))
            if set(some) - _PARTICLES:
                telling.setdefault(some, set()).add(code.name)
    return {bag: min(names) for bag, names in telling.items() if len(names) == 1} | whole


@cache
def _silent(word: str) -> bool:
    return word in _SILENT or stem(word) in _silent_stems()


@cache
def _silent_stems() -> frozenset[str]:
    return frozenset(map(stem, _SILENT))


def _spaced(text: str) -> str:
    """A phrase in small letters, its short forms written out and its marks taken out but for those within a number."""
    text = text.casefold().replace("’", "'").replace("_", " ")
    text = re.sub(r"\bw/", "with ", text)
    text = re.sub(r"[&+]", " and ", text)
    text = re.sub(r"(?<=\d)\s*(mm|cm|in|inch|inches|m|kg|g|t|l|ml|litres?|bags?|tonnes?|\"|')(?![a-z])", r"\1", text)
    text = re.sub(r"\b(\d|one|two|three|both)\s+(ways?|directions?|pass(?:es)?|times)\b", r"\1-\2", text)
    text = re.sub(r"(?<!\d)[.'()!]|(?<=\d)[.'()!](?!\d)|-(?!way|dir|pass|time)(?:(?<!\d-)|(?!\d))", " ", text)
    return " ".join(text.replace(" ,", ",").split())
