"""The first page of a condition report put together: pure functions on records, figures, rules and prices."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from pipeline.findings.findings import Rule, rules
from pipeline.first_page import hollows as low_ground
from pipeline.first_page.actions import actions, looks
from pipeline.first_page.checks import checks, gaps, rejected, told_of_many
from pipeline.first_page.closings import closings
from pipeline.first_page.found import found
from pipeline.first_page.measures import measures, not_measured
from pipeline.first_page.spent import spent
from pipeline.first_page.standing import counts, verdict, waiting_lines
from pipeline.indicators.base.first_page import Check, Decider, FirstPage, Hollows
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.plan.account import Account, Priced
from pipeline.plan.due import season_due
from pipeline.plan.due_list import DueItem, due_priced
from pipeline.plan.market import Kept
from pipeline.plan.rates import unknown

NOT_ASKED = unknown("no rate and no price was asked for")


@dataclass(frozen=True)
class Beside:
    """What the page says beside the season's own figures.

    Attributes:
        rules: rules of findings in force.
        account: of the green; None where it is put together without what works are priced by.
        last: figures of the season before.
        own: who decides about operations, where the workspace says so.
        kept: days on which greens are closed or played on.
    """

    rules: Sequence[Rule]
    account: Account | None = None
    last: Sequence[Indicator] = ()
    own: Mapping[str, Decider] = field(default_factory=dict)
    kept: Sequence[Kept] = ()


def with_first_page(season: GreenSeason, records: GreenRecords, beside: Beside, priced: Priced) -> GreenSeason:
    """A green's season with the first page of its report.

    Args:
        season: the season, made from these records.
        records: of the green.
        beside: what else the page says.
        priced: what works are priced by.
    """
    ahead = season_due(records.season, max(records.as_of, records.last_day))
    items = due_priced(records, ahead, ahead.end, priced)
    study = low_ground.study_of(records)
    low = low_ground.hollows(study) if study else None
    page = first_page(season, beside, items, ahead.name, low)
    page = replace(
        page,
        checks=checks(records, season.indicators, season.questions),
        rejected=tuple(rejected(records)),
        gaps=told_of_many(list(gaps(records))),
        levels=low_ground.map_of(study) if study else None,
        tolerance_mm=study.tolerance_mm if study else 0.0,
    )
    return replace(season, first=page)


def first_page(
    season: GreenSeason, beside: Beside, items: Sequence[DueItem], season_due: str, low: Hollows | None = None
) -> FirstPage:
    """The page without what only the records tell: entries made anew, gaps, map.

    Args:
        season: the season of the green.
        beside: what else the page says.
        items: what is due over the season whose targets are open.
        season_due: name of that season.
        low: where the green is low.
    """
    figures, lines = season.indicators, waiting_lines(season.questions)
    jobs = beside.account.this.items if beside.account else ()
    stepped = any(note.topic == "laboratory" for note in season.data_notes)
    told = tuple(
        replace(one, of_laboratory=stepped and one.figure.family == "soil")
        for one in found(figures, beside.rules, beside.last, lines, low)
    )
    return FirstPage(
        verdict=verdict(figures, told, season.questions),
        counts=counts(figures, lines),
        found=told,
        actions=actions(items, told, jobs, season_due, beside.own, low),
        looks=looks(items),
        closed=tuple(closings(season.green, items, beside.kept)),
        season_due=season_due,
        checks=tuple(Check(one) for one in season.questions if not one.rejected),
        warned=sum(one.severity == "warning" and not one.topic for one in season.data_notes),
        measures=measures(figures, beside.last, lines),
        not_measured=tuple(not_measured(figures)),
        spent=replace(spent(beside.account), log_begins=season.log_begins) if beside.account else None,
        hollows=low,
    )


def alone(season: GreenSeason) -> FirstPage:
    """The page of a season by itself, by the shipped rules: nothing spent is told, and nothing due is priced."""
    items = [DueItem(season.green, one, cost=NOT_ASKED) for one in season.due]
    return first_page(season, Beside(rules()), items, "")
