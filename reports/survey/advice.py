"""What a survey advises as printed, and what became of what was advised before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.indicators.base.first_page import Action
from pipeline.indicators.base.green_season import Indicator
from pipeline.survey.advice import Advice
from pipeline.survey.earlier import DoneSince, Earlier, EarlierFinding
from reports.page import text
from reports.page.actions import amount_of, cost_of, details, total_of, when
from reports.page.figures import value_text
from reports.page.house_style import Units
from reports.survey.findings import PRIORITIES, Place, finding_place, lead_of, sentence
from schemas.codes import code_list

ROUTINE = "routine"


@dataclass(frozen=True)
class AdviceRow:
    """One work as printed."""

    what: str
    detail: str
    findings: tuple[Place, ...]
    priority: str
    amount: str
    when: str
    cost: str
    who: str


@dataclass(frozen=True)
class AdviceTable:
    """Works that are advised, and the sum of what is priced; no row where nothing is asked for."""

    rows: tuple[AdviceRow, ...]
    total_label: str
    total: str


def advice_table(every: Sequence[Advice], currency: str, units: Units) -> AdviceTable:
    """What is advised, in the order in which it was put together."""
    label, total = total_of([one.action for one in every], currency)
    return AdviceTable(tuple(_row(one, currency, units) for one in every), label, total)


def _row(one: Advice, currency: str, units: Units) -> AdviceRow:
    return AdviceRow(
        what=text.clean(one.action.what, 60),
        detail=_detail(one.action, units),
        findings=tuple(finding_place(number) for number in one.findings),
        priority=PRIORITIES[one.weight - 1] if one.weight else ROUTINE,
        amount=amount_of(one.action, units),
        when=when(one.action).replace("–", "\u2060–\u2060"),
        cost=cost_of(one.action, currency),
        who=one.action.who,
    )


def _detail(one: Action, units: Units) -> str:
    if one.who == "Licensed person" and len(one.operations) == 1:
        return "whether and with what, by the label"
    return "; ".join(details(one, units))


@dataclass(frozen=True)
class EarlierRow:
    """One finding of the visit before as printed."""

    lead: str
    then: str
    now: str
    done: tuple[str, ...]


@dataclass(frozen=True)
class EarlierPart:
    """The visit before: its day, what it found and what was done since."""

    day: str
    rows: tuple[EarlierRow, ...]


def earlier_part(of: Earlier) -> EarlierPart:
    """The visit before as printed."""
    return EarlierPart(text.day(of.day), tuple(_earlier_row(one) for one in of.findings))


def _earlier_row(one: EarlierFinding) -> EarlierRow:
    then = one.told.lead.figures[0]
    return EarlierRow(
        lead=lead_of(one.told.lead) or sentence(one.told.lead, lambda _: ""),
        then=_value(then),
        now=_value(one.now) if one.now else "not measured",
        done=tuple(_done(work) for work in one.works),
    )


def _value(one: Indicator) -> str:
    return value_text(one)


def _done(one: DoneSince) -> str:
    label = code_list("operation")[one.operation].label
    if not one.days:
        return f"{label}: none logged"
    if len(one.days) == 1:
        return f"{label}: {text.short_day(one.days[0])}"
    return f"{label}: {len(one.days)} days, last {text.short_day(one.days[-1])}"
