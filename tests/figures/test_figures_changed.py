"""What changed since: each figure as it was and is, the lines behind it, and all that it can be due to."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest

from pipeline.cli.printing import figure_changes as printing
from pipeline.cli.printing.figure_changes import figure_changes
from pipeline.common.refusal import WrongUsage
from pipeline.figures.changed import Changed, FigureChange, SeasonChange, Step, changed
from pipeline.figures.refresh import keep_up
from pipeline.figures.span import Cause, Refresh
from pipeline.indicators.base.green_season import Indicator
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, open_workspace
from tests.figures.test_figures_refreshed import (
    TARGETS,
    area,
    figures_anew,
    label,
    log,
    one_job,
    soil,
    step,
)
from tests.thorough import thorough

Asked = Callable[..., tuple[str, str]]


def now() -> date:
    return datetime.now(UTC).date()


@pytest.fixture
def made(tmp_path: Path, of_one_job: Path) -> Workspace:
    """Registers and a log with a job of two greens (loads 1 to 4), their figures in the store."""
    return open_workspace(copytree(of_one_job, tmp_path / "workspace"))


def then(workspace: Workspace, *steps: tuple[str, Any]) -> Workspace:
    """The workspace after these, each with its figures brought up."""
    for what, how in steps:
        workspace = step(workspace, what, how)
        keep_up(workspace)
    return workspace


def since(workspace: Workspace, since: str = "", **asked: Any) -> Changed:
    return changed(workspace, since=since, today=now(), **asked)


def figures(found: Changed) -> dict[tuple[str, str, str, str], FigureChange]:
    return {(at.green, at.season, one.either.name, one.either.band): one for at in found.seasons for one in at.figures}


def values(found: Changed) -> dict[tuple[str, str], tuple[float | None, float | None]]:
    """Green and name of a figure → value before and after."""
    return {
        (green, name): (one.was.value if one.was else None, one.now.value if one.now else None)
        for (green, _, name, _), one in figures(found).items()
    }


def told(found: Changed, capsys: pytest.CaptureFixture[str]) -> tuple[list[str], list[str]]:
    """Lines of standard output and of messages."""
    figure_changes(found, quiet=False)
    printed = capsys.readouterr()
    return printed.out.splitlines(), printed.err.splitlines()


def test_a_first_load_is_a_line_a_season(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    out, err = told(since(made), capsys)
    assert out == [
        "ALD-1, season 2025: has figures now (4), as of 2025-05-01; it had none",
        "PEN-1, season 2025: has figures now (4), as of 2025-05-02; it had none",
    ]
    assert err == [
        "Figures were last brought up for: load 1 (clubs.csv), load 2 (greens.csv), load 3 (materials.csv) and "
        "load 4 (log-a.csv).",
        "",
    ]
    with Store(made.store, read_only=True) as store:
        assert store.rows("SELECT count(*) FROM meta.figure_changed") == [(0,)], "first figures are not kept one by one"


def test_a_line_of_a_record(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """What the last load did: the former line and the one in its place; the other green is not named."""
    then(made, ("log-a.csv", one_job(7)))
    out, err = told(since(made), capsys)
    assert out == [
        "ALD-1, season 2025, as of 2025-05-01",
        "  Hours of work  2.0 → 7.0 h  load 5: line 2 of log-a.csv; no longer line 2 of log-a.csv (load 4)",
        "  Hours, Mowing  2.0 → 7.0 h  load 5: line 2 of log-a.csv; no longer line 2 of log-a.csv (load 4)",
    ]
    assert err == ["Figures were last brought up for: load 5 (log-a.csv).", ""]


def test_on_a_screen_the_reason_stands_below_its_figure(
    made: Workspace, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 96 characters, a terminal of 80 broke each line in the middle of a word."""
    then(made, ("log-a.csv", one_job(7)))
    monkeypatch.setattr(printing, "screen_width", lambda: 60)
    out, _ = told(since(made), capsys)
    assert out == [
        "ALD-1, season 2025, as of 2025-05-01",
        "  Hours of work  2.0 → 7.0 h",
        "    load 5: line 2 of log-a.csv; no longer line 2 of",
        "      log-a.csv (load 4)",
        "  Hours, Mowing  2.0 → 7.0 h",
        "    load 5: line 2 of log-a.csv; no longer line 2 of",
        "      log-a.csv (load 4)",
    ]
    monkeypatch.setattr(printing, "screen_width", lambda: 120)
    assert len(told(since(made), capsys)[0]) == 3


def test_a_load_taken_back(made: Workspace) -> None:
    """Figures that no record can make any more are told all the same."""
    then(made, ("log-a.csv", one_job(7)), ("undo", 0))
    found = since(made)
    assert values(found)["ALD-1", "hours_h"] == (7.0, 2.0)
    (one,) = found.refreshes
    assert [(cause.what, cause.number, cause.file) for cause in one.causes] == [("undo", 5, "log-a.csv")]
    ways = {(run.way, run.load_id, run.first) for run in figures(found)["ALD-1", "2025", "hours_h", ""].steps[0].runs}
    assert ways == {("came", 4, 2), ("went", 5, 2)}


@thorough
def test_lines_of_a_figure_that_is_gone(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines of another load that stand as before are none of the reasons, though the figure rested on them too."""
    then(made, *((f"speeds-{year}.csv", _speeds(year, seconds)) for year, seconds in ((2024, 11), (2025, 12))))
    then(made, ("undo", 0))
    found = since(made)
    one = figures(found)["ALD-1", "2025", "speed_change_s", ""]
    assert one.now is None
    assert {run.file for run in one.steps[0].runs} == {"speeds-2024.csv", "speeds-2025.csv"}
    (line,) = [line for line in told(found, capsys)[0] if line.strip().startswith("Green speed against")]
    assert line.endswith("load 6 taken back: no longer lines 2–9 of speeds-2025.csv")


def _speeds(year: int, seconds: int) -> str:
    """Green speeds of one visit."""
    head = "date,green,rink,direction,device,value,unit,distance_m\n"
    rows = (f"{year}-05-05,ALD-1,{rink},{to},timed_bowl,{seconds},s,27\n" for rink in (1, 2, 3, 4) for to in "NS")
    return head + "".join(rows)


@thorough
def test_what_came_back_drops_out(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    then(made, ("log-a.csv", one_job(7)), ("undo", 0))
    out, err = told(since(made, "5"), capsys)
    assert out == []
    assert err == [
        "Since load 5, that one included, figures were brought up for: load 5 (log-a.csv) and load 5 (log-a.csv) taken "
        "back.",
        "",
        "No figure changed.",
    ]


@thorough
def test_a_span_is_first_and_last(made: Workspace) -> None:
    """The load that is named counts; what lies between is not told, its reasons are."""
    then(made, ("log-a.csv", one_job(7)), ("log-a.csv", one_job(3)), ("log-a.csv", one_job(9)))
    assert values(since(made, "6"))["ALD-1", "hours_h"] == (7.0, 9.0)
    found = since(made, "5")
    assert values(found)["ALD-1", "hours_h"] == (2.0, 9.0)
    assert [one.refresh for one in figures(found)["ALD-1", "2025", "hours_h", ""].steps] == [2, 3, 4]


@thorough
def test_a_register_names_its_load(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """The lines are the same: the load of the register is the reason."""
    then(made, ("log-b.csv", log([(50, "ALD-1", "feed")])), ("materials.csv", label(8)))
    out, _ = told(since(made, greens=["ald-1"]), capsys)
    assert out[0] == "ALD-1, season 2025, as of 2025-05-01"
    (nitrogen,) = (line for line in out if "Nitrogen (N) applied" in line)
    assert re.sub("  +", "  ", nitrogen).strip() == "Nitrogen (N) applied  30 → 24 kg/ha  load 6 (materials.csv)"


@thorough
def test_a_target(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """The value stays; what is said of it and its target are told before and after."""
    then(
        made,
        ("log-b.csv", log([(50, "ALD-1", "feed")])),
        ("targets.csv", f"{TARGETS}nitrogen_dose_g_m2,green,ALD-1,,2.5,g/m²,house\n"),
    )
    out, _ = told(since(made, greens=["ALD-1"]), capsys)
    assert [re.sub("  +", "  ", line).strip() for line in out if "single dose" in line] == [
        "Largest single dose of nitrogen  3.0 g/m²  on target → off  target at most 4.9 → at most 2.5  load 6 (targets.csv)"  # noqa: E501
    ]


@thorough
def test_settings(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """Settings and a load at once: both are named, none is ruled out; nobody knows the day of settings alone."""
    then(made, ("log-b.csv", log([(50, "ALD-1", "dress"), (60, "PEN-1", "dress")])))
    other = step(made, "settings", 1.1)
    stale = since(other)
    assert stale.stale == "settings were changed since they were made"
    _, err = told(stale, capsys)
    assert err[-1] == (
        "The figures in the store are not brought up: settings were changed since they were made. What that changes is "
        "listed once the next load, undo or decision brings them up."
    )
    then(other, ("log-c.csv", log([(70, "ALD-1", "dress")])))
    found = since(other)
    assert found.stale == ""
    assert [cause.what for cause in found.refreshes[0].causes] == ["load", "settings"]
    out, _ = told(found, capsys)
    by_green = {name: [line for line in lines if "Top dressing" in line] for name, lines in _grouped(out).items()}
    assert all(line.endswith("load 6: line 2 of log-c.csv, perhaps settings that were edited too") for line in by_green["ALD-1"])  # fmt: skip  # noqa: E501


def _grouped(out: list[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in out:
        if not line.startswith(" "):
            here = found.setdefault(line.split(",")[0], [])
        else:
            here.append(line)
    return found


@thorough
def test_another_currency(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """The number is the same and says something else."""
    then(made, ("log-b.csv", log([(50, "ALD-1", "feed")])))
    euro = Workspace(made.folder, made.settings.model_copy(update={"currency": "EUR"}))
    keep_up(euro)
    out, _ = told(since(euro), capsys)
    (price,) = (line for line in out if "kilogram of nitrogen" in line)
    assert "12.00 GBP/kg → 12.00 EUR/kg" in price
    assert price.endswith("  settings that were edited")


@thorough
def test_several_loads_at_once(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """An earlier refresh failed: what each of the loads did cannot be told apart, and that is said."""
    step(made, "log-b.csv", log([(50, "ALD-1", "feed")]))
    step(made, "greens.csv", area(900))
    step(made, "materials.csv", label(8))
    keep_up(made)
    _, err = told(since(made, "6"), capsys)
    assert err[1] == "5 was brought up together with 6: what each changed cannot be told apart."
    then(made, ("log-b.csv", log([(50, "ALD-1", "feed"), (51, "ALD-1", "feed")])))
    step(made, "greens.csv", area(800))
    step(made, "materials.csv", label(9))
    keep_up(made)
    out, _ = told(since(made), capsys)
    (dose,) = (line for line in out if "Largest single dose" in line)
    assert dose.endswith("load 9 (greens.csv) or load 10 (materials.csv)")


@thorough
def test_seasons_that_go_and_come_again(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """One line where they went; loaded again as they were, nothing is left to tell, and a figure that differs is."""
    then(made, ("undo", 0))
    assert told(since(made), capsys)[0] == [
        "ALD-1, season 2025: has no figures any more; it had 4, as of 2025-05-01",
        "PEN-1, season 2025: has no figures any more; it had 4, as of 2025-05-02",
    ]
    then(made, ("log-a.csv", one_job(2)))
    with Store(made.store, read_only=True) as store:
        (after_first,) = store.rows("SELECT min(refresh) FROM meta.season_changed WHERE NOT came")
    assert after_first == (2,)
    found = changed(made, since="4", today=now())
    assert [one.how for one in found.seasons] == ["came", "came"], "since the load that first brought them"
    then(made, ("log-a.csv", one_job(7)))
    assert values(since(made, "6"))["ALD-1", "hours_h"] == (2.0, 7.0)


@thorough
def test_gone_and_back_otherwise(made: Workspace) -> None:
    """Over a span in which a season went and came again, each figure is compared all the same."""
    then(made, ("log-b.csv", log([(50, "PEN-2", "mow")])), ("undo", 0), ("log-b.csv", log([(50, "PEN-2", "feed")])))
    then(made, ("undo", 0), ("log-b.csv", log([(50, "PEN-2", "mow")])))
    found = since(made, "6")
    assert [(one.green, one.how) for one in found.seasons] == [("PEN-2", "came")]
    with Store(made.store, read_only=True) as store:
        again = store.rows("SELECT refresh, count(*) FROM meta.figure_changed GROUP BY refresh ORDER BY refresh")
    assert [number for number, _ in again] == [3, 4, 5, 6], "once gone, each figure is kept as it comes again"


@thorough
def test_a_mark_that_is_in_question(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """A rejected row puts figures in question, and mended it does no more; the value may stay as it was."""
    then(made, ("log-b.csv", log([(50, "ALD-1", "feed"), (60, "ALD-1", "bad")])))
    one = figures(since(made))["ALD-1", "2025", "hours_h", ""]
    assert one.was and one.now and (bool(one.was.questioned), bool(one.now.questioned)) == (False, True)
    assert {(run.way, run.first) for run in one.steps[0].runs} == {("came", 2), ("questioned", 3)}
    then(made, ("log-b.csv", log([(50, "ALD-1", "feed"), (60, "ALD-1", "mow")])))
    out, _ = told(since(made), capsys)
    fed = next(line for line in out if "Hours, Fertilising" in line)
    assert fed.split() == ["Hours,", "Fertilising", "1.0", "?", "→", "1.0", "h", *fed.split()[7:]]
    assert fed.endswith("load 6 (log-b.csv): no longer to be checked: line 3 of log-b.csv (load 5)")


def test_a_figure_that_cannot_be_made_is_not_known(capsys: pytest.CaptureFixture[str]) -> None:
    """A dash was read as nothing there; no figure before and one that the records cannot carry are two things."""
    blank = Indicator("opened_pct", "Opened", "Verticutting", None, "%", 1, standing="no target")
    refresh = Refresh(1, 5, (Cause("load", 5, "log-b.csv", "job"),))
    season = SeasonChange(
        "ALD-1", "2025", "ALD", "", 1, date(2025, 5, 1), date(2025, 5, 1),
        (FigureChange(None, blank, (Step(1, ()),)),),
    )  # fmt: skip
    out, _ = told(Changed("", (refresh,), (), "", (season,)), capsys)
    assert out[1:] == ["  Opened, Verticutting  no figure → not known  load 5 (log-b.csv)"]


@thorough
def test_days(made: Workspace) -> None:
    """A load of an earlier day is left out, settings between two loads count with the later one."""
    workspace = then(made, ("log-b.csv", log([(50, "ALD-1", "dress")])), ("settings", 1.1), ("log-a.csv", one_job(7)))
    early = datetime.now(UTC).replace(tzinfo=None) - timedelta(days=10)
    with Store(workspace.store) as store:
        store.con.execute("UPDATE meta.load SET loaded_at = ? WHERE load_id < 6", [early])
    asked = [one.number for one in since(workspace, str(now())).refreshes]
    assert asked == [3, 4], "the settings may have been edited on that day"
    assert [one.number for one in since(workspace, str(now() - timedelta(days=10))).refreshes] == [1, 2, 3, 4]
    assert [one.number for one in since(workspace, str(now() - timedelta(days=30))).refreshes] == [1, 2, 3, 4]


@thorough
def test_decisions_are_loads_of_their_own(made: Workspace) -> None:
    """A row set aside, and that taken back."""
    from pipeline.store.decide import decide
    from pipeline.store.undo import undo

    then(made, ("log-b.csv", log([(50, "ALD-1", "feed"), (60, "ALD-1", "bad")])))
    decide(made, "aside", ["log-b.csv:3"], "a slip", "office")
    keep_up(made)
    found = since(made, "6")
    assert [(one.what, one.number) for one in found.refreshes[0].causes] == [("decision", 6)]
    one = figures(found)["ALD-1", "2025", "hours_h", ""]
    assert one.was and one.now and (bool(one.was.questioned), bool(one.now.questioned)) == (True, False)
    undo(made, 6)
    keep_up(made)
    assert [(one.what, one.number) for one in since(made).refreshes[0].causes] == [("decision taken back", 6)]
    assert values(since(made))["ALD-1", "hours_h"] == (3.0, 3.0)
    assert since(made, "6").seasons == ()


@thorough
def test_greens_and_clubs_in_any_case(made: Workspace) -> None:
    then(made, ("log-a.csv", one_job(7).replace("2025-05-02,PEN-1,mowing,,,1", "2025-05-02,PEN-1,mowing,,,2")))
    assert {one.green for one in since(made).seasons} == {"ALD-1", "PEN-1"}
    assert {one.green for one in since(made, greens=["ald-1"]).seasons} == {"ALD-1"}
    assert {one.green for one in since(made, clubs=["pen"]).seasons} == {"PEN-1"}
    assert {one.green for one in since(made, clubs=["pen"], greens=["ALD-1"]).seasons} == {"ALD-1", "PEN-1"}
    with pytest.raises(WrongUsage, match="There is no green “ALD-9”"):
        since(made, greens=["ALD-9"])


@pytest.mark.parametrize(
    ("asked", "message", "hint"),
    [
        ("99", "There is no load or decision 99.", "swardtally history lists them"),
        ("0", "There is no load or decision 0.", "swardtally history lists them"),
        ("soon", "“soon” is no load, no decision and no day.", "Say the number of one"),
        ("2999-01-01", "2999-01-01 is still to come: nothing has changed since.", "Days are in UTC"),
    ],
)
def test_what_cannot_be_asked(made: Workspace, asked: str, message: str, hint: str) -> None:
    with pytest.raises(WrongUsage) as caught:
        since(made, asked)
    assert caught.value.message == message
    assert caught.value.hint.startswith(hint)


@thorough
def test_a_refresh_that_fails_keeps_nothing(made: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """What it had begun to keep goes with it, and the next one names both loads."""
    step(made, "log-a.csv", one_job(7))
    with monkeypatch.context() as broken, pytest.raises(MemoryError):
        broken.setattr("pipeline.figures.table.settle", _fails)
        keep_up(made)
    assert since(made).stale == "something was loaded, taken back or decided since they were made"
    assert [one.number for one in since(made).refreshes] == [1]
    assert since(made, "5").refreshes == ()
    then(made, ("log-b.csv", log([(50, "PEN-2", "mow")])))
    assert since(made).refreshes[0].numbers == [5, 6]


def _fails(*_: object) -> None:
    raise MemoryError


@thorough
def test_figures_made_anew_as_a_whole(made: Workspace, capsys: pytest.CaptureFixture[str]) -> None:
    """Where nobody knows what stood there before, none is said to have changed, and that is said."""
    figures_anew(made)
    out, err = told(since(made), capsys)
    assert out == []
    assert err[0] == (
        "Figures were last brought up for: figures made anew as a whole, so that what was there before is not known."
    )
    then(made, ("log-a.csv", one_job(7)))
    assert values(since(made))["ALD-1", "hours_h"] == (2.0, 7.0)


@thorough
def test_a_store_that_had_figures_before_the_log(made: Workspace) -> None:
    """It begins with what comes next: earlier loads are no reason, and asked about, that is said."""
    then(made, ("log-b.csv", log([(50, "PEN-2", "mow")])), ("undo", 0))
    with Store(made.store) as store:
        for name in ("refresh", "refresh_cause", "season_changed", "figure_changed", "figure_changed_line"):
            store.con.execute(f"DELETE FROM meta.{name}")
    assert since(made).refreshes == ()
    then(made, ("log-a.csv", one_job(7)))
    found = since(made, "2")
    assert [(one.what, one.number) for one in found.refreshes[0].causes] == [("load", 6)]
    assert found.notes == ("What loads before 6 changed was not kept.",)
    assert values(found)["ALD-1", "hours_h"] == (2.0, 7.0)
    then(made, ("undo", 0))
    assert [(one.what, one.number) for one in since(made).refreshes[0].causes] == [("undo", 6)]


def test_json_says_all_of_it(made: Workspace) -> None:
    then(made, ("log-a.csv", one_job(7)))
    found = since(made).as_json()
    assert {name: found[name] for name in ("since", "stale", "notes", "refreshes")} == {
        "since": "",
        "stale": "",
        "notes": [],
        "refreshes": [{"refresh": 2, "causes": [{"cause": "load", "number": 5, "file": "log-a.csv", "kind": "job"}]}],
    }
    (season,) = found["seasons"]
    hours = next(one for one in season["figures"] if one["name"] == "hours_h")
    assert (hours["was"]["value"], hours["now"]["value"], hours["now"]["unit"]) == (2.0, 7.0, "h")
    assert hours["because"] == [
        {
            "refresh": 2,
            "lines": [
                {"way": "came", "kind": "job", "load": 5, "file": "log-a.csv", "first": 2, "last": 2},
                {"way": "went", "kind": "job", "load": 4, "file": "log-a.csv", "first": 2, "last": 2},
            ],
        }
    ]


@thorough
def test_the_views_tell_the_same(made: Workspace) -> None:
    then(made, ("log-a.csv", one_job(7)), ("soil.csv", soil([(2025, "ALD-1", 55)])))
    with Store(made.store, read_only=True) as store:
        rows = store.rows(
            "SELECT due_to, green, indicator, was_value, now_value FROM figure_change WHERE indicator = 'hours_h'"
        )
        lines = store.rows(
            "SELECT way, file, first_line, last_line, load_id FROM figure_change_evidence "
            "WHERE indicator = 'hours_h' ORDER BY way"
        )
    assert rows == [("load 5", "ALD-1", "hours_h", 2.0, 7.0)]
    assert lines == [("came", "log-a.csv", 2, 2, 5), ("went", "log-a.csv", 2, 2, 4)]
