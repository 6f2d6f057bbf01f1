"""What a fertiliser brings: elements from label and quantity, cost, release and removal."""

from __future__ import annotations

from typing import Literal

from pipeline.agronomy.maths import (
    Quantity,
    maximum,
    minimum,
    require_between,
    require_not_negative,
    require_one_of,
    require_positive,
)
from pipeline.agronomy.units import KG_PER_LB, M2_PER_FT2

ATOMIC_WEIGHT = {
    "H": 1.008,
    "N": 14.007,
    "O": 15.999,
    "Na": 22.990,
    "Mg": 24.305,
    "Al": 26.982,
    "P": 30.974,
    "S": 32.06,
    "K": 39.098,
    "Ca": 40.078,
    "Mn": 54.938,
    "Fe": 55.845,
    "Cu": 63.546,
    "Zn": 65.38,
}
"""IUPAC standard atomic weights 2021, abridged to five figures (Prohaska et al. 2022, Pure Appl. Chem. 94:573)."""

Oxide = Literal["P2O5", "K2O", "MgO", "CaO", "SO3", "Na2O", "Fe2O3", "MnO"]
_OXIDE_PARTS: dict[Oxide, tuple[str, int, int]] = {
    "P2O5": ("P", 2, 5),
    "K2O": ("K", 2, 1),
    "MgO": ("Mg", 1, 1),
    "CaO": ("Ca", 1, 1),
    "SO3": ("S", 1, 3),
    "Na2O": ("Na", 2, 1),
    "Fe2O3": ("Fe", 2, 3),
    "MnO": ("Mn", 1, 1),
}


def _oxide_factor(element: str, atoms: int, oxygens: int) -> float:
    mass = atoms * ATOMIC_WEIGHT[element]
    return mass / (mass + oxygens * ATOMIC_WEIGHT["O"])


ELEMENT_PER_OXIDE: dict[Oxide, float] = {oxide: _oxide_factor(*parts) for oxide, parts in _OXIDE_PARTS.items()}
"""Mass of the element in a unit mass of the oxide that labels are written in."""
LABORATORY_FORM: dict[str, float] = {
    **{str(oxide): share for oxide, share in ELEMENT_PER_OXIDE.items()},
    "Al2O3": _oxide_factor("Al", 2, 3),
    "PO4": _oxide_factor("P", 1, 4),
    "SO4": _oxide_factor("S", 1, 4),
    "NO3": _oxide_factor("N", 1, 3),
    "NH4": ATOMIC_WEIGHT["N"] / (ATOMIC_WEIGHT["N"] + 4 * ATOMIC_WEIGHT["H"]),
}
"""Mass of the element in a unit mass of the oxide or ion that a laboratory states a result as."""
OXIDE_ELEMENT: dict[Oxide, str] = {oxide: parts[0] for oxide, parts in _OXIDE_PARTS.items()}


LEAF_CONTENT_PCT = {"N": 4.0, "K": 2.0, "P": 0.5, "Ca": 0.45, "Mg": 0.2}
"""Share of leaf dry matter by element, %: ATC seminar 2014-01 (cool- and warm-season putting greens)."""

SOLUBLE_N_LIMIT_G_M2 = KG_PER_LB / M2_PER_FT2
"""Most soluble N at once, g/m²: 1 lb/1000 ft², lawns (New York extension leaflet; Ask Extension 178841)."""


def element_from_oxide(amount: Quantity, oxide: Oxide) -> Quantity:
    """Amount of the element in an amount of its oxide, in the unit that went in.

    Formula: `amount · n·M(element) / M(oxide)`.

    Args:
        amount: amount of the oxide, any unit of mass or share.
        oxide: which oxide.

    Opinion differs: labels in the UK and US state P₂O₅ and K₂O, Australia and New Zealand P and K; a record
    keeps which.

    Source: IUPAC standard atomic weights 2021; checked against Virginia Tech SPES-201 and IFA conversion factors.
    """
    require_one_of(tuple(ELEMENT_PER_OXIDE), oxide=oxide)
    return amount * ELEMENT_PER_OXIDE[oxide]


def nutrient_g_m2(product_kg: Quantity, share_pct: Quantity, area_m2: Quantity) -> Quantity:
    """Nutrient applied in g/m², in the form (oxide or element) that the share is in.

    Formula: `1000 · product · share / 100 / area`.

    Args:
        product_kg: mass of product spread, kg.
        share_pct: nutrient in the product by mass, %.
        area_m2: treated area, m².

    Source: definition; 14:3:7 at 50 g/m² is 7.0 g N/m² in Grounds Management Association, Fertiliser programmes.
    """
    require_not_negative(product_kg=product_kg)
    require_between(0.0, 100.0, share_pct=share_pct)
    require_positive(area_m2=area_m2)
    return 10.0 * product_kg * share_pct / area_m2


def kg_ha(g_m2: Quantity) -> Quantity:
    """Nutrient over area in kg/ha.

    Formula: `g/m² · 10`.

    Args:
        g_m2: nutrient over area, g/m².

    Source: definition.
    """
    return g_m2 * 10.0


def product_for_nutrient_kg(nutrient_kg: Quantity, share_pct: Quantity) -> Quantity:
    """Mass of product in kg that holds a mass of nutrient.

    Formula: `nutrient / (share / 100)`.

    Args:
        nutrient_kg: mass of nutrient wanted, kg.
        share_pct: nutrient in the product by mass, %, in the same form.

    Source: definition; 16-4-8 takes 6.25 lb for 1 lb N (a US lawn guide).
    """
    require_not_negative(nutrient_kg=nutrient_kg)
    require_positive(share_pct=share_pct)
    return nutrient_kg * 100.0 / share_pct


def price_per_kg(price: Quantity, product_kg: Quantity, share_pct: Quantity) -> Quantity:
    """Price of a kg of nutrient, in the money that went in.

    Formula: `price / (product · share / 100)`.

    Args:
        price: price of the pack.
        product_kg: mass in the pack, kg.
        share_pct: nutrient in the product by mass, %.

    Source: definition.
    """
    require_not_negative(price=price)
    require_positive(product_kg=product_kg, share_pct=share_pct)
    return price * 100.0 / (product_kg * share_pct)


def released_g_m2(applied_g_m2: Quantity, weeks_since: Quantity, release_weeks: Quantity) -> Quantity:
    """Nutrient in g/m² that a slow-release product has given up so far, released evenly.

    Formula: `applied · min(1, weeks since / release weeks)`; all at once where the release lasts no time.

    Args:
        applied_g_m2: nutrient applied, g/m².
        weeks_since: weeks since it was spread.
        release_weeks: how long the maker says it lasts, weeks.

    Opinion differs: real release follows temperature and moisture; the even one is for reading only.

    Source: common practice, no source.
    """
    require_not_negative(applied_g_m2=applied_g_m2, weeks_since=weeks_since)
    require_positive(release_weeks=release_weeks)
    return applied_g_m2 * minimum(weeks_since / release_weeks, 1.0)


def removed_g_m2(clippings_dry_g_m2: Quantity, leaf_content_pct: Quantity) -> Quantity:
    """Nutrient in g/m² carried away in clippings.

    Formula: `dry matter · leaf content / 100`.

    Args:
        clippings_dry_g_m2: dry matter boxed off, g/m².
        leaf_content_pct: nutrient in leaf dry matter, % (`LEAF_CONTENT_PCT` where not measured).

    Source: definition; leaf contents from ATC seminar 2014-01.
    """
    require_not_negative(clippings_dry_g_m2=clippings_dry_g_m2)
    require_between(0.0, 100.0, leaf_content_pct=leaf_content_pct)
    return clippings_dry_g_m2 * leaf_content_pct / 100.0


def over_single_dose_g_m2(dose_g_m2: Quantity) -> Quantity:
    """How far a single soluble dose of nitrogen goes past the limit of lawns in g/m²; zero where it does not.

    Formula: `max(0, dose − limit)`, the limit 1 lb N/1000 ft².

    Args:
        dose_g_m2: soluble nitrogen in one application, g/m².

    Source: New York extension leaflet and Ask Extension 178841 (lawns); less on greens is common practice, no source.
    """
    require_not_negative(dose_g_m2=dose_g_m2)
    return maximum(dose_g_m2 - SOLUBLE_N_LIMIT_G_M2, 0.0)
