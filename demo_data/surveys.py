"""Level surveys of three greens: a settled flat green (surveyed twice), a crown green, a green with a tilted half.

Shapes are sums of smooth hollows and mounds with a little noise; all of it is invented.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any

Row = dict[str, Any]
Shape = Callable[[float, float], float]
HEADERS = (
    "date", "green", "survey", "point", "x_m", "y_m", "z_mm", "staff_mm", "sight_mm", "instrument", "accuracy_mm",
    "benchmark", "observer",
)  # fmt: skip
SPACING_M = 2.0
"""About how far apart points are: the nearest that divides the green evenly."""


@dataclass(frozen=True)
class Bump:
    """A smooth mound, or a hollow where it is negative: middle, height and reach."""

    x: float
    y: float
    mm: float
    reach: float

    def at(self, x: float, y: float) -> float:
        """Its height at a place, mm."""
        return self.mm * math.exp(-((x - self.x) ** 2 + (y - self.y) ** 2) / (2 * self.reach**2))


def _bumps(x: float, y: float, bumps: Iterable[Bump]) -> float:
    return sum(bump.at(x, y) for bump in bumps)


def settled(sunk: float) -> Shape:
    """A flat green of 38 × 38 m: worn ends, one old trench across it, a hollow that sinks on."""
    bumps = (Bump(29, 27, -17 * sunk, 3.2), Bump(9, 12, 6, 4.5), Bump(20, 20, 3.5, 9), Bump(6, 33, -8 * sunk, 2.4))

    def height(x: float, y: float) -> float:
        worn = -4.0 * (math.exp(-y / 2.5) + math.exp(-(38 - y) / 2.5))
        trench = -3.5 * sunk * math.exp(-((x - 0.4 * y - 12) ** 2) / 1.2)
        return 1500 + _bumps(x, y, bumps) + worn + trench

    return height


def crowned(x: float, y: float) -> float:
    """A crown green of 39 × 40 m: 300 mm from top to corners, top off the middle, one quarter sunk."""
    u, v = (x - 20.4) / 19.5, (y - 19.0) / 20.0
    return 2400 - 150 * (u * u + v * v) + _bumps(x, y, (Bump(31, 32, -14, 4), Bump(10, 9, -11, 2.6)))


def half_tilted(x: float, y: float) -> float:
    """A green of 37 × 37 m that is level to its middle and then falls away to one side."""
    return 1200 + 1.5 * math.sin(y / 4) - max(0.0, x - 18.5) * 1.9 + _bumps(x, y, (Bump(12, 26, 5, 3),))


def _points(
    green: str, day: date, survey: str, size: tuple[float, float], shape: Shape, noise_mm: float
) -> Iterator[Row]:
    rng = Random(f"{green} {day} levels")  # noqa: S311 - invented data, not a secret
    across, along = (round(extent / SPACING_M) for extent in size)
    for row in range(along + 1):
        for column in range(across + 1):
            x, y = size[0] * column / across, size[1] * row / along
            yield {
                "date": day, "green": green, "survey": survey, "point": f"{row + 1}-{column + 1}", "x_m": round(x, 3),
                "y_m": round(y, 3), "z_mm": round(shape(x, y) + rng.gauss(0, noise_mm)), "observer": "consultant",
            }  # fmt: skip


def settled_green() -> Iterator[Row]:
    """ALD-1 in spring 2023 and autumn 2026, rotating laser, from one benchmark."""
    laser = {"instrument": "rotating laser", "accuracy_mm": 1.5, "benchmark": "pavilion step"}
    for day, name, sunk in ((date(2023, 3, 14), "L-23", 0.55), (date(2026, 9, 16), "L-26", 1.0)):
        yield from (row | laser for row in _points("ALD-1", day, name, (38, 38), settled(sunk), 1.0))


def crown_green() -> Iterator[Row]:
    """FEN-1 in autumn 2026 by total station, in the coordinates of a local grid and turned against it."""
    turn = math.radians(27)
    for row in _points("FEN-1", date(2026, 9, 17), "L-26", (39, 40), crowned, 1.2):
        x, y = row["x_m"], row["y_m"]
        east = 10000 + x * math.cos(turn) + y * math.sin(turn)
        north = 20000 - x * math.sin(turn) + y * math.cos(turn)
        station = {"instrument": "total station", "accuracy_mm": 2, "benchmark": "gate post"}
        yield row | station | {"x_m": f"{east:.3f}", "y_m": f"{north:.3f}"}


def tilted_green() -> Iterator[Row]:
    """KET-1 in autumn 2026 by optical level: staff readings from two standpoints, each with its line of sight."""
    for row in _points("KET-1", date(2026, 9, 18), "L-26", (37, 37), half_tilted, 1.5):
        sight = 2710 if row["y_m"] < 18 else 2685
        read = {"staff_mm": sight - row["z_mm"], "sight_mm": sight, "z_mm": None}
        yield row | read | {"instrument": "optical level", "accuracy_mm": 2.5, "benchmark": "kerb by the gate"}
