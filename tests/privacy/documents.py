"""Every document there is, made for one club of the county of words, and what of each sort stands in it."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from typer.testing import CliRunner

from pipeline.cli.app import app
from pipeline.workspace.settings import Workspace
from tests.privacy.county import COSTS, OTHER, OWN, PRICE, RATE, VISITS
from tests.privacy.looking import even, everything

GREEN = f"{OWN}-1"


@dataclass(frozen=True)
class Made:
    """A document as the table of docs/privacy.md names it.

    Attributes:
        command: the words of the command that makes it, without the workspace.
        files: pattern of its files' names, "" where what is printed is the document.
    """

    command: str
    files: str = ""


DOCUMENTS: Mapping[str, Made] = {
    "condition report": Made(f"report --green {GREEN} --only condition --force", rf"{GREEN}-condition-2026\.pdf"),
    "condition report, short": Made(f"report --green {GREEN} --only condition --short --force", r".*-short-2026\.pdf"),
    "season summary": Made(f"report --club {OWN} --only summary --force", r".*-summary-2026\.pdf"),
    "handout and its e-mail": Made(f"report --club {OWN} --only handout --force", r".*-handout-2026\.(pdf|txt)"),
    "round-up": Made("report --all --only round-up --force", r"round-up-2026\.pdf"),
    "comparison of the association": Made("compare --force", r"comparison-all-2026.*\.(pdf|csv)"),
    "comparison of a club": Made(f"compare --club {OWN} --force", r"comparison-ald-2026.*\.(pdf|csv)"),
    "comparison, each club its own": Made("compare --each-club --force", r"comparison-ald-2026.*\.(pdf|csv)"),
    "survey": Made(f"survey {GREEN} {VISITS[OWN]} --force", rf"{GREEN}-survey-.*\.pdf"),
    "due list of a club": Made(f"due --club {OWN} --until 2027-03-31 --pdf --force", rf"{OWN}-due-.*\.(pdf|csv)"),
    "order for a club": Made(f"order --season 2027 --to clubs --as-of 2026-11-01 --club {OWN} --force", r"order.*"),
    "programme and its price": Made(f"programme {GREEN} --last-season --km 10 --force", r".*-programme-2027.*"),
    "costs": Made(f"costs {OWN} --csv costs.csv", r"costs\.csv"),
    "forms": Made("forms crew", r"crew\.(xlsx|pdf)"),
    "rejected rows": Made("", r"jobs_qz.*\.rejected\.csv"),
    "rejected rows as workbooks": Made("forms --rejected", r"jobs_qz.*\.rejected\.xlsx"),
    "show --json": Made(f"show {GREEN} --json"),
    "due --json": Made(f"due --club {OWN} --json"),
    "status --json": Made("status --json"),
    "history --json": Made("history --json"),
}


def texts(workspace: Workspace, made: Made) -> list[bytes]:
    """The files of a document, made where a command makes them, or what it printed as a result.

    Raises:
        AssertionError: it could not, or wrote none of these files.
    """
    done = None
    if made.command:
        with contextlib.chdir(workspace.folder):
            done = CliRunner().invoke(app, [*made.command.split(), "--workspace", str(workspace.folder)])
        assert done.exit_code in {0, 1}, done.output
    if done is not None and not made.files:
        return [done.stdout.encode()]
    found = [path for path in sorted(workspace.folder.rglob("*.*")) if re.fullmatch(made.files, path.name)]
    found = [path for path in found if path.is_file()]
    assert found, f"{made.command} wrote no file like {made.files}"
    return [path.read_bytes() for path in found]


COLUMNS: Mapping[str, tuple[str, ...]] = {
    "names of clubs and greens": ("name",),
    "who did it": ("person",),
    "contact, remarks on clubs and greens": ("contact", "register"),
    "other remarks": ("remark",),
    "words in other fields": ("free",),
    "addressee": ("addressee",),
    "money": ("money",),
    "files of records": ("file",),
    "files of pictures": ("picture",),
    "camera": ("camera",),
    "decisions": ("decided",),
    "folders": (),
    "time of day": (),
}
"""Columns of the table of docs/privacy.md, with the sorts of words that each is about."""
NAMES = {OWN: ("Alder Brook Bowls Club", GREEN), OTHER: ("Fennick Crown Green Bowls Club", f"{OTHER}-1")}
_TIME = re.compile(r"\d{4}-\d\d-\d\d[T ](?!00:00:00)\d\d:\d\d:\d\d|D:\d{8}(?!000000)\d{6}")


def cells(contents: list[bytes]) -> dict[str, str]:
    """What stands in a document of each column.

    "no", of its "own" club, of "all"; of money also "sums", where there are sums or prices and no single work's cost.
    """
    text = "\n".join(map(everything, contents))
    raw = "\n".join(content.decode("latin-1") for content in contents)
    told = {column: {club for sort in sorts for club in _clubs(sort, text)} for column, sorts in COLUMNS.items()}
    found = {column: "all" if OTHER in clubs else "own" if clubs else "no" for column, clubs in told.items()}
    if found["money"] == "no" and any(one in text for one in (PRICE, RATE, "£", "gbp")):
        found["money"] = "sums"
    found["folders"] = "all" if "qzmachineuser" in text else "no"
    found["time of day"] = "all" if _TIME.search(raw) else "no"
    return found


def _clubs(sort: str, text: str) -> Iterator[str]:
    for club in (OWN, OTHER):
        cost = COSTS[club]
        marks = {"name": NAMES[club], "money": (cost, f"{cost[0]},{cost[1:]}")}.get(sort, (f"qz{sort}{club}",))
        if any(even(one) in text for one in marks):
            yield club
