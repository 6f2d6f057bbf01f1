"""A name that nothing bears, in a setting, rule, template, text or correction, is told with the closest right one."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.findings.findings import rules
from pipeline.profiles.corrections import idle, read_corrections
from pipeline.publish.branding import house_style_of
from pipeline.workspace.settings import SETTINGS, Settings, Workspace, open_workspace


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('seasn_start = "10-01"', "line 1, seasn_start: there is no such key; closest: season_start"),
        ('[house]\nnmae = "x"', "line 2, house.nmae: there is no such key; closest: name"),
        (
            "[method_options]\nrain_shar = 1.0",
            "line 2, method_options.rain_shar: there is no such key; closest: rain_share",
        ),
        (
            '[method_options]\ncation_weights = "exct"',
            "line 2, method_options.cation_weights = 'exct' must be 'exact', 'rounded' or 'rounded_k_391'; closest: "
            "exact",
        ),
    ],
)
def test_a_setting_that_there_is_not(text: str, said: str, tmp_path: Path) -> None:
    """A key or word that is passed over leaves the standard in force, and nobody knows."""
    (tmp_path / SETTINGS).write_text(text, "utf-8")
    with pytest.raises(CannotDo) as refused:
        open_workspace(tmp_path)
    assert refused.value.message == f"settings.toml does not fit: {said}"


def test_a_set_of_targets_that_there_is_not(tmp_path: Path) -> None:
    """Without the closest one it has to be looked for in a list."""
    (tmp_path / SETTINGS).write_text('targets = ["standrd"]', "utf-8")
    with pytest.raises(CannotDo, match="there is no set of targets 'standrd'; closest: standard; sets are "):
        open_workspace(tmp_path)


RULE = '[[rule]]\nid = "own"\nfinding = "x"\nmay_mean = "x"\nhelps = "x"\nsource = "x"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            f'{RULE}[[rule.all]]\nindicator = "mos_pct"\nat_least = 5\n',
            "own.toml does not fit: line 8, rule.0.all.0.indicator: there is no indicator 'mos_pct'; closest: moss_pct",
        ),
        (
            f'{RULE}works = ["scarifing"]\n[[rule.all]]\nindicator = "moss_pct"\nat_least = 5\n',
            "own.toml does not fit: line 7, rule.0.works: there is no operation 'scarifing'; closest: scarifying",
        ),
        (
            f'{RULE}helpz = "x"\n[[rule.all]]\nindicator = "moss_pct"\nat_least = 5\n',
            "own.toml does not fit: line 7, rule.0.helpz: there is no such key; closest: helps",
        ),
        ('[[rule]]\nid = "mosss"\ndrop = true\n', "own.toml drops the rule 'mosss', and there is none; closest: moss"),
    ],
)
def test_a_rule_about_what_there_is_not(text: str, said: str, tmp_path: Path) -> None:
    """A rule on a misspelt indicator never holds, and one that drops a misspelt id drops nothing."""
    (tmp_path / "own.toml").write_text(text, "utf-8")
    with pytest.raises(CannotDo) as refused:
        rules(tmp_path)
    assert refused.value.message.startswith(said)


def test_a_template_that_no_document_uses(tmp_path: Path) -> None:
    """A misspelt template is passed over and the shipped page printed in its place."""
    pages = tmp_path / "pages"
    pages.mkdir()
    workspace = Workspace(tmp_path, Settings())
    (pages / "conditon.html.j2").write_text("x", "utf-8")
    with pytest.raises(CannotDo) as refused:
        house_style_of(workspace)
    said = "No document uses pages/conditon.html.j2; closest: condition.html.j2"
    assert refused.value.message.startswith(said)
    (pages / "conditon.html.j2").rename(pages / "part.html.j2")
    (pages / "condition.html.j2").write_text('{% include "part.html.j2" %}', "utf-8")
    (pages / ".DS_Store").write_bytes(b"\0")
    assert house_style_of(workspace).templates == pages


def test_a_correction_of_a_file_that_was_never_loaded(tmp_path: Path) -> None:
    """It corrects nothing; one that gives the last part of a file's name is right."""
    (tmp_path / "known.toml").write_text(
        "".join(
            f'[[correction]]\nfile = "{file}"\nline = 2\ncolumn = "kg"\nfrom = "1"\nto = "2"\nwhy = "x"\nwho = "x"\n'
            for file in ("jbs.csv", "jobs.csv")
        ),
        "utf-8",
    )
    assert list(idle(read_corrections(tmp_path), ["crew/jobs.csv"])) == [
        "corrections/known.toml corrects “jbs.csv”, and no file of that name was ever loaded; closest: jobs.csv, "
        "crew/jobs.csv."
    ]
