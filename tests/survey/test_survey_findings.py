"""Findings: a rule holds where its figures say so, and nowhere else; rules are data a consultant may change."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.findings import findings as module
from pipeline.findings.findings import Condition, Rule, findings, rules
from pipeline.indicators.base.green_season import Indicator, Verdict
from pipeline.indicators.families import DESCRIBED
from reports.survey.findings import doubt_of

HIGH = Indicator(
    "organic_matter_pct", "Organic matter", "0–20 mm", 7.4, "%", 5, 6.6, 8.2, None, 6.0, "a source", "above"
)
DRESSED = Indicator("dressing_kg_m2", "Top dressing", "", 1.5, "kg/m²", 2, None, None, 2.0, 6.0, "a source", "below")


def rule(*conditions: Condition, weight: int = 3, name: str = "a") -> Rule:
    return Rule(id=name, all=conditions, finding="f", may_mean="m", helps="h", source="s", weight=weight)  # type: ignore[arg-type]


def ids(figures: list[Indicator], *held: Rule) -> list[str]:
    return [one.rule.id for one in findings(figures, held)]


def test_every_shipped_rule_speaks_of_figures_there_are_and_names_its_source() -> None:
    for one in rules():
        assert {condition.indicator for condition in one.all} <= DESCRIBED.keys(), one.id
        assert one.source and one.may_mean and one.helps, one.id
        assert "source" in one.source or re.search(r"\d{4}|\(", one.source), one.id


def test_no_shipped_rule_names_a_product_or_a_rate() -> None:
    """The label, local codes and licensed practice decide; a report never prescribes."""
    shipped = module.SHIPPED.read_text("utf-8").lower()
    assert not re.search(r"\d\s*(kg/ha|g/m²|l/ha|ml/m²|kg/m²|g/l|ppm)\b", shipped)
    for word in ("fungicide", "herbicide", "insecticide", "ferrous", "glyphosate", "mancozeb", "iprodione"):
        assert word not in shipped


@pytest.mark.parametrize(
    ("condition", "holds"),
    [
        (Condition(indicator="organic_matter_pct", standing="above"), True),
        (Condition(indicator="organic_matter_pct", standing="below"), False),
        (Condition(indicator="organic_matter_pct", standing="above", band="0*"), True),
        (Condition(indicator="organic_matter_pct", standing="above", band="20*"), False),
        (Condition(indicator="organic_matter_pct", at_least=7.4), True),
        (Condition(indicator="organic_matter_pct", at_least=7.41), False),
        (Condition(indicator="organic_matter_pct", at_most=7.4), True),
        (Condition(indicator="organic_matter_pct", at_least=6.6, beyond_doubt=True), True),
        (Condition(indicator="organic_matter_pct", at_least=6.7, beyond_doubt=True), False),
        (Condition(indicator="organic_matter_pct", standing="above", beyond_doubt=True), True),
        (Condition(indicator="dressing_kg_m2", standing="below", beyond_doubt=True), False),
        (Condition(indicator="speed_s", standing="below"), False),
    ],
)
def test_a_condition(condition: Condition, holds: bool) -> None:
    assert bool(ids([HIGH, DRESSED], rule(condition))) is holds


def test_a_figure_that_is_missing_shows_nothing() -> None:
    """Missing is not zero: 0 would be "at most" anything."""
    missing = replace(HIGH, value=None, low=None, high=None, standing="too few")
    assert ids([missing], rule(Condition(indicator="organic_matter_pct", at_most=100.0))) == []


def test_a_change_is_found_by_its_verdict() -> None:
    """The interval of a slope may leave zero out where the test does not: p 0.061 is no clear change."""
    unclear = Verdict("no clear change", "8 comparable samples, p 0.061", 0.061)
    rise = Indicator(
        "organic_matter_trend_pct_year", "Organic matter, change a year", "0–20 mm", 0.35, "%", 8, 0.05, 0.65,
        verdict=unclear,
    )  # fmt: skip
    shipped = [one for one in rules() if one.id == "organic-matter-rising"]
    own = rule(Condition(indicator=rise.name, at_least=0.0, beyond_doubt=True))
    assert ids([rise], *shipped, own) == []
    sure = replace(rise, verdict=Verdict("rising", "8 comparable samples, p 0.002", 0.002))
    assert ids([sure], *shipped, own) == ["a", "organic-matter-rising"]


def test_all_conditions_must_hold_and_the_first_is_what_it_is_about() -> None:
    both = rule(
        Condition(indicator="organic_matter_pct", standing="above"),
        Condition(indicator="dressing_kg_m2", standing="below"),
    )
    (found,) = findings([DRESSED, HIGH], [both])
    assert (found.figures, found.beside) == ((HIGH,), (DRESSED,))
    assert findings([HIGH], [both]) == ()


def test_the_gravest_stands_first_then_what_is_beyond_doubt_then_the_farthest_from_its_target() -> None:
    above = Condition(indicator="organic_matter_pct", standing="above")
    below = Condition(indicator="dressing_kg_m2", standing="below")
    doubtful = replace(HIGH, low=5.9)
    grave, slight, other = (
        rule(below, weight=5, name="z"),
        rule(above, weight=1, name="b"),
        rule(below, name="c", weight=1),
    )
    assert ids([HIGH, DRESSED], slight, other, grave) == ["z", "c", "b"]  # 25 % off before 23 % off
    assert ids([doubtful, DRESSED], slight, other, grave) == ["z", "c", "b"]
    nearer = replace(DRESSED, value=1.9)
    assert ids([HIGH, nearer], slight, other) == ["b", "c"]
    assert ids([doubtful, nearer], slight, other) == ["c", "b"]
    assert findings([doubtful], [slight])[0].doubtful


def test_the_figure_farthest_from_its_target_leads() -> None:
    deeper = replace(HIGH, band="20–40 mm", value=9.0)
    (found,) = findings([HIGH, deeper], [rule(Condition(indicator="organic_matter_pct", standing="above"))])
    assert found.figures == (deeper, HIGH)


def test_the_better_founded_of_two_methods_leads_and_the_interval_is_its_own() -> None:
    """By points 10 % (6.6–14.9), by eye 20 %: the sentence once told the one and the interval of the other."""
    by_eye = replace(HIGH, name="moss_pct", band="by eye", value=20.0, n=1, low=None, high=None, standing="no target")
    by_points = replace(by_eye, band="point quadrat", value=10.0, n=2, low=6.6, high=14.9)
    (found,) = findings([by_eye, by_points], [rule(Condition(indicator="moss_pct", at_least=5.0))])
    assert found.figures == (by_points, by_eye)
    assert doubt_of(found) == "interval 6.6–14.9"
    (alone,) = findings([by_eye], [rule(Condition(indicator="moss_pct", at_least=5.0))])
    assert doubt_of(alone) == "no interval: a single figure"


OWN = """
[[rule]]
id = "moss"
all = [{ indicator = "moss_pct", at_least = 1.0 }]
finding = "Moss: {value}."
may_mean = "Ours."
helps = "Ours."
source = "our own experience"

[[rule]]
id = "disease"
drop = true
"""


def test_a_workspace_replaces_a_rule_by_its_id_and_drops_one(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(OWN, "utf-8")
    shipped, held = {r.id: r for r in rules()}, {r.id: r for r in rules(tmp_path)}
    assert held["moss"].may_mean == "Ours."
    assert set(shipped) - set(held) == {"disease"}
    assert len(held) == len(shipped) - 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[rule]", "not readable TOML"),
        ("[[rule]]\nid = 'A b'", "id"),
        ("[[rule]]\nid = 'x'", "lacks all"),
        ("rules = 1", "rules"),
        (OWN.replace("{value}", "{secret}"), "{secret} is not one of"),
        (OWN.replace("{value}", "{value.__class__}"), "is not one of"),
        (OWN.replace(", at_least = 1.0", ""), "standing, verdict, at_least or at_most"),
        (OWN.replace("source = ", "works = ['hoovering']\nsource = "), "there is no operation 'hoovering'"),
        (OWN.replace("source = ", "months = [13]\nsource = "), "months are 1 to 12"),
        (OWN.replace("source = ", "weight = 9\nsource = "), "weight"),
        (OWN.replace("source = ", "colour = 1\nsource = "), "colour"),
    ],
)
def test_a_file_that_does_not_fit_is_named(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "own.toml").write_text(text, "utf-8")
    with pytest.raises(CannotDo, match=r"own\.toml") as told:
        rules(tmp_path)
    assert said in str(told.value)
