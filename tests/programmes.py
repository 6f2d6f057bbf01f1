"""A programme for tests: eight lines a season for each club, with windows, rates, times, and an amount left open."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

MIX, FEED = "70/30 sand and soil", "spring granular 11-5-5 + 8 Fe"
HEAD = "programme,club,operation,material,window_from,window_to,times,rate,depth_mm,basis\n"
LINES = (
    f"top dressing,{MIX},{{0}}-10-01,{{0}}-10-31,,3 kg/m2,,autumn renovation",
    "hollow coring,,{0}-09-20,{0}-10-20,,,75,compaction",
    "slitting,,{0}-12-01,{1}-02-28,3,,150,",
    f"fertiliser,{FEED},{{1}}-04-01,{{1}}-04-30,,35 g/m2,,the committee",
    f"fertiliser,{FEED},{{1}}-06-01,{{1}}-06-30,,,,the committee",
    "verticutting,,{1}-05-01,{1}-07-31,4,,3,",
    "scarifying,,{1}-03-01,{1}-03-31,,,,",
    f"top dressing,{MIX},{{1}}-09-05,{{1}}-09-25,,1 kg/m2,,",
)


def programme_of(clubs: Iterable[str], seasons: Sequence[int]) -> str:
    """The lines of clubs in seasons, as a CSV that loads."""
    lines = (f"{year},{club},{line.format(year - 1, year)}\n" for club in clubs for year in seasons for line in LINES)
    return HEAD + "".join(lines)
