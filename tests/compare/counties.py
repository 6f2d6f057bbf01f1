"""Random counties: greens of clubs in regions, with figures of two seasons."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from hypothesis import strategies as st

from pipeline.compare.comparison import Topic
from pipeline.compare.county import County, Member
from pipeline.compare.figures import Figure

OM = Topic("organic_matter_pct", "Organic matter", "0–20 mm", "burned at 440 °C, Lab A", "%", 0.5, 1)
SPEED = Topic("speed_s", "Green speed", "", "timed bowl over 27 m", "s", 0.5, 1)
DRESSED = Topic("dressing_kg_m2", "Top dressing applied", "", "", "kg/m²", 0.5, 1)

LIMITS = {OM: (2.0, 12.0), SPEED: (9.0, 16.0), DRESSED: (0.3, 9.0)}


def figure(topic: Topic, value: float, error: float | None) -> Figure:
    """A figure; ``error`` is the share by cores for organic matter, seconds for speed."""
    if topic is DRESSED:
        return Figure(topic, value)
    if error is None:
        return Figure(topic, value, sampled=True)
    sd = error * value if topic is OM else error
    return Figure(topic, value, value - 1.96 * sd, value + 1.96 * sd, sd, sampled=True)


Drawn = dict[str, list[tuple[Topic, float, float | None]]]


@st.composite
def drawn_figures(draw: st.DrawFn, greens: Sequence[str], topics: Sequence[Topic]) -> Drawn:
    """A value and an error for most greens and topics."""
    found: Drawn = {}
    for green in greens:
        found[green] = []
        for topic in topics:
            if draw(st.integers(0, 9)) > 0:
                value = draw(st.floats(*LIMITS[topic]))
                error = draw(st.one_of(st.none(), st.sampled_from([0.03, 0.05, 0.07, 0.14])))
                found[green].append((topic, value, error))
    return found


@st.composite
def members(draw: st.DrawFn, least: int = 5, most: int = 24) -> dict[str, Member]:
    """Greens of two to six clubs, in two regions, of a few kinds."""
    number = draw(st.integers(least, most))
    clubs = draw(st.integers(2, 6))
    region = {f"C{i}": draw(st.sampled_from(["North", "South"])) for i in range(clubs)}
    found = {}
    for i in range(number):
        club = f"C{draw(st.integers(0, clubs - 1))}"
        kind = draw(st.sampled_from(["soil", "sand"])), draw(st.sampled_from(["bent", "meadow-grass"]))
        path = (draw(st.sampled_from(["flat greens"] * 4 + ["crown greens"])), region[club], *kind)
        found[f"G{i:02}"] = Member(f"Green {i}", club, path)
    return found


def county(of: dict[str, Member], now: Drawn, before: Drawn) -> County:
    """A county of drawn members and figures."""

    def made(drawn: Drawn) -> dict[str, list[Figure]]:
        return {green: [figure(*one) for one in drawn.get(green, [])] for green in of}

    return County(of, made(now), made(before), "2026", "2025", date(2026, 9, 30))


def elsewhere_in_its_step(topic: Topic, value: float, share: float) -> float:
    """Another value that rounds to the same step; ``share`` of the way through it, 0…1."""
    middle = round(value / topic.step) * topic.step
    return middle + (share - 0.5) * topic.step * (1 - 1e-6) if math.isfinite(middle) else value
