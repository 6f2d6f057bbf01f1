"""Invented weather of an invented station: four years of days, drawn from a yearly course with a seeded generator."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

STATION = "Ostershire airfield"
FIRST, LAST = date(2022, 10, 1), date(2026, 10, 20)
GAP = (date(2026, 7, 6), date(2026, 7, 9))
"""Days on which the invented station was down: a gap that figures must tell of."""
HEADERS = ("date", "station", "tmax_c", "tmin_c", "humidity_pct", "rain_mm", "wind_m_s")


def days() -> Iterator[dict[str, Any]]:
    """A row a day; temperatures follow the year and the days before, rain comes in spells."""
    draw = random.Random(2027)  # noqa: S311 (invented data, not a secret)
    swing, wet = 0.0, False
    day = FIRST
    while day <= LAST:
        course = 10.2 - 6.6 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 22) / 365.25)
        swing = 0.75 * swing + draw.gauss(0, 1.7)
        wet = draw.random() < (0.62 if wet else 0.27)
        spread = (6.0 if wet else 9.5) + draw.gauss(0, 1.5)
        half = max(spread, 1.5) / 2
        rain = round(draw.expovariate(1 / 4.6), 1) if wet else 0.0
        row = {
            "date": day,
            "station": STATION,
            "tmax_c": round(course + swing + half, 1),
            "tmin_c": round(course + swing - half, 1),
            "humidity_pct": round(min(100.0, max(35.0, draw.gauss(88 if wet else 74, 6)))),
            "rain_mm": rain,
            "wind_m_s": round(max(0.3, draw.gauss(3.6, 1.4)), 1),
        }
        if not GAP[0] <= day <= GAP[1]:
            yield row
        day += timedelta(days=1)
