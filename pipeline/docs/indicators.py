"""Every indicator: what it is called, what it means, how it is made. Held against what the records yield by a test."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.agronomy.nutrients import LEAF_CONTENT_PCT
from pipeline.docs import markdown as md
from pipeline.indicators.clippings import REMOVED
from pipeline.indicators.curves import D_VALUES
from pipeline.indicators.need import NEEDED
from pipeline.indicators.nutrients import ELEMENTS
from pipeline.indicators.sieves import GRAVEL
from pipeline.targets import shipped_targets, target_sets
from reports.figures import heading_of
from schemas.codes import code_list

OPENING = """\
A figure about one green in one season. Its `name` is what `show --json`, the attached `indicators.csv` and a
[target](records.md#target) call it; its suffix is its unit. `band` says what the name alone does not: a depth, a
material, an operation, an extractant. Every figure carries `n`, the number of records behind it. A figure that the
records cannot carry is absent or blank and says why; it is never nought.

**Standing** is said in words: `within`, `below` or `above` the target; `no target`; `too few` samples for a trend;
`not comparable`, where the method of the samples changed. A target in another unit than the figure is not applied, and
the note beside the figure says so.

**Season**: twelve months from `season_start` ([settings](settings.md)), up to its end or the last day that any record
in the store speaks of. Soil tests are the latest up to that day, whichever season they were taken in.

**Area**: the treated area where a job gives it; but what is put on less than half the green counts as spot work and is
spread over the whole of it. Where a job gives none, the green's own. Without either there is no figure per square
metre."""

CHEMISTRY = """\
Results of the laboratory: the mean of the latest day, one figure an extractant and unit, with a 95 % interval where
there are several results. Results of two extractants are never mixed, and mg/l stays mg/l: only a density, which is
not guessed, makes mg/kg of it, as a second figure beside it (density_kg_l). Results in lb/acre are taken with the
layer's depth and bulk density, and kept in mg/kg."""

TARGETS = """\
## Default targets

Shipped with the tool and printed with their source. They give way to any target of your own for the green, its club or
its region, and to a `standard` one of your own. None of them is a rule for every green."""


@dataclass(frozen=True)
class Described:
    """An indicator as the page describes it: what the records yield must agree in name, label, unit and family."""

    name: str
    label: str
    unit: str
    family: str
    band: str
    meaning: str
    made: str


def catalogue() -> Iterator[Described]:
    """Every indicator, family by family in the order of the report."""
    yield from _ORGANIC_MATTER
    yield from _BALANCE
    yield from _DRESSING
    yield from _nutrients()
    yield from _DISTURBANCE
    yield from _SURFACE
    yield from _chemistry()
    yield from _NEED
    yield from _LEVELS
    yield from _observations()
    yield from _SIEVES
    yield from _WEATHER
    yield from _WORKS


_ORGANIC_MATTER = (
    Described(
        "organic_matter_pct", "Organic matter", "%", "soil", "depth",
        "Loss on ignition of the layer, latest sampling.",
        "Mean of that day's results; 95 % interval from their spread, or, for one bulked sample that says how many "
        "cores it holds, from the 14 % by which cores of one green vary. A result that only says \"less than\" makes "
        "no mean.",
    ),
    Described(
        "organic_matter_trend_pct_year", "Organic matter, change a year", "%-points a year", "soil", "depth",
        "Whether the layer gains or loses organic matter, and how fast.",
        "Only from samples of one method (burn temperature, preparation, verdure, laboratory): Mann–Kendall test and "
        "Theil–Sen slope with its interval, least squares beside it. \"too few\" or \"not comparable\" with the "
        "reason where that cannot be.",
    ),
)  # fmt: skip

_BALANCE = (
    Described(
        "organic_matter_gain_kg_m2_year", "Organic matter gathered", "kg/m² a year", "organic_matter", "depth",
        "What the sampled layer gains of organic matter in a year, growth less decay, before dressing thins it.",
        "Mass balance over comparable samples and dated dressings ([method](method.md#balance)); what fills core holes "
        "below the layer is not in it; refused where the records cannot carry it, with the reason.",
    ),
    Described(
        "organic_matter_next_pct", "Organic matter a season on, dressed as now", "%", "organic_matter", "depth",
        "Where the present programme leads.", "The balance carried forward with the mean dressing of the last seasons.",
    ),
    Described(
        "organic_matter_next_planned_pct", "Organic matter a season on, dressed as planned", "%", "organic_matter",
        "depth", "Where a chosen dressing leads: that of a target of the name `dressing_plan_kg_m2` (its lower end, "
        "else its upper; for the season ahead before this one; green, club, region, standard).",
        "The balance carried forward with that dressing a year, as organic as the present one.",
    ),
    Described(
        "organic_matter_next_undressed_pct", "Organic matter a season on, not dressed", "%", "organic_matter", "depth",
        "Where no dressing at all leads.", "The balance carried forward without dressing.",
    ),
    *(
        Described(
            f"{stem}_{suffix}_year", f"{label}{way}", f"{unit} a year", "organic_matter", "depth", meaning,
            "Dry dressing a year by the balance; the upper end of its interval allows for the error.",
        )
        for stem, label, meaning in (
            ("dressing_hold", "Dressing that holds it", "Dressing a year that keeps the layer as it is."),
            (
                "dressing_reach", "Dressing that reaches the target",
                "Dressing a year that brings the layer to its target by a season: that of a target set for a season "
                "ahead, else so many on as `reach_in_seasons` of the settings says. The note names it.",
            ),
        )
        for suffix, unit, way in (("kg_m2", "kg/m²", ""), ("mm", "mm", ", as depth"), ("t", "t", ", in all"))
    ),
)  # fmt: skip

_DRESSING = (
    Described(
        "dressing_kg_m2", "Top dressing applied", "kg/m²", "dressing", "",
        "Dressing of the season over the area dressed.",
        "Mass as logged, else packs × pack size, else rate × area, else volume × bulk density; moisture taken off "
        "where the material says how much and of what.",
    ),
    Described(
        "dressing_mm", "The same as depth", "mm", "dressing", "", "The dressing as a layer.",
        "kg/m² ÷ dry bulk density in t/m³, the material's or the workspace's.",
    ),
    Described(
        "dressing_t", "The same in all", "t", "dressing", "", "The dressing of the season in all.",
        "Sum of the masses, dry where moisture is known.",
    ),
    Described(
        "dressing_of_kg_m2", "Top dressing", "kg/m²", "dressing", "material",
        "Each material's part, where there was more than one.", "As above, by material.",
    ),
    Described(
        "sand_kg_m2", "Sand in it", "kg/m²", "dressing", "", "Sand put on.",
        "Share of the mix by mass, from the register of materials.",
    ),
    Described(
        "soil_kg_m2", "Soil in it", "kg/m²", "dressing", "", "Soil put on.",
        "Share of the mix by mass, from the register of materials; shares by volume (mix_by) are turned into mass by "
        "the bulk densities of sand and soil.",
    ),
    Described(
        "dressing_tray_kg_m2", "Top dressing by trays", "kg/m²", "dressing", "",
        "What trays on the green caught: a second basis beside the delivery note; the note says how far it is off.",
        "Dry mass caught ÷ opening of the tray (tray_g, tray_cm2), summed over the dressings that were caught.",
    ),
    Described(
        "dressing_tray_mm", "The same as depth", "mm", "dressing", "", "What the trays caught, as a layer.",
        "kg/m² caught ÷ dry bulk density.",
    ),
    Described(
        "dressing_off_green_kg", "Dressing that did not land on the green", "kg", "dressing", "",
        "Overspread, left over, or an error of note or tray.",
        "Dry mass delivered − rate by tray × the green's area; without a tray, where the treated area is larger than "
        "the green, by that area.",
    ),
)  # fmt: skip


def _nutrients() -> Iterator[Described]:
    for one in ELEMENTS:
        oxide = f"; {one.oxide} on a label is turned into the element" if one.oxide else ""
        yield Described(
            f"{one.name}_kg_ha", f"{one.label} applied", "kg/ha", "nutrients", "",
            f"{one.name.capitalize()} put on in the season, as the element.",
            f"Product over the area fed × share on the label{oxide}. A liquid counts by volume or by weight as its "
            "label says, and not at all where it does not say.",
        )  # fmt: skip
    yield from _NITROGEN


_NITROGEN = (
    Described(
        "nitrogen_of_growth_pct", "Nitrogen against what warmth allows", "%", "nutrients", "",
        "Nitrogen put on as a share of what growth by temperature would allow; information only.",
        "Over growth potential × 5 g/m² a month, months with at least 25 days of temperature.",
    ),
    Described(
        "nitrogen_of_growth_month_pct", "Nitrogen against what warmth allows", "%", "nutrients", "month",
        "The same month by month.", "As above.",
    ),
    Described(
        "nitrogen_price_kg", "Price of a kilogram of nitrogen", "currency/kg", "nutrients", "",
        "What the nitrogen of the season's feeds cost; a bag's price says little.",
        "Packs used × price of the pack, over the nitrogen in them; the other nutrients count as free.",
    ),
    Described(
        "nitrogen_slow_pct", "Nitrogen of slow release", "%", "nutrients", "",
        "Share of the season's nitrogen that is not at hand at once.",
        "n_slow_pct over n_pct where the label gives it, else by n_release: slow and organic all, quick none. Feeds "
        "that do not say are left out.",
    ),
    Described(
        "nitrogen_released_as_kg_ha", "Nitrogen", "kg/ha", "nutrients", "class of release",
        "Nitrogen by class of release.", "As above; a blend counts in both parts.",
    ),
    Described(
        "nitrogen_quick_dose_g_m2", "Largest single dose of quick nitrogen", "g/m²", "nutrients", "",
        "The most at once of what the published limit speaks of.", "Largest sum of one day of nitrogen not slow.",
    ),
    Described(
        "nitrogen_to_come_kg_ha", "Nitrogen still to be released", "kg/ha", "nutrients", "",
        "What the stated release times leave to come after the last day counted.",
        "Released evenly over release_weeks; real release follows warmth and moisture.",
    ),
    *(
        Described(
            f"{name}_removed_kg_ha", f"{word} removed in clippings", "kg/ha", "nutrients", "",
            "Carried away in clippings that were boxed off; only where the log weighs them dry (clippings_g_m2).",
            f"Dry clippings × {LEAF_CONTENT_PCT[symbol]:g} % of leaf dry matter. What irrigation water brings is not "
            "recorded by design: few greens' water is metered and analysed.",
        )
        for symbol, name, word in REMOVED
    ),
    Described(
        "nitrogen_12m_kg_ha", "Nitrogen, last twelve months", "kg/ha", "nutrients", "",
        "Nitrogen of the 365 days up to the last day counted.", "As above, over those days.",
    ),
    Described(
        "nitrogen_dose_g_m2", "Largest single dose of nitrogen", "g/m²", "nutrients", "",
        "The most put on in one day of the season.", "Largest sum of one day.",
    ),
    Described(
        "nitrogen_cover_weeks", "Weeks fed, by the stated release times", "weeks", "nutrients", "",
        "How much of the season the feeds cover by their own statement.",
        "Each feed covers its release time from the day it was put on, up to the season's end; overlap counts once.",
    ),
    Described(
        "nitrogen_gap_weeks", "Longest gap between feeds", "weeks", "nutrients", "",
        "Longest stretch between two feeds that none covers.", "Between the spans of the line above.",
    ),
)  # fmt: skip

_DISTURBANCE = (
    Described(
        "disturbed_pct", "Surface opened by tining and coring", "%", "disturbance", "",
        "Share of the surface that tines opened in the season.",
        "π d² ÷ 4 × holes/m², passes and operations added up; holes that fall into holes count twice. Hollow tines by "
        "the diameter logged, or by the one chosen (choices.hollow_tine) where the wall is recorded (tine_wall_mm).",
    ),
    Described(
        "bladed_pct", "Surface opened by blades and slits", "%", "disturbance", "",
        "Share of the surface that blades cut; kept apart, since yearly guidance speaks of tines.",
        "Blade ÷ blade spacing × passes, added up.",
    ),
    Described(
        "opened_pct", "Surface opened", "%", "disturbance", "operation", "The same by operation.", "As above.",
    ),
    Described(
        "holes_m2", "Holes made", "holes/m²", "disturbance", "operation", "Holes of the season by operation.",
        "Holes counted over the area, else 1,000,000 ÷ (spacing along × across in mm) × passes.",
    ),
    Described(
        "disturbed_l_m2", "Volume of holes and slits", "l/m²", "disturbance", "",
        "What they would take to fill: 1 l/m² is 1 mm of sand.", "Share of the surface × working depth.",
    ),
    Described(
        "refill_sand_kg", "Dry sand to fill the holes", "kg", "disturbance", "",
        "Sand that the season's holes would take; blades and slits are left out.",
        "Volume of the holes × area opened × dry bulk density (the workspace's).",
    ),
)  # fmt: skip

_SURFACE = (
    Described(
        "speed_s", "Green speed", "s", "surface", "",
        "Seconds of a timed bowl over 27 m; fewer seconds is a slower green. Stimpmeter readings are kept apart.",
        "Each bowl corrected by t × √(27 ÷ d); mean of the days, 95 % interval from the spread between days.",
    ),
    Described(
        "speed_sd_s", "Spread of single bowls", "s", "surface", "", "How far single bowls scatter.",
        "Standard deviation of all bowls of the season.",
    ),
    Described(
        "speed_range_s", "Evenness: slowest to fastest rink", "s", "surface", "",
        "How far rinks differ.", "Each bowl against the mean of its day, averaged by rink; largest less smallest.",
    ),
    Described(
        "speed_hands_s", "Evenness: forehand to backhand", "s", "surface", "",
        "How far the hands differ; only where the record's direction says forehand or backhand.",
        "Each bowl against the mean of its day and rink, averaged by hand; larger less smaller.",
    ),
    Described(
        "speed_timers_s", "Spread between timers", "s", "surface", "",
        "How far people with a stopwatch differ; nobody is named.",
        "Bowls of one day, rink and direction with different observers, averaged by observer; largest less smallest.",
    ),
    Described(
        "deceleration_m_s2", "Deceleration of a bowl", "m/s²", "rolling", "",
        "How hard the green holds the bowl; a slow green has more of it.",
        "2 d ÷ t² of each bowl; mean of the days.",
    ),
    Described(
        "rolling_coefficient", "Coefficient of rolling resistance", "", "rolling", "",
        "The same as a share of gravity.", "Deceleration over 9.81 m/s².",
    ),
    Described(
        "stimp_m", "Stimpmeter distance", "m", "surface", "",
        "How far a ball rolls off a Stimpmeter; never turned into seconds. The note says which rules of the series "
        "were broken.",
        "Mean of each way's balls, then of both ways of one rink and day; mean of those. Balls rolled one way only do "
        "not count.",
    ),
    Described(
        "stimp_level_m", "Stimpmeter distance, corrected for slope", "m", "surface", "",
        "What a level green would give; asks for an even slope.", "2 × up × down ÷ (up + down), Brede 1990.",
    ),
    Described(
        "speed_change_s", "Green speed against the season before", "s", "surface", "",
        "Seconds gained (faster) or lost since the season before, like with like.",
        "Means of days by month, height of cut and rain of the two days before (dry: under 1 mm), only where both "
        "seasons have them; what is recorded nowhere is left aside, and the note says so.",
    ),
    Described(
        "speed_trend_s_year", "Green speed, change a year", "s a year", "surface", "",
        "Whether the green gets faster (above nought) or slower over the seasons.",
        "Seasonal Kendall slope with its interval: means by month, height of cut and rain, each with its like, where "
        "three seasons or more have them.",
    ),
)  # fmt: skip

_LEVELS = (
    Described(
        "level_range_mm", "Highest to lowest point", "mm", "levels", "", "How far points are apart in height.",
        "Highest less lowest point of the season's last survey.",
    ),
    Described(
        "level_sd_mm", "Spread of heights", "mm", "levels", "", "How far points scatter about their mean.",
        "Standard deviation of all points of the survey; not on a crown green.",
    ),
    Described(
        "level_deviation_mm", "Largest distance from the mean height", "mm", "levels", "",
        "The point farthest off; flat greens only. Its target is the tolerance the next line counts with.",
        "Farthest point from the mean of all points.",
    ),
    Described(
        "level_within_pct", "Points within the tolerance", "%", "levels", "",
        "Share of the green that is level; flat greens only.", "Share of points within the tolerance of their mean.",
    ),
    Described(
        "tilt_mm", "Fall of the whole green", "mm", "levels", "", "How far the green as a whole falls, and where to.",
        "Highest less lowest corner of the plane of least squares through all points.",
    ),
    Described(
        "level_plane_sd_mm", "Spread about the best-fit plane", "mm", "levels", "",
        "What is uneven beside the tilt.", "Standard deviation of all points about that plane.",
    ),
    Described(
        "level_rink_fall_mm", "Largest fall along a rink", "mm", "levels", "",
        "End to end of the rink that falls most.",
        "Plane of least squares of each rink; rinks as equal strips across the green.",
    ),
    Described(
        "level_rink_crossfall_mm", "Largest fall across a rink", "mm", "levels", "",
        "Side to side of the rink that falls most.", "The same planes, the other way.",
    ),
    Described(
        "level_gradient_mm_m", "Steepest gradient a bowl meets", "mm/m", "levels", "",
        "Steepest rise or fall on the middle line of a rink.", "Over 1 m, on heights interpolated between the points.",
    ),
    Described(
        "crown_height_mm", "Height of the crown", "mm", "levels", "",
        "Top over the mean of the corners; crown greens only.",
        "Read from a surface of second order fitted to all points (Huber).",
    ),
    Described(
        "crown_corners_mm", "Unevenness of the corners", "mm", "levels", "", "How far the corners differ in height.",
        "Highest less lowest corner of that surface.",
    ),
    Described(
        "crown_quarters_mm", "Difference between quarters", "mm", "levels", "",
        "How far the four quarters of a crown green differ; none where the crown is in the middle.",
        "Mean height of the points of each quarter, highest less lowest.",
    ),
    Described(
        "crown_sd_mm", "Spread about the fitted crown", "mm", "levels", "", "What is uneven beside the crown.",
        "Standard deviation of all points about that surface.",
    ),
    Described(
        "crown_deviation_mm", "Largest distance from the fitted crown", "mm", "levels", "",
        "The point farthest off the crown.", "Farthest point from that surface.",
    ),
    Described(
        "level_gap_mm", "Largest gap under a 3 m straightedge", "mm", "levels", "along or across the rinks",
        "The deepest hollow that a straightedge shows; no published limit was found.",
        "Laid anywhere on two places of the grid up to 3 m apart.",
    ),
    Described(
        "level_low_m2", "Ground too low", "m²", "levels", "", "Ground that dressing could bring up.",
        "Below the mean by more than the tolerance; on a crown green 10 mm below the fitted crown (common practice, no "
        "source).",
    ),
    Described(
        "level_low_t", "Dressing to fill it", "t", "levels", "", "Dressing that brings it up.",
        "Volume of that ground up to the mean, or to the fitted crown, × dry bulk density.",
    ),
    Described(
        "level_moved_mm", "Largest change of one point", "mm", "levels", "",
        "The point that moved most since the survey before.",
        "Later less earlier at points no further apart than 0.25 m; less the mean change where benchmarks differ.",
    ),
    Described(
        "level_mean_change_mm", "Mean change of height", "mm", "levels", "",
        "How far the whole green has risen or sunk.",
        "Mean of those changes; only where both surveys name one benchmark.",
    ),
    Described(
        "level_moved_pct", "Points that have moved", "%", "levels", "",
        "Share of points that moved by more than the instruments can err.",
        "More than 1.96 × √(e₁² + e₂²), the standard errors of both surveys.",
    ),
)  # fmt: skip

_NEED = (
    *(
        Described(
            f"{one.analyte}_need_kg_ha", f"{code_list('analyte')[one.analyte].label} needed to hold the guideline",
            "kg/ha", "soil", "",
            "What keeps the soil at the MLSN guideline while the grass uses what it does; information.",
            "Use + (guideline − soil) × depth × bulk density, never below nought; Mehlich 3 only, use from the "
            f"season's nitrogen ÷ {one.nitrogen_parts:g}, version by choices.mlsn.",
        )
        for one in NEEDED
    ),
    Described(
        "cec_meq_100g", "Exchange capacity by summation", "meq/100 g", "soil", "extractant",
        "Charge of the bases of the latest sample that has calcium, magnesium and potassium. No verdict, and none on "
        "saturation: no target is recommended for sand root zones.",
        "mg/kg over equivalent weights (choices.cation_weights), summed; acidity is not recorded.",
    ),
)  # fmt: skip

_WEATHER = (
    Described(
        "rain_mm", "Rain", "mm", "weather", "", "Rain of the season at the green's station.", "Sum of the days.",
    ),
    Described(
        "frost_days", "Days with air frost", "days", "weather", "", "Days whose lowest air temperature is below 0 °C.",
        "Count of days.",
    ),
    Described(
        "degree_days_c", "Degree days", "°C d", "weather", "",
        "Warmth above a base (choices.degree_day_base_c; 6 °C is common practice, no source).",
        "Mean of highest and lowest less the base, never below 0, summed.",
    ),
    Described(
        "growth_days", "Days of full growth by temperature", "days", "weather", "",
        "Growth potential summed; information, not a requirement.",
        "exp(−½((t − t₀)/v)²) of each day's mean; curve and grass by choices.growth_curve and choices.growth_grass.",
    ),
    Described(
        "evaporation_mm", "Reference evaporation", "mm", "weather", "", "Water the air could take up.",
        "Penman–Monteith (FAO-56 equation 6) on days with humidity or dew point, wind, and sun or radiation; "
        "Hargreaves (equation 52) on the others. Needs the green's latitude; the station is taken to lie at sea level.",
    ),
    Described(
        "water_balance_mm", "Rain and watering less evaporation of the turf", "mm", "water", "",
        "Whether more water came than the turf gave off; what ran off or drained is not known.",
        "Rain + logged watering − coefficient × reference evaporation (choices.crop_coefficient; FAO-56 table 12).",
    ),
    Described(
        "irrigation_need_mm", "Water the turf gave off beyond the rain", "mm", "water", "",
        "What watering would have had to bring, month by month; information. Logged watering is not taken off.",
        "Each month max(0, turf evaporation − share × rain) ÷ efficiency (choices.rain_share, "
        "choices.irrigation_efficiency), summed.",
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

_WORKS = (
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


def _chemistry() -> Iterator[Described]:
    """One a measured thing and unit: mg/l stays mg/l, because only a density turns it into mg/kg."""
    for name, code in code_list("analyte").items():
        if name == "organic_matter":
            continue
        wanted = str(code.facts["unit"])
        for unit in [wanted, "mg/l"] if wanted == "mg/kg" else [wanted]:
            suffix = unit.replace("%", "pct").replace("/", "_").lower()
            yield Described(
                f"{name}_{suffix}" if suffix else name, code.label, unit, "soil",
                "extractant" if wanted == "mg/kg" else "",
                "Latest sampling.", "Mean of that day's results.",
            )  # fmt: skip


_COUNTED = (
    "Hits over points of all places, with Wilson's interval; points count for fewer where places differ by more than "
    "chance"
)
_MEASURED = "Mean of the readings with the t interval of their spread"


def _observations() -> Iterator[Described]:
    """Three a thing: the figure, its spread over the green, its change since the visit before."""
    for name, code in code_list("observation").items():
        if name == "layer":  # drawn in the survey, no figure of its own
            continue
        unit, figure = str(code.facts["unit"]), str(code.facts["figure"])
        suffix = {"%": "pct", "mm/h": "mm_h"}.get(unit, unit)
        stem, family = figure.removesuffix(f"_{suffix}"), str(code.facts["family"])
        yield Described(
            figure, code.label, unit, family, "method",
            "Last visit of the season, one figure a method: hammer, drop, depth and ring are part of it.",
            f"{_COUNTED}; {_MEASURED.lower()} where no points were counted." if unit == "%" else f"{_MEASURED}.",
        )  # fmt: skip
        yield Described(
            f"{stem}_cv_pct", f"{code.label}: spread over the green", "%", family, "method",
            "How much the green differs from place to place; from three readings on.",
            "Standard deviation over mean of the visit's readings.",
        )  # fmt: skip
        yield Described(
            f"{stem}_change_{suffix}", f"{code.label}: change since the visit before",
            "%-points" if unit == "%" else unit, family, "method",
            "Later less earlier, only where the method is the same.",
            "Newcombe's interval for counts, Welch's t interval for readings; a change is shown only where it leaves "
            "nought out.",
        )  # fmt: skip


_SIEVES = (
    *(
        Described(
            f"sieve_d{share}_mm", f"D{share}", "mm", "sieve", "root zone or material",
            f"Size that {share} % of the mass is finer than; the root zone's last sample, and each dressing's of the "
            "season.",
            "Read from the sieve curve, straight between two sieves on the logarithm of size, or as "
            "choices.sieve_interpolation says.",
        )
        for share in D_VALUES
    ),
    Described(
        "sieve_uniformity", "Coefficient of uniformity", "", "sieve", "root zone or material",
        "How widely the sizes are graded: low is all of one size.", "D60 ÷ D10.",
    ),
    Described(
        "sieve_coarse_medium_pct", "Coarse and medium sand", "%", "sieve", "root zone", "Between 0.25 and 1 mm.",
        "From the curve; held against the USGA limit where the register says that the green is sand-based.",
    ),
    Described(
        "sieve_very_fine_pct", "Very fine sand, silt and clay", "%", "sieve", "root zone", "Finer than 0.15 mm.",
        "From the curve; held against the USGA limit where the register says that the green is sand-based.",
    ),
    Described(
        "sieve_silt_clay_pct", "Silt and clay", "%", "sieve", "root zone", "Finer than 0.05 mm.", "From the curve.",
    ),
    Described(
        "sieve_medium_pct", "Medium sand", "%", "sieve", "material", "Between 0.25 and 0.5 mm, of a dressing.",
        "From the curve; held against what UK fine turf asks of a dressing sand.",
    ),
    Described(
        "sieve_match", "Dressing against root zone, D50", "", "sieve", "material",
        "Whether a dressing of the season is as coarse as the root zone it lies on; 1 is alike.",
        "D50 of the dressing over D50 of the root zone; the note gives D10 and D90 and the class furthest apart.",
    ),
    *(
        Described(
            name, label, "", "sieve", "gravel",
            "Whether the gravel that the register names may lie under the root zone without a layer between.",
            f"{how}; limit of the USGA edition chosen (choices.layer_match).",
        )
        for name, label, how in GRAVEL.values()
    ),
)  # fmt: skip


def page() -> str:
    """docs/indicators.md."""
    chemistry = set(_chemistry())
    families: dict[str, list[Described]] = {}
    for one in catalogue():
        families.setdefault(one.family, []).append(one)
    headers = ("name", "printed as", "band", "unit", "what it means", "how it is made")
    parts = []
    for family, members in families.items():
        measured = [one for one in members if one in chemistry]
        rows = [(md.code(d.name), d.label, d.band, d.unit, d.meaning, d.made) for d in members if d not in measured]
        parts += [f"## {heading_of(family)}", md.table(headers, rows)]
        if measured:
            parts += [CHEMISTRY, _measured(measured)]
    return md.page("Indicators", OPENING, *parts, TARGETS, _targets())


def _measured(members: list[Described]) -> str:
    """A row a measured thing: its names in each unit a laboratory may report."""
    by_label: dict[str, list[Described]] = {}
    for one in members:
        by_label.setdefault(one.label, []).append(one)
    rows = [
        (md.codes(d.name for d in same), label, same[0].band, " or ".join(d.unit for d in same))
        for label, same in by_label.items()
    ]
    return md.table(("name", "printed as", "band", "unit"), rows)


def _targets() -> str:
    headers = ("indicator", "band", "low", "high", "unit", "source", "note")
    names = ("band", "low", "high", "unit", "source", "note")
    parts = []
    for one in target_sets():
        rows = [(md.code(row["indicator"]), *(row[name] for name in names)) for row in shipped_targets((one,))]
        parts += [f"### Set {md.code(one)}", md.table(headers, rows)]
    return "\n\n".join(parts)
