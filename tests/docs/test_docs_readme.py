"""The README's first workspace, typed in as a new user would; and what the hand-written pages name exists."""

from __future__ import annotations

import re
import shlex
import sys
import tomllib
from pathlib import Path

import pytest

from pipeline.cli.app import main
from pipeline.store.store import Store
from tests.thorough import thorough

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def run(monkeypatch: pytest.MonkeyPatch, line: str) -> int:
    """Type one line of the README."""
    words = shlex.split(line.partition("#")[0])
    if words[0] == "cd":
        monkeypatch.chdir(words[1])
        return 0
    assert words[0] == "swardtally", line
    monkeypatch.setattr(sys, "argv", words)
    with pytest.raises(SystemExit) as ended:
        main()
    assert isinstance(ended.value.code, int)
    return ended.value.code


def shell_lines() -> list[str]:
    """Lines of the README's shell blocks that a first workspace needs, in order."""
    section = README.partition("## A first workspace of your own")[2].partition("\n## ")[0]
    blocks = re.findall(r"```sh\n(.*?)```", section, re.DOTALL)
    return [line for block in blocks for line in block.splitlines() if not line.startswith(". ")]


def type_files(folder: Path) -> None:
    """Saves the README's first four files in the inbox, as it says."""
    files = re.findall(r"`(\w+\.csv)`\n+```csv\n(.*?)```", README, re.DOTALL)
    assert [name for name, _ in files] == ["clubs.csv", "greens.csv", "materials.csv", "jobs.csv"]
    for name, text in files:
        (folder / "first" / "inbox" / name).write_text(text, "utf-8")


def decided(draft: str, decisions: list[str]) -> str:
    """A draft with the README's lines in place of those that ask."""
    for line in decisions:
        key = re.escape(line.partition(" = ")[0])
        draft, times = re.subn(rf'^{key} = .*"\?".*$', line, draft, flags=re.MULTILINE)
        assert times == 1, line
    return draft


def test_the_first_workspace_does_what_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first thing a new user does must not fail."""
    monkeypatch.chdir(tmp_path)
    lines = shell_lines()
    words = [line.split()[0] if line.startswith("cd") else line.split()[1] for line in lines]
    assert words == ["init", "cd", "load", "show", "report"]
    assert run(monkeypatch, lines[0]) == 0
    type_files(tmp_path)
    assert [run(monkeypatch, line) for line in lines[1:]] == [0, 1, 0, 0]
    assert run(monkeypatch, "swardtally show ALD-1 --all") == 0  # named in the text below
    said = capsys.readouterr()
    assert said.out.count("1.39 kg/m²") == 2
    assert "0.9 mm" in said.out
    assert "There is no such day: 31 Apr 2026" in said.err
    assert Path("reports/2026/ALD-1-condition-2026.pdf").read_bytes().startswith(b"%PDF")
    rejects = Path("rejected/jobs.rejected.csv")
    text = rejects.read_text("utf-8-sig")
    rejects.write_text(text.replace("31 Apr", "30 Apr"), "utf-8")
    assert run(monkeypatch, "swardtally load rejected/jobs.rejected.csv") == 0
    assert run(monkeypatch, "swardtally load inbox/clubs.csv") == 0
    assert "Nothing in the store changed: every row was there already." in capsys.readouterr().err


@thorough
def test_the_export_with_headers_of_its_own_does_what_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The walk goes on in the same workspace: its three rows must be three new jobs, each figure in its field."""
    monkeypatch.chdir(tmp_path)
    lines = shell_lines()
    run(monkeypatch, lines[0])
    type_files(tmp_path)
    assert [run(monkeypatch, line) for line in lines[1:3]] == [0, 1]
    section = README.partition("## An export with headers of its own")[2].partition("\n## ")[0]
    (text,) = re.findall(r"`crew\.csv`\n```\n(.*?)```", section, re.DOTALL)
    Path("crew.csv").write_bytes(text.encode("cp1252"))
    (commands,) = re.findall(r"```sh\n(.*?)```", section, re.DOTALL)
    draft, words, load = commands.splitlines()
    assert run(monkeypatch, draft) == 0
    assert run(monkeypatch, load) == 1  # a mark still stands
    capsys.readouterr()
    profile = Path("profiles/crew.toml")
    (lines_to_write,) = re.findall(r"```toml\n(.*?)```", section, re.DOTALL)
    done = decided(profile.read_text("utf-8"), lines_to_write.splitlines())
    assert '\ndebris = "?"\n' in done
    profile.write_text(done.replace('debris = "?"\n', ""), "utf-8")
    assert [run(monkeypatch, words), run(monkeypatch, load)] == [0, 0]
    row = capsys.readouterr().out.splitlines()[1].split()
    assert row[:8] == ["crew.csv", "job", "3", "3", "0", "0", "0", "0"]
    with Store(Path("store.duckdb"), read_only=True) as store:
        jobs = store.rows("SELECT operation, depth_mm, mass_kg, hours FROM job WHERE file = 'crew.csv' ORDER BY date")
    assert jobs == [
        ("scarifying", 3.175, None, 4.5),
        ("top_dressing", None, 1500.0, 6.25),
        ("fertilising", None, 50.0, 1.0),
    ]


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_no_link_of_a_hand_written_page_leads_nowhere(page: str) -> None:
    """A page that was moved, a picture that was not committed."""
    targets = re.findall(r"\]\(([^)#]+)", (ROOT / page).read_text("utf-8"))
    assert targets
    missing = [target for target in targets if "://" not in target and not (ROOT / target).exists()]
    assert missing == []


def test_every_path_developers_names_is_there() -> None:
    """A module that was renamed leaves the architecture page behind."""
    invented = {"schemas/level.py", "schemas/codes/<name>.toml"}
    named = set(re.findall(r"`((?:pipeline|reports|schemas|tests)/[^`]*)`", DEVELOPERS)) - invented
    assert len(named) > 20
    assert [path for path in sorted(named) if not (ROOT / path).exists()] == []


def test_every_page_a_message_names_is_there() -> None:
    """A hint that sends the reader to a page that is not."""
    named = {page for path in (ROOT / "pipeline").rglob("*.py")
             for page in re.findall(r"docs/\w+\.md", path.read_text("utf-8"))}  # fmt: skip
    assert {"docs/profiles.md", "docs/corrections.md"} <= named
    assert [page for page in sorted(named) if not (ROOT / page).is_file()] == []


def test_every_library_has_a_reason() -> None:
    """A dependency nobody can say the use of."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    wanted = project["project"]["dependencies"] + project["dependency-groups"]["dev"]
    names = {re.split(r"[\[<>=~!]", one)[0] for one in wanted}
    section = DEVELOPERS.partition("## Libraries")[2]
    assert [name for name in sorted(names) if not re.search(rf"\b{re.escape(name)}\b", section)] == []


def test_the_picture_is_small_enough_to_carry() -> None:
    """The README's picture is downloaded with every clone."""
    assert 10_000 < (ROOT / "docs" / "report-page.png").stat().st_size < 250_000
