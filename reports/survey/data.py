"""The data of a condition survey as CSV: the season's figures; readings, cores, lows and findings of the visit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pipeline.agronomy.levels.lows import Low
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.survey.level_survey import LevelSurvey
from reports.page import attachments
from reports.page.attachments import Cell, CsvFile

READINGS = {
    "what": "thing measured or counted",
    "method": "what must be the same for two visits to be compared",
    "place": "where, as the surveyor wrote it",
    "x_m": "place across the rinks, m",
    "y_m": "place along the rinks, m",
    "value": "reading, in unit",
    "unit": "unit of value",
    "hits": "points that met it; empty for a measurement",
    "points": "points looked at",
    "note": "the surveyor's note",
    "file": "file the record comes from",
    "line": "physical line in that file",
}
LAYERS = {
    "place": "where the core was taken",
    "top_mm": "upper end of the layer, mm below the surface",
    "bottom_mm": "lower end, mm",
    "layer": "what it is",
    "note": "the surveyor's note",
    "file": "file the record comes from",
    "line": "physical line in that file",
}
SIEVES = {
    "sample": "root zone, or the dressing's name",
    "day": "day of the sample",
    "size_mm": "size, mm",
    "passing_pct": "share of the mass that is finer, %",
}
LOWS = {
    "across_m": "deepest place across the rinks, m from the corner of the survey",
    "along_m": "the same along, m",
    "deepest_mm": "depth below the surface aimed at, mm",
    "area_m2": "ground below by more than the tolerance, m²",
    "volume_m3": "what fills it, m³",
    "mass_t": "the same as dry dressing, t; empty where it is more than a green can take",
    "lifts": "dressings of the stated thickness; empty likewise",
}
FINDINGS = {
    "no": "number in the printed survey; rules of one topic have one number",
    "id": "name of the rule",
    "weight": "consequence if nothing is done, 1 to 5",
    "doubtful": "yes where the readings spread across the limit",
    "indicator": "machine name of a figure it rests on (one row for each)",
    "band": "its band",
    "value": "its value",
    "unit": "unit of value",
    "standing": "against its target",
    "measured_from": "first day of the readings behind it, year-month-day; empty where it rests on none",
    "measured_to": "last day of them",
    "may_mean": "what it may mean",
    "helps": "what usually helps",
    "source": "who says so",
}
PROGRAMME = {
    "work": "operation",
    "month": "year and month",
    "asked": "yes where a finding asks for it in that month",
    "done_year_before": "how often it was done in the same month of the year before",
    "findings": "names of the rules that ask for it",
    "quantity": "how much, where known",
}
ADVICE = {
    "work": "what is to be done",
    "operations": "operations in it, as in the job log",
    "findings": "numbers of the findings that ask for it; empty for routine",
    "weight": "gravest consequence among them, 1 to 5; empty for routine",
    "low": "least amount, in unit; empty where it is not known (one row for each unit)",
    "high": "most; empty where there is no upper end",
    "unit": "unit of the amount",
    "amount_of": "N where it is nitrogen, whose product is open; empty where it is what is put on",
    "materials": "of which materials",
    "from": "first day of the first window, year-month-day; empty where none is planned",
    "to": "last day of the last",
    "months": "months of the finding, 1 to 12, where no window is planned",
    "cost": "money of what is priced; empty where nothing is",
    "priced": "works that are priced",
    "of": "works that take money",
    "not_priced_because": "why the others are not priced",
    "who": "who decides",
}
EARLIER = {
    "day": "day of the visit before",
    "id": "name of the rule",
    "indicator": "machine name of the figure",
    "band": "its band",
    "then": "its value on that day",
    "now": "its value now; empty where it was not measured again",
    "unit": "unit of both",
    "work": "operation that was asked for (one row for each)",
    "days_since": "days on which it was done since; 0 where none is logged",
    "last": "last of them, year-month-day",
}
PHOTOS = {
    "no": "number in the printed survey",
    "file": "file of the photo",
    "caption": "its caption",
    "place": "where it was taken",
    "sha256": "SHA-256 of the small copy",
    "from_file": "file the record comes from",
    "line": "physical line in that file",
}
DESCRIBED = {
    "observations.csv": ("Every reading of the visit", READINGS),
    "layers.csv": ("Every layer of every core", LAYERS),
    "sieves.csv": ("Every point of every sieve curve", SIEVES),
    "lows.csv": ("Every low to fill", LOWS),
    "findings.csv": ("Findings and the figures they rest on", FINDINGS),
    "programme.csv": ("The programme of twelve months", PROGRAMME),
    "advice.csv": ("What to do, with amounts and costs", ADVICE),
    "earlier.csv": ("What the visit before found, and works done since", EARLIER),
    "photos.csv": ("Photos of the visit", PHOTOS),
}


def _dressing(levels: LevelSurvey | None, low: Low) -> tuple[Cell, Cell]:
    """Mass and lifts of what fills a low, where they may be ordered."""
    return (low.mass_t, low.lifts) if levels and levels.dressed(low) else (None, None)


def csv_files(survey: ConditionSurvey) -> tuple[CsvFile, ...]:
    """The attachments of a survey, in order of their names; tables without a row are left out."""
    rows: dict[str, Iterable[Iterable[Cell]]] = {
        "observations.csv": _readings(survey),
        "layers.csv": _layers(survey),
        "sieves.csv": ((c.owner, c.day.isoformat(), *point) for c in survey.observations.curves for point in c.points),
        "lows.csv": (
            (o.across_m, o.along_m, o.deepest_mm, o.area_m2, o.volume_m3, *_dressing(survey.levels, o))
            for o in (survey.levels.lows if survey.levels else ())
        ),
        "findings.csv": _findings(survey),
        "programme.csv": _programme(survey),
        "advice.csv": _advice(survey),
        "earlier.csv": _earlier(survey),
        "photos.csv": (
            (number, p.file, p.caption, p.place, p.sha256, p.evidence.file, p.evidence.line)
            for number, p in enumerate(survey.observations.photos, start=1)
        ),
    }
    held = {name: kept for name, found in rows.items() if (kept := list(found))}
    described = {name: told for name, told in DESCRIBED.items() if name in held} | attachments.DESCRIBED
    own = attachments.tables(described, {**held, **attachments.rows_of(survey.season)})
    return attachments.in_order((*own, *attachments.record_files(survey.season)))


def _readings(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    for one in survey.observations.measured:
        for r in one.readings:
            place = (r.place, r.x_m, r.y_m, r.value, one.unit, r.hits, r.points, r.note)
            yield (one.label, one.method, *place, r.evidence.file, r.evidence.line)


def _layers(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    for core in survey.observations.profiles:
        for a in core.layers:
            yield (core.place, a.top_mm, a.bottom_mm, a.name, a.note, a.evidence.file, a.evidence.line)


def _findings(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    every = [(number, part) for number, one in enumerate(survey.told, start=1) for part in one.parts]
    for number, one in every:
        rule = one.rule
        about = (rule.id, rule.weight, "yes" if one.doubtful else "no")
        for f in (*one.figures, *one.beside):
            days = survey.measured_on(f)
            when = (days.first.isoformat(), days.last.isoformat()) if days else (None, None)
            figure = (f.name, f.band, f.value, f.unit, f.standing)
            yield (number, *about, *figure, *when, rule.may_mean, rule.helps, rule.source)


def _advice(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    for one in survey.advice:
        a = one.action
        numbers = " ".join(map(str, one.findings))
        about = (a.what, " ".join(a.operations), numbers, one.weight or None)
        days = tuple(day.isoformat() if day else None for day in (a.first, a.last))
        rest = (*days, " ".join(map(str, a.months)), a.cost, a.priced, a.of, a.why, a.who)
        for amount in a.amounts or (None,):
            much = (amount.low, amount.high, amount.unit, amount.of) if amount else (None, None, "", "")
            yield (*about, *much, "; ".join(a.materials), *rest)


def _earlier(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    if survey.earlier is None:
        return
    for one in survey.earlier.findings:
        figure = one.told.lead.figures[0]
        value = (figure.name, figure.band, figure.value, one.now.value if one.now else None, figure.unit)
        for work in one.works:
            last = work.days[-1].isoformat() if work.days else None
            yield (survey.earlier.day.isoformat(), one.told.lead.rule.id, *value, work.operation, len(work.days), last)


def _programme(survey: ConditionSurvey) -> Iterator[tuple[Cell, ...]]:
    for line in survey.programme.lines:
        for i, month in enumerate(survey.programme.months):
            asked = "yes" if i in line.asked else "no"
            when = f"{month.year}-{month.month:02}"
            yield (line.label, when, asked, line.done[i], " ".join(line.why), line.quantity)
