"""Quantities a crew writes in one cell: what is understood, and what is refused because it can mean two things.

Conversions are held against the definitions: pound 0.45359237 kg, foot 0.3048 m (1959 agreement), long ton 2240 lb,
short ton 2000 lb, UK gallon 4.54609 l (Weights and Measures Act 1985), US gallon 231 cubic inches.
"""

from __future__ import annotations

from collections.abc import Callable

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.profiles.style import Refused, Style, Understood
from pipeline.standardise.cells import quantity, units
from pipeline.standardise.cells.distinct import Cells

PLAIN = Style()
LB, FT = 0.45359237, 0.3048


def understand(
    column: Callable[[Cells, Style], Understood], cell: str, style: Style, unit: str = ""
) -> tuple[tuple[object, ...], list[str]]:
    found = column(Cells(pl.Series([2]), pl.Series([cell]), "Quantity", unit), style)
    return found.values.row(0), found.faults["code"].to_list()


def amount(cell: str, style: Style, unit: str = "") -> tuple[tuple[object, ...], list[str]]:
    """Mass, volume and packs of what was put on; a cell with one of them says no rate."""
    found, codes = understand(quantity.amount_column, cell, style, unit)
    assert found[3:] == (None, None)
    return found[:3], codes


@pytest.mark.parametrize(
    ("cell", "kg", "litres", "packs"),
    [
        ("2 x 25 kg", 50, None, None),
        ("2x25kg", 50, None, None),
        ("2 × 25 kg", 50, None, None),
        ("2 @ 25kg", 50, None, None),
        ("25 kg x 2", 50, None, None),
        ("2 x 25kg bags", 50, None, None),
        ("2 bags x 25 kg", 50, None, None),
        ("2 bags of 25 kg", 50, None, None),
        ("2 no. 25kg bags", 50, None, None),
        ("2 25kg bags", 50, None, None),
        ("6t", 6000, None, None),
        ("6 tonnes", 6000, None, None),
        ("1.5 tonne", 1500, None, None),
        ("½ tonne", 500, None, None),
        ("500 g", 0.5, None, None),
        ("10 lb", 10 * LB, None, None),
        ("2 dry oz", 2 * LB / 16, None, None),
        ("500ml", None, 0.5, None),
        ("5 l", None, 5, None),
        ("2 x 10 litres", None, 20, None),
        ("0.5 m3", None, 500, None),
        ("2 cu yd", None, 2 * (3 * FT) ** 3 * 1000, None),
        ("1 uk gallon", None, 4.54609, None),
        ("1 us gallon", None, 231 * 0.0254**3 * 1000, None),
        ("2 bags", None, None, 2),
        ("1 bag", None, None, 1),
        ("bag", None, None, 1),
        ("1/2 bag", None, None, 0.5),
        ("1½ bags", None, None, 1.5),
        ("3 tubs", None, None, 3),
        ("25 kg + 10 kg", 35, None, None),
        ("2 x 25 kg + 5 kg", 55, None, None),
        ("5 l and 500 ml", None, 5.5, None),
    ],
)
def test_amounts(cell: str, kg: float | None, litres: float | None, packs: float | None) -> None:
    found, codes = amount(cell, PLAIN)
    assert found == tuple(None if want is None else pytest.approx(want, rel=1e-11) for want in (kg, litres, packs))
    assert codes == []


def test_barrow_loads_are_the_declared_volume() -> None:
    assert amount("10 barrow loads", Style(barrow_l=85))[0] == (None, 850.0, None)
    assert amount("10 barrows", PLAIN) == ((None, None, None), ["unit.barrow"])


@pytest.mark.parametrize(("ton", "kg"), [("metric", 1000.0), ("long", 2240 * LB), ("short", 2000 * LB)])
def test_which_ton_must_be_declared(ton: str, kg: float) -> None:
    style = Style(ton=ton)  # type: ignore[arg-type]
    assert amount("2 tons", style)[0][0] == pytest.approx(2 * kg, rel=1e-11)
    assert amount("2 tons", PLAIN) == ((None, None, None), ["unit.ton"])
    assert amount("2 tonnes", style)[0][0] == 2000.0


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("2 oz", "unit.ounce"),
        ("2 ounces", "unit.ounce"),
        ("2 fl oz", "unit.fluid_ounce"),
        ("3 gal", "unit.gallon"),
        ("3 gallons", "unit.gallon"),
        ("2 pints", "unit.gallon"),
        ("1 cwt", "unit.hundredweight"),
        ("5 Mg", "unit.megagram"),
        ("50", "amount.no_unit"),
        ("2 bags + 5 kg", "amount.mixed"),
        ("5 l + 5 kg", "amount.mixed"),
        ("a lot", "amount.not"),
        ("kg", "amount.not"),
        ("80/20", "amount.mix"),
        ("4:1", "amount.mix"),
        ("70/30 sand/soil", "amount.mix"),
        ("80/30", "amount.not"),
        ("3/4", "amount.no_unit"),
        ("2 oz/sq yd", "unit.ounce"),
        ("3 m", "amount.not"),
        ("5 wheels", "unit.unknown"),
        ("1,000 kg", "number.two_readings"),
        ("#REF!", "number.spreadsheet_error"),
        ("4-3 bags", "number.backwards"),
    ],
)
def test_amounts_that_are_refused(cell: str, code: str) -> None:
    assert amount(cell, PLAIN) == ((None, None, None), [code])


@pytest.mark.parametrize(
    ("cell", "grams", "millilitres"),
    [
        ("35 g/m2", 35, None),
        ("2 lb/1000 sq ft", 2 * LB * 1000 / (1000 * FT**2), None),
        ("350 kg per ha", 35, None),
        ("40 l/ha", None, 4),
    ],
)
def test_a_rate_written_where_the_amount_belongs(cell: str, grams: float | None, millilitres: float | None) -> None:
    """A crew writes rates into the same column as amounts; refusing them lost the row."""
    found, codes = understand(quantity.amount_column, cell, PLAIN)
    assert found[:3] == (None, None, None)
    assert found[3:] == tuple(None if want is None else pytest.approx(want, rel=1e-11) for want in (grams, millilitres))
    assert codes == []


@pytest.mark.parametrize("cell", ["as needed", "As required", "some", "various", "unknown", "as per label", "?", "tbc"])
def test_an_amount_that_is_not_told_is_not_zero(cell: str) -> None:
    found = quantity.amount_column(Cells(pl.Series([2]), pl.Series([cell]), "Quantity"), PLAIN)
    assert found.values.row(0) == (None,) * 5
    assert found.faults.select("code", "severity").rows() == [("amount.unknown", "warning")]


@pytest.mark.parametrize("cell", ["NA", "-", "*"])
def test_no_amount(cell: str) -> None:
    assert amount(cell, PLAIN) == ((None, None, None), [])


def test_a_range_of_bags() -> None:
    assert amount("3-4 bags", PLAIN) == ((None, None, 3.5), ["number.range"])


def test_about() -> None:
    assert amount("approx 50 kg", PLAIN) == ((50.0, None, None), ["number.approximate"])


def test_the_column_s_unit_serves_where_the_cell_has_none() -> None:
    assert amount("50", PLAIN, unit="kg") == ((50.0, None, None), [])
    assert amount("5 l", PLAIN, unit="kg") == ((None, 5.0, None), [])
    assert amount("2", PLAIN, unit="bags") == ((None, None, 2.0), [])


@pytest.mark.parametrize(
    ("cell", "g_m2", "ml_m2"),
    [
        ("35 g/m2", 35, None),
        ("35 g/m²", 35, None),
        ("35g/sq m", 35, None),
        ("35 g per sq. metre", 35, None),
        ("35 gsm", 35, None),
        ("35 g m-2", 35, None),
        ("2 lb/1000 sq ft", 2000 * LB / (1000 * FT**2), None),
        ("2 lbs per 1,000 sq ft", 2000 * LB / (1000 * FT**2), None),
        ("2 dry oz/sq yd", 2000 * LB / 16 / (9 * FT**2), None),
        ("250 kg/ha", 25, None),
        ("5 t/ha", 500, None),
        ("1 cwt/acre", None, None),
        ("40 l/ha", None, 4),
        ("20 ml/m2", None, 20),
        ("1 l/100 m2", None, 10),
        ("30-40 g/m2", 35, None),
    ],
)
def test_rates(cell: str, g_m2: float | None, ml_m2: float | None) -> None:
    found, codes = understand(quantity.rate_column, cell, PLAIN)
    assert found == tuple(None if want is None else pytest.approx(want, rel=1e-11) for want in (g_m2, ml_m2))
    assert codes == ({"30-40 g/m2": ["number.range"], "1 cwt/acre": ["unit.hundredweight"]}.get(cell, []))


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("35", "amount.no_unit"),
        ("3 kg", "rate.not"),
        ("3 bags", "unit.unknown"),
        ("1 bag/green", "unit.unknown"),
        ("1 oz/sq yd", "unit.ounce"),
        ("5 t/acre/year", "rate.not"),
        ("light", "rate.not"),
        ("1 ton/acre", "unit.ton"),
    ],
)
def test_rates_that_are_refused(cell: str, code: str) -> None:
    assert understand(quantity.rate_column, cell, PLAIN) == ((None, None), [code])


@pytest.mark.parametrize(
    ("cell", "found"),
    [
        ("12-3-9", (12, 3, 9, None, None, None, None, None)),
        ("12-3-9 + 4Fe", (12, 3, 9, None, None, 4, None, None)),
        ("6-0-12+2Fe", (6, 0, 12, None, None, 2, None, None)),
        ("9-4-6 + 2 Fe", (9, 4, 6, None, None, 2, None, None)),
        ("12:3:9", (12, 3, 9, None, None, None, None, None)),
        ("NPK 12-3-9", (12, 3, 9, None, None, None, None, None)),
        ("12.5-0-0", (12.5, 0, 0, None, None, None, None, None)),
        ("20-0-0 + 3 MgO", (20, 0, 0, 3, None, None, None, None)),
        ("12-3-9 + 2% Mg + 4% Fe", (12, 3, 9, 2, None, 4, None, None)),
        ("5-0-20, 2 SO3", (5, 0, 20, None, 2, None, None, None)),
        ("6% Fe", (None, None, None, None, None, 6, None, None)),
        ("46 N", (46, None, None, None, None, None, None, None)),
        ("1-6-12", (1, 6, 12, None, None, None, None, None)),
        ("15-0-0 + 26 CaO", (15, 0, 0, None, None, None, 26, None)),
        ("4-0-0 + 6 Fe + 0.5% Mn", (4, 0, 0, None, None, 6, None, 0.5)),
    ],
)
def test_analyses(cell: str, found: tuple[float | None, ...]) -> None:
    """What the label does not name is not zero."""
    assert understand(quantity.analysis_column, cell, PLAIN) == (found, [])


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("12-3", "analysis.not"),
        ("all purpose", "analysis.not"),
        ("12-3-9 + 4 Unobtainium", "analysis.not"),
        ("12-3-9 + 4 N", "analysis.not"),
        ("60-30-30", "analysis.sum"),
        ("12/03/2009", "analysis.date"),
        ("2009-03-12 00:00:00", "analysis.date"),
        ("12-Mar-09", "analysis.date"),
    ],
)
def test_analyses_that_are_refused(cell: str, code: str) -> None:
    assert understand(quantity.analysis_column, cell, PLAIN) == ((None,) * 8, [code])


def test_trace_elements_are_left_out_and_noted() -> None:
    assert understand(quantity.analysis_column, "9-3-12 + TE", PLAIN) == (
        (9, 3, 12, *[None] * 5),
        ["analysis.trace"],
    )
    assert understand(quantity.analysis_column, "9-3-12 + Mn", PLAIN)[1] == ["analysis.trace"]


@pytest.mark.parametrize(
    ("cell", "sand"),
    [
        ("80/20", 80),
        ("70/30 sand and soil", 70),
        ("70:30", 70),
        ("70-30", 70),
        ("4:1", 80),
        ("80% sand 20% soil", 80),
        ("80 sand / 20 loam", 80),
        ("20 soil 80 sand", 80),
        ("30/70 soil and sand", 70),
        ("sand", 100),
        ("100% sand", 100),
    ],
)
def test_mixes(cell: str, sand: float) -> None:
    """Sand stands first unless the cell says otherwise (common practice, no source)."""
    assert understand(quantity.mix_column, cell, PLAIN) == ((sand, 100 - sand), [])


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("80/30", "mix.sum"),
        ("6:3:1", "mix.not"),
        ("rootzone", "mix.not"),
        ("80/20 peat", "mix.not"),
        ("4/1", "mix.sum"),
    ],
)
def test_mixes_that_are_refused(cell: str, code: str) -> None:
    assert understand(quantity.mix_column, cell, PLAIN) == ((None, None), [code])


@pytest.mark.parametrize(
    ("cell", "found", "codes"),
    [
        ("25 kg", (25.0, None), []),
        ("20kg bag", (20.0, None), []),
        ("4 x 5 l", (None, 20.0), []),
        ("1 tonne", (1000.0, None), []),
        ("bag", (None, None), ["amount.packs"]),
        ("25", (None, None), ["amount.no_unit"]),
    ],
)
def test_packs(cell: str, found: tuple[float | None, float | None], codes: list[str]) -> None:
    assert understand(quantity.pack_column, cell, PLAIN) == (found, codes)


def test_debris() -> None:
    style = Style(barrow_l=85)
    assert understand(quantity.debris_column, "9 barrow loads", style) == ((765.0, None), [])
    assert understand(quantity.debris_column, "120 kg", style) == ((None, 120.0), [])
    assert understand(quantity.debris_column, "2 bags", style) == ((None, None), ["amount.packs"])


@pytest.mark.parametrize(
    ("source", "target", "factor"),
    [
        ("lb/1000 sq ft", "g/m²", 1000 * LB / (1000 * FT**2)),
        ("kg/ha", "g/m2", 0.1),
        ("g/kg", "%", 0.1),
        ("ppm", "mg/kg", 1.0),
        ("Mg/kg", "mg/kg", 1.0),
        ("meq/100 g", "cmolc/kg", 1.0),
        ("mS/cm", "dS/m", 1.0),
        ("mmhos/cm", "dS/m", 1.0),
        ("lb/ft3", "t/m³", LB / FT**3 / 1000),
        ("in", "mm", 25.4),
        ("Ins.", "mm", 25.4),
        ("sq. yds", "m2", 9 * FT**2),
        ("acres", "m²", 4840 * 9 * FT**2),
        ("mg kg-1", "mg/kg", 1.0),
        ("kg ha^-1", "g/m2", 0.1),
    ],
)
def test_units_as_written(source: str, target: str, factor: float) -> None:
    assert units.scale(source, target)[0] == pytest.approx(factor, rel=1e-11)


@pytest.mark.parametrize(
    ("source", "target", "code"),
    [("mg/l", "mg/kg", "unit.misfit"), ("kg", "l", "unit.misfit"), ("Mg/ha", "g/m2", "unit.megagram")],
)
def test_units_that_do_not_convert(source: str, target: str, code: str) -> None:
    """mg/l becomes mg/kg only with a density; a capital M makes the ton of a milligram."""
    with pytest.raises(Refused) as refused:
        units.scale(source, target)
    assert refused.value.problem.kind.code == code


COLUMNS = [
    quantity.amount_column,
    quantity.rate_column,
    quantity.analysis_column,
    quantity.mix_column,
    quantity.pack_column,
    quantity.debris_column,
]
CREW_WORDS = "2 25 1/2 ½ x kg l bags bag of + - / : , . oz ton g/m2 per sq ft 80 20 sand Fe % @ ~ ( ) é"
CREW = st.lists(
    st.sampled_from(CREW_WORDS.split()),
    max_size=7,
)


@given(st.sampled_from(COLUMNS), st.text(max_size=10) | CREW.map(" ".join) | CREW.map("".join))
def test_any_cell_is_an_amount_a_blank_or_a_fault(column: Callable[[Cells, Style], Understood], cell: str) -> None:
    found = column(Cells(pl.Series([2]), pl.Series([cell]), "Quantity"), PLAIN)
    assert found.values.height == 1
    if not found.faults.height:
        bare = "".join(char for char in cell if char.isprintable()).strip()
        assert any(value is not None for value in found.values.row(0)) or PLAIN.is_missing(bare)
