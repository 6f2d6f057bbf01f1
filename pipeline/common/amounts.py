"""Texts that remember the quantities in them, so that a page may say them in other units and nobody parses prose."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

T_PLACES = 2
"""Digits after the point that a mass in tonnes carries at least, where zeros are left out."""


@dataclass(frozen=True)
class Amount:
    """A quantity inside a text.

    Attributes:
        value: the quantity in ``unit``, not rounded.
        unit: SI unit as printed.
        form: format of the number, such as ",.0f".
        bare: True where the unit is not printed: the lower end of a range.
        carries: digits after the point that it carries where the printed number leaves zeros out; None for those
            printed. A target of 5 kg/m² is known better than a green dressed with 5 kg/m².
        again: True where the figure beside the text says the same already, in another unit.
    """

    value: float
    unit: str
    form: str = "g"
    bare: bool = False
    carries: int | None = None
    again: bool = False

    @property
    def number(self) -> str:
        """The number as printed in SI."""
        return format(self.value, self.form)

    @property
    def decimals(self) -> int:
        """Digits after the point that the quantity carries in SI."""
        return self.printed if self.carries is None else self.carries

    @property
    def printed(self) -> int:
        """Digits after the point that are printed of it in SI."""
        number = self.number
        return 0 if "e" in number else len(number.partition(".")[2])

    def __str__(self) -> str:
        """The quantity as printed in SI."""
        return self.number if self.bare else f"{self.number} {self.unit}"


class Source(str):
    """Who says something, inside a text: a page that numbers its sources prints the number in its place."""


Part = str | Amount


class AmountText(str):
    """A text in SI units that remembers its parts.

    It is a string in every respect: equal to one, written to CSV and JSON as one.

    Attributes:
        parts: the words and quantities it is made of, in order.
    """

    parts: tuple[Part, ...]

    def __new__(cls, *parts: Part) -> AmountText:
        """The text of these parts; parts that are such texts themselves are taken apart."""
        flat: list[Part] = []
        for part in parts:
            flat += part.parts if isinstance(part, AmountText) else (part,)
        made = super().__new__(cls, "".join(map(str, flat)))
        made.parts = tuple(flat)
        return made

    def __getnewargs__(self) -> tuple[Part, ...]:  # type: ignore[override]
        """What a copy is made of, in this process or another."""
        return self.parts

    def __repr__(self) -> str:
        """The parts, quantities not rounded: two texts that read alike may read differently in other units."""
        return f"AmountText{self.parts!r}"

    def said(self, say: Callable[[Amount], str]) -> AmountText:
        """The text with every quantity said another way; it still knows its sources."""
        return AmountText(*(say(part) if isinstance(part, Amount) else part for part in self.parts))

    def turned(self, turn: Callable[[Amount], Amount]) -> AmountText:
        """The text with every quantity as another, which it remembers as well."""
        return AmountText(*(turn(part) if isinstance(part, Amount) else part for part in self.parts))

    def cited(self, cite: Callable[[str], str]) -> str:
        """The text with every source said another way."""
        return "".join(cite(part) if isinstance(part, Source) else str(part) for part in self.parts)


def joined(separator: str, parts: Sequence[str]) -> AmountText:
    """Texts joined to one that still remembers their quantities."""
    woven: list[Part] = []
    for part in parts:
        woven += [separator, part] if woven else [part]
    return AmountText(*woven)


def each(values: Sequence[float], unit: str, form: str = "g") -> tuple[AmountText, ...]:
    """Quantities of a list, of which the last alone has the unit: 4, 5 and 6 mm."""
    return tuple(AmountText(Amount(value, unit, form, bare=n < len(values))) for n, value in enumerate(values, 1))


def in_list(texts: Sequence[str]) -> AmountText:
    """Texts as a list in a sentence (a, b and c) that still remembers their quantities."""
    return AmountText(joined(", ", texts[:-1]), " and ", texts[-1]) if len(texts) > 1 else AmountText(*texts)


def span(
    low: float, high: float | None, unit: str, form: str, between: str = " to ", carries: int | None = None
) -> AmountText:
    """A range with its unit once ("1.2 to 2.4 t"); the lower end alone where there is no upper.

    Both ends carry the digits of the one that is printed with more: of 4.5 to 6 t the 6 is known as well as the 4.5.
    """
    if high is None:
        return AmountText(Amount(low, unit, form, carries=carries))
    if carries is None:
        finest = max(Amount(end, unit, form).printed for end in (low, high))
        carries = finest if finest or not form.endswith("g") else None
    first = Amount(low, unit, form, bare=True, carries=carries)
    return AmountText(first, between, Amount(high, unit, form, carries=carries))
