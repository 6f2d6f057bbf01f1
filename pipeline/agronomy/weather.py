"""What the weather sums to: growth, water and disease weather. Information beside the records, no instruction."""

from __future__ import annotations

from typing import Literal

from pipeline.agronomy.maths import (
    Quantity,
    exp,
    maximum,
    missing_for,
    require_between,
    require_not_negative,
    require_one_of,
    require_positive,
    where,
)
from pipeline.agronomy.ways import GrowthForm

Grass = Literal["cool_season", "warm_season"]

GROWTH_CURVES: dict[tuple[Grass, GrowthForm], tuple[float, float]] = {
    ("cool_season", "celsius"): (20.0, 5.5),
    ("warm_season", "celsius"): (31.0, 7.0),
    ("cool_season", "fahrenheit"): (68.0, 10.0),
    ("warm_season", "fahrenheit"): (88.0, 12.0),
}
"""Temperature of full growth and distance from it at which growth is 0.61, in the unit of the form: Gelernter & Stowell
2005; optima ATC seminar 2014-01, spreads from memory."""


def growing_degree_days(highest_c: Quantity, lowest_c: Quantity, base_c: Quantity) -> Quantity:
    """Degree days of one day above a base, °C·d (or °F·d, when all three are °F); never below zero.

    Formula: `max(0, (Tmax + Tmin)/2 − base)`.

    Args:
        highest_c: maximum temperature.
        lowest_c: minimum temperature.
        base_c: the model's base, same scale; stored with the sum.

    Opinion differs: some models cut each extreme at the base first; this one does not.

    Source: Purdue University as printed by a US turf magazine (74/52 °F, base 50: 13; 58/40: 0).
    """
    require_not_negative(range_c=highest_c - lowest_c)
    return maximum((highest_c + lowest_c) / 2.0 - base_c, 0.0)


def growth_potential(mean_c: Quantity, grass: Grass, form: GrowthForm, *, capped: bool = False) -> Quantity:
    """Growth potential, 0 to 1, at a mean temperature.

    Formula: `exp(−½·((t − t₀)/v)²)`.

    Args:
        mean_c: mean temperature of the day or month, always in °C.
        grass: cool-season (bent, fescue, meadow-grass) or warm-season.
        form: the constants in °C or in °F; the temperature is converted.
        capped: full growth at and above the optimum; published for warm-season grass only.

    Raises:
        ValueError: for a cap on cool-season grass.

    Opinion differs: the °C and °F constants are not equivalent (warm-season at 20 °C: 0.291 against 0.249).

    Source: Gelernter & Stowell 2005; ATC seminar 2014-01; cap: PACE Turf modified warm-season model.
    """
    require_one_of(("cool_season", "warm_season"), grass=grass)
    require_one_of(("celsius", "fahrenheit"), form=form)
    if capped and grass == "cool_season":
        raise ValueError("the cap at the optimum is published for warm-season grass only")
    optimum, spread = GROWTH_CURVES[grass, form]
    temperature = mean_c if form == "celsius" else mean_c * 1.8 + 32.0
    potential = exp(-0.5 * ((temperature - optimum) / spread) ** 2)
    return where(temperature >= optimum, 1.0, potential) if capped else potential


def nitrogen_ceiling_g_m2(growth_potential: Quantity, monthly_most_g_m2: Quantity) -> Quantity:
    """Nitrogen in g/m² a month that the growth model would allow at most: a reading, not a requirement.

    Formula: `GP · monthly maximum`.

    Args:
        growth_potential: growth potential of the month, 0 to 1.
        monthly_most_g_m2: nitrogen of a month of full growth, g/m².

    Opinion differs: 76 courses used 0.27 of it in the middle.

    Source: PACE Turf, turfgrass nitrogen demand (5 g/m² as the most).
    """
    require_between(0.0, 1.0, growth_potential=growth_potential)
    require_not_negative(monthly_most_g_m2=monthly_most_g_m2)
    return growth_potential * monthly_most_g_m2


def dollar_spot_probability(mean_c: Quantity, relative_humidity_pct: Quantity) -> Quantity:
    """Probability of dollar spot, 0 to 1, from means of five days: information, never an instruction.

    Formula: `1 / (1 + exp(11.4041 − 0.0894·RH − 0.1932·T))`; missing outside 10 to 35 °C on columns.

    Args:
        mean_c: mean temperature over five days, °C, 10 to 35.
        relative_humidity_pct: mean relative humidity over five days, %.

    Opinion differs: a US tool for timing a fungicide; untested on UK bowling greens.

    Source: Smith et al. 2018, PLoS ONE 13(3):e0194216; valid range from memory.
    """
    require_between(10.0, 35.0, mean_c=mean_c)
    require_between(0.0, 100.0, relative_humidity_pct=relative_humidity_pct)
    probability = 1.0 / (1.0 + exp(11.4041 - 0.0894 * relative_humidity_pct - 0.1932 * mean_c))
    return where((mean_c >= 10.0) & (mean_c <= 35.0), probability, missing_for(mean_c))


def turf_evaporation_mm(reference_mm: Quantity, crop_coefficient: Quantity) -> Quantity:
    """Evaporation of the turf in mm.

    Formula: `ETc = Kc · ETo`.

    Args:
        reference_mm: reference evaporation ETo, mm.
        crop_coefficient: crop coefficient Kc.

    Source: FAO-56 eq. 58; turf coefficients Brown & Kopec, University of Arizona AZ1195.
    """
    require_not_negative(reference_mm=reference_mm, crop_coefficient=crop_coefficient)
    return reference_mm * crop_coefficient


def irrigation_need_mm(
    turf_evaporation_mm: Quantity, rain_mm: Quantity, effective_rain_share: Quantity, efficiency: Quantity
) -> Quantity:
    """Water to put on in mm so that turf gets back what it lost; zero where rain did that.

    Formula: `max(0, ETc − share · rain) / efficiency`; 1 mm is 1 L/m².

    Args:
        turf_evaporation_mm: evaporation of the turf over the period, mm.
        rain_mm: rain over the period, mm.
        effective_rain_share: share of the rain that the root zone keeps, 0 to 1.
        efficiency: share of the water put on that reaches the root zone, above 0 to 1.

    Source: water balance (FAO-56 chapter 8); shares are the user's, common practice, no source.
    """
    require_not_negative(turf_evaporation_mm=turf_evaporation_mm, rain_mm=rain_mm)
    require_between(0.0, 1.0, effective_rain_share=effective_rain_share, efficiency=efficiency)
    require_positive(efficiency=efficiency)
    return maximum(turf_evaporation_mm - effective_rain_share * rain_mm, 0.0) / efficiency
