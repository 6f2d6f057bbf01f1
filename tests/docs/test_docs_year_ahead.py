"""The steps of docs/year-ahead.md, typed in as they stand there: each prints what the page says it prints."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from shutil import copytree

import pytest

from pipeline.workspace.settings import Workspace
from tests.docs.test_docs_readme import ROOT, run
from tests.thorough import thorough

PAGE = (ROOT / "docs" / "year-ahead.md").read_text("utf-8")
LEFT_OUT = "…"


def steps() -> list[tuple[str, list[str]]]:
    """Each command of the page with the lines that it is said to print."""
    blocks = re.findall(r"```sh\n(.*?)\n```\n```text\n(.*?)\n```", PAGE, re.DOTALL)
    return [(command, printed.splitlines()) for command, printed in blocks]


def edited(path: Path) -> int:
    """Changes the lines of a programme as the page's table says, and returns how many cells that were."""
    changes = re.findall(r"^\| (\w+), (from [\w ]+) \| `(\w+)` \| (\S+) \| (\S+) \|$", PAGE, re.MULTILINE)
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for work, reference, column, was, becomes in changes:
        (row,) = (one for one in rows if (one["operation"], one["reference"]) == (work, reference))
        assert row[column] == was
        row[column] = becomes
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return len(changes)


def astray(out: str, err: str, wanted: list[str]) -> list[str]:
    """The lines said to be printed that begin no message, and no line of the output after those before them."""
    lines, messages = iter(out.splitlines()), err.splitlines()
    return [
        line for line in wanted
        if not any(one.startswith(line) for one in messages) and not any(one.startswith(line) for one in lines)
    ]  # fmt: skip


@thorough
def test_the_steps_print_what_the_page_says(
    demo_county: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page of steps that no longer work is worse than none: nobody finds out before February."""
    copytree(demo_county.folder, tmp_path / "demo")
    monkeypatch.chdir(tmp_path / "demo")
    done = steps()
    assert [command.split()[1] for command, _ in done] == ["programme", "load", "due", "order", "programme"]
    for command, wanted in done:
        if command.split()[1] == "load":
            assert edited(Path(command.split()[-1])) == 3
        assert run(monkeypatch, command) == 0
        said = capsys.readouterr()
        assert astray(said.out, said.err, [line for line in wanted if line != LEFT_OUT]) == [], command
    for path in re.findall(r"^reports/\S+$", "\n".join(line for _, wanted in done for line in wanted), re.MULTILINE):
        assert Path(path).is_file(), path


def test_no_link_of_the_page_leads_nowhere() -> None:
    """Pages of docs/ that are made from the code have headings that change."""
    for target in re.findall(r"\]\(([^)]+)\)", PAGE):
        page, _, anchor = target.partition("#")
        text = (ROOT / "docs" / page).read_text("utf-8")
        assert not anchor or f"\n## {anchor}\n" in text, target
