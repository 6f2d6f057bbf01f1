"""Minimum levels for sustainable nutrition (MLSN): what the grass uses, and what has to be given."""

from __future__ import annotations

from pipeline.agronomy.maths import Quantity, maximum, require_not_negative, require_positive
from pipeline.agronomy.soil.soil import g_m2_from_mg_kg


def mlsn_need_g_m2(
    use_g_m2: Quantity,
    guideline_mg_kg: Quantity,
    soil_mg_kg: Quantity,
    depth_mm: Quantity,
    bulk_density_t_m3: Quantity,
) -> Quantity:
    """Nutrient in g/m² that keeps the soil at the guideline after the grass has had its use; never below zero.

    Formula: `max(0, use + (guideline − soil) · depth · bulk density)`.

    Args:
        use_g_m2: what the grass uses over the period, g/m².
        guideline_mg_kg: the guideline of one named version, mg/kg.
        soil_mg_kg: Mehlich-3 result, mg/kg.
        depth_mm: depth of the sample, mm.
        bulk_density_t_m3: bulk density of the soil, t/m³.

    Opinion differs: the depth of the published example is 6 inches, of the guideline's own samples 100 mm. Two editions
    differ in calcium: 348 mg/kg in the paper of 2016, 331 on the reference sheet of 2014, because another distribution
    was fitted (a log-logistic one fitted anew to the open data gives 348.4, a normal one 332.5). The paper's is in
    force, since it is the later and can be made again; method_options.mlsn chooses the other.

    Source: ATC 2014-04-02 (use + MLSN − soil) and its worked potassium example ATC 2017-08-06.
    """
    require_not_negative(use_g_m2=use_g_m2, guideline_mg_kg=guideline_mg_kg, soil_mg_kg=soil_mg_kg)
    reserve = g_m2_from_mg_kg(guideline_mg_kg - soil_mg_kg, depth_mm, bulk_density_t_m3)
    return maximum(use_g_m2 + reserve, 0.0)


def nutrient_use_g_m2(nitrogen_g_m2: Quantity, nitrogen_parts: Quantity, nutrient_parts: Quantity) -> Quantity:
    """What the grass uses of a nutrient in g/m², from the nitrogen it is given and the ratio of the two.

    Formula: `N · nutrient parts / nitrogen parts`.

    Args:
        nitrogen_g_m2: nitrogen over the period, g/m².
        nitrogen_parts: parts of N in the ratio.
        nutrient_parts: parts of the nutrient.

    Source: ATC 2017-08-06 (N to K 2:1 in bent) and ATC seminar 2014-01 (N:P:K 8:1:4).
    """
    require_not_negative(nitrogen_g_m2=nitrogen_g_m2, nutrient_parts=nutrient_parts)
    require_positive(nitrogen_parts=nitrogen_parts)
    return nitrogen_g_m2 * nutrient_parts / nitrogen_parts
