"""Top dressing against published figures: mass, depth and volume in the trade's many units."""

import pytest
from published_checks import CASE, check, given

from pipeline.agronomy.dressing import (
    depth_mm,
    dry_mass_kg,
    mass_kg_m2,
    mass_of_volume_kg,
    off_green_kg,
    packs,
    packs_cover_m2,
    part_of_mix_by_volume_kg,
    part_of_mix_kg,
    tray_depth_mm,
    tray_rate_kg_m2,
    volume_m3,
)
from pipeline.agronomy.units import KG_PER_LB, M2_PER_FT2, M_PER_FOOT

ATC_2017 = "ATC 2017-09-03"
ATC_2020 = "ATC 2020-08-03"
USGA_2018 = "USGA Daniels 2018, Goldilocks principle"
GMA_COST = "Grounds Management Association, Cost of materials, spring 2003"
PLAN = "a seller's granular plan for a bowling green: twice 45 kg is six bags of 15 kg"
BOWLS = "UK trade magazine, Bowls green topdressing"


def depth_of_lb_1000ft2(rate: float, density: float) -> float:
    return depth_mm(rate * KG_PER_LB / (1000 * M2_PER_FT2), density)


@pytest.mark.parametrize(
    CASE,
    [
        check("figure", tray_depth_mm, (400, 2000, 1.5), 1.3, 0.05, "ATC 2020-12-24"),
        check("figure", tray_rate_kg_m2, (400, 2000), 2.0, 1e-9, "ATC 2020-12-24"),
        check("figure", mass_kg_m2, (1, 1.5), 1.5, 1e-9, ATC_2017),
        check("figure", volume_m3, (1.5, 1.5), 0.001, 1e-12, f"{ATC_2017}, 1 L"),
        check("figure", depth_mm, (8.1, 1.5), 5.4, 1e-9, "Hempfling et al. 2017 via ATC 2020-05-01"),
        check("figure", depth_of_lb_1000ft2, (1656, 1.5), 5.4, 0.05, "ATC 2017-08-20"),
        check("figure", depth_of_lb_1000ft2, (150, 1.5), 0.5, 0.02, "ATC, about 0.5"),
        check("figure", depth_mm, (0.75, 1.5), 0.5, 1e-9, f"{ATC_2017}, 75 kg on 100 m²"),
        check("figure", mass_kg_m2, (6, 1.5), 9, 1e-9, f"{ATC_2017}, twelve times"),
        check("own", depth_of_lb_1000ft2, (100, 100 * KG_PER_LB / M_PER_FOOT**3 / 1000), 0.305, 0.0005, USGA_2018),
        check("figure", packs_cover_m2, (1, 25, 2), 12.5, 1e-9, "a UK supplier's bowls guide"),
        check("figure", packs_cover_m2, (100, 25, 2), 1250, 1e-9, "a UK supplier's bowls guide"),
        check("figure", packs, (0.025 * 6000, 25), 6, 1e-9, f"{GMA_COST}, football: 25 g/m² of feed on 6,000 m²"),
        check("figure", packs, (2 * 45, 15), 6, 1e-9, PLAN),
        check("figure", packs, (2 * 1250, 25), 100, 1e-9, "a UK supplier's bowls guide"),
        check("own", depth_mm, (2, 1.5), 1.33, 0.005, BOWLS),
        check("own", depth_mm, (6, 1.5), 4.0, 1e-9, BOWLS),
        check("own", dry_mass_kg, (10_000, 6, "dry"), 9434, 0.5, "formula"),
        check("own", dry_mass_kg, (10_000, 6, "wet"), 9400, 1e-6, "formula"),
        check("own", volume_m3, (9433.96, 1.5), 6.289, 0.0005, "formula"),
        check("own", depth_mm, (9433.96 / 1400, 1.5), 4.49, 0.005, "formula"),
        check("own", mass_of_volume_kg, (6.289, 1.5), 9433.5, 1e-6, "formula"),
        check("own", part_of_mix_kg, (10_000, 70), 7000, 1e-9, "formula"),
        check("own", part_of_mix_by_volume_kg, (10_000, 70, 1.5, 1.2), 7446.8, 0.05, "formula"),
        check("own", off_green_kg, (3000, 2.0, 1400), 200, 1e-9, "formula"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)
