"""Tines and blades against published figures: a wrong diameter, spacing or unit would show here."""

import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.disturbance import (
    bore_mm,
    claim_gap_pct,
    holes_per_m2,
    holes_per_m2_from_count,
    refill_sand_kg,
    slit_area_pct,
    square_spacing_mm,
    tined_area_pct_from_density,
    tined_volume_l_m2,
)
from pipeline.agronomy.units import M2_PER_FT2, MM_PER_INCH

ATC_CORING = "ATC 2021-04-23"


def area_pct(diameter: float, along: float, across: float) -> float:
    """The published figures give the spacing."""
    return tined_area_pct_from_density(diameter, holes_per_m2(along, across))


def two_passes_pct(diameter: float, along: float, across: float) -> float:
    return tined_area_pct_from_density(diameter, 2 * holes_per_m2(along, across))


def inch_area_pct(diameter: float, along: float, across: float) -> float:
    """And some of them inches."""
    return area_pct(diameter * MM_PER_INCH, along * MM_PER_INCH, across * MM_PER_INCH)


def inch_holes_per_ft2(along: float, across: float) -> float:
    return holes_per_m2(along * MM_PER_INCH, across * MM_PER_INCH) * M2_PER_FT2


WOCC = "a golf course's maintenance notes 2011-03"
KEEPERS = "an international greenkeepers' association"
GMA_CORING = "Grounds Management Association, Bowling green maintenance: end of season"


@pytest.mark.parametrize(
    CASE,
    [
        check("figure", inch_area_pct, (0.625, 1.5, 1.5), 13.63, 0.01, "GCSAA forum 2013, outside diameter"),
        check("figure", inch_area_pct, (0.470, 1.5, 1.5), 7.71, 0.01, "GCSAA forum 2013, inside diameter"),
        check("figure", inch_area_pct, (0.625, 2, 2), 7.67, 0.01, "a golf course's maintenance notes 2024-04"),
        check("figure", inch_area_pct, (0.625, 1.5, 1.5), 13.64, 0.01, "a golf course's maintenance notes 2012-05"),
        check("figure", inch_area_pct, (0.5, 2, 2.5), 3.93, 0.01, "a golf course's maintenance notes 2012-03"),
        check("figure", inch_holes_per_ft2, (1.5, 1.33), 72, 0.5, WOCC),
        check("figure", inch_area_pct, (0.5, 1.5, 1.33), 9.8, 0.05, WOCC),
        check("figure", inch_holes_per_ft2, (2, 1.33), 54, 0.5, WOCC),
        check("own", inch_area_pct, (0.5, 2, 1.33), 7.38, 0.01, f"{WOCC}, printed 7.3"),
        check("figure", holes_per_m2, (50, 50), 400, 1e-9, ATC_CORING),
        check("own", area_pct, (12, 50, 50), 4.52, 0.005, ATC_CORING),
        check("figure", tined_area_pct_from_density, (12, 400), 4.5, 0.05, f"{ATC_CORING}, as printed"),
        check("figure", tined_volume_l_m2, (4.523893, 70), 3.167, 0.001, f"{ATC_CORING}, 3,167 cm³/m²"),
        check("figure", area_pct, (18, 50, 50), 10, 0.2, GMA_CORING),
        check("figure", area_pct, (12.5, 50, 50), 5, 0.2, GMA_CORING),
        check("figure", holes_per_m2, (30, 30), 1111, 1, "ATC 2021-03-08"),
        check("figure", area_pct, (12, 50, 50), 5, 0.5, f"{KEEPERS}, 'can remove 5 %'"),
        check("own", area_pct, (13, 50, 50), 5.3, 0.05, KEEPERS),
        check("own", area_pct, (6, 25, 25), 4.5, 0.05, f"{KEEPERS}, suggested pairing"),
        check("own", area_pct, (25, 100, 100), 4.9, 0.05, f"{KEEPERS}, suggested pairing"),
        check("own", slit_area_pct, (12.7, 88.9), 14.3, 0.05, "a US maker's dimensions"),
        check("figure", square_spacing_mm, (400,), 50, 1e-9, ATC_CORING),
        check("own", holes_per_m2_from_count, (547_600, 1369), 400, 1e-9, ATC_CORING),
        check("own", bore_mm, (11.938, 1.96850, "inside", "outside"), 15.875, 1e-4, "GCSAA forum 2013"),
        check("own", bore_mm, (15.875, 1.96850, "outside", "inside"), 11.938, 1e-4, "GCSAA forum 2013"),
        check("own", bore_mm, (12, 1.5, "inside", "inside"), 12, 1e-9, "definition"),
        check("own", slit_area_pct, (3, 25), 12.0, 1e-9, "geometry"),
        check("own", slit_area_pct, (2, 25), 8.0, 1e-9, "geometry"),
        check("own", slit_area_pct, (3, 25, 2), 24.0, 1e-9, "geometry, passes add"),
        check(
            "own",
            tined_area_pct_from_density,
            (12.7, 2 * holes_per_m2(33.782, 38.1)),
            19.68,
            0.01,
            "Virginia trial: 19.6",
        ),
        check("own", refill_sand_kg, (3.166725, 1369, 1.5), 6503, 1, "geometry"),
        check("own", claim_gap_pct, (420, 400), 5.0, 1e-9, "definition"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)


INCH_SPACINGS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0)
INCH_TABLE = {
    0.25: (4.91, 3.14, 2.18, 1.23, 0.79, 0.55),
    0.375: (11.04, 7.07, 4.91, 2.76, 1.77, 1.23),
    0.5: (19.63, 12.57, 8.73, 4.91, 3.14, 2.18),
    0.625: (30.68, 19.63, 13.64, 7.67, 4.91, 3.41),
    0.75: (44.18, 28.27, 19.63, 11.04, 7.07, 4.91),
}
MM_SPACINGS = (25, 32, 38, 50, 64, 75)
MM_TABLE = {
    8: (8.04, 4.91, 3.48, 2.01, 1.23, 0.89),
    10: (12.57, 7.67, 5.44, 3.14, 1.92, 1.40),
    12: (18.10, 11.04, 7.83, 4.52, 2.76, 2.01),
    13: (21.24, 12.96, 9.19, 5.31, 3.24, 2.36),
    16: (32.17, 19.63, 13.92, 8.04, 4.91, 3.57),
    19: (45.36, 27.69, 19.63, 11.34, 6.92, 5.04),
}


@pytest.mark.parametrize("diameter", INCH_TABLE)
def test_geometry_table_in_inches_regression_not_published(diameter):
    row = [inch_area_pct(diameter, spacing, spacing) for spacing in INCH_SPACINGS]
    assert row == pytest.approx(INCH_TABLE[diameter], abs=0.0051)


@pytest.mark.parametrize("diameter", MM_TABLE)
def test_geometry_table_in_mm_regression_not_published(diameter):
    row = [area_pct(diameter, spacing, spacing) for spacing in MM_SPACINGS]
    assert row == pytest.approx(MM_TABLE[diameter], abs=0.0051)
