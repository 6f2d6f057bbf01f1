"""Weather and work."""

from __future__ import annotations

from scripts.docs.indicators.described import Described

WEATHER = (
    Described(
        "rain_mm", "Rain", "mm", "weather", "", "Rain of the season at the green's station.", "Sum of the days.",
    ),
    Described(
        "frost_days", "Days with air frost", "days", "weather", "", "Days whose lowest air temperature is below 0 °C.",
        "Count of days.",
    ),
    Described(
        "degree_days_c", "Degree days", "°C d", "weather", "",
        "Warmth above a base (method_options.degree_day_base_c; 6 °C is common practice, no source).",
        "Mean of highest and lowest less the base, never below 0, summed.",
    ),
    Described(
        "growth_days", "Days of full growth by temperature", "days", "weather", "",
        "Growth potential summed; information, not a requirement.",
        "exp(−½((t − t₀)/v)²) of each day's mean; curve and grass by method_options.growth_curve and "
        "method_options.growth_grass.",
    ),
    Described(
        "evaporation_mm", "Reference evaporation", "mm", "weather", "", "Water the air could take up.",
        "Penman–Monteith (FAO-56 equation 6) on days with humidity or dew point, wind, and sun or radiation; "
        "Hargreaves (equation 52) on the others. Needs the green's latitude; the station is taken to lie at sea level.",
    ),
    Described(
        "water_balance_mm", "Rain and watering less evaporation of the turf", "mm", "water", "",
        "Whether more water came than the turf gave off; what ran off or drained is not known.",
        "Rain + logged watering − coefficient × reference evaporation (method_options.crop_coefficient; FAO-56 "
        "table 12).",
    ),
    Described(
        "irrigation_need_mm", "Water the turf gave off beyond the rain", "mm", "water", "",
        "What watering would have had to bring, month by month; information. Logged watering is not taken off.",
        "Each month max(0, turf evaporation − share × rain) ÷ efficiency (method_options.rain_share, "
        "method_options.irrigation_efficiency), summed.",
    ),
    Described(
        "dollar_spot_days", "Days of dollar-spot weather", "days", "water", "",
        "Days on which a published US model gives dollar spot a chance of 20 % or more; information only.",
        "Smith et al. 2018, from means of five days of temperature (10 to 35 °C) and humidity.",
    ),
    Described(
        "growth_month_days", "Days of full growth by temperature", "days", "growth", "month",
        "The same as growth_days, month by month.", "Growth potential of the month's days, summed.",
    ),
)  # fmt: skip

WORKS = (
    Described(
        "operations", "Operations logged", "", "works", "", "Lines of the job log.", "Count.",
    ),
    Described(
        "days_worked", "Days with work on the green", "", "works", "", "Days with a line in the log.",
        "Count of dates.",
    ),
    Described(
        "hours_h", "Hours of work", "h", "works", "", "Hours of all people together.",
        "Sum of what jobs give; the note says how many give none.",
    ),
    Described(
        "cost", "Cost of work and materials as logged", "currency", "works", "", "Cost in the workspace's currency.",
        "Sum of what jobs give; the note says how many give none.",
    ),
    Described(
        "vibration_a8_m_s2", "Hand-arm vibration, highest daily exposure A(8)", "m/s²", "works", "",
        "The worst day's exposure of one writer of the log from work on this green; other greens come on top.",
        "√ of the sum of a² T ÷ 8 over that day's machines (vibration_m_s2, trigger_hours).",
    ),
    Described(
        "hours_of_h", "Hours", "h", "works", "operation", "Hours by operation.", "Sum of what jobs give.",
    ),
    Described(
        "cost_of", "Cost", "currency", "works", "operation", "Cost by operation.", "Sum of what jobs give.",
    ),
    Described(
        "cost_m2", "Cost per square metre", "currency/m²", "works", "", "The same over the green.",
        "Cost over the green's own area.",
    ),
)  # fmt: skip
