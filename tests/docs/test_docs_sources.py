"""What a client reads names no web site and rests on nobody's memory; the code and docs/ name no web site either."""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from tokenize import COMMENT

import pytest

from pipeline.agronomy.soil.reference import Table, table
from pipeline.indicators.base.standing import shipped_rows
from pipeline.indicators.families import DESCRIBED
from pipeline.workspace.targets import shipped_targets, target_sets
from schemas import KINDS
from schemas.codes import code_list

ROOT = Path(__file__).parents[2]
MEMORY = re.compile(r"from memory", re.IGNORECASE)
NAMESPACES = re.compile(r"https?://(?:www\.w3\.org|www\.aiim\.org|schemas\.openxmlformats\.org)/[\w/#.-]*")
"""Names of XML vocabularies, which a renderer writes and nobody reads."""
ADDRESS = re.compile(r"https?://|www\.|\b[a-z0-9-]+\.(?:co\.uk|com|org|net|info|io|gov|edu|wales)\b", re.IGNORECASE)
TABLES: tuple[Table, ...] = ("mlsn", "slan", "uk_index", "root_zone", "dressing", "layer_match")


def offences(text: str, *patterns: re.Pattern[str]) -> list[str]:
    """What of a text must not be there."""
    return [found for one in patterns for found in one.findall(NAMESPACES.sub("", text))]


def literals(path: Path) -> Iterator[str]:
    """The texts of a module that are not documentation: what it may print."""
    tree = ast.parse(path.read_text("utf-8"))
    documented = {
        id(node.value)
        for parent in ast.walk(tree)
        if isinstance(parent, ast.Module | ast.ClassDef | ast.FunctionDef)
        for node in parent.body
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documented:
            yield node.value


def prose(path: Path) -> str:
    """What somebody wrote into a file in words: of a module its texts and comments, for ``one.net`` is a sum."""
    text = path.read_text("utf-8")
    if path.suffix != ".py":
        return text
    texts = (node.value for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Constant))
    comments = (one.string for one in tokenize.generate_tokens(io.StringIO(text).readline) if one.type == COMMENT)
    return "\n".join([*(one for one in texts if isinstance(one, str)), *comments])


def told() -> Iterator[tuple[str, str]]:
    """Everything a document or a message may say, with the place that says it."""
    for name, what in DESCRIBED.items():
        yield from ((f"indicator {name}", str(getattr(what, one.name))) for one in fields(what))
        for of in target_sets():
            yield from ((f"target {name} of {of}", str(row)) for row in shipped_rows(what, of))
    for of in target_sets():
        yield f"set {of}", str(shipped_targets(of)) if of != "standard" else ""
    for path in sorted((ROOT / "schemas/codes").glob("*.toml")):
        yield path.name, str(code_list(path.stem))
    for name in TABLES:
        yield f"table {name}", str(table(name))
    yield "kinds", str([(one.title, one.grain, one.fields) for one in KINDS.values()])
    for path in sorted((ROOT / "reports/templates").glob("*.j2")):
        yield path.name, path.read_text("utf-8")
    yield "rules.toml", (ROOT / "pipeline/findings/rules.toml").read_text("utf-8")
    for room in ("pipeline", "reports", "schemas"):
        for path in sorted((ROOT / room).rglob("*.py")):
            yield from ((str(path.relative_to(ROOT)), one) for one in literals(path))


def test_nothing_a_client_reads_is_from_memory_or_names_a_web_site() -> None:
    """A consultant hands the page over: a source there is a title that can be looked up, or no source at all."""
    every = list(told())
    assert len(every) > 3000
    assert [(place, found) for place, text in every if (found := offences(text, MEMORY, ADDRESS))] == []


@pytest.mark.parametrize("places", ["pipeline/**/*.py", "docs/*.md", "tests/published/*.py", "demo_data/*.py"])
def test_sources_are_named_by_author_title_and_year(places: str) -> None:
    """A trade's web site is gone or changed within the year; formulas' docstrings and docs/method.md named eleven."""
    paths = sorted(ROOT.glob(places))
    assert paths
    assert [(path.name, found) for path in paths if (found := offences(prose(path), ADDRESS))] == []


def test_a_site_is_found_in_a_comment_and_in_a_docstring_and_no_sum_is_one(tmp_path: Path) -> None:
    path = tmp_path / "module.py"
    path.write_text('"""As trade.com says."""\nx = one.net  # see other.net\ny = f"{one.net}"\n', "utf-8")
    assert offences(prose(path), ADDRESS) == ["trade.com", "other.net"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("as quoted by some-trade.com", ["some-trade.com"]),
        ("See www.example", ["www."]),
        ("RB209, From memory", ["From memory"]),
        ('xmlns="http://www.w3.org/2000/svg"', []),
        ("common practice, no source; e.g. 0.5 mm", []),
    ],
)
def test_what_counts_as_an_offence(text: str, found: list[str]) -> None:
    assert offences(text, MEMORY, ADDRESS) == found
