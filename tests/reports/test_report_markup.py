"""Markup that somebody wrote into a cell, a name or a note stays text, in whatever place of whatever document.

Guards against a template that takes a text for safe: every text that a view hands to a template is replaced.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from html.parser import HTMLParser
from typing import Any

import pytest
from markupsafe import Markup

from reports.page import templating
from reports.page.house_style import HouseStyle
from tests.reports.golden.cases import CASES
from tests.thorough import beyond

EVIL = "<script>x()</script><img src=x onerror=x()>\"' onload='x()' {{ 7 * 7 }} </style> &amp; "


def evil(value: Any) -> Any:
    """The same with markup in every text; what the code itself made as HTML stays, and texts that name a place."""
    if type(value) is str:
        return EVIL + value if " " in value or len(value) > 12 else value
    if type(value) in (tuple, list):
        return type(value)(map(evil, value))
    if type(value) is dict:
        return {name: evil(one) for name, one in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{one.name: evil(getattr(value, one.name)) for one in fields(value) if one.init})
    return value


class _Reader(HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.odd: list[str] = []
        self.said = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what markup of a text would have made."""
        given = dict(attrs)
        if tag == "script" or any(name.startswith("on") for name in given) or given.get("src") == "x":
            self.odd.append(f"<{tag} {given}>")

    def handle_data(self, data: str) -> None:
        """Keep what is read."""
        self.said += data


@beyond(2)
@pytest.mark.parametrize("name", [case.name for case in CASES])
def test_markup_in_any_text_of_a_document_stays_text(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    filled = templating._filled

    def with_markup(template: str, house: HouseStyle, given: dict[str, Any]) -> str:
        return filled(template, house, {**given, "report": evil(given["report"])})

    case = next(one for one in CASES if one.name == name)
    monkeypatch.setattr(templating, "_filled", with_markup)
    page = _Reader()
    page.feed(case.html())
    assert page.odd == []
    assert page.said.count("<script>x()</script>") > 5
    assert "{{ 7 * 7 }}" in page.said


def test_what_is_looked_for_would_be_found() -> None:
    page = _Reader()
    page.feed(f"<p>{EVIL}</p>")
    assert len(page.odd) == 2
    page = _Reader()
    page.feed(str(Markup("<p title='{}'>{}</p>").format(EVIL, EVIL)))
    assert page.odd == []
