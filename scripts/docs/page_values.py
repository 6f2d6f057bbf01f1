"""The values that each template is given, from the records that the documents are drawn from: a contract."""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any, Union, get_args, get_origin, get_type_hints

from markupsafe import Markup

from reports.comparison import render as comparison
from reports.condition import view as condition
from reports.due import render as due
from reports.handout import view as handout
from reports.order import office, van
from reports.page.charts.charts import ChartGroup
from reports.page.house_style import PLAIN
from reports.page.own_text import PLACES
from reports.page.templating import COLOURS
from reports.paper.render import paper_of
from reports.programme import render as programme
from reports.round_up import render as round_up
from reports.summary import render as summary
from reports.survey import view as survey
from scripts.docs import markdown as md
from scripts.docs.docstring import docstring_of
from scripts.docs.typewords import type_words

CONTRACT = 1
"""Raised where a value that a template could use is taken away or renamed; CHANGELOG.md then says which."""

VIEWS: dict[str, Any] = {
    "condition": condition.view,
    "summary": summary.view,
    "handout": handout.view,
    "survey": survey.view,
    "comparison": comparison.view,
    "programme": programme.view,
    "round-up": round_up.view,
    "due": due.view,
    "order-office": office.view,
    "order-van": van.view,
    "paper": paper_of,
}
"""What makes the ``report`` of each template."""

OPENING = f"""\
What a template of [a style of your own](house-style.md#a-style-of-your-own) may use. This is contract {CONTRACT}:
values may be added to it; where one is taken away or renamed the contract gets a new number, and CHANGELOG.md says
which. A `[]` stands for each of a list, as in `{{% for line in report.matters %}}`. All texts are final: numbers are
rounded, in the units of the page."""


def page() -> str:
    """docs/page-values.md."""
    parts = [OPENING, "## In every template", md.table(("value", "what it is"), _everywhere())]
    for template, listed in values().items():
        described = descriptions(template)
        rows = [(md.code(name), words, described.get(name, "")) for name, words in listed.items()]
        parts += [f"## {template}.html.j2", md.table(("value", "what it is", "of what"), rows)]
    return md.page("Values of the templates", *parts)


def values() -> dict[str, dict[str, str]]:
    """Of each template, the values of its ``report`` by their paths, such as "report.tables[].heading": their types."""
    return {
        template: {path: words for path, words, _ in _paths(_view(made), "report")} for template, made in VIEWS.items()
    }


def descriptions(template: str) -> dict[str, str]:
    """What the values of a template are, as far as their records say it, by their paths."""
    return {path: said for path, _, said in _paths(_view(VIEWS[template]), "report")}


def _everywhere() -> Iterator[tuple[str, str]]:
    """Values of every template."""
    for name, value in PLAIN.shown.items():
        yield md.code(f"house.{name}"), type_words(type(value))
    for name in COLOURS:
        yield md.code(f"colour.{name}"), "text, `#rrggbb`"
    for place in PLACES:
        yield md.code(f"own.{place}"), "HTML of the text of that place"
    yield md.code("own.issue[]"), "text: who prepared it, for whom, when, number"
    yield md.code("own.signed_by[]"), "text: who signs"
    yield md.code("glossary[].term"), "text: a word that the document uses; where the settings want the page"
    yield md.code("glossary[].meaning"), "text: what it means"
    yield md.code("attached[]"), "text: names of the attached files"
    for path, words, _ in _paths(ChartGroup, "groups[]"):
        yield md.code(path), f"{words}; where the document has charts"
    yield md.code("left_out[]"), "text: parts that the settings leave out; condition, summary and round-up"


def _view(made: Any) -> Any:
    return get_type_hints(made)["return"]


def _paths(record: Any, place: str, above: tuple[Any, ...] = ()) -> Iterator[tuple[str, str, str]]:
    """Paths of a record's values with their types and what is said of them; a record within itself once."""
    hints, said = get_type_hints(record), docstring_of(record).lists.get("Attributes", {})
    for one in fields(record):
        inner, mark = _inner(hints[one.name])
        path = f"{place}.{one.name}{mark}"
        if is_dataclass(inner):
            if inner not in above:
                yield from _paths(inner, path, (*above, record))
        else:
            yield path, "HTML" if inner is Markup else type_words(inner), said.get(one.name, "")


def _inner(annotation: Any) -> tuple[Any, str]:
    """What stands within lists and beside None, and a "[]" for each list around it."""
    origin, inside = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        left = [one for one in inside if one is not type(None)]
        return _inner(left[0]) if len(left) == 1 else (annotation, "")
    if origin in (tuple, list) and inside:
        found, mark = _inner(inside[0])
        return found, f"[]{mark}"
    return annotation, ""
