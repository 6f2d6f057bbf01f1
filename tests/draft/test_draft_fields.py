"""Headers to fields, the kind of record, names of greens and materials, sheets with a column a green."""

from __future__ import annotations

from typing import Any

import pytest

from pipeline.draft import Draft
from pipeline.profiles.profile import read_profile
from tests.conftest import Load
from tests.draft.conftest import Drafted, data_of, open_places

JOBS = "Date,Green,Operation,{}\n2026-04-03,ALD-1,mowing,{}\n"


@pytest.mark.parametrize(
    ("headers", "kind"),
    [
        ("Date,Green,Operation,Product", "job"),
        ("Day,Site,Task,Qty", "job"),
        ("Sampled,Green,pH,P,K,Mg", "soil_test"),
        ("date,green,analyte,value,unit", "soil_test"),
        ("day,site,rink,seconds,unit", "green_speed"),
        ("club,name,region", "club"),
        ("green,club,area_m2,shape", "green"),
        ("material,sort,n,p,k,pack size", "material"),
    ],
)
def test_the_kind_is_told_by_the_headers(drafted: Drafted, headers: str, kind: str) -> None:
    row = ",".join("1" for _ in headers.split(","))
    assert data_of(drafted(f"{headers}\n{row}\n"))["kind"] == kind


def test_a_kind_that_is_not_clear_is_asked_with_the_candidates(drafted: Drafted) -> None:
    made = drafted("Date,Green,Remarks\n2026-04-03,ALD-1,fine\n")
    assert data_of(made)["kind"] == "?"
    assert made.kind == "?"
    assert "--kind" in made.asks[0].why


def test_a_kind_that_is_given_is_taken(drafted: Drafted) -> None:
    assert data_of(drafted("Date,Green,Remarks\n2026-04-03,ALD-1,fine\n", kind="green_speed"))["kind"] == "green_speed"


def _fields(drafted: Drafted, header: str, cell: str) -> tuple[Draft, dict[str, Any]]:
    made = drafted(JOBS.format(header, cell), kind="job")
    return made, data_of(made)["fields"]


@pytest.mark.parametrize(
    ("header", "cell", "field", "origin"),
    [
        ("Depth (in)", "1/4", "depth_mm", {"from": "Depth (in)", "unit": "in"}),
        ("Working depth cm", "2", "depth_mm", {"from": "Working depth cm", "unit": "cm"}),
        ("depth_mm", "6", "depth_mm", "depth_mm"),
        ("Depth mm", "6", "depth_mm", "Depth mm"),
        ("Depth", "6 mm", "depth_mm", "Depth"),
        ("Depth", "6", "depth_mm", {"from": "Depth", "unit": "?"}),
        ("Spacing/mm", "50", "spacing_along_mm", {"from": "Spacing/mm", "unit": "mm"}),
        ("Rate lb/1000 sq ft", "2", "rate", {"from": "Rate lb/1000 sq ft", "unit": "lb/1000 sq ft"}),
        ("Amount (kg)", "50", "quantity", {"from": "Amount (kg)", "unit": "kg"}),
        ("Amount", "2 x 25 kg", "quantity", "Amount"),
        ("Amount", "50", "quantity", {"from": "Amount", "unit": "?"}),
        ("Area m²", "1600", "treated_area_m2", {"from": "Area m²", "unit": "m²"}),
        ("Hrs", "2", "hours", "Hrs"),
    ],
)
def test_a_header_becomes_its_field_with_its_unit(
    drafted: Drafted, header: str, cell: str, field: str, origin: object
) -> None:
    """A depth in inches taken for millimetres is the dearest mistake of all: what nothing says is asked."""
    assert _fields(drafted, header, cell)[1][field] == origin


def test_a_name_that_is_near_is_marked_as_a_guess(drafted: Drafted) -> None:
    made, fields = _fields(drafted, "Blade thicknes (mm)", "1")
    assert "blade_mm" not in fields or "guessed" in made.text
    made, fields = _fields(drafted, "Product usd", "feed")
    assert fields["material"] == "Product usd"
    assert 'material = "Product usd"  # guessed from the header: check' in made.text


def test_figures_in_a_unit_the_field_does_not_have_are_not_taken(drafted: Drafted) -> None:
    """“Holes apart (mm)” is no number of holes."""
    assert "holes" not in _fields(drafted, "Holes apart (mm)", "50")[1]


def test_exact_names_bring_no_comment(drafted: Drafted) -> None:
    made, _ = _fields(drafted, "Notes", "fine")
    assert '\nnote = "Notes"\n' in made.text


def test_unknown_headers_are_told_by_what_the_cells_hold(county: Load, drafted: Drafted) -> None:
    """“What we did” with words for operations, “Where” with greens of the store, “When” with dates."""
    made = drafted("When,Place,What we did,Chat\n3 April 2026,Alder Brook,mown,x\n4 April 2026,ALD-1,scarified,y\n")
    data = data_of(made)
    assert data["kind"] == "job"
    assert (data["fields"]["date"], data["fields"]["green"], data["fields"]["operation"]) == (
        "When",
        "Place",
        "What we did",
    )
    assert data["ignore"]["headers"] == ["Chat"]
    assert open_places(data) == []


def test_two_columns_that_may_be_the_needed_one_are_asked(drafted: Drafted) -> None:
    made = drafted("Date Recd,Date Rept,Green,pH,K mg/kg,P mg/kg\n2026-02-01,2026-02-03,ALD-1,6,80,12\n")
    assert data_of(made)["fields"]["date"] == "?"
    (ask,) = [one for one in made.asks if one.key == "fields.date"]
    assert "“Date Recd”, “Date Rept”" in ask.why


def test_a_needed_field_without_a_column_is_asked_as_a_constant(drafted: Drafted) -> None:
    made = data_of(drafted("Day,Rink,Seconds\n2026-04-03,1,12.4\n", kind="green_speed"))
    assert made["constants"] == {"green": "?", "unit": "s"}  # the header of the results says seconds


def test_amounts_put_on_and_taken_off_are_parted_by_a_person(drafted: Drafted) -> None:
    """Both columns hold amounts; which is which cannot be seen, and neither may be lost."""
    rows = "2026-04-03,ALD-1,top dressing,50 kg,\n2026-04-04,ALD-1,scarifying,,90 l\n"
    data = data_of(drafted(f"Date,Green,Operation,How much,Took off\n{rows}"))
    assert (data["fields"]["quantity"], data["fields"]["debris"]) == ("?", "?")
    assert "ignore" not in data


def test_names_that_are_not_known_are_listed_most_frequent_first(county: Load, drafted: Drafted) -> None:
    rows = [
        ("Alder Brok", "mowing"),
        ("ALD-1", "Mow"),
        ("alder brook", "moing"),
        ("Nowhere", "box cut"),
        ("Nowhere", "cut"),
    ]
    made = drafted("Date,Green,Operation\n" + "".join(f"2026-04-03,{green},{what}\n" for green, what in rows))
    assert data_of(made)["aliases"] == {"green": {"alder brook": "ALD-1"}, "operation": {}}
    assert [(one.list, one.word, one.count) for one in made.unknown] == [
        ("green", "Nowhere", 2), ("green", "Alder Brok", 1), ("operation", "moing", 1),
    ]  # fmt: skip
    assert '# "Alder Brok" = "…"  # once; closest: ALD-1 (Alder Brook)' in made.text
    assert made.asks == ()  # swardtally words asks; "Mow", "box cut" and "cut" are known spellings


def test_at_most_forty_unknown_names_are_written_out(county: Load, drafted: Drafted) -> None:
    rows = "".join(f"2026-04-03,Place {i:03d},mowing\n" for i in range(50))
    made = drafted(f"Date,Green,Operation\n{rows}")
    assert made.text.count('= "…"  # once') == 40
    assert len(made.unknown) == 50
    assert "10 more words are not known" in made.text


def test_without_a_store_names_are_not_compared_and_it_is_said(drafted: Drafted) -> None:
    made = drafted(JOBS.format("Material", "feed"))
    assert open_places(data_of(made)) == []
    assert "Not compared with the greens of the store" in made.text


TWO_GREENS = "green,club\nALD-2,ALD\nALD-3,ALD\n"


def test_a_column_a_green_becomes_long_entries(county: Load, drafted: Drafted) -> None:
    """Greens by code, by another name and one unknown between them; what the cells are is asked where it is open."""
    county("more.csv", TWO_GREENS)
    head = "Date,Rink,ALD-2,ALD-4,Alder Brook,ALD-3\n"
    made = drafted(f"{head}2026-04-18,1,12.1,11.8,12.4,12.0\n")
    data = data_of(made)
    assert data["kind"] == "green_speed"
    assert {entry["from"]: entry["set"]["green"] for entry in data["long"]} == {
        "ALD-2": "ALD-2", "ALD-4": "?", "Alder Brook": "ALD-1", "ALD-3": "ALD-3",
    }  # fmt: skip
    assert data["constants"] == {"unit": "?"}
    as_job = data_of(drafted(f"{head}2026-04-18,1,12.1,11.8,12.4,12.0\n", kind="job"))
    assert {entry["into"] for entry in as_job["long"]} == {"?"}


def test_headers_that_identify_the_layout(drafted: Drafted) -> None:
    """Needed columns first; six are enough."""
    made = data_of(
        drafted("Ref,Notes,Date,Green,Operation,Hours,People,Cost,Depth mm\n1,x,2026-04-03,ALD-1,mowing,1,1,1,1\n")
    )
    assert made["match"]["headers"][:3] == ["Date", "Green", "Operation"]
    assert len(made["match"]["headers"]) == 6


def test_a_column_named_as_the_mark_is_left_out(drafted: Drafted) -> None:
    """Named in a profile it would stand there as a mark that nobody can decide."""
    assert open_places(data_of(drafted("Date,Green,Operation,?\n2026-04-03,ALD-1,mowing,x\n"))) == []


@pytest.mark.parametrize("header", ['say "when"', "a\\b", "naïve", "x=y", "[z]", "#1", "2 ''"])
def test_a_draft_with_odd_headers_is_a_profile(drafted: Drafted, header: str) -> None:
    made = drafted(f'Date,Green,Operation,"{header.replace(chr(34), chr(34) * 2)}"\n2026-04-03,ALD-1,mowing,x\n')
    assert made.path is not None
    assert read_profile(made.path).ignore.headers == (header,)
