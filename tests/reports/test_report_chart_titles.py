"""Titles and words of charts: what each shows of this green, no more than its verdict and its dots say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from pipeline.indicators.base.green_season import DataNote, GreenSeason, Indicator, Sample, Series, Verdict
from reports.page.charts import alttext, charts, titles
from tests.reports import sample

CHANGED = "organic_matter_trend_pct_year"


def flat(words: str) -> str:
    return words.replace("\u202f", " ").replace("\u00a0", " ")


def trend(band: str, word: str, value: float = -0.5) -> Indicator:
    return Indicator(CHANGED, "Organic matter, change a year", band, value, "percentage points a year", 9,
                     family="soil", decimals=2, verdict=Verdict(word, "9 samples", 0.01))  # type: ignore[arg-type]  # fmt: skip


def level(band: str, standing: str = "above") -> Indicator:
    return Indicator("organic_matter_pct", "Organic matter", band, 7.4, "%", 5, target_high=6.0,
                     standing=standing, family="soil")  # type: ignore[arg-type]  # fmt: skip


BANDS = ("0–20 mm", "20–40 mm", "40–60 mm")


def season(*words: str) -> GreenSeason:
    """The rich season with a verdict on each depth."""
    figures = [one for band in BANDS for one in (level(band),)]
    figures += [trend(band, word) for band, word in zip(BANDS, words, strict=False)]
    return replace(sample.rich(), indicators=tuple(figures))


def depths(of: GreenSeason) -> list[Series]:
    return [one for one in of.series if one.name == "Organic matter"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("falling", "no clear change", "no clear change"),
            "Organic matter fell by 0.50 percentage points a year at 0–20 mm from 2023 to 2026; no clear change at "
            "20–40 and 40–60 mm",
        ),
        (("no clear change",) * 3, "Organic matter: no clear change at any depth"),
        (
            ("too few",) * 3,
            "Organic matter is above its limit at 0–20, 20–40 and 40–60 mm; too few years to tell a change",
        ),
        (
            ("no clear change", "too few", "too few"),
            "Organic matter: no clear change at 0–20 mm; too few years to tell a change at 20–40 and 40–60 mm",
        ),
        ((), "Organic matter over the years"),
    ],
)  # fmt: skip
def test_a_change_is_told_by_its_verdict_alone(words: tuple[str, ...], said: str) -> None:
    """The first dot and the last may be chance, or of other weeks of the year: 8.6 and 7.4 % alone are no fall."""
    of = season(*words)
    assert flat(titles.years(depths(of), of)) == said


def test_a_clear_change_keeps_its_doubts() -> None:
    of = season("rising", "no clear change", "no clear change")
    of = replace(of, data_notes=(DataNote("warning", "Laboratory A came out higher.", "laboratory"),))
    assert "if the laboratory has not moved" in titles.years(depths(of), of)


def speeds(*values: float, low: float | None = 10.0, high: float | None = 15.0) -> Series:
    days = tuple(Sample(date(2026, 5, 1 + nth), value, None, None, 6) for nth, value in enumerate(values))
    return Series("Green speed", "", "s", days, low, high)


@pytest.mark.parametrize(
    ("series", "said"),
    [
        (speeds(11.0, 12.0, 13.0), "Green speed was on target on all 3 days"),
        (speeds(11.0, 12.0), "Green speed was on target on both days"),
        (speeds(11.0), "Green speed was on target on the one day timed"),
        (speeds(9.0), "Green speed was slower than its target on the one day timed"),
        (speeds(9.0, 9.5, 12.0, 16.0), "Green speed was on target on 1 of 4 days: slower on 2, faster on 1"),
        (speeds(12.1, 12.3, low=None, high=None), "Green speed was 12.1–12.3 s on 2 days"),
    ],
)
def test_speeds_are_counted_day_by_day_and_fewer_seconds_is_slower(series: Series, said: str) -> None:
    assert flat(titles.speeds(series)) == said


def test_totals_that_stand_alike_are_told_together_by_the_word_of_their_figures() -> None:
    of = sample.rich()
    dressing = Indicator("dressing_kg_m2", "Top dressing applied", "", 5.0, "kg/m²", 3, target_low=4.0, target_high=6.0,
                         standing="within")  # fmt: skip
    nitrogen = Indicator("nitrogen_kg_ha", "Nitrogen (N) applied", "", 96.4, "kg/ha", 5, target_low=80.0,
                         target_high=120.0, standing="within")  # fmt: skip
    both = replace(of, indicators=(dressing, nitrogen))
    assert titles.totals(of.running, both) == "Top dressing and nitrogen are on target"
    above = replace(of, indicators=(dressing, replace(nitrogen, value=130.0, standing="above")))
    assert titles.totals(of.running, above) == "Top dressing is on target; nitrogen is above its target"
    early = replace(of, indicators=(replace(dressing, standing="too early"), replace(nitrogen, so_far=True)))
    assert titles.totals(of.running, early) == (
        "Top dressing is too early to judge; nitrogen is on target so far"
    )  # fmt: skip


def test_the_words_of_a_picture_tell_span_range_trend_and_target() -> None:
    """It listed eight samplings with their intervals, which stand in the table."""
    of = season("falling", "no clear change", "no clear change")
    said = flat(next(one for one in charts.chart_groups(of) if one.kind == "years").charts[0].alt)
    assert said == (
        "Organic matter, 0–20 mm: 4 means from 4 September 2023 to 4 September 2026, between 7.4 and 8.6 %, the latest "
        "7.4 % (interval 6.6–8.2 %). It fell by 0.50 percentage points a year at 0–20 mm from 2023 to 2026, a real "
        "change. Shaded target at most 6 %: 0 of 4 in it, 4 above. 1 hollow: measured another way and not comparable."
    )
    total = flat(alttext.running(of.running[0]))
    assert total.startswith(
        "Top dressing: a line that rises in 3 steps from 8 October 2025 to 22 June 2026, to 3.75 kg/m²."
    )
    assert total.endswith("Shaded target 4–6 kg/m²: the line ends below it.")


def test_every_target_is_written_on_its_chart_with_its_unit() -> None:
    for group in charts.chart_groups(sample.rich()):
        for one in group.charts:
            drawn = [row["label"] for layer in one.spec["layer"] for row in layer["data"]["values"] if "label" in row]
            assert any("target" in flat(words) for words in (one.title, *drawn)), one.key
