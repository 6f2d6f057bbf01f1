"""What a crew writes in one cell, drawn beside what it means; knows nothing of how the program reads it.

A drawn text has a meaning, and says whether everybody would read it so ("plain"). The program may refuse what is not
plain; what it reads, it must read as meant.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from hypothesis import strategies as st

MASS = {"kg": "1", "kgs": "1", "kilos": "1", "g": "1/1000", "grams": "1/1000", "t": "1000", "tonnes": "1000",
        "lb": "0.45359237", "lbs": "0.45359237"}  # fmt: skip
"""Kilograms in one (pound of 1959)."""
VOLUME = {"l": "1", "litres": "1", "ltr": "1", "ml": "1/1000", "m3": "1000"}
"""Litres in one."""
AREA = {"m2": "1", "sq m": "1", "ha": "10000", "100 m2": "100", "1000 sq ft": "92.90304", "acre": "4046.8564224",
        "sq yd": "0.83612736"}  # fmt: skip
"""Square metres in one (foot and yard of 1959, acre of 4840 square yards)."""
ONE_PACK, PACKS = ("bag", "sack", "tub", "drum", "can", "box"), ("bags", "sacks", "tubs", "drums", "cans", "boxes")
FRACTIONS = {"1/2": "1/2", "½": "1/2", "1/4": "1/4", "¼": "1/4", "3/4": "3/4", "¾": "3/4", "5/8": "5/8", "⅔": "2/3"}


@dataclass(frozen=True)
class Said:
    """A text and what it means: exact amounts by column.

    Attributes:
        text: the cell.
        means: what it comes to, by sort ("kg", "l", "packs", "g/m2", "ml/m2", "h").
        plain: whether there is one way to read it.
    """

    text: str
    means: dict[str, Fraction] = field(default_factory=dict)
    plain: bool = True

    @property
    def sort(self) -> str:
        """What is told by it."""
        return next(iter(self.means), "")

    @property
    def size(self) -> Fraction:
        """How much."""
        return next(iter(self.means.values()))


@st.composite
def numbers(draw: st.DrawFn, decimal: str = ".", *, largest: int = 60) -> Said:
    """A number: whole, decimal, fraction or mixed."""
    whole, (shown, part) = draw(st.integers(1, largest)), draw(st.sampled_from(sorted(FRACTIONS.items())))
    how = draw(st.sampled_from(["whole", "whole", "decimal", "fraction", "mixed", "hyphened"]))
    if how == "whole":
        return Said(str(whole), {"": Fraction(whole)})
    if how == "decimal":
        tenths = draw(st.integers(1, 99))
        return Said(f"{whole}{decimal}{tenths:02}", {"": Fraction(whole * 100 + tenths, 100)})
    if how == "fraction":
        return Said(shown, {"": Fraction(part)})
    gap = "-" if how == "hyphened" else draw(st.sampled_from([" ", ""] if len(shown) == 1 else [" "]))
    return Said(f"{whole}{gap}{shown}", {"": whole + Fraction(part)}, plain=how != "hyphened")


def _amount_of(number: Said, unit: str, gap: str) -> Said:
    sort, factor = ("kg", MASS[unit]) if unit in MASS else ("l", VOLUME[unit])
    return Said(f"{number.text}{gap}{unit}", {sort: number.size * Fraction(factor)}, number.plain)


@st.composite
def single(draw: st.DrawFn, decimal: str = ".") -> Said:
    """A number and a unit."""
    unit = draw(st.sampled_from(sorted({**MASS, **VOLUME})))
    return _amount_of(draw(numbers(decimal)), unit, draw(st.sampled_from([" ", ""])))


def times(count: Said, one: Said, text: str, *, plain: bool) -> Said:
    """So many of one."""
    return Said(text, {one.sort: count.size * one.size}, plain and count.plain and one.plain)


@st.composite
def packs(draw: st.DrawFn, decimal: str = ".") -> Said:
    """A number of packs."""
    count, words = draw(numbers(decimal)), draw(st.sampled_from([*PACKS, *ONE_PACK]))
    return Said(f"{count.text} {words}", {"packs": count.size}, count.plain)


@st.composite
def multiples(draw: st.DrawFn, decimal: str = ".") -> Said:
    """So many packs of a size, in the ways a crew writes them."""
    count, one = draw(numbers(decimal, largest=12)), draw(single(decimal))
    pack, sign = draw(st.sampled_from(PACKS)), draw(st.sampled_from([" x ", "x", " × ", " * "]))
    how = draw(st.sampled_from(["x", "x packs", "packs of", "packs @", "reversed", "count size packs", "packs x"]))
    text = {
        "x": f"{count.text}{sign}{one.text}",
        "x packs": f"{count.text}{sign}{one.text} {pack}",
        "packs of": f"{count.text} {pack} of {one.text}",
        "packs @": f"{count.text} {pack} @ {one.text}",
        "packs x": f"{count.text} {pack} x {one.text}",
        "reversed": f"{one.text} x {count.text}",
        "count size packs": f"{count.text} {one.text} {pack}",
    }[how]
    return times(count, one, text, plain=how not in {"count size packs"})


@st.composite
def sizes_without_a_number(draw: st.DrawFn, decimal: str = ".") -> Said:
    """``25 kg bags``: no amount that anybody could be sure of."""
    return Said(f"{draw(single(decimal)).text} {draw(st.sampled_from(PACKS))}", plain=False)


@st.composite
def two_numbers(draw: st.DrawFn, decimal: str = ".") -> Said:
    """``2 5 bags``, ``2 25``: two whole numbers of which nothing says what they are."""
    first, second = draw(st.integers(1, 40)), draw(st.integers(1, 40))
    return Said(f"{first} {second}{draw(st.sampled_from(['', *(f' {pack}' for pack in PACKS)]))}", plain=False)


@st.composite
def sums(draw: st.DrawFn, decimal: str = ".") -> Said:
    """Several amounts together, of one sort or of several."""
    parts = draw(st.lists(single(decimal) | packs(decimal) | multiples(decimal), min_size=2, max_size=3))
    sorts = {part.sort for part in parts}
    text = draw(st.sampled_from([" + ", "+", " and ", " & ", " plus "])).join(part.text for part in parts)
    if len(sorts) > 1:
        return Said(text, plain=False)
    return Said(text, {parts[0].sort: sum((part.size for part in parts), Fraction(0))}, all(p.plain for p in parts))


@st.composite
def rates(draw: st.DrawFn, decimal: str = ".") -> Said:
    """An amount over an area."""
    amount, area = draw(single(decimal)), draw(st.sampled_from(sorted(AREA)))
    text = f"{amount.text}{draw(st.sampled_from(['/', ' per ', ' / ']))}{area}"
    sort = {"kg": "g/m2", "l": "ml/m2"}[amount.sort]
    return Said(text, {sort: amount.size * 1000 / Fraction(AREA[area])}, amount.plain)


def amounts(decimal: str = ".") -> st.SearchStrategy[Said]:
    """Anything that stands in a column of amounts."""
    told = [single(decimal), packs(decimal), multiples(decimal), sums(decimal), rates(decimal)]
    return st.one_of(*told, sizes_without_a_number(decimal), two_numbers(decimal))


HOURS = ("h", "hrs", "hr", "hours", "hours.", " h", " hrs", " hours")
MINUTES = ("min", " min", " mins", " minutes")
CREW = ("men", "people", "lads", "staff")
DAY_H, WEEK_H = 8, 40
"""Hours of a working day and week that the tests declare."""


@st.composite
def lengths(draw: st.DrawFn) -> Said:
    """How long one job took, of one person or of all together, as it is written without a word on people."""
    number, minutes = draw(numbers(largest=12)), draw(st.integers(0, 59))
    whole = draw(st.integers(1, 12))
    how = draw(
        st.sampled_from(["hours", "minutes", "h and min", "h30", "colon", "days", "weeks", "half a day", "bare"])
    )
    text, hours = {
        "hours": (number.text + draw(st.sampled_from(HOURS)), number.size),
        "minutes": (f"{minutes + 1}{draw(st.sampled_from(MINUTES))}", Fraction(minutes + 1, 60)),
        "h and min": (f"{whole} hr {minutes} min", whole + Fraction(minutes, 60)),
        "h30": (f"{whole}h{minutes:02}", whole + Fraction(minutes, 60)),
        "colon": (f"{whole}:{minutes:02}", whole + Fraction(minutes, 60)),
        "days": (f"{number.text} days", number.size * DAY_H),
        "weeks": (f"{number.text} weeks", number.size * WEEK_H),
        "half a day": ("half a day", Fraction(DAY_H, 2)),
        "bare": (number.text, number.size),
    }[how]
    plain = how != "colon" and (number.plain or how not in {"hours", "days", "weeks", "bare"})
    return Said(text, {"h": hours}, plain)


@st.composite
def worked(draw: st.DrawFn) -> Said:
    """Hours of all people together, however they are written."""
    one = draw(lengths())
    how = draw(st.sampled_from(["alone", "alone", "men x", "x", "men each", "men", "each", "clock"]))
    people, crew = draw(st.integers(2, 9)), draw(st.sampled_from(CREW))
    several = {"h": people * one.size}
    if how == "alone":
        return one
    if how in {"men x", "x", "men each"}:
        text = {"men x": f"{people} {crew} x {one.text}", "x": f"{people} x {one.text}",
                "men each": f"{people} {crew} {one.text} each"}[how]  # fmt: skip
        return Said(text, several, plain=False)
    if how == "men":
        return Said(f"{people} {crew} {one.text}", plain=False)
    if how == "each":
        return Said(f"{one.text} each", plain=False)
    first, last = sorted((draw(st.integers(5, 22)), draw(st.integers(5, 22))))
    form = draw(
        st.sampled_from(["{0}-{1}", "{0}:00-{1}:30", "{0:02}00-{1:02}00", "{0}.00-{1}.00", "{1} to {0}", "{0}-{1}h"])
    )
    return Said(form.format(first, last + 1), plain=False)
