"""A report in US units: the same figures and the same standings on the page, SI in everything attached."""

from __future__ import annotations

import copy
import json
import pickle
import re
from dataclasses import asdict, fields, replace

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.common.amounts import T_PLACES, Amount, AmountText, joined, span
from pipeline.indicators.base.green_season import Due, GreenSeason, Indicator, Running, RunningPoint, Sample, Series
from pipeline.indicators.families import DESCRIBED
from pipeline.workspace.customary import CUSTOMARY, STAY, customary
from reports.condition import render as condition
from reports.page import attachments, figures, text
from reports.page.house_style import HouseStyle
from reports.page.units import in_units, said
from tests.reports import sample
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import flat, pages_text
from tests.thorough import but_for

US = HouseStyle(units="US", paper="Letter")
DRESSING = Due(
    "Top dressing",
    AmountText(span(1.2, 2.4, "t", ".1f"), " on ", Amount(1600.0, "m²", ",.0f")),
    "by 30 September 2026",
    AmountText("Target ", span(4.0, 6.0, "kg/m²", ".2g", carries=2), " (club)."),
)


def plain(shown: str) -> str:
    """A text with every space an ordinary one."""
    return re.sub("[\u202f\u00a0]", " ", shown)


def figure(value: float | None, unit: str, **more: object) -> Indicator:
    """An indicator in a season shown in US units."""
    one = Indicator("x", "X", "", value, unit, 3, **more)  # type: ignore[arg-type]
    return in_units(replace(sample.empty(), indicators=(one,)), "US").indicators[0]


def test_every_unit_of_an_indicator_is_converted_or_stays_by_name() -> None:
    """A new indicator whose unit nobody thought of would stand in SI between figures in US units."""
    for unit in {one.unit.replace("currency", "GBP") for one in DESCRIBED.values()}:
        money = unit == "GBP"
        assert money or unit in STAY or unit.removesuffix(" a year") in STAY or customary(unit), unit
    assert not STAY & set(CUSTOMARY)


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "shown"),
    [
        (3.75, "kg/m²", 2, (768.06, "lb/1000 ft²", 0)),
        (100.0, "kg/ha", 0, (2.0482, "lb/1000 ft²", 2)),  # 0.20482 lb/1000 ft² is 1 g/m² (check 4.2)
        (25.4, "mm", 1, (1.0, "in", 3)),
        (2.0, "t a year", 1, (2.2046, "short tons a year", 1)),
        (31.0, "mg/kg", 0, (31.0, "ppm", 0)),
        (0.0, "°C", 0, (32.0, "°F", 0)),
        (250.0, "°C d", 0, (450.0, "°F d", 0)),
        (2.0, "GBP/kg", 2, (0.90718, "GBP/lb", 2)),
        (1.0, "GBP/m²", 2, (92.903, "GBP/1000 ft²", 0)),
        (1600.0, "m²", 0, (17222.26, "ft²", -1)),
        (13.6, "s", 1, (13.6, "s", 1)),
        (5.5, "furlongs", 1, (5.5, "furlongs", 1)),
    ],
)
def test_a_figure_with_its_unit_and_digits(
    value: float, unit: str, decimals: int, shown: tuple[float, str, int]
) -> None:
    season = replace(
        sample.empty(), indicators=(Indicator("of_no_family", "Figure", "", value, unit, 3, decimals=decimals),)
    )
    (got,) = in_units(season, "US").indicators
    assert (pytest.approx(got.value, rel=2e-5), got.unit, got.decimals) == shown


def test_a_change_of_temperature_has_no_thirty_two_degrees_in_it() -> None:
    names = ("of_no_family", "moisture_change_pct")
    season = replace(sample.empty(), indicators=tuple(Indicator(name, "", "", 10.0, "°C", 3) for name in names))
    assert [one.value for one in in_units(season, "US").indicators] == [50.0, 18.0]


ENDS = st.floats(-1e5, 1e5)


@given(st.lists(ENDS, min_size=5, max_size=5), st.sampled_from([*CUSTOMARY, "%", "kg/m² a year", "EUR/m²"]))
def test_order_standing_and_the_way_back(ends: list[float], unit: str) -> None:
    names = ("value", "low", "high", "target_low", "target_high")
    shown = figure(ends[0], unit, **dict(zip(names[1:], ends[1:], strict=True)), standing="below")
    got = [getattr(shown, name) for name in names]
    places = range(5)
    assert all(got[i] <= got[j] for i in places for j in places if ends[i] <= ends[j])
    assert shown.standing == "below"
    found = customary(unit)
    back = [(end - found.offset) / found.factor for end in got] if found else got
    assert back == pytest.approx(ends, rel=1e-9, abs=1e-6)


@given(st.sampled_from(list(CUSTOMARY)), st.integers(0, 3))
def test_a_printed_step_hides_no_more_than_two_of_the_metric_figure(unit: str, decimals: int) -> None:
    step = 10.0 ** -CUSTOMARY[unit].decimals(decimals) / CUSTOMARY[unit].factor / 10.0**-decimals
    assert 0.2 - 1e-6 < step <= 2.0 + 1e-6


def test_a_target_is_printed_with_the_digits_of_its_figure() -> None:
    shown = figure(3.9, "kg/m²", target_low=4.0, target_high=6.0, decimals=2, standing="below")
    assert figures.value_text(shown) == "799\u202flb/1000\u00a0ft²"
    assert figures.target_text(shown) == "819–1,229\u202flb/1000\u00a0ft²"
    assert figures.target_text(figure(6.0, "mm", target_high=5.0, decimals=0)) == "at most 0.20\u202fin"


def test_particle_sizes_stay_in_mm_and_a_label_names_the_unit_shown() -> None:
    made = in_units(
        replace(sample.empty(), indicators=(
            Indicator("sieve_d50_mm", "D50", "", 0.5, "mm", 1),
            Indicator("cost_m2", "Cost per square metre", "", 1.2, "GBP/m²", 1, decimals=2),
        )), "US"
    ).indicators  # fmt: skip
    assert (made[0].value, made[0].unit) == (0.5, "mm")
    assert (made[1].label, figures.value_text(made[1])) == ("Cost per 1000 square feet", "£111/1000 ft²")


def test_metric_is_the_season_itself() -> None:
    season = sample.rich()
    assert in_units(season, "metric") is season


def test_the_numbers_of_what_is_due_go_with_its_words() -> None:
    season = replace(sample.empty(), due=(replace(DRESSING, low=0.90718474, high=None, unit="t"),))
    (due,) = in_units(season, "US").due
    assert (due.low, due.high, due.unit) == (pytest.approx(1.0), None, "short tons")
    assert plain(due.quantity) == "1.3 to 2.6 short tons on 17,220 ft²"


def test_series_and_running_totals() -> None:
    sampled = Sample(sample.rich().as_of, 25.4, 12.7, 50.8, 3, (25.4, 12.7), "staff", True)
    season = replace(
        sample.empty(),
        series=(Series("Thatch", "", "mm", (sampled,), 5.08, 10.16, "club"),),
        running=(Running("Feed", "kg/ha", (RunningPoint(sampled.date, 48.8243),), (), None, 97.6486, "club"),),
    )
    made = in_units(season, "US")
    thatch = made.series[0]
    (one,) = thatch.samples
    assert (thatch.unit, one.date, one.n, one.method, one.comparable) == ("in", sampled.date, 3, "staff", True)
    shown = (one.value, one.low, one.high, *one.readings, thatch.target_low, thatch.target_high)
    assert shown == pytest.approx((1.0, 0.5, 2.0, 1.0, 0.5, 0.2, 0.4))
    assert made.running[0].unit == "lb/1000 ft²"
    assert made.running[0].points[0].total == pytest.approx(1.0, rel=1e-5)
    assert made.running[0].target_high == pytest.approx(2.0, rel=1e-5)


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (Amount(75.0, "mm"), "2.95 in"),
        (Amount(12.7, "mm", ".3g"), "0.5 in"),
        (Amount(2.049, "t", ".3g"), "2.26 short tons"),
        (Amount(50.0, "kg", ",.4g"), "110 lb"),
        (Amount(25.0, "kg"), "55 lb"),
        (Amount(3.0, "packs"), "3 packs"),
        (Amount(20.0, "ml/m²"), "63 fl oz/1000 ft²"),
        (Amount(1600.0, "m²", ",.0f"), "17,220 ft²"),
        (Amount(9.97, "g/m²", ".2f", again=True), "89.0 lb/acre"),
        (Amount(0.0, "kg/ha", ".0f"), "0.00 lb/1000 ft²"),
    ],
)
def test_a_quantity_in_a_text(amount: Amount, shown: str) -> None:
    assert plain(said(amount)) == shown


def test_a_text_reads_as_one_and_remembers_its_quantities() -> None:
    made = joined(", ", ["sand", span(1.2, 2.4, "t", ".1f"), AmountText("cut at ", Amount(5.0, "mm"))])
    assert made == "sand, 1.2 to 2.4 t, cut at 5 mm"
    assert json.dumps(made) == '"sand, 1.2 to 2.4 t, cut at 5 mm"'
    shown = made.said(said)
    assert plain(text.clean(shown)) == "sand, 1.3 to 2.6 short tons, cut at 0.2 in"
    through = pickle.loads(pickle.dumps(made))  # noqa: S301 (our own bytes: as a season goes to a worker process)
    for twin in (through, copy.deepcopy(made), asdict(replace(DRESSING, why=made))["why"]):
        assert (twin, twin.said(said)) == (made, shown)
    # two texts that read alike in SI, and not in US units, must not count as the same content of a report
    assert repr(AmountText(Amount(2.049, "t", ".3g"))) != repr(AmountText(Amount(2.051, "t", ".3g")))


def spoken(season: GreenSeason) -> GreenSeason:
    """The season with texts as the builders make them."""
    first = replace(
        season.works[0], detail=AmountText(Amount(75.0, "mm"), " deep"), amount=AmountText(Amount(2.0, "t"))
    )
    facts = (("Playing area", AmountText(Amount(1600.0, "m²", ",.0f"))),)
    return replace(season, facts=facts, works=(first, *season.works[1:]), due=(DRESSING,))


def test_the_page_is_in_us_units_and_the_attachments_are_not() -> None:
    season = spoken(sample.rich())
    pdf = condition.render(season, version=VERSION, house=US)
    words = flat("".join(pages_text(pdf)))
    for wanted in ("768lb/1000ft²", "17,220ft²", "2.95indeep", "1.3to2.6shorttonson17,220ft²", "Target819to1,229"):
        assert wanted in words, wanted
    for gone in ("kg/m²", "kg/ha", "mg/kg", "1,600m²(", "75mmdeep"):
        assert gone not in words.replace("(1.25kg/m²)", ""), gone
    files = {one.name: one.content for one in attachments.csv_files(season)}
    attached = pypdfium2.PdfDocument(pdf)
    names = [attached.get_attachment(i).get_name() for i in range(attached.count_attachments())]
    assert names == [attachments.ABOUT, *files]
    for i, name in enumerate(names[1:], start=1):
        assert bytes(attached.get_attachment(i).get_data()) == files[name]
    assert "3.75,kg/m²" in files["indicators.csv"].decode("utf-8-sig")
    assert "1.2 to 2.4 t on 1,600 m²" in files["notes.csv"].decode("utf-8-sig")


def test_numbers_of_figures_are_the_same_in_both() -> None:
    season = sample.crowded()
    pairs = [figures.numbered(in_units(season, units).indicators) for units in ("metric", "US")]  # type: ignore[arg-type]
    assert [(ref, one.name, one.band) for ref, one in pairs[0]] == [(ref, one.name, one.band) for ref, one in pairs[1]]


def test_a_season_keeps_every_field_that_is_not_a_quantity() -> None:
    """A field that in_units forgets would be lost from the page."""
    season, shown = sample.rich(), in_units(sample.rich(), "US")
    same = {"indicators", "running", "series", "facts", "works", "due", "cautions", "data_notes"}
    for field in fields(GreenSeason):
        if field.name not in same:
            assert getattr(shown, field.name) == getattr(season, field.name)
    for before, after in zip(season.indicators, shown.indicators, strict=True):
        kept = ("name", "band", "n", "standing", "method", "note", "family", "evidence", "target_source")
        assert [getattr(before, name) for name in kept] == [getattr(after, name) for name in kept]


@pytest.mark.parametrize("name", but_for(("rich", "empty"), ["rich", "empty", "crowded", "hostile"]))
def test_the_pages_hold_in_us_units(name: str) -> None:
    for house in (US, replace(US, short=True)):
        pdf = condition.render(sample.EVERY[name](), version=VERSION, house=house)
        assert len(pypdfium2.PdfDocument(pdf)) <= (3 if house.short else 5)


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (Amount(87_900.0, "l", ",.0f"), "23,221 gal"),  # 5 digits, not 23,220.7
        (Amount(20_000.0, "kg", ",.0f", carries=1), "44,092 lb"),
        (Amount(4.5, "t", ",g", carries=2), "4.96 short tons"),
        (Amount(0.9072, "t", ".4f", carries=0), "1 short ton"),
        (Amount(0.0, "l", ",.1f"), "0.00 gal"),
        (Amount(33.0, "l", ",.0f"), "8.7 gal"),  # never fewer than four digits are too many
        (Amount(1.0, "m"), "3.3 ft"),  # zeros that the text leaves out are no reason to say 3 ft, or 7 for 6.6
        (Amount(2.0, "m"), "6.6 ft"),
        (Amount(1.0, "t", ",.3g", carries=T_PLACES), "1.1 short tons"),
    ],
)
def test_a_quantity_has_no_more_digits_than_it_has_in_si(amount: Amount, shown: str) -> None:
    """Own rule after NIST SP 811, B.7: as many digits as the number turned, or one more; values by hand."""
    assert plain(said(amount)) == shown


def test_both_ends_of_a_range_have_the_digits_of_the_finer() -> None:
    """4.5 to 6 t read “5 to 7 short tons”, which is another range."""
    assert plain(span(4.5, 6.0, "t", "g").said(said)) == "5 to 6.6 short tons"
    assert plain(span(1.0, 3.0, "t", "g").said(said)) == "1.1 to 3.3 short tons"
    assert plain(span(4.5, 6.0, "t", "g", carries=2).said(said)) == "4.96 to 6.61 short tons"
