"""Words, numbers and lines as printed: each rule by an example that breaks when the rule does."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from datetime import date

import pytest

from pipeline.indicators.base.green_season import DataNote, Indicator, Verdict
from reports.condition import wording
from reports.condition.levels import levels_for
from reports.page import against_target, attachments, evidence, figures, fonts, text
from reports.page.charts import palette
from reports.page.document import TEMPLATES
from reports.page.templating import keep_ranges
from tests.reports import sample

SPAN = (date(2025, 10, 1), date(2026, 9, 30))
N, H = text.NARROW, text.HARD


def indicator(**changes: object) -> Indicator:
    base = Indicator("x_kg_ha", "Nitrogen applied", "season", 70.04, "kg/ha", 4, standing="within", decimals=1)
    return replace(base, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [(1600, 0, "1,600"), (-0.04, 1, "0.0"), (-0.42, 2, "−0.42"), (2.5, 1, "2.5"), (1234567.891, 2, "1,234,567.89")],
)
def test_numbers(value: float, decimals: int, shown: str) -> None:
    assert text.number(value, decimals) == shown


def test_a_value_keeps_to_its_unit_and_a_missing_one_is_not_zero() -> None:
    assert text.quantity(3.75, "kg/m²", 2) == f"3.75{N}kg/m²"
    assert text.quantity(-0.42, "% a year", 2) == f"−0.42{N}%{H}a{H}year"
    assert text.quantity(None, "kg/m²", 2) == "not recorded"
    assert text.quantity(4.967, "GBP/m²", 2) == "£4.97/m²"
    assert text.quantity(0.0, "kg/m²", 2) == f"0.00{N}kg/m²"


def test_ranges_use_an_en_dash_unless_an_end_is_negative() -> None:
    assert text.span(3, 5.25, "%", 1) == f"3.0–5.2{N}%"
    assert text.span(-0.71, -0.12, "", 2) == "−0.71 to −0.12"


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (4.0, 6.0, f"4–6{N}%"),
        (None, 6.5, f"at most 6.5{N}%"),
        (2.25, None, f"at least 2.25{N}%"),
        (None, None, "none set"),
        (5.0, 5.0, f"5{N}%"),
        (-1.0, 1.0, f"−1 to 1{N}%"),
    ],
)
def test_targets_in_words_lose_no_digit(low: float | None, high: float | None, shown: str) -> None:
    assert text.target(low, high, "%", 0) == shown


def test_dates_in_words() -> None:
    assert text.day(date(2026, 3, 15)) == f"15{H}March{H}2026"
    assert text.day_range(date(2026, 3, 10), date(2026, 8, 22)) == f"10{H}Mar{H}– 22{H}Aug{H}2026"
    assert text.day_range(date(2025, 10, 8), date(2026, 6, 22)) == f"8{H}Oct{H}2025{H}– 22{H}Jun{H}2026"
    assert text.day_range(date(2026, 6, 22), date(2026, 6, 22)) == f"22{H}Jun{H}2026"


def test_names_are_cleaned_at_the_door() -> None:
    assert text.name("Cafe\u0301\u202e \x00 green\n\ttwo") == "Café green two"
    assert text.name("\ud800\ufffe") == "(no name)"
    assert len(text.name("W" * 100_000)) == text.NAME_LIMIT
    assert text.name("緑") == fonts.REPLACEMENT
    assert text.undrawable("緑") and not text.undrawable("Ærø ≥ 5 µm → Ωß Ж")


def test_the_typeface_draws_what_the_trade_and_europe_write() -> None:
    # letters of Polish, Czech, Hungarian, Greek, Cyrillic; signs of measurement: a gap here is a silent box
    wanted = "ąęłśżźćńóĄĘŁŚŻŹĆŃčďěňřšťůžőűŐŰαβγΔΩабвгджЖ≥≤≈→±×µ°²³₂₅½−–—…▲▼●≠†€£"
    assert set(wanted) <= fonts.cover()
    assert {fonts.REPLACEMENT, N, H} <= fonts.cover()


def test_the_licence_of_the_typeface_is_shipped_whole() -> None:
    licence = (fonts.FONT_DIR / "OFL.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    assert "The Inter Project Authors" in licence


def test_a_figure_without_value_says_whether_anything_was_recorded() -> None:
    assert figures.value_text(indicator(value=None, n=0)) == "not recorded"
    assert figures.value_text(indicator(value=None, n=1)) == "no figure"


def test_the_mark_lies_where_the_value_lies() -> None:
    below = figures.strip(indicator(value=3.0, target_low=4.0, target_high=6.0, standing="below"))
    inside = figures.strip(indicator(value=5.0, target_low=4.0, target_high=6.0))
    assert below and inside and below.band_x is not None and inside.band_x is not None
    assert below.value_x < below.band_x
    assert inside.band_x < inside.value_x < inside.band_x + inside.band_width
    assert inside.title == "Target 4–6\u202fkg/ha shaded, the dot inside it."
    assert below.title == "Target 4–6\u202fkg/ha shaded, the dot 1.0\u202fkg/ha below it."
    assert figures.strip(indicator()) is None
    assert figures.strip(indicator(value=None, target_low=4.0)) is None


def test_a_one_sided_target_is_open_to_its_side() -> None:
    mark = figures.strip(indicator(value=7.4, low=6.6, high=8.2, target_high=6.0, standing="above"))
    assert mark and mark.open_left and not mark.open_right
    assert mark.band_x == 0.0
    assert mark.low_x is not None and mark.high_x is not None
    assert mark.band_width < mark.low_x < mark.value_x < mark.high_x <= figures.STRIP_WIDTH


def test_too_many_figures_leave_out_only_those_without_a_target() -> None:
    season = sample.crowded()
    pairs = figures.numbered(season.indicators)
    kept = figures.printed(pairs, 42)
    assert len(kept) == 42
    left_out = [i for ref, i in pairs if ref not in dict(kept)]
    assert {i.standing for i in left_out} == {"no target"}


def test_what_a_target_is_looked_for_stays_on_the_page_without_one() -> None:
    """Organic matter and nitrogen have no published limit on bowling greens; twelve counts of holes pushed them off."""
    holes = [indicator(name="holes_m2", family="disturbance", band=f"{n}", standing="no target") for n in range(12)]
    soil = indicator(name="organic_matter_pct", family="soil", standing="no target")
    unmade = indicator(name="nitrogen_kg_ha", family="nutrients", standing="no target", value=None)
    pairs = figures.numbered((*holes, soil, unmade))
    kept = [one.name for _, one in figures.printed(pairs, 4)]
    assert kept == ["holes_m2"] * 3 + ["organic_matter_pct"]


def test_a_workspace_may_have_every_figure_printed() -> None:
    """Those of single months too, and those with a target that a close setting leaves to the attachment."""
    monthly = replace(indicator(standing="no target"), name="growth_month_days")
    season = sample.crowded()
    pairs = figures.numbered((*season.indicators, monthly))
    assert monthly not in dict(figures.printed(pairs, 500)).values()
    for short in (False, True):
        for level in levels_for(short=short, every_figure=True):
            assert figures.printed(pairs, level.figures, level.judged) == pairs


def test_a_figure_apart_from_its_target_names_the_limit_and_the_doubt() -> None:
    sure = indicator(label="Organic matter", band="0–20 mm", value=7.4, unit="%", low=6.6, high=8.2,
                     target_high=6.0, standing="above")  # fmt: skip
    assert (
        against_target.apart_sentence(sure)
        == f"Organic matter (0–20{N}mm) is 7.4{N}%, above the target of at most 6{N}%."
    )
    doubtful = replace(sure, low=5.8)
    assert against_target.apart_sentence(doubtful).endswith(
        f"close to the limit of its target of at most 6{N}%: the interval (5.8–8.2) reaches across it."
    )
    within = replace(sure, value=5.5, low=4.8, high=6.2, standing="within")
    assert "close to the limit of its target" in against_target.apart_sentence(within)
    asked = replace(sure, questioned=sure.evidence or sample.lines("jobs.csv", "job", 2))
    assert against_target.apart_sentence(asked).endswith(", if the entry behind it is right.")
    short = indicator(target_low=80.0, target_high=120.0, standing="below")
    assert f"below the target of 80–120{N}kg/ha" in against_target.apart_sentence(short)


def test_a_change_is_announced_by_its_verdict_whatever_its_interval_says() -> None:
    """An interval that leaves zero out is half of the test: the verdict is the whole of it."""
    trend = indicator(name="organic_matter_trend", label="Organic matter trend", band="", value=-0.42,
                      unit="% a year", low=-0.71, high=-0.12, decimals=2, standing="no target",
                      verdict=Verdict("falling", "6 comparable samples, p 0.003", 0.003))  # fmt: skip
    falling = f"Organic matter trend: falling by 0.42{N}%{H}a{H}year (0.12–0.71), a real change."
    assert wording.trend_sentence(trend) == falling
    still = [
        replace(trend, verdict=Verdict("no clear change", "8 comparable samples, p 0.061", 0.061), band=band)
        for band in ("0–20 mm", "20–40 mm")
    ]
    assert list(wording.trend_sentences([*still, trend])) == [
        falling,
        f"Organic matter trend (0–20{N}mm, 20–40{N}mm): no clear change.",
    ]


def test_a_laboratory_s_step_follows_the_change_it_may_be_the_whole_of() -> None:
    """ "rising, a real change" headed the page; that the laboratory had moved on every green stood on page 2."""
    trend = indicator(label="Organic matter, change a year", value=0.32, unit="percentage points a year",
                      standing="no target", family="soil",
                      verdict=Verdict("rising", "12 samples of 12 years, p 0.01", 0.01))  # fmt: skip
    step = DataNote(
        "warning", "Organic matter by one laboratory came out 21 % higher on 12 of 12 greens.", "laboratory"
    )
    season = replace(sample.empty(), indicators=(trend,), data_notes=(step,))
    said = wording.headline(season)
    at = next(i for i, line in enumerate(said) if "a real change" in line)
    assert said[at + 1].startswith("Before that is believed: organic matter by one laboratory came out")
    still = replace(trend, verdict=Verdict("no clear change", "p 0.4", 0.4))
    assert not any("believed" in line for line in wording.headline(replace(season, indicators=(still,))))


def test_a_change_with_a_target_of_its_own_says_its_verdict_all_the_same() -> None:
    trend = indicator(label="Organic matter, change a year", value=-0.5, unit="percentage points a year",
                      standing="above", target_low=-1.0, target_high=-0.6,
                      verdict=Verdict("falling", "p 0.017", 0.017))  # fmt: skip
    said = wording.headline(replace(sample.empty(), indicators=(trend,)))
    assert any("falling by" in line for line in said)


def test_a_clear_change_without_a_slope_is_announced_all_the_same() -> None:
    """Too many results below the limit for a slope: the headline said nothing, the table "falling"."""
    trend = indicator(label="Organic matter trend", band="", value=None, standing="no target",
                      verdict=Verdict("falling", "6 comparable samples, p 0.003", 0.003))  # fmt: skip
    season = replace(sample.empty(), indicators=(indicator(target_low=60.0), trend))
    assert "Organic matter trend: falling, a real change." in wording.headline(season)


def test_a_change_that_cannot_be_told_says_why() -> None:
    trend = indicator(label="Organic matter, change a year", value=None, standing="no target",
                      verdict=Verdict("not comparable", "the method changed"))  # fmt: skip
    season = replace(sample.empty(), indicators=(indicator(target_low=60.0), trend))
    assert wording.headline(season)[-1] == (
        "Whether organic matter is rising or falling cannot be told yet: the way it is measured, or the time of "
        "the year, has changed."
    )


def test_headlines_go_never_beyond_the_figures() -> None:
    assert wording.headline(sample.empty()) == (
        "Nothing is recorded for this green in this season, so this report can say nothing about it.",
    )
    assert wording.headline(sample.no_targets())[0].startswith("No target is set")
    assert not any("on target" in line for line in wording.headline(sample.no_targets()))
    given = replace(sample.rich(), headline=("the committee's own words",))
    assert wording.headline(given) == ("The committee's own words.",)
    one = replace(sample.empty(), indicators=(indicator(target_low=60.0),))
    assert wording.headline(one) == ("One figure has a target; it is on target.",)


def test_methods_are_told_once_with_their_lines() -> None:
    pairs = figures.numbered(sample.rich().indicators)
    told = evidence.method_lines(pairs, 6)
    assert len({line.method for line in told}) == len(told)
    loi = next(line for line in told if "loss on ignition" in line.method)
    assert loi.refs == "10–12"
    assert loi.records == "lab-results.csv lines 2–16"
    nothing = next(line for line in told if "costs" in line.method)
    assert nothing.records == "no record"


def in_csv(value: attachments.Cell) -> str:
    """The value as a program reads it from an attached CSV."""
    written = attachments.csv_bytes(("told", "end"), [(value, "end")]).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(written)))[1][0]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", " =", "\r=", "＝"])
def test_formulas_are_made_text(start: str) -> None:
    assert in_csv(f"{start}1+1").startswith("'")


def test_numbers_in_attachments_stay_numbers() -> None:
    assert in_csv(-0.42) == "-0.42"
    assert in_csv(None) == ""
    assert in_csv(3) == "3"
    assert in_csv("a lone \ud800") == "a lone ?"


def test_contrast_against_known_pairs() -> None:
    # WCAG 2.2 definition: black on white is 21:1; #767676 is the lightest grey to pass 4.5:1 on white (from memory)
    assert palette.contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert palette.contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert palette.contrast("#777777", "#ffffff") < 4.5


def test_text_and_marks_stay_legible_in_grey() -> None:
    # WCAG 2.2, 1.4.3 (text, 4.5:1) and 1.4.11 (marks, 3:1); both rest on luminance, so they hold on a grey print
    for ink, ground in palette.TEXT_ON:
        assert palette.contrast(ink, ground) >= 4.5, (ink, ground)
    for mark, ground in palette.MARKS_ON:
        assert palette.contrast(mark, ground) >= 3, (mark, ground)


@pytest.mark.parametrize("name", sorted(path.name for path in TEMPLATES.iterdir() if path.is_file()))
def test_stylesheets_and_templates_use_only_the_palette(name: str) -> None:
    """A colour of its own is not recoloured in a house style, and nobody checked its contrast."""
    known = {value for name, value in vars(palette).items() if name.isupper() and isinstance(value, str)}
    assert set(re.findall(r"#[0-9a-fA-F]{6}\b", (TEMPLATES / name).read_text("utf-8"))) <= known


@pytest.mark.parametrize(
    ("told", "printed"),
    [
        ("Least squares -0.51 (-0.69 to -0.33).", "Least squares −0.51 (−0.69 to −0.33)."),
        ("kept at -5 °C", "kept at −5\u202f°C"),
        ("12 l (from 1 pack of 20 l)", "12\u00a0l (from 1 pack of 20\u00a0l)"),
        ("feed 5-5-5 on 2026-03-01, lines 2-7, no-3, M 3 -4", "feed 5-5-5 on 2026-03-01, lines 2-7, no-3, M 3 −4"),
    ],
)
def test_numbers_stand_with_their_unit_and_a_negative_one_has_a_true_minus(told: str, printed: str) -> None:
    assert text.clean(told) == printed


@pytest.mark.parametrize(
    ("unit", "glued"),
    [
        ("lb/1000 ft²", f"lb/1000{H}ft²"),
        ("lb N/1000 ft²", f"lb{H}N/1000{H}ft²"),
        ("fl oz/1000 ft²", f"fl{H}oz/1000{H}ft²"),
        ("kg/m² a year", f"kg/m²{H}a{H}year"),
        ("short tons", "short tons"),
        ("percentage points a year", f"percentage points a{H}year"),
    ],
)
def test_a_unit_breaks_between_whole_words_alone(unit: str, glued: str) -> None:
    """Glued as a whole, “10.47 short tons” broke within its last word where the column was narrow."""
    assert text.glued(unit) == glued


@pytest.mark.parametrize(
    ("told", "kept"),
    [
        ("Nitrogen, kg/ha", "kg/ha"),
        ("target 1,024–1,639\u202flb/1000\u00a0ft²", "1,024–1,639\u202flb/1000\u00a0ft²"),
        ("6.55\u202flb\u00a0N/1000\u00a0ft² in one dose", "6.55\u202flb\u00a0N/1000\u00a0ft²"),
        ("Cost, £/1000 ft²", "£/1000 ft²"),
        ("flat greens, 2023–2026", "2023–2026"),
        ("3\u202fmeq/100\u00a0g", "3\u202fmeq/100\u00a0g"),
        ("spring granular 9-4-6 + 2 Fe", "+ 2 Fe"),
    ],
)
def test_no_line_breaks_in_a_range_or_a_unit_with_a_slash(told: str, kept: str) -> None:
    """A heading read “Nitrogen, kg/”, and “ha” stood on the next line."""
    assert keep_ranges(told) == told.replace(kept, f'<span class="nb">{kept}</span>')


def test_what_only_looks_like_a_unit_may_break() -> None:
    assert keep_ranges("70/30 sand and/or soil of registers/greens.csv") == (
        "70/30 sand and/or soil of registers/greens.csv"
    )
