"""How the green plays."""

from __future__ import annotations

from scripts.docs.indicators.described import Described

SURFACE = (
    Described(
        "speed_s", "Green speed", "s", "surface", "",
        "Seconds of a timed bowl over 27 m; fewer seconds is a slower green. Stimpmeter readings are kept apart.",
        "Each bowl corrected by t × √(27 ÷ d); mean of the days, 95 % interval from the spread between days.",
    ),
    Described(
        "speed_sd_s", "Spread of single bowls", "s", "surface", "", "How far single bowls scatter.",
        "Standard deviation of all bowls of the season.",
    ),
    Described(
        "speed_range_s", "Evenness: slowest to fastest rink", "s", "surface", "",
        "How far rinks differ.", "Each bowl against the mean of its day, averaged by rink; largest less smallest.",
    ),
    Described(
        "speed_hands_s", "Evenness: forehand to backhand", "s", "surface", "",
        "How far the hands differ; only where the record's direction says forehand or backhand.",
        "Each bowl against the mean of its day and rink, averaged by hand; larger less smaller.",
    ),
    Described(
        "speed_timers_s", "Spread between timers", "s", "surface", "",
        "How far people with a stopwatch differ; nobody is named.",
        "Bowls of one day, rink and direction with different observers, averaged by observer; largest less smallest.",
    ),
    Described(
        "deceleration_m_s2", "Deceleration of a bowl", "m/s²", "rolling", "",
        "How hard the green holds the bowl; a slow green has more of it.",
        "2 d ÷ t² of each bowl; mean of the days.",
    ),
    Described(
        "rolling_coefficient", "Coefficient of rolling resistance", "", "rolling", "",
        "The same as a share of gravity.", "Deceleration over 9.81 m/s².",
    ),
    Described(
        "stimp_m", "Stimpmeter distance", "m", "surface", "",
        "How far a ball rolls off a Stimpmeter; never turned into seconds. The note says which rules of the series "
        "were broken.",
        "Mean of each way's balls, then of both ways of one rink and day; mean of those. Balls rolled one way only do "
        "not count.",
    ),
    Described(
        "stimp_level_m", "Stimpmeter distance, corrected for slope", "m", "surface", "",
        "What a level green would give; asks for an even slope.", "2 × up × down ÷ (up + down), Brede 1990.",
    ),
    Described(
        "speed_change_s", "Green speed against the season before", "s", "surface", "",
        "Seconds gained (faster) or lost since the season before, like with like.",
        "Means of days by month, height of cut and rain of the two days before (dry: under 1 mm), only where both "
        "seasons have them; what is recorded nowhere is left aside, and the note says so.",
    ),
    Described(
        "speed_trend_s_year", "Green speed, change a year", "s a year", "surface", "",
        "Whether the green gets faster (above zero) or slower over the seasons.",
        "Seasonal Kendall slope with its interval: means by month, height of cut and rain, each with its like, where "
        "three seasons or more have them.",
    ),
)  # fmt: skip
