"""Invented seasons of invented greens, rich and poor, for the tests of the report."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from pipeline.common.amounts import Amount
from pipeline.indicators.base.green_season import (
    Caution,
    DataNote,
    Due,
    Evidence,
    GreenSeason,
    Indicator,
    Running,
    RunningPoint,
    Sample,
    Series,
    SourceFile,
    Verdict,
    Work,
)
from schemas.codes import code_list

JOBS, SOIL, SPEED = "works-2026.csv", "lab-results.csv", "speeds.csv"
PLAN = "club's own plan, agreed in autumn 2025"
COMMON = "common practice, no source"


def lines(file: str, kind: str, *numbers: int) -> tuple[Evidence, ...]:
    return tuple(Evidence(file, n, kind, 1) for n in numbers)


def organic(band: str, values: list[tuple[int, float, float, bool]], low: float | None, high: float | None) -> Series:
    samples = tuple(
        Sample(
            date(year, 9, 4),
            mean,
            round(mean - spread, 2),
            round(mean + spread, 2),
            5,
            tuple(round(mean + spread * k, 2) for k in (-0.9, -0.4, 0.1, 0.4, 0.8)),
            "loss on ignition, 440 °C" if same else "loss on ignition, 360 °C, sieved",
            same,
        )
        for year, mean, spread, same in values
    )
    return Series("Organic matter", band, "%", samples, low, high, COMMON)


def indicators() -> tuple[Indicator, ...]:
    dressing = lines(JOBS, "job", 14, 61, 118)
    feed = lines(JOBS, "job", 15, 33, 47, 72, 88)
    loi = "Mean of the cores of the latest sampling by loss on ignition at 440 °C, with a 95 % t interval."
    summed = "Mass from the job log over the treated area; season from 1 October."
    oxide = "Product mass times its declared analysis, oxides turned into elements, over the treated area."
    bowls = "Mean of all bowls timed, corrected to 27 m, with a 95 % t interval over sessions."
    made = [
        Indicator("dressing_kg_m2", "Top dressing applied", "", 3.75, "kg/m²", 3, None, None, 4.0, 6.0, PLAN, "below",
                  summed, "Treated area 1,600 m² as logged.", "dressing", 2, dressing),
        Indicator("dressing_mm", "Top dressing as a layer", "", 2.5, "mm", 3, None, None, None, None, "", "no target",
                  "Mass over area, divided by the bulk density of the mix, 1.5 t/m³.", "", "dressing", 1, dressing),
        Indicator("dressing_t", "Sand in it", "70/30 mix", 4.2, "t", 3, None, None, None, None, "", "no target",
                  summed, "", "dressing", 1, dressing),
        Indicator("nitrogen_kg_ha", "Nitrogen applied", "season", 96.4, "kg/ha", 5, None, None, 80, 120, PLAN, "within",
                  oxide, "", "nutrients", 1, feed),
        Indicator("nitrogen_12_months_kg_ha", "Nitrogen applied", "last 12 months", 104.2, "kg/ha", 6, None, None,
                  None, None, "", "no target", oxide, "", "nutrients", 1, feed),
        Indicator("phosphorus_kg_ha", "Phosphorus applied", "as P", 6.8, "kg/ha", 5, None, None, None, 10, PLAN,
                  "within", oxide, "", "nutrients", 1, feed),
        Indicator("potassium_kg_ha", "Potassium applied", "as K", 71.0, "kg/ha", 5, None, None, 60, 100, PLAN, "within",
                  oxide, "", "nutrients", 1, feed),
        Indicator("iron_g_m2", "Iron applied", "", 4.1, "g/m²", 5, None, None, None, None, "", "no target", oxide, "",
                  "nutrients", 1, feed),
        Indicator("largest_dose_g_m2", "Largest single nitrogen dose", "15 March", 3.44, "g/m²", 1, None, None, None,
                  4.0, COMMON, "within", oxide, "", "nutrients", 2, feed[:1]),
        Indicator("organic_matter_pct", "Organic matter", "0–20 mm", 7.4, "%", 5, 6.6, 8.2, None, 6.0, COMMON, "above",
                  loi, "", "organic_matter", 1, lines(SOIL, "soil_test", 2, 3, 4, 5, 6)),
        Indicator("organic_matter_pct", "Organic matter", "20–40 mm", 4.3, "%", 5, 3.7, 4.9, None, 4.0, COMMON, "above",
                  loi, "", "organic_matter", 1, lines(SOIL, "soil_test", 7, 8, 9, 10, 11)),
        Indicator("organic_matter_pct", "Organic matter", "40–60 mm", 2.8, "%", 5, 2.4, 3.2, None, 3.0, COMMON,
                  "within", loi, "", "organic_matter", 1, lines(SOIL, "soil_test", 12, 13, 14, 15, 16)),
        Indicator("organic_matter_trend_pct_year", "Organic matter trend", "0–20 mm", -0.42, "% a year", 5, -0.71,
                  -0.12, None, None, "", "no target", "Theil–Sen slope over comparable samplings, 95 % interval.",
                  "Samples of 2022 left out: another burn temperature.", "organic_matter", 2,
                  lines(SOIL, "soil_test", *range(2, 7), *range(30, 45)),
                  Verdict("falling", "5 comparable samples, p 0.017", 0.017)),
        Indicator("ph", "pH", "water, 0–100 mm", 6.2, "", 2, None, None, 5.5, 6.5, COMMON, "within",
                  "Mean of the latest sampling.", "", "soil", 1, lines(SOIL, "soil_test", 17, 18)),
        Indicator("phosphorus_mg_kg", "Phosphorus", "Olsen, 0–100 mm", 31, "mg/kg", 2, None, None, None, None, "",
                  "not comparable", "Mean of the latest sampling.", "Earlier tests used Mehlich 3.", "soil", 0,
                  lines(SOIL, "soil_test", 19, 20)),
        Indicator("potassium_mg_kg", "Potassium", "ammonium nitrate, 0–100 mm", None, "mg/kg", 1, None, None, None,
                  None, "", "too few", "Mean of the latest sampling.", "One result, reported as less than 20.", "soil",
                  0, lines(SOIL, "soil_test", 21)),
        Indicator("holes_m2", "Holes made", "solid tines", 625, "holes/m²", 1, None, None, None, None, "", "no target",
                  "Holes logged over the treated area.", "", "surface", 0, lines(JOBS, "job", 13)),
        Indicator("disturbed_pct", "Surface worked", "tining and scarifying", 17.8, "%", 3, None, None, 10, 20, PLAN,
                  "within", "Hole or blade width over spacing, passes added, overlap ignored.", "", "surface", 1,
                  lines(JOBS, "job", 11, 12, 13)),
        Indicator("green_speed_s", "Green speed", "corrected to 27 m", 13.6, "s", 9, 13.1, 14.1, 13.0, 16.0, COMMON,
                  "within", bowls, "", "speed", 1, lines(SPEED, "green_speed", *range(2, 38))),
        Indicator("speed_spread_s", "Evenness between rinks", "largest difference", 1.4, "s", 6, None, None, None, 1.0,
                  COMMON, "above", "Largest less smallest rink mean.", "", "speed", 1,
                  lines(SPEED, "green_speed", *range(2, 38))),
        Indicator("hours", "Hours worked", "", 143.5, "h", 82, None, None, None, None, "", "no target",
                  "Sum of the hours logged.", "Hours are missing from 6 works.", "effort", 1,
                  lines(JOBS, "job", *range(2, 120, 3))),
        Indicator("cost", "Cost of materials", "", None, "", 0, None, None, None, None, "", "no target",
                  "Sum of the costs logged.", "", "effort", 2, ()),
    ]  # fmt: skip
    return tuple(made)


def _logged(operation: str, detail: str, amount: str) -> dict[str, Any]:
    """What a record says besides its words: code, product and amount of a sample's work."""
    number, _, unit = amount.partition(" ")
    scale, si = {"t": (1000.0, "kg"), "kg": (1.0, "kg"), "L": (1.0, "l")}.get(unit, (0.0, ""))
    return {
        "code": next(code.name for code in code_list("operation").values() if code.label == operation),
        "material": detail if operation in ("Top dressing", "Overseeding", "Fertilising") else "",
        "given": Amount(float(number) * scale, si) if si else None,
    }


def works(cuts: int = 60) -> tuple[Work, ...]:
    big = [
        (date(2025, 10, 6), "Hollow coring", "12 mm, 50 × 50 mm, 75 mm deep", "640,000 holes", 6.0, 210.0),
        (date(2025, 10, 8), "Top dressing", "70/30 sand and soil", "2 t", 3.5, 164.0),
        (date(2025, 10, 9), "Overseeding", "browntop bent", "12 kg", 1.5, 198.0),
        (date(2026, 3, 14), "Scarifying", "1 mm blades, 2–3 mm deep, two passes", "9 barrow loads off", 4.0, None),
        (date(2026, 3, 15), "Solid tining", "19 mm, 75–100 mm deep", "1,000,000 holes", 5.0, None),
        (date(2026, 3, 15), "Fertilising", "11-5-5 + 8 Fe", "50 kg", 1.0, 62.5),
        (date(2026, 3, 19), "Top dressing", "70/30 sand and soil", "2 t", 3.0, 164.0),
        (date(2026, 6, 2), "Wetting agent", "block rate on the label", "10 L", 1.0, 118.0),
        (date(2026, 6, 22), "Top dressing", "70/30 sand and soil", "2 t", 3.0, 164.0),
        (date(2026, 7, 30), "Fertilising", "6-0-12", "40 kg", 1.0, 48.0),
    ]
    made = [
        Work(
            d, o, t, a, h, None if c is None else Decimal(str(c)), Evidence(JOBS, 10 + i, "job", 1), **_logged(o, t, a)
        )
        for i, (d, o, t, a, h, c) in enumerate(big)
    ]
    for i in range(cuts):
        day = date(2026, 3, 10) + timedelta(days=(i * 168) // max(cuts, 1))
        hours = None if i % 10 == 3 else 1.5
        place = Evidence(JOBS, 30 + i, "job", 1)
        made.append(Work(day, "Mowing", "5 mm, two ways", "", hours, None, place, code="mowing"))
    return tuple(made)


def rich() -> GreenSeason:
    """A green with nearly everything: three depths, four samplings, plans, cautions, notes."""
    points = lambda *pairs: tuple(RunningPoint(d, t) for d, t in pairs)  # noqa: E731
    start, end = date(2025, 10, 1), date(2026, 9, 30)
    dressing = Running(
        "Top dressing", "kg/m²",
        points((date(2025, 10, 8), 1.25), (date(2026, 3, 19), 2.5), (date(2026, 6, 22), 3.75)),
        points((start, 0.0), (date(2025, 10, 15), 1.7), (date(2026, 3, 31), 3.4), (end, 5.0)), 4.0, 6.0, PLAN,
    )  # fmt: skip
    nitrogen = Running(
        "Nitrogen", "kg/ha",
        points((date(2026, 3, 15), 34.4), (date(2026, 5, 2), 55.0), (date(2026, 6, 10), 72.0),
               (date(2026, 7, 30), 87.0), (date(2026, 8, 20), 96.4)),
        points((date(2026, 3, 1), 0.0), (date(2026, 8, 31), 100.0)), 80.0, 120.0, PLAN,
    )  # fmt: skip
    speeds = tuple(
        Sample(date(2026, 4, 20) + timedelta(days=17 * i), m, m - 0.5, m + 0.5, 12,
               tuple(round(m + k, 1) for k in (-0.8, -0.3, 0.0, 0.2, 0.7)), "timed over 27 m", True)
        for i, m in enumerate((12.4, 13.0, 13.2, 13.9, 14.3, 14.0, 13.8, 14.1))
    )  # fmt: skip
    return GreenSeason(
        green="AB-1", green_name="Main green", club="AB", club_name="Alder Brook Bowls Club", region="Ostershire",
        season="2026", season_start=start, season_end=end, as_of=date(2026, 9, 7),
        facts=(
            ("Area", "1,600 m²"), ("Area treated", "1,600 m², as logged"), ("Size", "40 m × 40 m"), ("Shape", "flat"),
            ("Construction", "sand and soil over clinker"), ("Grasses", "browntop bent and fescue"),
            ("Laid", "1934"), ("Rinks", "6"), ("Keeper", "contract crew"),
        ),
        indicators=indicators(), works=works(), running=(dressing, nitrogen),
        series=(
            organic("0–20 mm", [(2022, 8.0, 0.9, False), (2023, 8.6, 0.9, True), (2024, 8.1, 0.8, True),
                                (2025, 7.9, 0.8, True), (2026, 7.4, 0.8, True)], None, 6.0),
            organic("20–40 mm", [(2023, 4.9, 0.7, True), (2024, 4.8, 0.6, True), (2025, 4.4, 0.6, True),
                                 (2026, 4.3, 0.6, True)], None, 4.0),
            organic("40–60 mm", [(2023, 3.0, 0.5, True), (2024, 3.1, 0.4, True), (2025, 2.9, 0.4, True),
                                 (2026, 2.8, 0.4, True)], None, 3.0),
            Series("Green speed", "", "s", speeds, 13.0, 16.0, COMMON),
        ),
        due=(
            Due("Top dressing, 70/30 sand and soil", "2 t (1.25 kg/m²)", "15 October 2026",
                "Planned 5 kg/m² a year; 3.75 kg/m² is on"),
            Due("Hollow coring, 12 mm at 50 mm", "one pass, 640,000 holes", "10 October 2026",
                "Organic matter at 0–20 mm is above target"),
            Due("Autumn feed, low nitrogen", "32 kg (two bags)", "20 October 2026",
                "Feed of 20 August lasts about six weeks"),
        ),
        cautions=(
            Caution("Iron stains paving and footwear: keep it off paths and off the green until it is dry",
                    COMMON, "iron applied on 15 March 2026"),
            Caution("Find pipes and cables before deep work", COMMON, "hollow coring to 75 mm is due"),
            Caution("Keep a tally of hours with vibrating machines", "Control of Vibration at Work Regulations 2005",
                    "9 hours of coring and scarifying are logged"),
        ),
        data_notes=(
            DataNote("warning", "Line 88 of works-2026.csv reads 225 kg; two bags of 25 kg are likely meant. "
                     "It is counted as written"),
            DataNote("note", "No work is logged from 12 to 29 May 2026, in the growing season"),
            DataNote("error", "Three rows of lab-results.csv were rejected; see the rejected rows file"),
            DataNote("note", "Organic matter of 2022 was burnt at 360 °C and sieved, later samples at 440 °C: "
                     "not compared"),
        ),
        sources=(
            SourceFile(JOBS, "a3f1c09e5b7d" + "0" * 52, "job", 118, "2–119", "7 September 2026"),
            SourceFile(SOIL, "77b20de41c93" + "0" * 52, "soil_test", 44, "2–45", "7 September 2026"),
            SourceFile(SPEED, "c40a91f2be58" + "0" * 52, "green_speed", 36, "2–37", "7 September 2026"),
        ),
    )  # fmt: skip


def empty() -> GreenSeason:
    """A green nobody wrote anything about."""
    return GreenSeason("X-1", "Top green", "X", "Larch End Bowling Club", "Ostershire", "2026", date(2025, 10, 1),
                       date(2026, 9, 30), date(2026, 9, 30), (), (), ())  # fmt: skip


def no_targets() -> GreenSeason:
    """The rich season where nobody set a target."""
    season = rich()
    bare = [
        replace(i, target_low=None, target_high=None, target_source="",
                standing=i.standing if i.standing in ("too few", "not comparable") else "no target")
        for i in season.indicators
    ]  # fmt: skip
    return replace(
        season,
        indicators=tuple(bare),
        due=(),
        running=tuple(replace(r, plan=(), target_low=None, target_high=None) for r in season.running),
        series=tuple(replace(s, target_low=None, target_high=None) for s in season.series),
    )


def long_names() -> GreenSeason:
    """Names of several hundred characters without a space, and texts as long as a page."""
    season = rich()
    return replace(
        season,
        green_name="W" * 400,
        club_name="The Incorporated and Amalgamated " * 12,
        works=tuple(replace(w, detail="x" * 300, amount="y" * 200) for w in season.works[:30]),
        indicators=tuple(replace(i, label="Z" * 120, band="b" * 120, note="n" * 500) for i in season.indicators[:8]),
    )


def hostile() -> GreenSeason:
    """Markup, formulas, direction marks, emoji and scripts the typeface does not have."""
    season = rich()
    evil = "<script>alert(1)</script>\"'{{ 7*7 }}</style>"
    first = season.works[0]
    return replace(
        season,
        green_name=f"{evil}\u202egreen\x00",
        club_name="緑の芝 بولينج 🎳 Club",
        facts=((evil, '<img src="file:///etc/passwd">'), ("=1+1", "@cmd")),
        works=(replace(first, operation=evil, detail='=HYPERLINK("http://invalid")', amount="+44"), *season.works[1:5]),
        data_notes=(DataNote("warning", "Zalgo e\u0301\u0301\u0301 and a lone surrogate \ud800 and \uffff"),),
        series=tuple(replace(s, band=f"{s.band} {evil}") for s in season.series),
        indicators=tuple(replace(i, note=evil, unit="<b>%") for i in season.indicators[:5]),
    )  # fmt: skip


def many_works() -> GreenSeason:
    """Two hundred works, most of them cuts."""
    return replace(rich(), works=works(190))


def rising() -> GreenSeason:
    """One depth, rising in a negative-to-positive range, nothing compared to a target."""
    season = rich()
    series = Series("Change of level", "north ditch", "mm", tuple(
        Sample(date(2020 + i, 6, 1), -3.0 + i, -4.0 + i, -2.0 + i, 4, (-3.2 + i, -2.8 + i), "staff", True)
        for i in range(5)))  # fmt: skip
    return replace(season, series=(series,), running=(), works=())


def uncompared() -> GreenSeason:
    """Organic matter whose samplings were each made another way."""
    season = rich()
    series = organic("0–20 mm", [(2023, 8.0, 0.9, False), (2024, 6.1, 0.9, False), (2026, 7.4, 0.8, True)], None, 6.0)
    return replace(season, series=(series,), running=season.running[:1])


def crowded() -> GreenSeason:
    """A green with three times the usual figures, nine materials and elements, many kinds of work."""
    season = rich()
    more = [
        replace(i, band=f"{i.band or 'all'}, {extra}", value=None if i.value is None else i.value + k)
        for k, extra in enumerate(("first part", "second part"), start=1)
        for i in season.indicators[:18]
    ]
    kinds = ("Rolling", "Brushing", "Dew removal", "Irrigation", "Edging", "Ditch and bank work", "Slitting")
    others = [
        Work(
            date(2026, 1, 5) + timedelta(days=9 * k),
            kind,
            "once over",
            "",
            0.5,
            Decimal(5),
            Evidence(JOBS, 200 + k, "job"),
        )
        for k, kind in enumerate(kinds * 4)
    ]
    return replace(season, indicators=season.indicators + tuple(more), works=works(80) + tuple(others))


EVERY = {f.__name__: f for f in (rich, empty, no_targets, long_names, hostile, many_works, rising, uncompared, crowded)}
