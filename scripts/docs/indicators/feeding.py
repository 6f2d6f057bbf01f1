"""What was fed."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.agronomy.soil.nutrients import LEAF_CONTENT_PCT
from pipeline.indicators.feeding.clippings import REMOVED
from pipeline.indicators.feeding.nutrients import ELEMENTS
from scripts.docs.indicators.described import Described


def nutrients() -> Iterator[Described]:
    """One an element, and what is told of nitrogen."""
    for one in ELEMENTS:
        oxide = f"; {one.oxide} on a label is turned into the element" if one.oxide else ""
        yield Described(
            f"{one.name}_kg_ha", f"{one.label} applied", "kg/ha", "nutrients", "",
            f"{one.name.capitalize()} put on in the season, as the element.",
            f"Product over the green's area × share on the label{oxide}. A liquid counts by volume or by weight as its "
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
        "The most at once of what the published limit speaks of.",
        "Largest sum of one day of nitrogen not slow, on the area it fell on.",
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
            f"Dry clippings × share of the green mown × {LEAF_CONTENT_PCT[symbol]:g} % of leaf dry matter. What "
            "irrigation water brings is not recorded by design: few greens' water is metered and analysed.",
        )
        for symbol, name, word in REMOVED
    ),
    Described(
        "nitrogen_12m_kg_ha", "Nitrogen, last twelve months", "kg/ha", "nutrients", "",
        "Nitrogen of the 365 days up to the last day counted.", "As above, over those days.",
    ),
    Described(
        "nitrogen_dose_g_m2", "Largest single dose of nitrogen", "g/m²", "nutrients", "",
        "The most put on in one day of the season.",
        "Largest sum of one day, on the area it fell on: different feeds of a day lie on each other, parts of the "
        "green under one feed side by side.",
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
