"""What the first page says was found: the findings of the rules, and beside them what is off and what plays right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from pipeline.common.grouped import grouped
from pipeline.findings.findings import Finding, Rule, findings
from pipeline.first_page.standing import EVENNESS, GOOD, SHORT, SPEED, of_the_crew, slight, waits
from pipeline.indicators.base.first_page import Found, Hollows
from pipeline.indicators.base.green_season import Evidence, Indicator, Verdict
from pipeline.indicators.base.judgement import judgement, miss

MOST_FOUND = 3
CHANGE_OF = {
    "organic_matter_pct": "organic_matter_trend_pct_year",
    "speed_s": "speed_change_s",
}
"""Figure → the figure whose verdict says whether it changed."""
LEVELS = frozenset({"level_within_pct", "level_deviation_mm"})
Key = tuple[str, str]


def found(
    figures: Sequence[Indicator],
    rules: Sequence[Rule],
    last: Iterable[Indicator],
    lines: frozenset[Evidence],
    hollows: Hollows | None = None,
) -> tuple[Found, ...]:
    """The findings of the first page, gravest first, three at most; none rests on an entry under a warning.

    What the rules find stands first, of each figure once: what may be chance last, then by weight and by how far the
    figure that is shown misses its target. Then what is off and no rule tells; last what plays right.

    Args:
        figures: of the green and season.
        rules: rules in force.
        last: figures of the season before.
        lines: lines under a warning.
        hollows: where the green is low; None where it was not surveyed, or nothing is.
    """
    made = _Maker(figures, {(one.name, one.band): one for one in last}, hollows)
    settled = [one for one in figures if not waits(one, lines)]
    by_rule = findings(settled, rules)
    ranked = sorted(((made.of_rule(one, one.figures[0]), one) for one in by_rule), key=_rank)
    told: list[Found] = []
    for first, of in ranked:
        left = [figure for figure in of.figures if not any(_told_with(figure, other) for other in told)]
        if left and not any(_same(made.shown(left[0]), other.figure) for other in told):
            told.append(first if left[0] is of.figures[0] else made.of_rule(of, left[0]))
    if len(told) < MOST_FOUND:
        named = [figure for rule in by_rule for figure in (*rule.figures, *rule.beside)]
        told += [made.off(one) for one in _off(settled) if not any(_same(one, other) for other in named)]
    told += made.plays(settled) if len(told) < MOST_FOUND else ()
    return tuple(told[:MOST_FOUND])


def asks(one: Found) -> bool:
    """Whether a finding asks for something beyond doubt: it is off, or a rule has a word on what is to be done."""
    return not one.doubtful and (bool(one.verdict) or judgement(one.figure) == "off")


def _rank(pair: tuple[Found, Finding]) -> tuple[bool, int, float]:
    one, of = pair
    return one.doubtful, -of.rule.weight, -miss(one.figure)


def _same(one: Indicator, other: Indicator) -> bool:
    """Whether two figures are about one thing: the same one, or both about levels."""
    return (one.name, one.band) == (other.name, other.band) or {one.name, other.name} <= LEVELS


def _told_with(one: Indicator, other: Found) -> bool:
    """Whether a figure is the change over time that another finding tells of its own figure."""
    clear = other.change is not None and other.change.clear
    return clear and CHANGE_OF.get(other.figure.name) == one.name and other.figure.band == one.band


def _off(settled: Iterable[Indicator]) -> list[Indicator]:
    off = [one for one in settled if judgement(one) == "off" and not of_the_crew(one)]
    return sorted(off, key=lambda one: -miss(one))


class _Maker:
    """Makes findings of a season with what all of them share."""

    def __init__(self, figures: Sequence[Indicator], last: Mapping[Key, Indicator], hollows: Hollows | None) -> None:
        self.by_name = grouped(figures, lambda one: one.name)
        self.last, self.hollows = last, hollows

    def of_rule(self, one: Finding, figure: Indicator) -> Found:
        """A finding of a rule about one of its figures, in the rule's short words or else its long ones."""
        rule, figure = one.rule, self.shown(figure)
        return Found(
            lead=rule.lead or rule.finding,
            figure=figure,
            for_play=rule.for_play or rule.may_mean,
            verdict=rule.verdict,
            doubtful=one.doubtful or slight(figure),
            works=rule.works,
            less=rule.less,
            helps=rule.helps,
            months=rule.months,
            change=self._change(figure),
            last=self._last(figure),
            hollows=self.hollows if figure.name in LEVELS else None,
            untrue=rule.untrue,
        )

    def off(self, figure: Indicator) -> Found:
        """A figure off its target that no rule tells of."""
        name = SHORT.get(figure.name, "")
        lead = f"{name[:1].upper()}{name[1:]} off target" if name else "{label} off target"
        return Found(lead, figure, change=self._change(figure), last=self._last(figure))

    def plays(self, settled: Iterable[Indicator]) -> Iterator[Found]:
        """Speed and evenness, where they are right."""
        leads = {SPEED: "Speed is right", EVENNESS: "The rinks are even"}
        for figure in settled:
            if figure.name in leads and judgement(figure) in GOOD:
                yield Found(leads[figure.name], figure, change=self._change(figure), last=self._last(figure))

    def shown(self, figure: Indicator) -> Indicator:
        """Of levels the worst place: a share of points tells a reader less."""
        worst = self.by_name.get("level_deviation_mm", ())
        return worst[0] if figure.name == "level_within_pct" and worst else figure

    def _change(self, figure: Indicator) -> Verdict | None:
        of = self.by_name.get(CHANGE_OF.get(figure.name, ""), ())
        return next((one.verdict for one in of if one.band == figure.band and one.verdict), None)

    def _last(self, figure: Indicator) -> Indicator | None:
        """The same figure of last season, where it is of other records than this one."""
        before = self.last.get((figure.name, figure.band))
        if before is None or before.value is None or before.evidence == figure.evidence:
            return None
        return before
