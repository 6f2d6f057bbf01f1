"""A consultant's own Markdown: text stays text, and nothing in it reaches out of the page."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reports.page import fonts
from reports.page.own_text import OwnTextFault, html_of


def test_headings_lists_and_emphasis_are_set() -> None:
    made = html_of("# Drainage\n\nSlow *at the ditch*:\n\n1. rink 1\n2. rink 2\n\n> said by the captain\n")
    assert "<h3>Drainage</h3>" in made
    assert "<em>at the ditch</em>" in made
    assert "<li>rink 1</li>" in made.replace("\n", "")
    assert "<blockquote>" in made


@pytest.mark.parametrize(
    "source",
    [
        "<script>alert(1)</script>",
        "![x](file:///etc/hostname)",
        "[x](javascript:alert(1))",
        "<file:///etc/hostname>",
        "[a]: file:///etc/hostname\n\n[a]",
        "<img src=x onerror=y>",
        "<style>@import url(x)</style>",
        "{{ 7*7 }} {% include 'x' %}",
        "a &lt;b&gt; &#60;script&#62;",
    ],
)
def test_nothing_but_text_comes_out(source: str) -> None:
    made = html_of(source)
    for tag in ("<script", "<img", "<a ", "<a>", "<style", "href", "<file", "<b>"):
        assert tag not in made.replace("&lt;", ""), made


def test_marks_that_nobody_sees_are_dropped() -> None:
    made = html_of("good \u202eright to left\u0000")
    assert "\u202e" not in made and "\x00" not in made


@given(st.text(st.sampled_from(sorted(fonts.cover())) | st.sampled_from("|-> *_`#[]()!\\\n\r\t0"), max_size=300))
@example("\\\r0")  # a hard break, <br />
@example("0\n\n***\n\n- 0")  # a rule, <hr />
@settings(max_examples=60)
def test_any_text_at_all_becomes_a_closed_piece_of_html(source: str) -> None:
    """Outside check: Python's own HTML parser sees every element opened and closed."""
    from html.parser import HTMLParser

    open_tags: list[str] = []
    allowed = {
        "h3",
        "p",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "ol",
        "ul",
        "li",
        "em",
        "strong",
        "blockquote",
        "pre",
        "code",
    }

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag in allowed
            open_tags.append(tag)

        def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            assert tag in ("hr", "br"), "only these two are closed where they open"

        def handle_endtag(self, tag: str) -> None:
            assert open_tags.pop() == tag

    try:
        made = html_of(source)
    except OwnTextFault:  # nested deeper than a page shows; a table's head alone can be
        return
    Reader().feed(made)
    assert not open_tags
