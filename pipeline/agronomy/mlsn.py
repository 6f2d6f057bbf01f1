"""Minimum levels for sustainable nutrition (MLSN): the need, the index, and the fit behind the guideline.

The index stands in no report: it places one result among the soils of the paper, and reads like a grade.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.agronomy.maths import Quantity, maximum, require_not_negative, require_positive
from pipeline.agronomy.soil import g_m2_from_mg_kg

MLSN_SHARE = 0.1
"""The guideline is the level that one in ten well-performing soils lies below (MLSN paper 2016)."""


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

    Opinion differs: the depth of the published example is 6 inches, of the guideline's own samples 100 mm.

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


def log_logistic_quantile(share: Quantity, scale: Quantity, shape: Quantity) -> Quantity:
    """The level below which a share of a log-logistic distribution lies, in the unit of the scale.

    Formula: `b · (p / (1−p))^(1/k)`.

    Args:
        share: the share p, between 0 and 1.
        scale: scale b, which is the median.
        shape: shape k.

    Source: definition; MLSN paper 2016 takes the 10 % quantile.
    """
    require_positive(share=share, rest=1 - share, scale=scale, shape=shape)
    return scale * (share / (1.0 - share)) ** (1.0 / shape)


def sustainability_index(mg_kg: Quantity, scale: Quantity, shape: Quantity) -> Quantity:
    """Share of well-performing soils that lie above a result, 0 to 1.

    Formula: `1 − x^k / (b^k + x^k)`.

    Args:
        mg_kg: Mehlich-3 result x, mg/kg.
        scale: scale b of the fit.
        shape: shape k of the fit.

    Source: MLSN paper 2016, sustainability index.
    """
    require_not_negative(mg_kg=mg_kg)
    require_positive(scale=scale, shape=shape)
    return 1.0 - mg_kg**shape / (scale**shape + mg_kg**shape)


@dataclass(frozen=True)
class LogLogistic:
    """A fitted log-logistic distribution.

    Attributes:
        scale: scale b, the median.
        shape: shape k.
        n: number of values it rests on.

    Source: definition.
    """

    scale: float
    shape: float
    n: int


def fit_log_logistic(values: Sequence[float]) -> LogLogistic:
    """The log-logistic distribution that fits positive values best, by maximum likelihood.

    Args:
        values: results above zero; five at least.

    Raises:
        ValueError: with fewer than five values, or one not above zero.

    Source: MLSN paper 2016; estimation by scipy.stats.fisk.
    """
    from scipy.stats import fisk  # slow to import, needed here only

    array = np.asarray(values, dtype=float)
    if array.size < 5 or not bool((array > 0).all()):
        raise ValueError("a log-logistic fit needs five values at least, all above zero")
    shape, _, scale = fisk.fit(array, floc=0)
    return LogLogistic(float(scale), float(shape), int(array.size))
