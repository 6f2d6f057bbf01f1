"""What the laboratory found, and what holds the guideline."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.indicators.soil.need import NEEDED
from schemas.codes import code_list
from scripts.docs.indicators.described import Described


def chemistry() -> Iterator[Described]:
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


NEED = (
    *(
        Described(
            f"{one.analyte}_need_kg_ha", f"{code_list('analyte')[one.analyte].label} needed to hold the guideline",
            "kg/ha", "soil", "",
            "What keeps the soil at the MLSN guideline while the grass uses what it does; information.",
            "Use + (guideline − soil) × depth × bulk density, never below zero; Mehlich 3 only, use from the "
            f"season's nitrogen ÷ {one.nitrogen_parts:g}, version by method_options.mlsn.",
        )
        for one in NEEDED
    ),
    Described(
        "cec_meq_100g", "Exchange capacity by summation", "meq/100 g", "soil", "extractant",
        "Charge of the bases of the latest sample that has calcium, magnesium and potassium. No verdict, and none on "
        "saturation: no target is recommended for sand root zones.",
        "mg/kg over equivalent weights (method_options.cation_weights), summed; acidity is not recorded.",
    ),
)  # fmt: skip
