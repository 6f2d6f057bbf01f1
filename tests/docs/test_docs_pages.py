"""The pages of docs/ are what the code makes, and say something of everything there is."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Callable
from inspect import signature
from pathlib import Path
from typing import Annotated

import pytest
from typer.testing import CliRunner

from pipeline.cli.app import app
from pipeline.indicators.families import FAMILIES
from pipeline.workspace.settings import SETTINGS_TEXT, Settings
from schemas import KINDS
from scripts import docs
from scripts.docs import codes, commands, corrections, faults, markdown, method, profiles
from scripts.docs.docstring import docstring_of
from scripts.docs.typewords import type_words


@pytest.mark.parametrize("name", docs.PAGES)
def test_a_committed_page_is_what_the_code_makes(name: str) -> None:
    """A page that was not made again after a change says what the tool no longer does."""
    path = docs.FOLDER / name
    assert path.is_file(), f"docs/{name} is missing: run make docs"
    assert path.read_text("utf-8") == docs.PAGES[name](), f"docs/{name} is not what the code makes: run make docs"


def test_pages_are_written_where_they_are_asked_for(tmp_path: Path) -> None:
    """A page the writer forgets would never be committed."""
    written = docs.write_pages(tmp_path / "docs")
    assert [path.name for path in written] == list(docs.PAGES)
    assert all(path.read_text("utf-8").startswith("# ") for path in written)


def test_no_link_of_a_page_leads_nowhere() -> None:
    """A heading that was renamed leaves links behind."""
    made = {name: make() for name, make in docs.PAGES.items()}
    anchors = {name: {markdown.anchor(line.lstrip("# ")) for line in text.splitlines() if line.startswith("#")}
               for name, text in made.items()}  # fmt: skip
    for name, text in made.items():
        written = re.sub(r"(?ms)^```.*?^```", "", text)  # examples of Markdown are no links of the page
        for target in (part.partition(")")[0] for part in written.split("](")[1:]):
            page, _, anchor = target.partition("#")
            if not anchor and page not in made and (docs.FOLDER / page).is_file():
                continue  # a picture, or a page that is measured rather than made
            assert (page or name) in made, f"{name} links to {target}"
            assert not anchor or anchor in anchors[page or name], f"{name} links to {target}"


def test_every_field_of_every_kind_is_on_the_page_of_records() -> None:
    """A field nobody can look up is filled in wrongly."""
    sections = docs.PAGES["records.md"]().split("\n## ")
    for kind in KINDS.values():
        section = next(part for part in sections if part.startswith(f"{kind.name}\n"))
        for field in kind.fields:
            row = next(line for line in section.splitlines() if line.startswith(f"| `{field.name}` |"))
            assert markdown.cell(field.meaning) in row
            assert all(f"`{word}`" in row for word in field.also), f"{kind.name}.{field.name}"


def test_every_list_and_every_fault_has_a_place() -> None:
    """A module whose faults were not imported would leave a hole in the catalogue."""
    lists = codes.list_names()
    assert {field.choices for kind in KINDS.values() for field in kind.fields if field.choices} <= set(lists)
    known = {kind.code for kind in faults.every_kind()}
    assert {"bytes.nul", "date.order_undeclared", "value.limits", "dose.high", "load.replaces"} <= known


@pytest.mark.parametrize("model", profiles.HEADINGS, ids=lambda model: model.__name__)
def test_every_key_of_a_profile_has_a_meaning(model: type) -> None:
    """A key that the model gained and the page did not, or the other way about."""
    extra = {"known_headers"} if model is profiles.ReadingPart else set()
    assert set(profiles.KEYS[model]) - extra == set(profiles.keys_of(model))


def test_every_key_of_a_correction_has_a_meaning() -> None:
    """The same for corrections."""
    assert set(corrections.KEYS) == set(corrections.keys())


def test_settings_shown_are_the_settings_in_force() -> None:
    """A default changed in the model alone would be told wrongly to everyone who runs init."""
    assert Settings.model_validate(tomllib.loads(SETTINGS_TEXT)) == Settings()
    assert set(tomllib.loads(SETTINGS_TEXT)) == set(Settings.model_fields)


def test_every_example_of_a_command_is_one_it_understands() -> None:
    """An example with an option that is no more."""
    runner = CliRunner()
    for name, example in commands.commands():
        words = shlex.split(example)
        assert words[:2] == ["swardtally", name]
        result = runner.invoke(app, [*words[1:], "--help"])
        assert result.exit_code == 0, f"{example}: {result.output}"
    assert runner.invoke(app, ["show", "ALD-1", "--no-such-option", "--help"]).exit_code != 0


FORMULAS = [one for module in method.modules() for one in method.public_formulas(module)]


@pytest.mark.parametrize("one", FORMULAS, ids=lambda one: f"{one.__module__.rpartition('.')[2]}.{one.__name__}")
def test_every_public_formula_says_where_it_comes_from(one: Callable[..., object]) -> None:
    """A formula without a source is an opinion."""
    section = method.function(one)
    assert "**Source**: " in section
    assert all(f"- `{name}`: " in section for name in signature(one).parameters)
    assert docstring_of(one).summary.replace("``", "`") in section.replace(r"\*", "*").replace("&lt;", "<")


def test_a_formula_without_a_source_is_found() -> None:
    """Holds the test above able to fail."""

    def no_source(x: float) -> float:
        """Half of something.

        Args:
            x: something.
        """
        return x / 2

    with pytest.raises(AssertionError, match="no_source has no Source line"):
        method.function(no_source)


def test_a_docstring_comes_apart_into_its_parts() -> None:
    """Wrapped lines lost, or a paragraph taken for a list."""

    class Thing:
        """What it is,
        on two lines.

        Formula: `a / b`,
        wrapped.

        Args:
            a: first, which
                goes on.
            b: second: with a colon.

        Opinion differs: some say so.

        Plain words.

        Source: somewhere.
        """

    said = docstring_of(Thing)
    assert said.summary == "What it is, on two lines."
    assert said.parts == {"Formula": "`a / b`, wrapped.", "Opinion differs": "some say so.", "Source": "somewhere."}
    assert said.lists["Args"] == {"a": "first, which goes on.", "b": "second: with a colon."}
    assert said.rest == ["Plain words."]


def test_markdown_leaves_what_stands_in_backticks_and_tames_the_rest() -> None:
    """A ``<`` that begins a tag, a ``|`` that begins a column, a ``*`` that begins emphasis."""
    assert markdown.cell("a < b * c | `<lod *`") == r"a &lt; b \* c \| `<lod *`"
    assert markdown.table(("a", "b", "c"), [(1, "", 2), (3, "", 4)]).splitlines() == [
        "| a | c |",
        "| --- | --- |",
        "| 1 | 2 |",
        "| 3 | 4 |",
    ]


def test_types_are_told_in_words() -> None:
    """A type shown as Python writes it says nothing to a grounds office."""
    assert type_words(str | None) == "text"
    assert type_words(tuple[str, ...]) == "list of texts"
    assert type_words(dict[str, float]) == "table of numbers"
    assert type_words(dict[str, tuple[Annotated[str, "short"], ...]]) == "table of lists of texts"
    assert type_words(dict[str, str | int]) == "table of text or whole number"


def test_indicator_names_stand_once() -> None:
    """Two indicators of one name would share a target."""
    names = [one.name for family in FAMILIES for one in family.described]
    assert len(names) == len(set(names))
