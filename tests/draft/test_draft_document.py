"""The TOML of a draft: whatever a header or a word holds comes back the same.

Checked against Python's own reader of TOML 1.0 (tomllib).
"""

from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from pipeline.draft.document import Ask, Entry, Table, asked_once, text_of

ANY = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)


@given(ANY, ANY, ANY, st.lists(ANY, max_size=30))
def test_any_text_comes_back_as_key_value_list_and_inline_table(
    key: str, text: str, comment: str, many: list[str]
) -> None:
    """A quote, a backslash, a line end or a control character in a header would break the profile for everybody."""
    tables = [
        Table("", [Entry("name", text, comment)], note=comment),
        Table("fields", [Entry(key, {"from": text, "unit": key}, comment), Entry("off", text, comment, off=True)]),
        Table("ignore", [Entry("headers", many, comment)]),
        Table("long", [Entry("from", text), Entry("set", {key: 0} | {"x": 2.5, "y": True})], many=True),
    ]
    found = tomllib.loads(text_of(tables))
    assert found["name"] == text
    assert found["fields"] == {key: {"from": text, "unit": key}}
    assert found["ignore"]["headers"] == many
    assert found["long"] == [{"from": text, "set": {key: 0} | {"x": 2.5, "y": True}}]


def test_no_line_is_wider_than_a_screen() -> None:
    """A long comment stands above its line, a long list on many lines."""
    long = "word " * 60
    text = text_of([Table("match", [Entry("headers", [f"Header {i}" for i in range(40)], long)], note=long)])
    assert max(map(len, text.splitlines())) <= 120


def test_the_same_question_about_several_columns_is_asked_once() -> None:
    asks = asked_once([Ask("long.set.unit", "why", "P"), Ask("kind", "other"), Ask("long.set.unit", "why", "K")])
    assert asks == [Ask("long.set.unit", "why", "P, K"), Ask("kind", "other", "")]
