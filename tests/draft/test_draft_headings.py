"""What headers say: units, analytes, layers, extractants, temperatures; and what they do not say is asked."""

from __future__ import annotations

import pytest

from pipeline.draft import columns, results
from pipeline.draft.results import named
from pipeline.standardise.cells.header_units import parted
from tests.draft.conftest import Drafted, data_of


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Depth (in)", "in"),
        ("Depth [mm]", "mm"),
        ("Rate g/m2", "g/m2"),
        ("OM %", "%"),
        ("% LOI 0-20", "%"),
        ("K mg/kg", "mg/kg"),
        ("K_mg.kg", "mg/kg"),
        ("depth_mm", "mm"),
        ("Hole spacing/mm", "mm"),
        ("Potassium ppm K", "ppm"),
        ("CEC_meq.100g", "meq/100g"),
        ("Area m²", "m²"),
        ("Hours (all)", ""),
        ("Green", ""),
        ("Lab No", ""),
    ],
)
def test_units_are_read_from_headers(header: str, unit: str) -> None:
    assert parted(header)[1] == unit


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("KM3", ("potassium", "mehlich_3")),
        ("NaM3", ("sodium", "mehlich_3")),
        ("TECM3", ("exchange_capacity", "mehlich_3")),
        ("P_Olsen", ("phosphorus", "olsen")),
        ("olsen_p", ("phosphorus", "olsen")),
        ("olsenP", ("phosphorus", "olsen")),
        ("P Olsen", ("phosphorus", "olsen")),
        ("2N KCl NO3-N", ("nitrate_nitrogen", "potassium_chloride")),
        ("Bray P-2", ("phosphorus", "bray_2")),
        ("Phosphorus M3 ICAP", ("phosphorus", "mehlich_3")),
        ("exch_mg", ("magnesium", "")),
        ("1:1 Soil pH", ("ph", "")),
        ("soil_pH", ("ph", "")),
        ("Organic Matter LOI", ("organic_matter", "")),
        ("EC", ("conductivity", "")),
        ("EC12", None),
        ("Bray P-1", None),
        ("WDRF Buffer pH", None),
        ("%K Sat", None),
        ("p_factor_level", None),
        ("Sample", None),
    ],
)
def test_analytes_and_extractants_are_read_from_headers(header: str, expected: tuple[str, str] | None) -> None:
    """Headers of real laboratories' files (open data: MLSN 2016, OATS, Rothamsted) and the demo's.

    Saturation is no concentration, buffer pH no pH: they must not be taken for it.
    """
    assert named(header) == expected


LAB = "Date,Green,{}\n2026-02-10,ALD-1,{}\n2026-02-11,ALD-1,{}\n"


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("OM 0-20mm (%)", {"analyte": "organic_matter", "depth_from_mm": 0, "depth_to_mm": 20, "unit": "%"}),
        ("OM 2-4 cm %", {"analyte": "organic_matter", "depth_from_mm": 20, "depth_to_mm": 40, "unit": "%"}),
        ("LOI 0-20", {"analyte": "organic_matter", "depth_from_mm": 0, "depth_to_mm": "?", "unit": "?"}),
        ("LOI 20-40 %", {"analyte": "organic_matter", "depth_from_mm": "?", "depth_to_mm": "?", "unit": "%"}),
        ("OM360", {"analyte": "organic_matter", "unit": "?", "burn_c": 360}),
        ("LOI 440 C (%)", {"analyte": "organic_matter", "unit": "%", "burn_c": 440}),
        ("KM3 mg/kg", {"analyte": "potassium", "unit": "mg/kg", "extractant": "mehlich_3"}),
        ("P Olsen (mg/l)", {"analyte": "phosphorus", "unit": "mg/l", "extractant": "olsen"}),
        ("Potassium ppm K", {"analyte": "potassium", "unit": "mg/kg"}),
        ("K", {"analyte": "potassium", "unit": "?"}),
        ("pH", {"analyte": "ph", "unit": "pH"}),
    ],
)
def test_a_column_of_an_analyte_becomes_a_long_entry(
    drafted: Drafted, header: str, expected: dict[str, object]
) -> None:
    made = data_of(drafted(LAB.format(header, "5.1", "4.9"), kind="soil_test"))
    (entry,) = made["long"]
    assert (entry["from"], entry["set"]) == (header, expected)


def test_a_units_row_gives_the_units(drafted: Drafted) -> None:
    """The row under the header is no sample, and the unit is not asked for once it stands there."""
    made = data_of(drafted("Date,Green,P,K,CEC,pH\n,,mg/kg,mg/l,meq/100g,pH\n2026-02-10,ALD-1,12,80,6.1,5.8\n"))
    assert made["reading"]["units_row"] is True
    assert [entry["set"]["unit"] for entry in made["long"]] == ["mg/kg", "mg/l", "meq/100g", "pH"]


def test_a_unit_in_a_laboratorys_own_words_is_asked(drafted: Drafted) -> None:
    """Whatever the header says, the row of units says something else to loading, until the profile explains it."""
    draft = drafted("Date,Green,P,K mg/kg\nUNITS,,mg/kg,milliPerKilo\n2026-02-10,ALD-1,12,80\n")
    assert [entry["set"]["unit"] for entry in data_of(draft)["long"]] == ["mg/kg", "?"]
    (asked,) = (ask for ask in draft.asks if ask.key == "long.set.unit")
    assert asked.about == "K mg/kg"
    assert asked.why.startswith("the unit “milliPerKilo” is not one of the list: write one of ")
    assert asked.why.endswith(", and what the units row says under [aliases.soil_unit]")


def test_two_columns_of_the_same_analyte_are_asked(drafted: Drafted) -> None:
    """Both would claim to be the same record: one table, and one decision which column it reads."""
    made = drafted("Date,Green,1:1 Soil pH,2:1 Soil pH,K mg/kg\n2026-02-10,ALD-1,5.8,6.0,80\n")
    assert [entry["from"] for entry in data_of(made)["long"]] == ["?", "K mg/kg"]
    (asked,) = (ask for ask in made.asks if ask.key == "long.from")
    assert asked.why == "columns that measure the same: write one of “1:1 Soil pH”, “2:1 Soil pH”"


def test_columns_of_several_species_are_each_read(drafted: Drafted) -> None:
    """They add up: one of them alone would be too little in silence. With a column of the whole kind it is asked."""
    sheet = "Date,Green,Chewings fescue %,Red fescue %,Poa annua %\n2026-09-16,ALD-1,40,30,30\n"
    made = drafted(sheet, kind="observation")
    both = [entry["from"] for entry in data_of(made)["long"] if entry["set"]["observed"] == "fescue"]
    assert both == ["Chewings fescue %", "Red fescue %"]
    assert not [ask for ask in made.asks if ask.key == "long.from"]
    made = drafted(
        sheet.replace("Chewings fescue", "Fescue cover").replace("Red fescue", "Mean fescue"), kind="observation"
    )
    assert [ask.key for ask in made.asks if ask.key == "long.from"] == ["long.from"]
    made = drafted(sheet.replace("Poa annua", "Fescue"), kind="observation")
    assert [ask.key for ask in made.asks if ask.key.startswith("long.from")] == ["long.from"]
    made = drafted(
        sheet.replace("Chewings fescue", "Browntop").replace("Red fescue", "Colonial bent"), kind="observation"
    )
    assert [ask.key for ask in made.asks if ask.key == "long.from"] == ["long.from"]


def test_of_two_units_of_one_analyte_the_stores_own_is_taken(drafted: Drafted) -> None:
    """The other is the same result once more: it is named as not used, and needs no decision."""
    draft = drafted("Date,Green,Ca cmolc/kg,Ca mg/kg,pH\n2026-02-10,ALD-1,5.8,1160,6.0\n")
    assert [entry["from"] for entry in data_of(draft)["long"]] == ["Ca mg/kg", "pH"]
    assert draft.asks == ()
    assert "# Not used: “Ca cmolc/kg”. Loading names them each time;" in draft.text


def test_a_header_that_is_no_name_is_not_taken_apart(drafted: Drafted, monkeypatch: pytest.MonkeyPatch) -> None:
    """The splits of a header's words grew with their number to the fourth: `profile` hung on one stray quote."""
    work = 0

    def counted(words: object) -> str:
        nonlocal work
        work += len(words)  # type: ignore[arg-type]
        assert work < 100_000, "word splits grow without bound"
        return analyte(words)  # type: ignore[arg-type]

    def measured(text: str | None) -> str:
        nonlocal work
        work += len(text or "")
        assert work < 100_000, "splits of name and unit grow without bound"
        return unit(text)

    analyte, unit = results._analyte, columns.unit_of
    monkeypatch.setattr(results, "_analyte", counted)
    monkeypatch.setattr(columns, "unit_of", measured)
    long = " ".join(f"word{number}" for number in range(3000))
    draft = drafted(f'date,green,analyte,value,unit,"{long}"\n2026-02-10,ALD-1,potassium,120,mg/kg,7\n')
    assert [one.field for one in draft.mapped] == ["date", "green", "analyte", "value", "unit", ""]
    assert draft.mapped[-1].how == "not used: loading names it"


def test_a_stray_quote_in_the_header_is_said(drafted: Drafted) -> None:
    """The column name swallows the rows under it, up to the next quote or the end of the file."""
    rows = "".join(f"2024-03-{day:02d},ALD-1,scarifying,{day} mm\n" for day in range(1, 29))
    draft = drafted(f'date,green,"operation,depth\n{rows}')
    assert draft.path is None
    fault = draft.faults.row(0, named=True)
    assert (fault["line"], fault["code"], fault["severity"]) == (None, "header.swallowed", "error")
    assert "line 1" in fault["message"]
    assert "operation,depth 2024-03-01,ALD-1" in fault["value"]
