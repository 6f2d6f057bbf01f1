"""Names of files: no two codes share one, on any file system."""

from __future__ import annotations

import re
import unicodedata
from itertools import combinations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.common.file_names import file_stem, former_stem
from pipeline.publish.comparison import comparison_stem

DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{i}" for port in ("com", "lpt") for i in range(10))}
ODD = [
    *("Z 1", "Z-1", "z-1", "Z_1", "Z--1", "-Z-1", "Z-1-", "Z.1", "Z-1.", "Z-1 ", "CON", "con", "COM1", "..", ".", ""),
    *(" ", "a/b", "a\\b", "Кегли", "Κήπος", "绿地", "緑地", "Grün", "Gru\u0308n", "GRÜN", "ﬁ", "fi", "x" * 300),
    *("X" * 300, "X" * 301, "all", "ALL", "COMPARISON-ALD", "\udcff", "\x00"),
]


def as_a_file_system_sees_it(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold().rstrip(". ")


@pytest.mark.parametrize("code", ["ALD-1", "KET", "BRA-12", "G00", "7", "A" * 80])
def test_a_plain_code_is_its_own_name(code: str) -> None:
    """Names of documents that stand in a folder already do not change."""
    assert file_stem(code) == code == former_stem(code)


def test_codes_that_look_alike_have_names_of_their_own() -> None:
    """Two clubs' named comparisons must never be one file: the second would overwrite the first in silence."""
    for one, other in combinations(ODD, 2):
        assert as_a_file_system_sees_it(file_stem(one)) != as_a_file_system_sees_it(file_stem(other)), (one, other)


@example("Z 1", "Z-1")
@example("é", "e\u0301")
@example("ald-1", "ALD-1")
@given(st.text(max_size=40), st.text(max_size=40))
def test_no_two_codes_share_a_name(one: str, other: str) -> None:
    forms = {one, other, one.lower(), one.upper(), one.casefold(), f"{one} ", f"{one}.", file_stem(one)}
    forms |= {former_stem(one), *(unicodedata.normalize(form, one) for form in ("NFC", "NFD"))}
    names = {as_a_file_system_sees_it(file_stem(form)) for form in forms}
    assert len(names) == len(forms)
    subjects = {(club, region) for club in ("", one, other) for region in ("", one, other)}
    stems = {as_a_file_system_sees_it(comparison_stem(*subject)) for subject in subjects}
    assert len(stems) == len(subjects)


@example("CON")
@example("..")
@example("绿地")
@given(st.text(st.characters(codec=None), max_size=400))
def test_a_name_is_safe_everywhere(code: str) -> None:
    """ASCII alone, no device of Windows, no end that Windows drops, and room for the rest of a file's name."""
    stem = file_stem(code)
    assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]*[A-Za-z0-9]|[A-Z0-9]", stem)
    assert stem.lower() not in DEVICES
    assert len(f".{comparison_stem(code, code)}-2026-associations.csv.{2**31}") <= 255


def test_a_document_of_one_kind_has_not_the_name_of_another() -> None:
    """A green that is called like a comparison's file begins."""
    condition = f"{file_stem('COMPARISON-ALD')}-condition-2026.pdf"
    assert condition.lower() != f"{comparison_stem('ALD-CONDITION', '')}-2026.pdf"
    assert comparison_stem("ALL", "") != comparison_stem("", "") == "comparison-all"
    assert comparison_stem("ALD", "") == "comparison-ald"
    assert comparison_stem("ALD", "WEST") == "comparison-ald+west"
