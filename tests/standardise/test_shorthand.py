"""Whatever a crew writes is read as it was meant, or refused; never as another amount."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.fields import understand
from schemas import KINDS
from tests.standardise import shorthand
from tests.standardise.shorthand import DAY_H, WEEK_H, Said
from tests.thorough import examples

SORTS = {"mass_kg": "kg", "volume_l": "l", "packs": "packs", "rate_g_m2": "g/m2", "rate_ml_m2": "ml/m2", "hours": "h"}
EXAMPLES = settings(max_examples=examples(60, 200))


def read(field: str, text: str, style: Style, unit: str = "") -> dict[str, float] | None:
    """What the program reads, by sort; None where it refuses."""
    cells = Cells(pl.Series([2], dtype=pl.Int64), pl.Series([text]), "their column", unit)
    done = understand(KINDS["job"].by_name[field], cells, style, {})
    if (done.faults["severity"] == "error").any():
        return None
    row = done.values.row(0, named=True)
    return {SORTS[name]: value for name, value in row.items() if name in SORTS and value is not None}


def check(said: Said, found: Mapping[str, float] | None) -> None:
    """Hold what was read against what was meant."""
    if found is None:
        # 3/4 kg may be 3 or 4 kg, and 1/2 bags one or two: rightly refused; half a kilogram is not
        bare = r"(?<![\d ] )(?<![-\d.,/])\b"
        half = rf"{bare}1/[24](?! *(?:kg|t|l)\b)(?! *[x×*] *[\d.,½¼¾⅔/ -]+(?:kg|t|l)$)"
        two = re.search(rf"{half}|{bare}(?!1/[24])\d/\d", said.text)
        assert two or not said.plain, f"{said.text!r} is plain and was refused"
        return
    assert said.means, f"{said.text!r} cannot be known and was read as {found}"
    assert list(found) == [said.sort], said.text
    assert found[said.sort] == pytest.approx(float(said.size), rel=1e-9), said.text


@EXAMPLES
@given(st.sampled_from([".", ","]).flatmap(lambda mark: st.tuples(st.just(mark), shorthand.amounts(mark))))
def test_an_amount_is_read_as_meant_or_refused(drawn: tuple[str, Said]) -> None:
    """Guards against a mixed number read in part, packs taken for kilograms, a sum cut short, a rate for an amount."""
    mark, said = drawn
    check(said, read("quantity", said.text, Style(decimal="," if mark == "," else ".")))


@EXAMPLES
@given(shorthand.amounts())
def test_a_declared_unit_changes_nothing_of_an_amount_that_has_one(said: Said) -> None:
    """Guards against the column's kilograms laid over what the cell says itself."""
    check(said, read("quantity", said.text, Style(), "kg"))


@EXAMPLES
@given(shorthand.rates() | shorthand.single() | shorthand.packs())
def test_a_rate_is_read_as_meant_or_refused(said: Said) -> None:
    """An amount over no area is no rate, whatever its unit."""
    over_area = said.sort in {"g/m2", "ml/m2"}
    check(said if over_area else Said(said.text, plain=False), read("rate", said.text, Style()))


@EXAMPLES
@given(shorthand.worked())
def test_hours_are_read_as_meant_or_refused(said: Said) -> None:
    """Guards against a day of 24 hours, times of the clock as a range, the hours of one for those of all."""
    check(said, read("hours", said.text, Style(working_day_h=DAY_H, working_week_h=WEEK_H), "h"))


@EXAMPLES
@given(shorthand.worked())
def test_hours_of_no_declared_day_are_read_as_meant_or_refused(said: Said) -> None:
    """The same where neither the unit nor a working day's length is declared: a day is refused then."""
    unsure = Said(said.text, said.means, said.plain and "day" not in said.text and "week" not in said.text)
    check(unsure, read("hours", said.text, Style()))


def test_the_generator_says_what_is_meant() -> None:
    """Guards against a generator that is wrong in the same way as the program: a few texts worked out by hand."""
    half = Said("1 1/2", {"": Fraction(3, 2)})
    one = shorthand._amount_of(half, "t", " ")
    assert (one.text, one.means) == ("1 1/2 t", {"kg": Fraction(1500)})
    assert shorthand.times(Said("2", {"": Fraction(2)}), one, "2 x 1 1/2 t", plain=True).size == 3000
