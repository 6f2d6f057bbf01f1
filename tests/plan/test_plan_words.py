"""Why a line is planned and what stands beside it: our quantities are turned, a person's words are left and told."""

from __future__ import annotations

import re
from datetime import date

import pint
import pytest

from pipeline.common.amounts import Amount, AmountText, Source
from pipeline.plan.basis import in_sources, told
from pipeline.plan.notes import note_of
from pipeline.plan.sheet import NOT_COUNTED
from pipeline.plan.works import Planned
from reports.page.units import said
from reports.programme.wording import noted, noted_in
from tests.outside_checks import outside

PINT: pint.UnitRegistry = pint.UnitRegistry()
TARGETS = (
    "target: Still open: 0.92 to 3.9 kg/m² (agreed (minutes: 4 kg/m²)). Logged to 20 October 2026. Rates are of dry "
    "mass; 1.4 to 6.0 t as delivered (1.3 to 5.7 t dry) on 1,444 m² (1 t already applied); the lower is planned"
)
OURS = [
    TARGETS,
    "as on 24 March 2026: 2.25 t; 2,000 kg brought to 3,428 kg in all by target: 4 to 6 kg/m² (the county's own)",
    "as 4 times from 10 May 2026 to 28 May 2026, 22,600 l in all as far as logged; the weather decides",
    "as on 30 March 2026: 50 kg; target: 66 to 96 kg/ha (a letter): 9.552 to 13.88 kg N are open",
    "dose 1 of 2: 4.78 kg N, 3.3 g/m², single doses of at most 4.9 g/m² (1 lb N per 1,000 square feet)",
    "template one: a leaflet; 30 to 40 g/m², of 25 kg on 625 m² there: 41 kg to 55 kg; the lower is planned",
]


def plain(words: str) -> str:
    return re.sub("[\u202f\u00a0]", " ", words)


def amounts(text: AmountText) -> list[Amount]:
    return [part for part in text.parts if isinstance(part, Amount)]


@pytest.mark.parametrize("basis", OURS)
def test_a_basis_of_ours_reads_as_it_was_written_and_knows_every_quantity(basis: str) -> None:
    made = told(basis)
    assert made == basis
    left = "".join(part for part in made.parts if not isinstance(part, Amount))
    assert re.findall(r"\d (?:kg N|kg|t|l|m²|g/m²|kg/ha|kg/m²)(?![\w/²])", left) == (
        ["4 kg/m²"] if "minutes" in basis else []
    ), "only what is quoted of a person stays"


@outside("library", "pint: pound, short ton, gallon and square foot")
@pytest.mark.parametrize("basis", OURS)
def test_what_is_said_of_it_in_us_units_is_what_a_library_turns_it_into(basis: str) -> None:
    names = {"t": "tonne", "l": "litre", "m²": "m**2", "kg N": "kg", "g/m²": "g/m**2", "kg/ha": "kg/hectare",
             "kg/m²": "kg/m**2"}  # fmt: skip
    into = {"lb": "lb", "lb N": "lb", "short tons": "US_ton", "short ton": "US_ton", "gal": "gallon", "ft²": "ft**2",
            "lb/1000 ft²": "lb/ft**2"}  # fmt: skip
    assert amounts(told(basis))
    for one in amounts(told(basis)):
        number, _, unit = plain(said(Amount(one.value, one.unit, one.form, carries=one.carries))).partition(" ")
        turned = PINT.Quantity(one.value, names.get(one.unit, one.unit)).to(into[unit]).magnitude
        turned *= 1000 if unit.endswith("/1000 ft²") else 1
        shown = number.replace(",", "")
        step = 10.0 ** -len(shown.partition(".")[2]) if one.unit != "m²" else 10.0
        assert abs(float(shown) - turned) <= 0.51 * step
        assert abs(float(shown) - turned) <= 0.03 * turned, "no digit that matters is lost"


def test_what_a_person_wrote_into_a_basis_stays_as_typed() -> None:
    for typed in ("the committee asked for 2,250 kg", "was 3 t of “their” mix", "At most 4 kg/m², says the adviser"):
        assert amounts(told(typed)) == []
        assert in_sources(typed).parts == (Source(typed),)
        with_ours = told(f"as on 24 March 2026: 2.25 t; {typed}")
        assert [one.value for one in amounts(with_ours)] == [2.25]


def work(note: str, basis: str = "", operation: str = "top_dressing") -> Planned:
    day = date(2027, 3, 1)
    return Planned("A", operation, day, day, "kg", None, basis=basis, note=note)


@pytest.mark.parametrize(
    ("note", "shown"),
    [
        ("was 2,250 kg", "Note in the programme: “was 2,250 kg”"),
        ("Amount: 4.78 kg N, and which feed is left open: that × 100 / its N % is its mass.",
         "Amount: 10.54 lb N, and which feed is left open: that × 100 / its N % is its mass."),
        (f"Height of cut 5 to 6 mm. Only where the green needs it. {NOT_COUNTED} moved, 3 t",
         f"Height of cut 0.20 to 0.24 in. Only where the green needs it. {NOT_COUNTED} "
         "Note in the programme: “moved, 3 t”"),
        ("Tines of 12 mm at 50 mm.", "Tines of 0.47 in at 1.97 in."),
        ("7 g/m² of nitrogen, released over time.", "7 g/m² of nitrogen, released over time."),  # a template's source
        ("Amount: 3 t, says the keeper.", "Note in the programme: “Amount: 3 t, says the keeper.”"),
    ],
)  # fmt: skip
def test_a_note_tells_whose_words_it_has(note: str, shown: str) -> None:
    assert plain(noted_in(work(note), "US")) == shown
    assert noted(work(note)) == note, "data that are attached have it as typed"


def test_a_finding_s_note_is_ours() -> None:
    note = "Organic matter again: same depths, laboratory and method."
    made = note_of(work(note, "Organic matter again, from 8 July 2027: sampled a year ago", "inspection"))
    assert (made.ours, made.own) == (note, "")
