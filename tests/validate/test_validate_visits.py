"""Observations and sieve analyses: one wrong value a rule, with line, sentence and severity, and what must pass."""

from __future__ import annotations

import pytest

from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load

HEAD = (
    "date,green,observed,value,unit,hits,points,hammer_kg,depth_from_mm,depth_to_mm,ring_mm,volume_ml,minutes,"
    "head_mm,head_end_mm\n"
)


def told(result: FileResult) -> list[tuple[int, str, str, str]]:
    """(line, code, severity, message) of every fault."""
    return result.faults.select("line", "code", "severity", "message").rows()


def observed(**fields: str) -> str:
    """A file of one observation of ALD-1."""
    names = HEAD.strip().split(",")
    cells = {"date": "2026-09-16", "green": "ALD-1", **fields}
    return HEAD + ",".join(cells.get(name, "") for name in names) + "\n"


WRONG = [
    ({"observed": "moss", "hits": "120", "points": "100"}, "count.more", "120 hits of fewer points."),
    (
        {"observed": "moss", "hits": "12", "value": "12", "unit": "%"},
        "count.half",
        "Hits are given without the points looked at, or the other way about.",
    ),
    (
        {"observed": "moss", "value": "120", "unit": "%"},
        "value.observation",
        "Moss of 120 % cannot be: possible is 0 to 100.",
    ),
    ({"observed": "moss", "value": "<1", "unit": "%"}, "observation.below", "“<1.0” is a limit, not a reading."),
    ({"observed": "thatch", "value": "12"}, "unit.missing", "Depth of thatch: nothing says in which unit 12 is."),
    (
        {"observed": "thatch", "value": "12", "unit": "%"},
        "unit.observation",
        "Depth of thatch in “%” cannot be stored in mm.",
    ),
    (
        {"observed": "moss", "value": "20", "unit": "%", "hits": "12", "points": "100"},
        "observation.differs",
        "The reading of 20 does not fit the counts, ring or depths beside it.",
    ),
    (
        {
            "observed": "infiltration",
            "value": "120",
            "unit": "mm/h",
            "volume_ml": "1060",
            "ring_mm": "300",
            "minutes": "10",
        },
        "observation.differs",
        "The reading of 120 does not fit the counts, ring or depths beside it.",
    ),
    (
        {
            "observed": "infiltration",
            "head_mm": "85",
            "head_end_mm": "100",
            "minutes": "10",
            "value": "9",
            "unit": "mm/h",
        },
        "ring.rises",
        "The water stands at 100 mm in the end, above where it began.",
    ),
    (
        {"observed": "layer", "depth_from_mm": "20", "depth_to_mm": "20"},
        "depth.order",
        "The layer ends at 20 mm, above where it begins.",
    ),
    (
        {"observed": "layer", "value": "20", "unit": "mm"},
        "core.ends",
        "A layer of a core needs the depth it begins and the one it ends at; the thickness alone has no place.",
    ),
    ({"observed": "hardness", "value": "88", "unit": "furlongs"}, "choice.unknown", ""),
]


@pytest.mark.parametrize(("fields", "code", "message"), WRONG, ids=[f"{w[1]}-{i}" for i, w in enumerate(WRONG)])
def test_a_wrong_observation_is_rejected(county: Load, fields: dict[str, str], code: str, message: str) -> None:
    """A share over the whole, a rate from rising water, a reading without a unit: none may reach a report."""
    result = county("visit.csv", observed(**fields))
    errors = [one for one in told(result) if one[2] == "error"]
    assert [(line, found) for line, found, _, _ in errors][:1] == [(2, code)]
    assert not message or errors[0][3] == message
    assert (result.counts.loaded, result.counts.rejected) == (0, 1)


RIGHT = [
    ({"observed": "moss", "hits": "12", "points": "100"}, 12.0, "%"),
    ({"observed": "moss", "hits": "0", "points": "100"}, 0.0, "%"),
    ({"observed": "moss", "value": "12", "unit": "%", "hits": "123", "points": "1000"}, 12.0, "%"),
    ({"observed": "hardness", "value": "8.8", "unit": "CIV", "hammer_kg": "2.25"}, 88.0, "gravities"),
    ({"observed": "thatch", "value": "1/2 in", "unit": "mm"}, 12.7, "mm"),
    ({"observed": "roots", "value": "11", "unit": "cm"}, 110.0, "mm"),
    ({"observed": "infiltration", "value": "9", "unit": "cm/h"}, 90.0, "mm/h"),
    ({"observed": "infiltration", "volume_ml": "1060.29", "ring_mm": "300", "minutes": "10"}, 90.0, "mm/h"),
    ({"observed": "infiltration", "head_mm": "100", "head_end_mm": "85", "minutes": "10"}, 90.0, "mm/h"),
    ({"observed": "moisture", "value": "31", "unit": "%", "depth_from_mm": "0", "depth_to_mm": "60"}, 31.0, "%"),
    ({"observed": "layer", "depth_from_mm": "0", "depth_to_mm": "14"}, 14.0, "mm"),
]


@pytest.mark.parametrize(
    ("fields", "value", "unit"), RIGHT, ids=[f"{r[0]['observed']}-{i}" for i, r in enumerate(RIGHT)]
)
def test_a_right_observation_is_kept_in_its_unit(
    county: Load, workspace: Workspace, fields: dict[str, str], value: float, unit: str
) -> None:
    """Counts, ring water and the ends of a layer make the reading; other units are turned into the stored one."""
    assert told(county("visit.csv", observed(**fields))) == []
    with Store(workspace.store, read_only=True) as store:
        ((kept, kept_unit),) = store.rows("SELECT value, unit FROM observation")
    assert (kept, kept_unit) == (pytest.approx(value, abs=2e-3), unit)


def test_a_blank_reading_is_no_record(county: Load) -> None:
    """A form filled in part: what was not read is not zero."""
    result = county("visit.csv", observed(observed="moss"))
    assert (result.counts.loaded, result.counts.ignored, result.counts.rejected) == (0, 1, 0)


def test_hardness_without_its_hammer_is_kept_and_asked_about(county: Load) -> None:
    """0.5 and 2.25 kg read a green quite differently."""
    result = county("visit.csv", observed(observed="hardness", value="88", unit="gravities"))
    message = "Hardness of 88 g, and nothing says with which hammer."
    assert told(result) == [(2, "hardness.hammer", "warning", message)]
    assert result.counts.loaded == 1


def test_shares_of_one_place_beyond_the_whole_are_asked_about(county: Load) -> None:
    """Two plants at one point, or a slip: 97 bents, 3 bare, 9 moss of 100 points are 109 %; disease lies on grass."""
    head = "date,green,observed,place,hits,points\n"
    day = "2026-09-16,ALD-1"
    rows = [f"{day},bent,F1,97,100", f"{day},bare,F1,3,100", f"{day},moss,F1,9,100", f"{day},disease,F1,40,100",
            f"{day},bent,F2,97,100", f"{day},bare,F2,3,100", f"{day},disease,F2,40,100"]  # fmt: skip
    result = county("visit.csv", head + "\n".join(rows) + "\n")
    message = "Species, moss, weeds and bare ground of this place come to 109 %."
    assert told(result) == [(2, "count.shares", "warning", message)]
    assert result.counts.loaded == 7


def test_layers_of_a_core_that_overlap_are_asked_about(county: Load) -> None:
    """A profile drawn to scale would draw one layer over another."""
    head = "date,green,observed,place,depth_from_mm,depth_to_mm,layer\n"
    day = "2026-09-16,ALD-1,layer"
    rows = [f"{day},C1,0,14,thatch", f"{day},C1,12,60,sand", f"{day},C2,0,14,thatch", f"{day},C2,14,60,sand"]
    result = county("visit.csv", head + "\n".join(rows) + "\n")
    message = "The layer from 12 mm begins above the end of the one over it."
    assert told(result) == [(3, "core.overlap", "warning", message)]


SIEVE = "date,green,material,sample,size,basis,value,unit,dry_mass_g\n"
PASSING = ((0.05, 3), (0.15, 8), (0.25, 25), (0.5, 75), (1, 95))


def sieved(rows: list[str], owner: str = "ALD-1,,S") -> str:
    return SIEVE + "".join(f"2026-03-04,{owner},{row}\n" for row in rows)


def test_a_sound_sieve_analysis_loads_in_either_way(county: Load) -> None:
    """Passing in %, retained in % with and without the pan, and masses with the pan or the dry mass."""
    ways = {
        "A": [f"{size},passing,{value},%," for size, value in PASSING],
        "B": ["0,retained,8.2,%,", "0.15,retained,17,%,", "0.25,retained,75,%,"],
        "C": ["0.15,retained,17,%,", "0.25,retained,75,%,"],
        "D": ["0,retained,16,g,", "0.15,retained,34,g,", "0.25,retained,150,g,"],
        "E": ["0.15,retained,34,g,200", "0.25,retained,150,g,200"],
    }
    for name, rows in ways.items():
        assert told(county(f"{name}.csv", sieved(rows, f"ALD-1,,{name}"))) == []
    assert told(county("dressing.csv", sieved(ways["A"], ",70/30 sand and soil,A"))) == []


FRACTIONS = "The fractions of this sample come to {}, more than 1 % off the whole ({})."
NOT_RISING = "30 % passing is more than passes a coarser sieve of the same sample."
NO_WHOLE = "Masses on the sieves need the pan (size 0) or the dry mass that went in."
WRONG_SIEVES = [
    (["0.15,passing,30,%,", "0.25,passing,25,%,"], "sieve.order", NOT_RISING),
    (["0.15,passing,8,%,", "0.25,retained,25,%,"], "sieve.mixed", "This sample mixes passing and retained."),
    (["0.15,retained,8,%,", "0.25,retained,25,g,"], "sieve.mixed", "This sample mixes % and g."),
    (["0.15,passing,8,g,", "0.25,passing,25,g,"], "sieve.passing_mass", "8 g passing says nothing without the share."),
    (["0.15,passing,8,%,", "0.25,passing,125,%,"], "sieve.percent", "125 % of a sample cannot be."),
    (["0,retained,8,%,", "0.15,retained,60,%,"], "sieve.sum", FRACTIONS.format("68 %", "100 %")),
    (["0.15,retained,60,%,", "0.25,retained,60,%,"], "sieve.sum", FRACTIONS.format("120 %", "100 %")),
    (["0.15,retained,60,g,100", "0.25,retained,60,g,100"], "sieve.sum", FRACTIONS.format("120 g", "100 g")),
    (["0.15,retained,60,g,", "0.25,retained,60,g,"], "sieve.whole", NO_WHOLE),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "code", "message"), WRONG_SIEVES, ids=[f"{w[1]}-{i}" for i, w in enumerate(WRONG_SIEVES)]
)
def test_a_wrong_sample_is_rejected_whole(county: Load, rows: list[str], code: str, message: str) -> None:
    """Half a sample is another curve: every line of it comes back, and the sample beside it is kept."""
    good = sieved([f"{size},passing,{value},%," for size, value in PASSING], "ALD-1,,good").removeprefix(SIEVE)
    result = county("sieves.csv", sieved(rows) + good)
    assert told(result) == [(line, code, "error", message) for line in (2, 3)]
    assert (result.counts.loaded, result.counts.rejected) == (5, 2)


@pytest.mark.parametrize(("owner", "said"), [(",,S", "neither"), ("ALD-1,70/30 sand and soil,S", "both")])
def test_a_sieve_analysis_belongs_to_a_green_or_to_a_material(county: Load, owner: str, said: str) -> None:
    result = county("sieves.csv", sieved(["0.15,passing,8,%,"], owner))
    message = f"A sieve analysis is of a green's root zone or of a material: this row names {said}."
    assert told(result) == [(2, "sieve.owner", "error", message)]


def test_an_unknown_material_is_rejected(county: Load) -> None:
    """A job may name a material that is registered later; a sieve analysis of nothing known is of no use."""
    result = county("sieves.csv", sieved(["0.15,passing,8,%,"], ",river sand,S"))
    assert [(line, code, severity) for line, code, severity, _ in told(result)] == [(2, "reference.unknown", "error")]
