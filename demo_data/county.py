"""The invented county of Ostershire: its clubs, greens and the habits that make each green's story.

Everything here is made up. Magnitudes are plausible (dressing, feeding and organic matter in the range of published
turf figures), no more than that: no figure of this folder is evidence of anything.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

SPRING = "spring granular 9-4-6 + 2 Fe"
SUMMER = "in-season granular 11-5-5 + 8 Fe"
SLOW = "slow-release granular 14-3-7 + 2 MgO"
AUTUMN = "autumn granular 4-3-10 + 4 Fe"
LIQUID = "liquid feed 12-2-6"
IRON = "liquid iron 6 Fe"
MIX_70 = "70/30 sand and soil"
MIX_80 = "80/20 sand and soil"
SAND = "dried medium-fine sand"
WETTER = "wetting agent, liquid"
MOSS = "sulphate of iron, dried"
SEED = "fescue and bent seed"
LIME = "ground limestone"
PROTECTION = "plant protection product, as label"
TURF = "patch turf"


@dataclass(frozen=True)
class Feed:
    """One feed of a year's programme: month and day, material, and g/m² (granular) or litres a green (liquid)."""

    month: int
    day: int
    material: str
    rate: float


LEAN = (Feed(4, 10, SPRING, 17), Feed(6, 15, SUMMER, 17), Feed(7, 20, LIQUID, 10), Feed(10, 16, AUTUMN, 30))
USUAL = (
    Feed(3, 28, SPRING, 35),
    Feed(5, 18, SUMMER, 35),
    Feed(7, 4, LIQUID, 10),
    Feed(8, 8, LIQUID, 10),
    Feed(10, 16, AUTUMN, 35),
)
RICH = (
    Feed(3, 20, SPRING, 48),
    Feed(4, 28, SUMMER, 48),
    Feed(6, 2, SLOW, 36),
    Feed(7, 1, LIQUID, 15),
    Feed(7, 24, LIQUID, 15),
    Feed(8, 20, LIQUID, 15),
    Feed(10, 16, AUTUMN, 48),
)
LITTLE_AND_OFTEN = (
    Feed(4, 5, LIQUID, 12),
    Feed(4, 28, LIQUID, 12),
    Feed(5, 20, IRON, 10),
    Feed(6, 8, LIQUID, 12),
    Feed(7, 2, LIQUID, 12),
    Feed(7, 22, IRON, 10),
    Feed(8, 14, LIQUID, 12),
    Feed(9, 4, LIQUID, 10),
    Feed(10, 16, AUTUMN, 35),
)


@dataclass(frozen=True)
class Habit:
    """How a green is kept and what its surface does.

    Attributes:
        crew: the hand that keeps its log.
        dressing: kg/m² in autumn, in spring, and of each light dressing.
        lights: light dressings in season.
        mix: dressing material.
        feeds: the year's feeding programme.
        core: ``hollow`` or ``solid`` in autumn.
        scarify: passes in autumn.
        cuts: cuts a week in season.
        water: waterings in season.
        surround_m2: surround fed and wetted with the green.
        skip_autumn: seasons whose autumn renovation was missed.
        joined: day from which there is a log.
        log_share: share of routine visits that were written down.
        om: organic matter of the top 20 mm on 1 October 2022, %, as the whole-core method sees it.
        gain: organic matter made in the top 20 mm each year before dressing, percentage points.
        layers: organic matter at 20–40 and 40–60 mm as a share of the top.
        labs: laboratory by season; absent seasons were not sampled.
        cores: cores a sampling.
        twice: sampled in February and in September.
        drift: change of organic matter a year, percentage points, in the winters sampled before the log; None: none.
        speed: July mean, seconds over 27 m.
        uneven: standard deviation between rinks, seconds.
        sessions: timing sessions a season.
        nutrients: factor on phosphorus and potassium.
        ph: mean pH.
    """

    crew: str
    dressing: tuple[float, float, float] = (2.6, 0.9, 0.35)
    lights: int = 2
    mix: str = MIX_70
    feeds: tuple[Feed, ...] = USUAL
    core: str = "solid"
    scarify: int = 2
    cuts: int = 3
    water: int = 12
    surround_m2: float = 0
    skip_autumn: tuple[int, ...] = ()
    joined: date = date(2022, 10, 1)
    log_share: float = 1.0
    om: float = 6.0
    gain: float = 1.1
    layers: tuple[float, float] = (0.66, 0.48)
    labs: dict[int, str] = field(default_factory=lambda: dict.fromkeys((2023, 2024, 2025, 2026), "T"))
    cores: int = 4
    twice: bool = False
    drift: float | None = None
    speed: float = 12.4
    uneven: float = 0.2
    sessions: int = 10
    nutrients: float = 1.0
    ph: float = 6.0


@dataclass(frozen=True)
class Green:
    """One green: what its register line says, and its habit."""

    code: str
    name: str
    area_m2: float
    length_m: float | None
    width_m: float | None
    shape: str
    construction: str
    grasses: str
    laid_on: str
    latitude: float | None
    aliases: str
    habit: Habit

    @property
    def club(self) -> str:
        """Code of the club it belongs to."""
        return self.code.split("-")[0]

    @property
    def construction_type(self) -> str:
        """How it is built, as a code."""
        return CONSTRUCTION_TYPES[self.construction]


QUILLBROOK = dict.fromkeys((2023, 2024, 2025, 2026), "Q")
LAB_CHANGE = {2023: "Q", 2024: "Q", 2025: "T", 2026: "T"}
PUSH_UP = "soil push-up"
SAND_BASED = "sand-based"
ASH = "soil over ash"
SEA_WASHED = "sea-washed turf on soil"
CONSTRUCTION_TYPES = {PUSH_UP: "soil_push_up", SAND_BASED: "sand", ASH: "soil_over_ash", SEA_WASHED: "other"}
MEADOW = "annual meadow-grass and bent"
FINE = "fescue and bent"

CLUBS = (
    ("ALD", "Alder Brook Bowls Club"),
    ("BRA", "Bramfold Park Bowls Club"),
    ("CUL", "Culdermoor Bowls Club"),
    ("DRA", "Drayfield Institute Bowls Club"),
    ("ELV", "Elverdene Bowls Club"),
    ("FEN", "Fennick Crown Green Bowls Club"),
    ("GAR", "Garsmere Social Bowls Club"),
    ("HOL", "Hollinbeck Bowls Club"),
    ("INK", "Inkwater Mill Bowls Club"),
    ("KET", "Kettle Lane Bowls Club"),
    ("LAR", "Larkmarsh Bowls Club"),
    ("MOS", "Mossthwell Works Bowls Club"),
    ("PEL", "Pellaway Vale Bowls Club"),
    ("TOR", "Torwick and District Bowls Club"),
    ("WIC", "Wickenfold Bowls Club"),
)

GREENS = (
    Green("ALD-1", "Main green", 1444, 38, 38, "flat", PUSH_UP, FINE, "1926-05-01", 52.41, "Alder Brook main",
          Habit("crew A", (4.2, 1.5, 0.4), 3, core="hollow", scarify=3, om=8.0, gain=0.9, twice=True, cores=5,
                drift=-0.25, speed=13.0)),
    Green("ALD-2", "Lower green", 1260, 36, 35, "flat", PUSH_UP, MEADOW, "1951-04-20", 52.41, "Alder Brook lower",
          Habit("crew A", core="hollow", om=6.9, gain=1.1, speed=12.2)),
    Green("BRA-1", "Park green", 1369, 37, 37, "flat", ASH, MEADOW, "1934-06-09", 52.38, "Bramfold Park",
          Habit("crew A", (2.2, 0.7, 0.35), 1, feeds=RICH, om=7.2, gain=1.8, twice=True, speed=10.9, cuts=4, water=22,
                nutrients=1.9, drift=0.5)),
    Green("CUL-1", "Green", 1600, 40, 40, "flat", PUSH_UP, MEADOW, "1962-05-12", 52.29, "Culdermoor",
          Habit("crew B", (0.6, 0, 0), 0, mix=SAND, scarify=1, om=8.6, gain=0.7, labs=QUILLBROOK, speed=10.6)),
    Green("DRA-1", "Institute green", 1296, 36, 36, "flat", ASH, MEADOW, "1929-07-01", 52.46, "Drayfield",
          Habit("crew A", om=6.8, gain=1.2, labs=LAB_CHANGE, twice=True, speed=11.8)),
    Green("ELV-1", "Green", 1225, 35, 35, "flat", PUSH_UP, MEADOW, "", None, "Elverdene",
          Habit("office", (1.0, 0, 0), 0, joined=date(2026, 3, 1), log_share=0.2, labs={2026: "T"}, cores=2, sessions=1,
                speed=11.2)),
    Green("FEN-1", "Top crown", 1560, 40, 39, "crown", ASH, MEADOW, "1908-05-30", 52.55, "Fennick top",
          Habit("volunteers", (1.6, 0.6, 0.3), 1, om=7.4, gain=1.0, labs=QUILLBROOK, cores=3, speed=11.4)),
    Green("FEN-2", "Bottom crown", 1720, 42, 41, "crown", ASH, "bent and meadow-grass", "1937-05-08", 52.55,
          "Fennick bottom",
          Habit("volunteers", (1.4, 0.5, 0.3), 1, om=7.0, gain=0.9, labs=QUILLBROOK, cores=3, speed=11.0,
                sessions=7)),
    Green("GAR-1", "Social green", 1444, 38, 38, "flat", PUSH_UP, FINE, "1958-04-26", 52.33, "Garsmere",
          Habit("crew B", surround_m2=246, om=5.8, gain=1.0, labs=QUILLBROOK, speed=12.1)),
    Green("HOL-1", "East green", 1406, 38, 37, "flat", PUSH_UP, "bent and meadow-grass", "1948-06-05", 52.31,
          "Hollinbeck east",
          Habit("crew B", core="hollow", om=6.4, gain=1.1, twice=True, drift=0.0, speed=12.5)),
    Green("HOL-2", "West green", 1332, 37, 36, "flat", SAND_BASED, "bent", "2009-05-16", 52.31, "Hollinbeck west",
          Habit("crew B", (3.0, 1.0, 0.4), 3, mix=SAND, om=4.6, gain=1.2, layers=(0.5, 0.32), speed=13.4)),
    Green("INK-1", "Mill green", 1225, 35, 35, "flat", SAND_BASED, "bent", "2014-05-03", 52.27, "Inkwater Mill",
          Habit("crew B", (2.4, 0.9, 0.4), 3, mix=SAND, om=2.9, gain=0.9, layers=(0.32, 0.17), speed=13.6, ph=6.6,
                nutrients=0.35)),
    Green("KET-1", "Lane green", 1369, 37, 37, "flat", PUSH_UP, MEADOW, "1931-08-01", 52.44, "Kettle Lane",
          Habit("office", (1.3, 0, 0), 1, skip_autumn=(2025,), om=5.0, gain=1.3, twice=True, cores=5,
                drift=0.3, speed=11.3)),
    Green("LAR-1", "Marsh green", 1444, 38, 38, "flat", SEA_WASHED, "fescue", "1922-07-15", 52.50,
          "Larkmarsh",
          Habit("crew A", (2.0, 0.8, 0.3), 2, feeds=LEAN, om=4.8, gain=0.75, cuts=2, water=7, speed=13.8,
                nutrients=0.7, ph=5.6)),
    Green("MOS-1", "Works green", 1156, 34, 34, "flat", ASH, "meadow-grass and moss", "1947-05-17", 52.48,
          "Mossthwell",
          Habit("crew A", (1.8, 0.6, 0.3), 1, om=8.4, gain=1.2, uneven=0.75, speed=10.4, ph=5.2, nutrients=0.8)),
    Green("PEL-1", "Old green", 1330, 38, 35, "flat", PUSH_UP, FINE, "1911-06-10", 52.36, "Pellaway old",
          Habit("office", (3.2, 1.0, 0.4), 3, mix=SAND, feeds=LITTLE_AND_OFTEN, om=6.3, gain=1.1, speed=12.9)),
    Green("PEL-2", "New green", 1406, 38, 37, "flat", SAND_BASED, "bent and fescue", "2017-05-20", None,
          "Pellaway new",
          Habit("office", (2.8, 1.0, 0.4), 3, mix=SAND, feeds=LITTLE_AND_OFTEN, om=3.8, gain=1.3, layers=(0.45, 0.3),
                speed=13.3)),
    Green("TOR-1", "Green", 1480, None, None, "flat", PUSH_UP, MEADOW, "1966-05-01", None, "Torwick",
          Habit("volunteers", (2.0, 0.7, 0), 0, mix=MIX_80, om=7.1, gain=1.1, labs=QUILLBROOK, cores=3, cuts=2,
                speed=11.6, sessions=6)),
)  # fmt: skip
"""Every green that has a log, in the order of the register."""
UNMEASURED = {"green": "WIC-1", "club": "WIC", "name": "Green", "shape": "flat", "construction": PUSH_UP,
              "construction_type": CONSTRUCTION_TYPES[PUSH_UP], "aliases": "Wickenfold"}  # fmt: skip
"""The register's line of a green that joined in October 2026: nobody has measured it, and nothing is logged."""

Material = dict[str, Any]

MATERIAL_HEADERS = (
    "material", "sort", "form", "n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "analysis_basis",
    "analysis_by", "density_kg_l", "bulk_density_t_m3", "moisture_pct", "moisture_basis", "sand_pct", "soil_pct",
    "organic_matter_pct", "pack_kg", "pack_l", "price", "release_weeks", "note",
)  # fmt: skip


def _solid(material: str, npk: tuple[float, float, float], pack_kg: float, price: float, **rest: object) -> Material:
    n, p, k = npk
    return {"material": material, "sort": "fertiliser", "form": "solid", "n_pct": n, "p_pct": p, "k_pct": k,
            "analysis_basis": "oxide", "analysis_by": "w/w", "pack_kg": pack_kg, "price": price, **rest}  # fmt: skip


def _dressing(material: str, bulk: float, sand: float, organic: float, price: float) -> Material:
    return {"material": material, "sort": "top_dressing", "form": "solid", "bulk_density_t_m3": bulk,
            "moisture_pct": 6 if sand < 100 else 0.5, "moisture_basis": "dry", "sand_pct": sand,
            "soil_pct": 100 - sand, "organic_matter_pct": organic, "pack_kg": 1000, "price": price}  # fmt: skip


MATERIALS: tuple[Material, ...] = (
    _solid(SPRING, (9, 4, 6), 25, 27.5, fe_pct=2, release_weeks=6),
    _solid(SUMMER, (11, 5, 5), 25, 31, fe_pct=8, release_weeks=6),
    _solid(SLOW, (14, 3, 7), 25, 44, mg_pct=2, release_weeks=12),
    _solid(AUTUMN, (4, 3, 10), 25, 26, fe_pct=4, release_weeks=6),
    {"material": LIQUID, "sort": "fertiliser", "form": "liquid", "n_pct": 12, "p_pct": 2, "k_pct": 6,
     "analysis_basis": "oxide", "analysis_by": "w/v", "pack_l": 20, "price": 58, "release_weeks": 3},
    {"material": IRON, "sort": "fertiliser", "form": "liquid", "fe_pct": 6, "analysis_basis": "element",
     "analysis_by": "w/w", "density_kg_l": 1.25, "pack_l": 10, "price": 34,
     "note": "label gives iron by weight, so the density is needed"},
    _dressing(MIX_70, 1.5, 70, 1.2, 68),
    _dressing(MIX_80, 1.5, 80, 0.9, 66),
    _dressing(SAND, 1.5, 100, 0, 59),
    {"material": WETTER, "sort": "wetting_agent", "form": "liquid", "pack_l": 10, "price": 92},
    {"material": MOSS, "sort": "moss_treatment", "form": "solid", "fe_pct": 20, "s_pct": 28, "analysis_basis": "oxide",
     "analysis_by": "w/w", "pack_kg": 25, "price": 19},
    {"material": SEED, "sort": "seed", "form": "solid", "pack_kg": 20, "price": 164},
    {"material": LIME, "sort": "lime", "form": "solid", "pack_kg": 25, "price": 9},
    {"material": PROTECTION, "sort": "plant_protection", "form": "liquid",
     "note": "what, how much and when is a matter for the label and a qualified person"},
    {"material": TURF, "sort": "turf", "form": "solid"},
)  # fmt: skip

PRICE_A_UNIT = {m["material"]: m["price"] / (m.get("pack_kg") or m.get("pack_l")) for m in MATERIALS if "price" in m}
"""Price of one kilogram or litre."""

TARGET_COLUMNS = ("indicator", "scope", "scope_name", "season", "band", "low", "high", "unit", "source", "note")
SCOPE_COLUMNS = ("construction", "shape", "burn_c", "preparation", "verdure", "lab", "extractant")
TARGET_HEADERS = (*TARGET_COLUMNS[:8], *SCOPE_COLUMNS, *TARGET_COLUMNS[8:])
TOP = "0–20 mm"
TARGETS = (
    ("dressing_kg_m2", "club", "ALD", "", "", 5, 8, "kg/m²", "agreed with the committee, 12 January 2023", ""),
    ("nitrogen_kg_ha", "club", "ALD", "", "", 80, 110, "kg/ha", "agreed with the committee, 12 January 2023", ""),
    ("disturbed_pct", "club", "ALD", "", "", 10, 20, "%", "agreed with the committee, 12 January 2023", ""),
    ("nitrogen_kg_ha", "club", "BRA", "", "", 80, 120, "kg/ha", "agreed with the committee, 12 January 2025", ""),
    ("dressing_kg_m2", "club", "BRA", "", "", 3, 6, "kg/m²", "agreed with the committee, 12 January 2025", ""),
    ("organic_matter_pct", "club", "BRA", "", TOP, "", 7, "%", "agreed with the committee, 12 January 2025", ""),
    ("dressing_kg_m2", "club", "CUL", "", "", 3, 5, "kg/m²", "adviser's letter to the club, 4 March 2024", ""),
    ("dressing_kg_m2", "club", "DRA", "", "", 3, 6, "kg/m²", "agreed with the committee, 20 November 2024", ""),
    ("nitrogen_kg_ha", "club", "GAR", "", "", 70, 100, "kg/ha", "agreed with the green ranger, 2 February 2024", ""),
    ("dressing_kg_m2", "club", "HOL", "", "", 3, 6, "kg/m²", "agreed with the committee, 8 December 2023", ""),
    ("nitrogen_kg_ha", "club", "HOL", "", "", 80, 120, "kg/ha", "agreed with the committee, 8 December 2023", ""),
    ("dressing_kg_m2", "green", "HOL-2", "", "", 4, 7, "kg/m²", "agreed with the committee, 8 December 2023",
     "sand-based green"),
    ("organic_matter_pct", "green", "INK-1", "", TOP, "", 4, "%", "builder's handover notes, May 2014", ""),
    ("dressing_kg_m2", "club", "KET", "2026", "", 3, 5, "kg/m²", "agreed with the committee, 17 November 2025",
     "after a season without autumn work"),
    ("organic_matter_pct", "club", "KET", "2026", TOP, "", 6, "%", "agreed with the committee, 17 November 2025", ""),
    ("nitrogen_kg_ha", "club", "LAR", "", "", 40, 75, "kg/ha", "agreed with the committee, 5 October 2022",
     "fescue green, kept lean"),
    ("ph", "club", "LAR", "", "", 5.2, 6, "pH", "agreed with the committee, 5 October 2022", ""),
    ("speed_s", "club", "LAR", "", "", 12.5, 15, "s", "agreed with the committee, 5 October 2022", ""),
    ("speed_s", "club", "MOS", "", "", 10, 13, "s", "agreed with the committee, 3 February 2025", ""),
    ("dressing_kg_m2", "club", "PEL", "", "", 4, 7, "kg/m²", "agreed with the committee, 30 January 2023", ""),
    ("nitrogen_kg_ha", "club", "PEL", "", "", 60, 100, "kg/ha", "agreed with the committee, 30 January 2023", ""),
    ("speed_s", "region", "Ostershire", "", "", 10, 15, "s", "county match rules (invented), 2024", ""),
    ("dressing_kg_m2", "club", "TOR", "2026", "", 2, 4, "kg/m²", "club minutes, 9 October 2025", ""),
    ("dressing_plan_kg_m2", "club", "ALD", "", "", 6, "", "kg/m²", "the club's five-year plan, 12 January 2023", ""),
)  # fmt: skip
"""Targets of clubs and of the county that hold whatever the surface and the laboratory."""

Target = dict[str, Any]


def _house(indicator: str, low: object, high: object, unit: str, **scope: object) -> Target:
    """A target that the county set itself, where no published figure for bowling greens was found."""
    row = {
        "indicator": indicator,
        "scope": "region",
        "scope_name": "Ostershire",
        "low": low,
        "high": high,
        "unit": unit,
    }
    return row | {"source": "the county's own, no published source"} | scope


WHOLE_CORE = {"burn_c": 440, "preparation": "whole", "verdure": "on"}
SCREENED = {"burn_c": 360, "preparation": "sieved", "verdure": "off"}
SURFACE_TARGETS: tuple[Target, ...] = (
    {
        "indicator": "organic_matter_pct",
        "scope": "club",
        "scope_name": "ALD",
        "band": TOP,
        "high": 6,
        "unit": "%",
        "source": "agreed with the committee, 12 January 2023",
        **WHOLE_CORE,
    },
    _house("organic_matter_pct", "", 6, "%", band=TOP, **WHOLE_CORE),
    _house("organic_matter_pct", "", 4, "%", band="20–40 mm", **WHOLE_CORE),
    _house("organic_matter_pct", "", 3, "%", band="40–60 mm", **WHOLE_CORE),
    _house("organic_matter_pct", "", 5, "%", band=TOP, construction="sand", **WHOLE_CORE),
    _house("organic_matter_pct", "", 4, "%", band=TOP, **SCREENED),
    _house("organic_matter_pct", "", 4, "%", band="20–40 mm", **SCREENED),
    _house("nitrogen_kg_ha", 80, 200, "kg/ha"),
    _house("disturbed_pct", "", 20, "%"),
    _house("ph", 5.5, 6.5, "pH"),
    _house("thatch_mm", "", 12, "mm"),
    _house("infiltration_mm_h", 100, "", "mm/h", construction="sand"),
    _house("infiltration_mm_h", 25, "", "mm/h", construction="soil_push_up"),
)
"""What the county asks of one surface or one laboratory's method, and where it had to set a figure of its own."""
