"""What a single reading of a laboratory is known to: how far laboratories differ on the same soil.

A result that one laboratory gave once carries no interval, and is not free of doubt for that. These are standard
deviations between laboratories, from proficiency programmes and a comparison; they stand for the reading alone, not for
how a green varies under the corer.
"""

from __future__ import annotations

from pipeline.indicators.base.description import COMMON, Reading

PROGRAMME = (
    "R. O. Miller & C. Czyryca, “Soil Analysis: ALP Program Inter and Intra Laboratory Method Performance”, 2015: "
    "phosphorus, potassium and organic matter (1 to 5 %) differ by 15 to 20 % between laboratories; the less is taken"
)
COMPARISON = (
    "“The Variability in Soil Characterization Data from Laboratories in the Northeastern United States”, Soil "
    "Science: 14 soils, 7 laboratories (abstract seen; its authors and year were not)"
)
MEDIAN = (
    "G. E. Rayment & D. J. Lyons, “Trends in Soil Measurement Performance of Australasian Laboratories by Methods and "
    "Time”, 2019: median of 19 soil tests 8.8 % in 2013–2015; for one test it may be more"
)
SCARCE = 0.2
"""Of trace elements: "consistently the most variable", over 40 % on some soils (Miller & Czyryca 2015); no mean is
given, 20 % is common practice, no source."""
OTHER = Reading(share=0.088, source=MEDIAN)
READINGS = {
    "organic_matter": Reading(share=0.15, source=PROGRAMME),
    "phosphorus": Reading(share=0.15, source=PROGRAMME),
    "potassium": Reading(share=0.15, source=PROGRAMME),
    "ph": Reading(amount=0.2, source=f"{COMPARISON}: pH in water 0.2, in calcium chloride 0.2"),
    "sand": Reading(amount=1.9, source=COMPARISON),
    "silt": Reading(amount=2.9, source=COMPARISON),
    "clay": Reading(amount=2.5, source=COMPARISON),
    **{name: Reading(share=SCARCE, source=COMMON) for name in ("boron", "copper", "iron", "manganese", "zinc")},
}
"""Analyte → what its reading is known to; `OTHER` for those not listed."""


def reading_of(analyte: str) -> Reading:
    """What a single reading of an analyte is known to."""
    return READINGS.get(analyte, OTHER)
