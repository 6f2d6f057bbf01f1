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

pytestmark = pytest.mark.published

ATC_2017 = "ATC 2017-09-03"
ATC_2020 = "ATC 2020-08-03"
USGA_2018 = "USGA Daniels 2018, Goldilocks principle"
BOWLS = "UK trade magazine, Bowls green topdressing"


def tonnes(rate_kg_m2: float, area_m2: float) -> float:
    return rate_kg_m2 * area_m2 / 1000


def depth_of_lb_1000ft2(rate: float, density: float) -> float:
    return depth_mm(rate * KG_PER_LB / (1000 * M2_PER_FT2), density)


@pytest.mark.parametrize(
    CASE,
    [
        check("2.1", tray_depth_mm, (400, 2000, 1.5), 1.33, 0.005, "ATC 2020-12-24"),
        check("2.1", tray_rate_kg_m2, (400, 2000), 2.0, 1e-9, "ATC 2020-12-24"),
        check("2.2", mass_kg_m2, (1, 1.5), 1.5, 1e-9, ATC_2017),
        check("2.2", volume_m3, (1.5, 1.5), 0.001, 1e-12, f"{ATC_2017}, 1 L"),
        check("2.8", depth_mm, (8.1, 1.5), 5.4, 1e-9, "Hempfling et al. 2017 via ATC 2020-05-01"),
        check("2.9", depth_of_lb_1000ft2, (1656, 1.5), 5.4, 0.05, "ATC 2017-08-20"),
        check("2.10", depth_of_lb_1000ft2, (150, 1.5), 0.488, 0.0005, "ATC, about 0.5"),
        check("2.11", depth_mm, (0.75, 1.5), 0.5, 1e-9, f"{ATC_2017}, 75 kg on 100 m²"),
        check("2.11", mass_kg_m2, (6, 1.5), 9, 1e-9, f"{ATC_2017}, twelve times"),
        check("2.12", depth_of_lb_1000ft2, (100, 100 * KG_PER_LB / M_PER_FOOT**3 / 1000), 0.305, 0.0005, USGA_2018),
        check("2.13", packs_cover_m2, (1, 25, 2), 12.5, 1e-9, "a UK supplier's bowls guide"),
        check("2.13", packs_cover_m2, (100, 25, 2), 1250, 1e-9, "a UK supplier's bowls guide"),
        check("2.13", packs, (2 * 1250, 25), 100, 1e-9, "a UK supplier's bowls guide"),
        check("2.14", tonnes, (2, 1500), 3, 1e-9, BOWLS),
        check("2.14", tonnes, (6, 1500), 9, 1e-9, BOWLS),
        check("2.14", depth_mm, (2, 1.5), 1.33, 0.005, BOWLS),
        check("2.14", depth_mm, (6, 1.5), 4.0, 1e-9, BOWLS),
        check("2.15", dry_mass_kg, (10_000, 6, "dry"), 9434, 0.5, "formula", "D"),
        check("2.15", dry_mass_kg, (10_000, 6, "wet"), 9400, 1e-6, "formula", "D"),
        check("2.15", volume_m3, (9433.96, 1.5), 6.289, 0.0005, "formula", "D"),
        check("2.15", depth_mm, (9433.96 / 1400, 1.5), 4.49, 0.005, "formula", "D"),
        check("2 volume", mass_of_volume_kg, (6.289, 1.5), 9433.5, 1e-6, "formula", "D"),
        check("2 mix", part_of_mix_kg, (10_000, 70), 7000, 1e-9, "formula", "D"),
        check("2 mix", part_of_mix_by_volume_kg, (10_000, 70, 1.5, 1.2), 7446.8, 0.05, "formula", "D"),
        check("2 trays", off_green_kg, (3000, 2.0, 1400), 200, 1e-9, "formula", "D"),
    ],
)
def test_published_figure(function, arguments, expected, tolerance):
    assert given(function, arguments) == pytest.approx(expected, abs=tolerance)
