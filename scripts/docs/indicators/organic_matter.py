"""What dressing and organic matter come to."""

from __future__ import annotations

from scripts.docs.indicators.described import Described

ORGANIC_MATTER = (
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

BALANCE = (
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

DRESSING = (
    Described(
        "dressing_kg_m2", "Top dressing applied", "kg/m²", "dressing", "",
        "Dressing of the season over the green's area.",
        "Mass as logged, else packs × pack size, else rate × area, else volume × bulk density; moisture taken off "
        "where the material says how much and of what; over the area dressed × the share of the green that is.",
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
        "Dry mass caught ÷ opening of the tray (tray_g, tray_cm2) × share of the green dressed, summed over the "
        "dressings that were caught.",
    ),
    Described(
        "dressing_tray_mm", "The same as depth", "mm", "dressing", "", "What the trays caught, as a layer.",
        "kg/m² caught ÷ dry bulk density.",
    ),
    Described(
        "dressing_off_green_kg", "Dressing that did not land on the green", "kg", "dressing", "",
        "Overspread, left over, or an error of note or tray.",
        "Dry mass delivered − rate by tray × the area of the green dressed; without a tray, where the treated area is "
        "larger than the green, by that area.",
    ),
)  # fmt: skip
