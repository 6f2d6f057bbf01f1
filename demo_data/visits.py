"""A consultant's visits to three greens: what was counted and measured, sieve analyses, and drawn pictures.

Everything here is invented. Frames of fifty points lie in patches (a share of its own for each frame), as real ones do;
hardness, moisture and infiltration spread as published trials of turf spread, by a tenth to a third.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any

from demo_data.county import GREENS, MIX_70, MIX_80, SAND, Green

Row = dict[str, Any]
OBSERVATION_HEADERS = (
    "date", "green", "observed", "survey", "place", "x_m", "y_m", "method", "hammer_kg", "drop", "depth_from_mm",
    "depth_to_mm", "layer", "value", "unit", "hits", "points", "ring_mm", "volume_ml", "minutes", "head_mm",
    "head_end_mm", "photo", "observer", "note",
)  # fmt: skip
SIEVE_HEADERS = ("date", "green", "material", "sample", "lab", "size_mm", "basis", "value", "unit", "dry_mass_g")
PHOTO_HEADERS = ("date", "green", "picture", "caption", "place", "survey", "taken_by")
PINS = 50
"""Points in each of the ten frames of a visit."""
EAST, NORTH, TURN = 10000, 20000, math.radians(27)
"""The local grid that the levels of FEN-1 are surveyed in (demo_data/surveys.py)."""


@dataclass(frozen=True)
class Surface:
    """What a green's surface is like on the visits to it.

    Attributes:
        days: the visits, the second a year after the first.
        sward: shares of what a point meets first, on each visit: bent, fescue, meadow-grass, moss, weeds, bare.
        disease: share of diseased turf on each visit.
        hardness: mean, in gravities, on each visit.
        hammers: mass of the hammer on each visit, kg; where the two differ, the readings are not comparable.
        moisture: mean by volume, %.
        infiltration: mean, mm/h.
        falling: whether the ring's water was left to fall.
        thatch: mean depth, mm.
        roots: mean depth, mm.
        layers: core from the surface down: name and lower end in mm.
    """

    days: tuple[date, date]
    sward: tuple[tuple[float, ...], tuple[float, ...]]
    disease: tuple[float, float]
    hardness: tuple[float, float]
    hammers: tuple[float, float]
    moisture: float
    infiltration: float
    falling: bool
    thatch: float
    roots: float
    layers: tuple[tuple[str, float], ...]


KINDS = ("bent", "fescue", "meadow_grass", "moss", "weed", "bare")
SURFACES = {
    "ALD-1": Surface(
        (date(2025, 9, 17), date(2026, 9, 16)),
        ((0.46, 0.22, 0.25, 0.04, 0.01, 0.02), (0.5, 0.24, 0.21, 0.02, 0.01, 0.02)),
        (0.03, 0.02), (76, 82), (2.25, 2.25), 31, 46, False, 13, 105,
        (("turf and thatch", 14), ("dark sandy layer of dressings", 62), ("sandy loam", 210)),
    ),
    "FEN-1": Surface(
        (date(2025, 9, 19), date(2026, 9, 17)),
        ((0.2, 0.03, 0.6, 0.09, 0.04, 0.04), (0.19, 0.03, 0.55, 0.14, 0.04, 0.05)),
        (0.05, 0.09), (68, 66), (2.25, 2.25), 39, 22, True, 19, 70,
        (("turf and thatch", 20), ("soil and old dressings", 75), ("soil", 150), ("ash", 240)),
    ),
    "KET-1": Surface(
        (date(2025, 9, 18), date(2026, 9, 18)),
        ((0.3, 0.02, 0.58, 0.03, 0.03, 0.04), (0.29, 0.02, 0.55, 0.03, 0.03, 0.08)),
        (0.04, 0.05), (112, 96), (0.5, 2.25), 27, 34, False, 21, 85,
        (("turf and thatch", 21), ("fibrous soil", 55), ("clay loam", 190)),
    ),
}  # fmt: skip
"""The greens whose levels are surveyed too: two flat, one crown."""


def _rng(*words: object) -> Random:
    return Random(" ".join(str(word) for word in words))  # noqa: S311 - invented data, not a secret


def _places(green: Green, columns: int, rows: int) -> list[tuple[float, float]]:
    """Places on a grid over the green: metres across and along."""
    width, length = float(green.width_m or 36), float(green.length_m or 36)
    return [
        (round(width * (i + 0.5) / columns, 1), round(length * (j + 0.5) / rows, 1))
        for j in range(rows)
        for i in range(columns)
    ]


def _in_the_grid(code: str, x: float, y: float) -> Row:
    """A place in the coordinates of the green's level survey."""
    if code != "FEN-1":
        return {"x_m": x, "y_m": y}
    east = EAST + x * math.cos(TURN) + y * math.sin(TURN)
    north = NORTH - x * math.sin(TURN) + y * math.cos(TURN)
    return {"x_m": f"{east:.1f}", "y_m": f"{north:.1f}"}


def observations() -> Iterator[Row]:
    """Everything counted and measured on every visit, in order of date."""
    greens = {green.code: green for green in GREENS}
    visits = sorted((day, code, which) for code, one in SURFACES.items() for which, day in enumerate(one.days))
    for day, code, which in visits:
        head = {"date": day, "green": code, "survey": f"V-{day:%y}", "observer": "consultant"}
        for row in _visit(greens[code], SURFACES[code], which):
            yield head | row | _in_the_grid(code, row["x_m"], row["y_m"])


def _visit(green: Green, surface: Surface, which: int) -> Iterator[Row]:
    rng = _rng(green.code, "visit", which)
    yield from _frames(green, surface, which, rng)
    yield from _readings(green, surface, which, rng)
    yield from _rings(green, surface, rng)
    yield from _cores(green, surface, which, rng)


def _frames(green: Green, surface: Surface, which: int, rng: Random) -> Iterator[Row]:
    shares = surface.sward[which]
    for number, (x, y) in enumerate(_places(green, 5, 2), start=1):
        patchy = [share * math.exp(rng.gauss(0, 0.35)) for share in shares]
        met = rng.choices(KINDS, patchy, k=PINS)
        hits = {kind: met.count(kind) for kind in KINDS}
        counts = hits | {
            "cover": PINS - hits["moss"] - hits["weed"] - hits["bare"],
            "desirable_grass": hits["bent"] + hits["fescue"],
            "disease": sum(rng.random() < surface.disease[which] for _ in range(PINS)),
        }
        for kind, count in counts.items():
            yield {"observed": kind, "place": f"F{number}", "x_m": x, "y_m": y, "method": "point_quadrat",
                   "hits": count, "points": PINS}  # fmt: skip


def _readings(green: Green, surface: Surface, which: int, rng: Random) -> Iterator[Row]:
    hammer = surface.hammers[which]
    for number, (x, y) in enumerate(_places(green, 3, 3), start=1):
        place = {"place": f"P{number}", "x_m": x, "y_m": y}
        hardness = surface.hardness[which] * rng.gauss(1, 0.12)
        yield place | {"observed": "hardness", "method": "impact_hammer", "hammer_kg": hammer, "drop": 1,
                       "value": round(hardness), "unit": "gravities"}  # fmt: skip
        yield place | {"observed": "moisture", "method": "moisture_probe", "depth_from_mm": 0, "depth_to_mm": 60,
                       "value": round(surface.moisture * rng.gauss(1, 0.1), 1), "unit": "%"}  # fmt: skip


def _rings(green: Green, surface: Surface, rng: Random) -> Iterator[Row]:
    for number, (x, y) in enumerate(_places(green, 3, 1), start=1):
        rate = surface.infiltration * math.exp(rng.gauss(0, 0.3))
        row = {"observed": "infiltration", "place": f"R{number}", "x_m": x, "y_m": y, "ring_mm": 300}
        if surface.falling:
            yield row | {"method": "falling_head", "head_mm": 60, "head_end_mm": round(60 - rate / 3, 1), "minutes": 20}
        else:
            volume = rate / 6 * math.pi / 4 * 300**2 / 1000
            yield row | {"method": "constant_head", "volume_ml": round(volume, -1), "minutes": 10, "head_mm": 50}


def _cores(green: Green, surface: Surface, which: int, rng: Random) -> Iterator[Row]:
    for number, (x, y) in enumerate(_places(green, 5, 1), start=1):
        place = {"place": f"C{number}", "x_m": x, "y_m": y, "method": "core"}
        thatch, roots = surface.thatch * rng.gauss(1, 0.15), surface.roots * rng.gauss(1, 0.12)
        yield place | {"observed": "thatch_depth", "value": round(thatch), "unit": "mm"}
        yield place | {"observed": "root_depth", "value": round(roots / 5) * 5, "unit": "mm",
                       "photo": f"photos/{green.code.lower()}-core.jpg" if number == 1 and which else ""}  # fmt: skip
        top = 0
        for name, end in surface.layers if number in {1, 4} else ():
            foot = round(end + rng.uniform(-0.08, 0.08) * end)
            yield place | {"observed": "layer", "depth_from_mm": top, "depth_to_mm": foot, "layer": name}
            top = foot


SIZES = (0.002, 0.05, 0.15, 0.25, 0.5, 1.0, 2.0, 3.4)
ROOT_ZONES = {
    "ALD-1": (7, 17, 30, 46, 78, 93, 98.5, 100),
    "FEN-1": (9, 24, 38, 52, 75, 88, 96, 100),
    "HOL-2": (1.4, 3, 7, 23, 74, 95, 99.5, 100),
    "KET-1": (13, 31, 45, 58, 78, 90, 97, 100),
}
DRESSINGS = {
    MIX_70: (4, 10, 19, 37, 79, 97, 99.8, 100),
    MIX_80: (2.6, 7, 15, 33, 80, 97, 99.8, 100),
    SAND: (0.2, 0.6, 2.5, 17, 82, 99, 100, 100),
}
SIEVED_G = 200.0
"""Dry mass of a root-zone sample, g."""


def sieves() -> Iterator[Row]:
    """Root zones as masses on each sieve, dressings as shares passing."""
    for green, passing in ROOT_ZONES.items():
        head = {"date": date(2026, 3, 4), "green": green, "sample": f"RZ-{green}", "lab": "Tarnfold Laboratory",
                "basis": "retained", "unit": "g", "dry_mass_g": SIEVED_G}  # fmt: skip
        edges = (0.0, *passing)
        for size, below, above in zip((0.0, *SIZES[:-1]), edges, edges[1:], strict=False):
            yield head | {"size_mm": size, "value": round(SIEVED_G * (above - below) / 100, 2)}
        yield head | {"size_mm": SIZES[-1], "value": 0}
    for material, passing in DRESSINGS.items():
        head = {
            "date": date(2025, 9, 1),
            "material": material,
            "sample": "certificate",
            "basis": "passing",
            "unit": "%",
        }
        for size, value in zip(SIZES, passing, strict=True):
            yield head | {"size_mm": size, "value": value}


def photos() -> Iterator[Row]:
    """One picture a survey, and one of moss."""
    for code, surface in SURFACES.items():
        shown = {"date": surface.days[1], "green": code, "survey": f"V-{surface.days[1]:%y}",
                 "taken_by": "consultant"}  # fmt: skip
        yield shown | {"picture": f"photos/{code.lower()}-core.jpg", "caption": "Core beside the ruler", "place": "C1"}
        if code == "FEN-1":
            yield shown | {"picture": "photos/fen-1-moss.jpg", "caption": "Moss in the shaded quarter", "place": "F5"}


def picture(name: str) -> bytes:
    """A plain drawn picture for a photo: turf from above, or a core from the side."""
    from PIL import Image, ImageDraw, ImageFilter

    rng = _rng(name)
    wide, high = (240, 320) if name.endswith("core.jpg") else (320, 240)
    image = Image.new("RGB", (wide, high), (92, 128, 66))
    draw = ImageDraw.Draw(image)
    if name.endswith("core.jpg"):
        _draw_core(draw, name, wide, high)
    for _ in range(1500):
        x, y, light = rng.randrange(wide), rng.randrange(high), rng.randint(-18, 18)
        red, green, blue = image.getpixel((x, y))  # type: ignore[misc]
        if "moss" in name and math.hypot(x - 170, y - 120) < 70 + light:
            red, green, blue = 148, 150, 62
        ink = (red + light, green + light, blue + light)
        draw.line((x, y, x + rng.randint(-4, 4), y - rng.randint(2, 7)), fill=ink, width=2)
    out = io.BytesIO()
    image.filter(ImageFilter.GaussianBlur(1)).save(out, "JPEG", quality=70)
    return out.getvalue()


def _draw_core(draw: Any, name: str, wide: int, high: int) -> None:
    """The layers of a core, a millimetre a pixel, with a ruler beside them."""
    code = name.removeprefix("photos/").removesuffix("-core.jpg").upper()
    draw.rectangle((0, 0, wide, high), fill=(205, 203, 196))
    top = 15
    for (_, end), ink in zip(
        SURFACES[code].layers, ((86, 104, 52), (70, 58, 44), (128, 104, 74), (60, 60, 62)), strict=False
    ):
        draw.rectangle((70, top, 170, 15 + end), fill=ink)
        top = round(15 + end)
    for mark in range(0, high - 20, 10):
        draw.line((190, 15 + mark, 200 + 8 * (mark % 50 == 0), 15 + mark), fill=(30, 30, 30))
