"""Names of files: no two codes share one, on any file system."""

from __future__ import annotations

import re
import unicodedata
from itertools import combinations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.common.file_names import file_stem, former_stem, same_file
from pipeline.draft.build import _slug
from pipeline.publish.comparison import comparison_stem
from pipeline.workspace.settings import as_text, rejects_name

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


@example("CON")
@example("aux.tar")
@example("-rf")
@example("..")
@given(st.text(st.characters(codec=None), max_size=400))
def test_a_file_of_rejected_rows_has_a_name_that_every_file_system_takes(name: str) -> None:
    """It follows the name of a person's file, which another system may have allowed."""
    made = rejects_name(as_text(name))
    assert not re.search(r'[<>:"/\\|?*\x00-\x1f\x7f-\x9f]', made)
    assert made[0] not in "-. ~"
    assert made[-1] not in ". "
    assert made.partition(".")[0].strip().lower() not in DEVICES
    assert len(made.encode()) <= 255
    assert unicodedata.is_normalized("NFC", made)


def test_ordinary_names_of_rejected_rows_are_as_they_were() -> None:
    """Files of rejected rows that lie there already are found again."""
    for name, made in (
        ("log.csv", "log.rejected.csv"), ("jobs 2026.xlsx", "jobs 2026.xlsx.rejected.csv"),
        ("log.rejected.csv", "log.rejected-again.csv"), ("a/b.csv", "a_b.rejected.csv"),
        ("Grün (2).csv", "Grün (2).rejected.csv"),
    ):  # fmt: skip
        assert rejects_name(name) == made


def test_names_that_a_file_system_takes_for_one() -> None:
    """Capitals do not count on Windows, nor on macOS how an accent is composed."""
    assert same_file("Grün.csv") == same_file("GRU\u0308N.CSV") != same_file("Grun.csv")


@pytest.mark.parametrize("name", ["CON", "lpt1", "x" * 300, "漢", "", "..", "-rf", "Crew log"])
def test_a_profile_has_a_name_that_every_file_system_takes(name: str) -> None:
    stem = _slug(name)
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", stem)
    assert stem not in DEVICES
    assert len(stem) <= 90
