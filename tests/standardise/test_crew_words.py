"""Operations in a crew's own words: a list written by somebody who had not seen the code, and phrases that are no work.

``crew_words.csv`` has thirty phrases an operation, commonest first (common practice, no source), half of them
(``shown``) known when the words were gathered and half (``held``) not: of the 390 held ones 176 were then understood
and one was taken for another operation ("250mm deep tine"). What was held is in the list of words since.
"""

import csv
from pathlib import Path

import pytest

from pipeline.standardise.cells.crew_words import operations_said, stem
from schemas.codes import code_list

PHRASES = list(csv.DictReader(Path(__file__).with_name("crew_words.csv").read_text("utf-8").splitlines()))


@pytest.mark.parametrize("operation", list(code_list("operation")))
def test_no_phrase_is_taken_for_another_operation(operation: str) -> None:
    """Each is what its writer meant, or not understood at all; at least two in three are understood."""
    phrases = [row for row in PHRASES if operation in row["operation"].split("|")]
    said = {row["words"]: operations_said(row["words"]).operations for row in phrases}
    meant = {row["words"]: row["operation"].split("|") for row in phrases}
    assert {words: names for words, names in said.items() if names and sorted(names) != sorted(meant[words])} == {}
    assert sum(bool(names) for names in said.values()) >= len(phrases) * 2 / 3


def test_the_list_covers_every_operation() -> None:
    named = [operation for row in PHRASES for operation in row["operation"].split("|")]
    assert len({row["words"] for row in PHRASES}) == len(PHRASES) == 30 * len(code_list("operation"))
    assert min(named.count(name) for name in code_list("operation")) >= 29


@pytest.mark.parametrize(
    "phrase",
    [
        "no cut", "not cut", "cut off", "cut cancelled", "too wet to cut", "to be scarified", "scarify next week",
        "cut due", "needs feed", "half tined", "scarified, no dressing", "feed ordered", "tines changed", "mower broke",
        "moed", "scrified", "fed the cat", "work done", "job", "green", "spread", "applied", "sprayed", "aerated",
        "swept", "iron", "ironed", "weed", "mower serviced and green cut?", "in", "off", "x2", "25 kg",
    ],
)  # fmt: skip
def test_what_says_no_work_or_could_be_two_is_not_understood(phrase: str) -> None:
    assert operations_said(phrase).operations == ()


@pytest.mark.parametrize(
    ("phrase", "operations", "amounts", "part"),
    [
        ("scarified x3", ("scarifying",), ("x3",), ()),
        ("Cut 5mm", ("mowing",), ("5mm",), ()),
        ("scarifier 10 mm deep", ("scarifying",), ("10mm deep",), ()),
        ("rolled both ways", ("rolling",), ("both-ways",), ()),
        ("seeded worn ends", ("overseeding",), (), ("worn", "ends")),
        ("fed before rain", ("fertilising",), (), ()),
        ("brushed before cut", ("brushing",), (), ()),
        ("cleared up after scarify", ("debris_collection",), (), ()),
        ("Hollow cored, cores lifted", ("hollow_coring", "debris_collection"), (), ()),
        ("scarified x3, tined 5in, fed 2kg", ("scarifying", "solid_tining", "fertilising"), ("x3", "5in", "2kg"), ()),
        ("lift and level", ("levelling",), (), ()),
        ("trim edges & cut", ("edging", "mowing"), (), ()),
    ],
)  # fmt: skip
def test_what_a_phrase_says_beside_its_operation(
    phrase: str, operations: tuple[str, ...], amounts: tuple[str, ...], part: tuple[str, ...]
) -> None:
    said = operations_said(phrase)
    assert (said.operations, said.amounts, said.part) == (operations, amounts, part)


def test_endings() -> None:
    for words in (
        ("mow", "mows", "mowed", "mowing", "mown"),
        ("dress", "dressed", "dressing"),
        ("tine", "tined", "tines"),
    ):
        assert len({stem(word) for word in words}) == 1
    assert len({stem(word) for word in ("lime", "line", "slit", "spike", "seed", "feed", "level", "turf")}) == 8
