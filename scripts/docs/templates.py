"""Every template programme with its lines and their sources."""

from __future__ import annotations

from pipeline.plan.programme import PARTS
from pipeline.plan.templates import templates
from pipeline.plan.templates.model import Line, Template
from schemas.codes import code_list
from scripts.docs import markdown as md

OPENING = """\
What `swardtally programme` plans from, named with `--template`: each is what one school asks for in one part of the
year, from a published calendar, or "common practice, no source". Schools that differ are not averaged: two templates
that plan one operation within the same days are refused together. None is one person's season, and none plans a
pesticide: a licensed person decides on those by the label and the law of the place.

What a programme is made from, and what has the last word:

- A template says when, what and how much by its rate over the green's area. Of a range the lower end is planned.
- Last season's works are planned again each in the week of its day; an operation that they hold is planned from them
  alone. Works that are only counted (mowing) are one line a month. Water is counted, for the weather decides how much.
- Targets have the last word on how much dressing and nitrogen: within the target an amount stands, else all of the
  season's amounts are made smaller or larger alike. Lines without an amount share what the others leave open.
- How often a template leaves open is not taken for once: hours, amount and cost of such a line are not known until
  `times` is filled in. Only of an amount that a target gives is all planned at once, and the line says so.
- What was done within its window is left out, and so is what is past; the command says each.

A window that runs over the turn of two seasons belongs to the season its last day lies in."""


def page() -> str:
    """docs/templates.md."""
    parts = []
    for part, words in PARTS.items():
        ones = [one for one in templates().values() if one.part == part]
        parts += [f"## {words[:1].upper()}{words[1:]}", *map(_template, ones)]
    return md.page("Template programmes", OPENING, *parts)


def _template(one: Template) -> str:
    rows = [
        (f"{line.first} to {line.last}", code_list("operation")[line.operation].label, _amount(line), _times(line),
         _said(line), line.source)
        for line in one.line
    ]  # fmt: skip
    whom = [
        *(code_list("green_shape")[word].label for word in one.shape),
        *(code_list("construction")[word].label for word in one.construction),
        *one.grass,
        f"{one.hemisphere}ern half of the earth",
    ]
    head = f"{one.title}. School: {one.school}. For: {', '.join(whom)}. Source: {one.source}."
    table = md.table(("days", "work", "how much", "how often", "what else", "source of the line"), rows)
    return "\n\n".join([f"### {one.name}", md.escaped(head), table, *map(md.escaped, one.caution)])


def _amount(line: Line) -> str:
    if line.amount_kg and line.of_m2:
        return f"{_range(line.amount_kg)} kg on {line.of_m2:,.0f} m²"
    if line.rate_kg_m2:
        return f"{_range(line.rate_kg_m2)} kg/m²"
    return f"{_range(line.rate[:2])} {line.rate[2]}" if line.rate else ""


def _times(line: Line) -> str:
    if line.a_week:
        return f"{line.a_week:g} a week"
    often = f"{line.times:g}" if line.times else "left open, where needed" if line.if_needed else "left open"
    return f"{often}, once in {line.every_seasons} seasons" if line.every_seasons > 1 else often


def _said(line: Line) -> str:
    """What is put on and how, and the note."""
    ends = (
        ("height of cut {} mm", line.cut_height_mm),
        ("tines of {} mm", line.tine_mm),
        ("{} mm deep", line.depth_mm),
        ("{} passes", line.passes),
        ("N {} %", line.n_pct),
        ("P2O5 {} %", line.p_pct),
        ("K2O {} %", line.k_pct),
    )
    told = [line.material, *(words.format(_range(value)) for words, value in ends if value)]
    told += [f"{line.spacing_mm:g} mm apart"] if line.spacing_mm else []
    said = ", ".join(word for word in told if word)
    return ". ".join(part for part in (said, line.note) if part)


def _range(ends: tuple[float, float]) -> str:
    return f"{ends[0]:g}" if ends[0] == ends[1] else f"{ends[0]:g} to {ends[1]:g}"
