"""Cells that name several: joining or splitting them changes no record and no total, and no line is stored by half."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.profiles.profile import Profile
from pipeline.profiles.style import Refused
from pipeline.standardise.several.said import pieces_said
from tests.inputs.harness import Bench
from tests.thorough import examples

PROFILE = Profile.model_validate(
    {
        "name": "log",
        "kind": "job",
        "match": {"headers": ["Day", "Green", "Work"]},
        "fields": {"date": "Day", "green": "Green", "operation": "Work", "hours": "Hours"},
        "several": {"operation": {}, "green": {"between": ["&", "/"], "whole": "each"}},
    }
)
WORDS = {
    "scarified": ("", " x2", " x3", " 4mm", " x2 4mm"),
    "tined": ("", " 5in", " 100mm", " twice"),
    "mowed": ("", " 5mm", " both ways"),
    "fed": ("", " 20kg", " 2 bags", " 35 g/m2"),
    "dressed": ("", " 1.5t 80/20", " 2t", " x2"),
    "brushed": ("",),
}
TOLD = (
    "date",
    "green",
    "operation",
    "passes",
    "depth_mm",
    "cut_height_mm",
    "material",
    "mass_kg",
    "packs",
    "rate_g_m2",
)


@st.composite
def visits(draw: st.DrawFn) -> list[tuple[str, list[str], list[str]]]:
    """Days with the greens gone over and what was done on them, each operation once."""
    found = []
    for day in range(1, draw(st.integers(1, 4)) + 1):
        words = draw(st.lists(st.sampled_from(sorted(WORDS)), min_size=1, max_size=4, unique=True))
        said = [word + draw(st.sampled_from(WORDS[word])) for word in words]
        greens = draw(st.sampled_from([["ALD-1"], ["ALD-2"], ["ALD-1", "ALD-2"]]))
        found.append((f"2026-03-{day:02d}", greens, said))
    return found


def _loaded(county: Bench, folder: Path, rows: list[tuple[str, str, str]]) -> Counter[tuple[Any, ...]]:
    path = folder / "log.csv"
    path.write_text("Day,Green,Work,Hours\n" + "".join(f'{day},{green},"{work}",\n' for day, green, work in rows))
    with county.rehearsal() as here:
        result = here.load(path, (PROFILE,))
        assert not result.failed, result.faults["message"].to_list()
        assert result.counts.loaded == result.counts.rows
        return Counter(tuple(record[name] for name in TOLD) for record in here.records("job"))


@settings(max_examples=examples(8, 25), deadline=None)
@given(visits(), st.sampled_from([", ", "; ", " then "]), st.sampled_from(["/", " & "]))
def test_joining_cells_changes_no_record(
    county: Bench, tmp_path_factory: pytest.TempPathFactory, done: list[Any], between: str, mark: str
) -> None:
    """One line for all of a visit says what a line an operation and green says; so no total changes."""
    folder = tmp_path_factory.mktemp("several")
    joined = [(day, mark.join(greens), between.join(said)) for day, greens, said in done]
    split = [(day, green, one) for day, greens, said in done for one in said for green in greens]
    assert _loaded(county, folder, joined) == _loaded(county, folder, split)


@pytest.mark.parametrize(
    ("phrase", "says"),
    [
        ("hollow cored 13mm", "the bore of the tine or the depth"),
        ("tined 12mm", "the diameter of the tine or the depth"),
        ("tined 1in", "the diameter of the tine or the depth"),
        ("scarified x2 both ways", "says the same thing as “2”, or another"),
        ("scarified and tined x2", "of solid tining alone, or of scarifying too"),
        ("x2 scarify & tine", "of scarifying alone, or of solid tining too"),
        ("mowed & verticut 3mm", "of verticutting alone, or of mowing too"),
        ("fed and dressed 2t", "of top dressing alone, or of fertilising too"),
        ("scarified 2 bags", "no field of its record takes"),
        ("scarified x2/overseeded", "no field of its record takes"),
        ("fed x2", "counts no passes there"),
        ("dressed 1.5t x2", "all that was put on, or as much each time"),
        ("overseeded 35 g/m2 both ways", "all that was put on, or as much each time"),
        ("mowed 10mm deep", "no field of its record takes"),
    ],
)
def test_an_amount_with_two_readings_is_refused_with_both(phrase: str, says: str) -> None:
    """A bore taken for a depth, or one machine's passes for another's, would be a figure read wrong in silence."""
    with pytest.raises(Refused) as refused:
        pieces_said(phrase)
    assert says in str(dict(refused.value.problem.facts)["readings"])


@pytest.mark.parametrize(
    ("phrase", "fields"),
    [
        ("cored 80mm depth", [{"depth_mm": "80mm"}]),
        ("cored 4in deep 2in centres", [{"depth_mm": "4in", "spacing_along_mm": "2in"}]),
        ("mow 5-6mm", [{"cut_height_mm": "5-6mm"}]),
        ("dressed 1 1/2 t", [{"quantity": "1 1/2t"}]),
        ("dressed 70:30 1t", [{"material": "70:30", "quantity": "1t"}]),
        ("scarified and dressed 1.5t", [{}, {"quantity": "1.5t"}]),
        ("swept up and collected", [{}]),
    ],
)
def test_an_amount_that_can_be_of_one_thing_alone_goes_there(phrase: str, fields: list[dict[str, str]]) -> None:
    """The readers of the field itself turn what is written into figures."""
    assert [piece.fields for piece in pieces_said(phrase)] == fields


def test_a_line_with_one_bad_part_is_rejected_whole_and_mended_once(county: Bench, tmp_path: Path) -> None:
    """With half of it in the store, the mended line would bring that half a second time."""
    path = tmp_path / "log.csv"
    path.write_text('Day,Green,Work,Hours\n2026-03-01,ALD-1,"mowed 5mm, tined 900mm",\n2026-03-02,ALD-1,mowed,\n')
    with county.rehearsal() as here:
        first = here.load(path, (PROFILE,))
        assert (first.counts.rows, first.counts.loaded, first.counts.rejected) == (3, 1, 2)
        assert first.rejects_file is not None
        text = first.rejects_file.read_text("utf-8-sig")
        assert text.count("mowed 5mm, tined 900mm") >= 1
        assert text.splitlines()[1].startswith('2026-03-01,ALD-1,"mowed 5mm, tined 900mm"')
        assert len(text.splitlines()) == 2
        first.rejects_file.write_text(text.replace('"mowed 5mm, tined 900mm"', '"mowed 5mm, tined 90mm"'), "utf-8-sig")
        again = here.load(first.rejects_file, (PROFILE,))
        assert (again.counts.loaded, again.counts.rejected) == (2, 0)
        assert here.load(path.rename(tmp_path / "log2.csv"), (PROFILE,)).counts.unchanged == 1
        assert len(here.records("job")) == 3


def test_the_same_file_again_brings_nothing(county: Bench, tmp_path: Path) -> None:
    """Records of one line are told apart by what was done."""
    path = tmp_path / "log.csv"
    path.write_text('Day,Green,Work,Hours\n2026-03-01,ALD-1/ALD-2,"mowed 5mm, brushed, fed 20kg",\n')
    with county.rehearsal() as here:
        assert here.load(path, (PROFILE,)).counts.loaded == 6
        path.write_text(path.read_text().replace("20kg", "25kg"))
        again = here.load(path, (PROFILE,))
        assert (again.counts.unchanged, again.counts.superseded) == (4, 2)


def test_shares_of_a_line_add_up_to_what_it_says(county: Bench, tmp_path: Path) -> None:
    """Shared out by area, and a green without one is named: no share is guessed."""
    shared = PROFILE.model_copy(update={"several": {**PROFILE.several}})
    shared.several["green"] = shared.several["green"].model_copy(update={"whole": "shared"})
    path = tmp_path / "log.csv"
    path.write_text('Day,Green,Work,Hours\n2026-03-01,ALD-1/ALD-2/TAR-1,"mowed, fed 90kg",\n')
    with county.rehearsal() as here:
        assert not here.load(path, (shared,)).failed
        masses = [one["mass_kg"] for one in here.records("job") if one["operation"] == "fertilising"]
        assert sum(masses) == pytest.approx(90) and sorted(masses) == pytest.approx([28, 30, 32])
