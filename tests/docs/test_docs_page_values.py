"""The values a workspace's own template may use are a contract: none goes without a new number."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from jinja2 import meta, nodes

from reports.page.document import TEMPLATES
from reports.page.templating import _environment
from scripts.docs import page_values

FILE = Path(__file__).with_name("page_values.json")
"""The values of the contract as it was given its number; `python -m tests.docs.test_docs_page_values` writes it."""
TOP = {"report", "house", "own", "colour", "attached", "groups", "plans", "left_out", "glossary"}
"""Names that a template starts from; docs/page-values.md lists what stands behind them."""


def test_no_value_goes_without_a_new_number() -> None:
    kept = json.loads(FILE.read_text("utf-8"))
    now = page_values.values()
    gone = {name: sorted(set(paths) - set(now.get(name, ()))) for name, paths in kept["values"].items()}
    gone = {name: paths for name, paths in gone.items() if paths}
    assert not gone or kept["contract"] < page_values.CONTRACT, (
        f"templates of a workspace may use {gone}: keep them, or raise CONTRACT, say it in CHANGELOG.md and write "
        f"{FILE.name} anew"
    )
    assert kept["contract"] == page_values.CONTRACT or not gone, f"write {FILE.name} anew"


@pytest.mark.parametrize("template", sorted(page_values.VIEWS))
def test_the_page_lists_what_the_shipped_template_uses(template: str) -> None:
    source = (TEMPLATES / f"{template}.html.j2").read_text("utf-8")
    parsed = _environment(None).parse(source)
    macros = {one.name for one in parsed.find_all(nodes.Macro)}
    macros |= {name for one in parsed.find_all(nodes.FromImport) for name in one.names if isinstance(name, str)}
    own = {one.name for one in parsed.find_all(nodes.Name) if one.ctx == "store"}
    used = meta.find_undeclared_variables(parsed) - macros - own
    assert used <= TOP
    assert "report" in used


def test_every_document_is_listed() -> None:
    assert {path.name.removesuffix(".html.j2") for path in TEMPLATES.glob("*.html.j2")} - {"base", "macros"} - {
        "survey-levels", "survey-macros",
    } == set(page_values.VIEWS)  # fmt: skip


def write() -> None:
    """Keep the values of now under the contract's number."""
    kept = {
        "contract": page_values.CONTRACT,
        "values": {name: sorted(one) for name, one in page_values.values().items()},
    }
    FILE.write_text(json.dumps(kept, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    write()
    sys.stdout.write(f"{FILE.name} written\n")
