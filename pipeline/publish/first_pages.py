"""First pages of condition reports from the store: what many greens share is read once a command."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.figures.table import figures_in
from pipeline.findings.findings import FOLDER, Rule, rules
from pipeline.first_page.build import Beside, with_first_page
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.green_season import GreenSeason, Indicator
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.records import Records
from pipeline.plan.account import Priced
from pipeline.plan.market import Kept, calendar
from pipeline.plan.pricing import pricing
from pipeline.plan.read import done_works, planned_works
from pipeline.plan.works import Done, Planned
from pipeline.season.account import green_account, logged_seasons
from pipeline.season.green import indicators
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace


@dataclass(frozen=True)
class FirstPages:
    """What first pages of greens in a season are made from.

    Attributes:
        records: all records.
        span: the season.
        workspace: the workspace.
        priced: what works are priced by.
        rules: rules of findings in force.
        jobs: of the season and the one before, by green.
        plans: of the season and the one after, by green.
        last: figures of the season before as they stand in the store, by green.
        kept: days on which greens are closed or played on.
    """

    records: Records
    span: Season
    workspace: Workspace
    priced: Priced
    rules: Sequence[Rule]
    jobs: Mapping[str, Sequence[Done]]
    plans: Mapping[str, Sequence[Planned]]
    last: Mapping[str, Sequence[Indicator]]
    kept: Sequence[Kept]

    def on(self, season: GreenSeason) -> GreenSeason:
        """A green's season with the first page of its report."""
        green, workspace = season.green, self.workspace
        own = green_records(self.records, green, self.span, workspace)
        before = green_records(self.records, green, season_on(self.span, -1), workspace)
        this, past = (next(logged_seasons([one], self.jobs, self.priced)) for one in (own, before))
        account = green_account(own, (this, past), self.plans.get(green, ()), self.priced)
        last = self.last.get(green)
        if last is None:
            last = indicators(before)
        beside = Beside(self.rules, account, last, workspace.settings.decides, self.kept)
        return with_first_page(season, own, beside, self.priced)


def first_pages(
    store: Store, records: Records, greens: Sequence[str], span: Season, workspace: Workspace
) -> FirstPages:
    """What the first pages of these greens are made from.

    Args:
        store: the store, open.
        records: its records as they are looked at.
        greens: codes of the greens.
        span: the season.
        workspace: the workspace.

    Raises:
        CannotDo: a rule of the workspace does not fit.
    """
    before, after = season_on(span, -1), season_on(span, 1)
    jobs = done_works(store, greens, (before.start, span.end))
    plans = planned_works(store, greens, (span.start, after.end))
    last = figures_in(store, workspace.settings, before.name, greens) if records.look.ordinary else {}
    return FirstPages(
        records,
        span,
        workspace,
        pricing(store, records, workspace.settings).by.remembering,
        rules(workspace.folder / FOLDER),
        grouped(jobs, lambda one: one.green),
        grouped(plans, lambda one: one.green),
        last,
        calendar(store),
    )
