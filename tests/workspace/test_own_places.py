"""Places that settings name are of this machine, and no link of a workspace's folders leads out of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.findings.findings import rules
from pipeline.profiles.corrections import read_corrections
from pipeline.profiles.profile import read_profiles
from pipeline.store.decisions import read_decisions
from pipeline.survey.visit_notes import visit_notes
from pipeline.workspace.settings import open_workspace

READ: dict[str, Callable[[Path], object]] = {
    "profiles": read_profiles,
    "corrections": read_corrections,
    "decisions": read_decisions,
    "findings": rules,
    "surveys": lambda folder: visit_notes(folder / "own.toml"),
}


@pytest.mark.parametrize("key", ["store", "profiles", "rejected", "reports"])
@pytest.mark.parametrize(
    "place",
    ["http://records.example/x", "s3://x/y", "md:records", ":memory:", "~/x", "", " ", "a\\u0000b", "a?b", "/", "//"],
)
def test_an_address_is_refused_with_line_and_value(tmp_path: Path, key: str, place: str) -> None:
    """A store that another machine answers for, or that is nowhere, holds nothing that can be proved."""
    (tmp_path / "settings.toml").write_text(f'# a\n{key} = "{place}"\n', "utf-8")
    with pytest.raises(CannotDo) as told:
        open_workspace(tmp_path)
    assert told.value.message.startswith(f"settings.toml does not fit: line 2, {key} = ")
    assert " must " in told.value.message


@pytest.mark.parametrize(
    "place", ["out", "out/", "deep/out", "./out", "Ausgabe für Müller", ".hidden", "../shared", "/srv/reports"]
)
def test_a_place_of_this_machine_is_taken(tmp_path: Path, place: str) -> None:
    (tmp_path / "settings.toml").write_text(f'reports = "{place}"\n', "utf-8")
    assert open_workspace(tmp_path).reports == tmp_path / place


@pytest.mark.parametrize("folder", READ)
@pytest.mark.parametrize("whole", [False, True])
def test_a_link_that_leads_out_is_refused(tmp_path: Path, folder: str, whole: bool) -> None:
    """Names and values of another file would stand in the refusal of what does not fit."""
    outside, workspace = tmp_path / "outside", tmp_path / "workspace"
    outside.mkdir()
    workspace.mkdir()
    (outside / "own.toml").write_text('password = "hush"\n', "utf-8")
    if whole:
        (workspace / folder).symlink_to(outside, target_is_directory=True)
    else:
        (workspace / folder).mkdir()
        (workspace / folder / "own.toml").symlink_to(outside / "own.toml")
    with pytest.raises(CannotDo) as told:
        READ[folder](workspace / folder)
    assert told.value.message == f"{folder}/own.toml leads out of the workspace."
    assert told.value.hint == "Copy the file into it."


@pytest.mark.parametrize("folder", ["profiles", "findings"])
def test_a_link_within_the_workspace_is_followed(tmp_path: Path, folder: str) -> None:
    (tmp_path / folder).mkdir()
    (tmp_path / "kept.toml").write_text("", "utf-8")
    (tmp_path / folder / "own.toml").symlink_to(tmp_path / "kept.toml")
    if folder == "findings":
        assert READ[folder](tmp_path / folder)
    else:
        with pytest.raises(CannotDo, match=r"own\.toml does not fit"):
            READ[folder](tmp_path / folder)
