"""The command line: exit codes, results on standard output, messages on standard error, whole sentences."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from shutil import copyfile

import pytest

from pipeline.cli import app as cli
from pipeline.load.load import Loader
from pipeline.workspace.settings import Workspace
from tests.conftest import CLUBS, GREENS, Load, once
from tests.thorough import thorough

COMMANDS = [command.name or command.callback.__name__ for command in cli.app.registered_commands if command.callback]
JOBS = "date,green,operation,hours\n2026-05-04,ALD-1,mowing,1.5\n"
FILE_KEYS = [
    "file",
    "kind",
    "profile",
    "rows",
    "loaded",
    "unchanged",
    "superseded",
    "withdrawn",
    "closed",
    "rejected",
    "ignored",
    "warnings",
    "faults",
]  # design.md, "Commands"
FAULT_KEYS = ["line", "column", "value", "code", "severity", "message", "hint"]
SHOW_KEYS = [
    "name",
    "band",
    "value",
    "unit",
    "low",
    "high",
    "n",
    "target_low",
    "target_high",
    "target_source",
    "standing",
    "judgement",
    "verdict",
    "method",
    "note",
    "questioned",
]  # design.md, "Commands"


@dataclass(frozen=True)
class Run:
    code: int
    out: str
    err: str


Call = Callable[..., Run]


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Call:
    """Runs the command line in this process."""

    def _call(*words: object) -> Run:
        capsys.readouterr()
        monkeypatch.setattr(sys, "argv", ["swardtally", *map(str, words)])
        with pytest.raises(SystemExit) as caught:
            cli.main()
        said = capsys.readouterr()
        return Run(int(caught.value.code or 0), said.out, said.err)

    return _call


@pytest.fixture
def place(county: Load, workspace: Workspace, tmp_path: Path, shared_folder: Path) -> Path:
    """A workspace with the small county and one job, which is loaded once for all processes of the run."""
    folder = shared_folder / "one-job-of-the-small-county"

    def make() -> None:
        assert not county("log.csv", JOBS).failed
        copyfile(workspace.store, folder / "store.duckdb")

    once(folder, make)
    (tmp_path / "log.csv").write_text(JOBS)
    copyfile(folder / "store.duckdb", workspace.store)
    return workspace.folder


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(call: Call, command: str) -> None:
    """Help without a line to copy is read twice and tried thrice."""
    done = call(command, "--help")
    assert (done.code, done.err) == (0, "")
    assert f"Example: swardtally {command}" in done.out


def test_no_words_and_wrong_words(call: Call) -> None:
    """2 is wrong usage, said on standard error with what would be right; --help alone is no error."""
    assert call("--help").code == 0
    for words, said in (
        ((), "Usage"),
        (("lod",), "No such command"),
        (("load",), "Missing argument"),
        (("load", "--nope"), "No such option"),
        (("report", "--workers", "-1", "--all"), "Invalid value for '--workers'"),
    ):
        done = call(*words)
        assert done.code == 2, words
        assert said in done.out + done.err
        assert "Traceback" not in done.err


def test_init_makes_a_workspace_once(call: Call, tmp_path: Path) -> None:
    """Settings and templates are printed as made; a second init overwrites nothing."""
    folder = tmp_path / "new"
    done = call("init", folder)
    assert done.code == 0
    made = done.out.splitlines()
    assert made[0] == str(folder / "settings.toml")
    assert {Path(line).name for line in made[1:]} >= {"job.csv", "club.csv", "soil_test.csv"}
    assert done.err == (f"Next: fill templates/ or bring your own exports, then: swardtally load -w {folder} FILE\n")
    (folder / "settings.toml").write_text('currency = "EUR"\n')
    again = call("init", folder, "--quiet")
    assert (again.code, again.out, again.err) == (0, "", "")
    assert (folder / "settings.toml").read_text() == 'currency = "EUR"\n'


def test_load_tells_what_became_of_every_row(call: Call, place: Path, tmp_path: Path) -> None:
    """The table is the result; faults and summary are messages, and --quiet leaves the table and what went wrong."""
    path = tmp_path / "log.csv"
    path.write_text(JOBS + "2026-05-11,ALD-1,moing,1\n")
    done = call("load", path, "-w", place)
    assert done.code == 1
    assert done.out.splitlines() == [
        "file     kind  rows  loaded  unchanged  superseded  withdrawn  closed  rejected  ignored  dates",
        "log.csv  job      2       0          1           0          0       0         1        0  "
        "2026-05-04 to 2026-05-04",
    ]
    assert (
        "log.csv\n  error (line 3, operation): operation: “moing” is not a known operation; closest: mowing" in done.err
    )
    assert f"  Rejected rows: {place / 'rejected' / 'log.rejected.csv'}\n" in done.err
    assert done.err.endswith(
        "Nothing in the store changed. 1 row rejected: mend it in the file named above and load that.\n"
    )
    quiet = call("load", path, "-w", place, "-q")
    rejects = place / "rejected" / "log.rejected.csv"
    assert (quiet.code, quiet.out, quiet.err) == (1, done.out, f"log.csv: 1 row rejected: see {rejects}\n")


def test_load_again_and_new_and_rehearsed(call: Call, place: Path, tmp_path: Path) -> None:
    """The last line says in words what happened; exit code 0 where nothing was rejected."""
    path = tmp_path / "log.csv"
    path.write_text(JOBS)
    done = call("load", path, "-w", place)
    assert (done.code, done.err) == (0, "\nNothing in the store changed: every row was there already.\n")
    path.write_text(JOBS + "2026-05-11,ALD-1,mowing,1\n")
    rehearsed = call("load", path, "-w", place, "--dry-run")
    assert (rehearsed.code, rehearsed.err) == (
        0,
        "\nDry run: nothing was written. It would have been: 1 record new or changed.\n",
    )
    assert call("load", path, "-w", place).err == "\n1 record new or changed.\n"


def test_ten_faults_of_a_kind_are_shown(call: Call, place: Path, tmp_path: Path) -> None:
    """A thousand lines of the same slip are one slip; the rest stands in the rejects file."""
    path = tmp_path / "log.csv"
    path.write_text("date,green,operation\n" + "2026-05-11,ALD-1,moing\n" * 14)
    done = call("load", path, "-w", place)
    assert done.err.count("error (line") == 10
    assert "  and 4 more\n" in done.err


def test_load_json(call: Call, place: Path, tmp_path: Path) -> None:
    """Exactly the keys of the design, rows that balance, and nothing else on standard output."""
    path = tmp_path / "log.csv"
    path.write_text(JOBS + "2026-05-11,ALD-1,moing,1\n")
    done = call("load", path, "-w", place, "--json")
    assert (done.code, done.err) == (1, "")
    found = json.loads(done.out)
    assert (list(found), found["passed_over"]) == (["files", "passed_over"], [])
    one = found["files"][0]
    assert list(one) == FILE_KEYS
    parts = ("loaded", "unchanged", "superseded", "withdrawn", "closed", "rejected", "ignored")
    assert one["rows"] == sum(one[name] for name in parts) == 2
    assert list(one["faults"][0]) == FAULT_KEYS
    assert (one["faults"][0]["line"], one["faults"][0]["value"], one["faults"][0]["code"]) == (
        3,
        "moing",
        "choice.unknown",
    )


def test_show(call: Call, place: Path) -> None:
    """Figures on standard output, and whose they are: in a file by themselves they would be anybody's."""
    done = call("show", "ALD-1", "-w", place, "--all")
    assert done.code == 0
    rows = [line.strip().split("  ")[0] for line in done.out.splitlines()]
    assert rows[:3] == [
        "Alder Brook Bowls Club, Main green (ALD-1): season 2026, as of 4 May 2026",
        "",
        "Works, hours and cost",
    ]
    assert rows[3:] == ["Operations logged", "Days with work on the green", "Hours of work", "Hours, Mowing"]
    assert done.err.startswith("note: ")
    found = json.loads(call("show", "ALD-1", "-w", place, "--season", "2026", "--json").out)
    assert list(found) == ["green", "club", "season", "as_of", "known_by", "indicators"]
    assert (found["green"], found["club"], found["season"]) == ("ALD-1", "ALD", "2026")
    assert all(list(one) == SHOW_KEYS for one in found["indicators"])
    assert [one["value"] for one in found["indicators"]] == [1.0, 1.0, 1.5, 1.5]
    quiet = call("show", "ALD-1", "-w", place, "--all", "-q")
    assert (quiet.out, quiet.err) == (done.out, "")


def test_status_and_history(call: Call, place: Path) -> None:
    """What is in and what came when, as a table and as JSON."""
    done = call("status", "-w", place)
    assert done.code == 0
    assert ["job", "1", "2026-05-04", "2026-05-04"] in [line.split() for line in done.out.splitlines()]
    assert (
        "club  green  name        latest record  job\nALD   ALD-1  Main green  2026-05-04     2026-05-04\n" in done.out
    )
    assert done.err.startswith(f"Store: {place / 'store.duckdb'}\n")
    assert "shown by no view: they have not been made." in " ".join(done.err.split())
    found = json.loads(call("status", "-w", place, "--json").out)
    assert {"kind": "club", "records": 1, "first": "", "last": ""} in found["kinds"]
    own = {"club": "ALD", "green": "ALD-1", "name": "Main green", "last": "2026-05-04", "latest": {"job": "2026-05-04"}}
    assert found["greens"] == [own]
    assert found["open"] == []
    told = call("history", "-w", place)
    assert [line.split()[0] for line in told.out.splitlines()] == ["load_id", "1", "2", "3", "4"]
    loads = json.loads(call("history", "-w", place, "--json").out)["loads"]
    assert [one["file"] for one in loads] == ["clubs.csv", "greens.csv", "materials.csv", "log.csv"]


@thorough
def test_status_names_what_two_files_say_alike(call: Call, place: Path, tmp_path: Path) -> None:
    """The half of the second crew is not in the store: the sentence that said so was gone with the loading."""
    path = tmp_path / "crew.csv"
    path.write_text(JOBS + "2026-05-05,ALD-1,mowing,1\n")
    said = "line 2 of crew.csv and line 2 of log.csv say the very same, and it counts once."
    assert said in " ".join(call("load", path, "-w", place).err.replace(str(path.parent) + "/", "").split())
    shown = call("status", "-w", place).out.splitlines()
    at = shown.index("Lines to decide about: 1")
    reason = '--why "..." --who "..."'
    assert shown[at + 1 : at + 4] == [
        f"  crew.csv, line 2: {said}",
        f"    → swardtally decide -w {place} one log.csv:2 crew.csv:2 {reason}  # what counts now is right",
        f"    → swardtally decide -w {place} two log.csv:2 crew.csv:2 {reason}  # both were done",
    ]
    (told,) = json.loads(call("status", "-w", place, "--json").out)["open"]
    assert (told["sort"], told["file"], told["line"], told["text"]) == ("double", "crew.csv", 2, said)
    assert [one["means"] for one in told["next"]] == ["what counts now is right", "both were done"]


@thorough
def test_what_status_says_to_type_can_be_typed(call: Call, place: Path, tmp_path: Path) -> None:
    """Every command it prints for a double, with a reason and a name, is one that the tool takes; so is its undoing."""
    path = tmp_path / "crew book.csv"
    path.write_text(JOBS.replace("hours", "hours,by").replace(",1.5\n", ",1.5,Bob\n"))
    assert "may be one job that two people wrote down" in " ".join(call("load", path, "-w", place).err.split())
    (told,) = json.loads(call("status", "-w", place, "--json").out)["open"]
    for one in told["next"]:
        words = shlex.split(one["command"].replace('--why "..." --who "..."', '--why "seen both" --who office'))
        done = call(*words[1:], "-w", place)
        assert done.code == 0, done.err
        number = json.loads(call("history", "-w", place, "--json").out)["decisions"][-1]["decision"]
        assert done.out.startswith(f"Decision {number} (")
        assert done.err.splitlines()[-1] == f"Kept in decisions/; to take it back: swardtally undo -w {place} {number}"
        assert json.loads(call("status", "-w", place, "--json").out)["open"] == []
        back = call("undo", number, "-w", place)
        assert back.out == f"Decision {number} (line 2 of log.csv and line 2 of crew book.csv) was taken back.\n"
    listed = call("history", "-w", place).out.splitlines()
    assert [line.split()[0] for line in listed if " seen both " in line] == ["6", "7"]


def test_a_load_taken_back_is_listed_with_its_day(call: Call, place: Path) -> None:
    """It was gone from history, with what it had held."""
    assert call("undo", 4, "-w", place).code == 0
    line = call("history", "-w", place).out.splitlines()[4]
    assert line.split()[0] == "4"
    assert re.search(r"log\.csv +job +1 .* \d{4}-\d\d-\d\d \d\d:\d\d:\d\d$", line)


@thorough
def test_an_empty_store_has_no_history_and_no_season(call: Call, workspace: Workspace, tmp_path: Path) -> None:
    """Nothing loaded is said in words, not shown as an empty table alone."""
    path = tmp_path / "bad.csv"
    path.write_text("a,b,c\n1,2,3\n")
    assert call("load", path, "-w", workspace.folder).code == 1
    assert call("history", "-w", workspace.folder).err == "Nothing has been loaded yet.\n"
    for name, text in (("c.csv", CLUBS), ("g.csv", GREENS)):
        (tmp_path / name).write_text(text)
        assert call("load", tmp_path / name, "-w", workspace.folder).code == 0
    done = call("show", "ALD-1", "-w", workspace.folder)
    assert (done.code, done.err) == (
        3,
        "The store holds no dated record of a green yet.\nLoad a job log, soil tests or green speeds first.\n",
    )


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (
            ("load", "/dev/zero"),
            2,
            "/dev/zero is not a file.\nName files or folders; a pipe or a device is not read.\n",
        ),
        (
            ("survey", "ALD-1", "9999-12-31"),
            2,
            "9999-12-31 is no day of 1800 to 2200.\nLook at the year.\n",
        ),
        (("load", "nowhere.csv"), 2, "There is no file nowhere.csv.\nCheck the spelling and the folder.\n"),
        (("load", "{log}", "--kind", "jobs"), 2, "“jobs” is not a kind of record; closest: job.\nKinds are"),
        (("load", "{log}", "--profile", "x"), 2, "There is no profile “x”.\nProfiles in {place}/profiles: none yet.\n"),
        (("load", "{log}", "--complete", "2026"), 2, "“2026” is not FROM..TO.\nWrite two days, such as 2026-03-01"),
        (("load", "{log}", "--complete", "2026-03-02..2026-03-01"), 2, "2026-03-02..2026-03-01 ends before it"),
        (("show", "ADL-1"), 2, "There is no green “ADL-1”; closest: ALD-1.\nswardtally status -w {place} lists every"),
        (("show", "ALD-1", "-s", "26"), 3, "“26” is not a season.\nA season is named by the year it ends in"),
        (("show", "ALD-1", "-s", "²⁰²⁶"), 3, "“²⁰²⁶” is not a season.\n"),
        (("report",), 2, "No green was named.\nName greens with --green, clubs with --club, or take --all.\n"),
        (("report", "-c", "XXX"), 2, "There is no club “XXX”.\nswardtally status -w {place} lists every"),
        (("undo", "99"), None, ""),
    ],
)  # fmt: skip
def test_expected_errors_are_sentences(
    call: Call, place: Path, words: tuple[str, ...], code: int | None, said: str
) -> None:
    """What is wrong, then what to do; no traceback, nothing on standard output."""
    done = call(*(word.format(log=place.parent / "log.csv") for word in words), "-w", place)
    assert done.code == code if code else done.code in {2, 3}
    assert done.err.startswith(said.format(place=place))
    assert len(done.err.strip().splitlines()) == 2
    assert done.out == ""


def test_folders_and_settings_that_do_not_fit(call: Call, place: Path, tmp_path: Path) -> None:
    """A workspace that is not there, or whose settings hold what they may not, is told by the key."""
    missing = call("status", "-w", tmp_path / "none")
    assert (missing.code, missing.err) == (
        3,
        f"There is no folder {tmp_path / 'none'}.\nMake a workspace first: swardtally init DIR\n",
    )
    for text, said in (
        ("store = ", "settings.toml is not readable TOML: "),
        ('stroe = "x"', "settings.toml does not fit: line 1, stroe: there is no such key; closest: store"),
        (
            'season_start = "02-30"',
            "settings.toml does not fit: line 1, season_start = '02-30' must be a day of every",
        ),
        (
            '[choices]\nmlsn = "2014"',
            'settings.toml does not fit: "choices" is now named "method_options": write that, the figures stay the '
            "same\nMend the line; docs/settings.md lists every setting and its limits.",
        ),
        (
            '[method_options]\ncation_weights = "clemson"',
            "settings.toml does not fit: line 2, method_options.cation_weights = 'clemson': "
            '"clemson" is now named "rounded_k_391"',
        ),
    ):
        (place / "settings.toml").write_text(text)
        done = call("status", "-w", place)
        assert done.code == 3
        assert done.err.startswith(said)
    (place / "settings.toml").unlink()
    assert call("status", "-w", place).code == 0
    (place / "settings.toml").write_text("")
    (place / "store.duckdb").unlink()
    done = call("status", "-w", place)
    assert (done.code, done.err.splitlines()[0]) == (3, f"There is no store at {place / 'store.duckdb'}.")


def test_a_store_held_elsewhere_is_exit_3(call: Call, place: Path, tmp_path: Path) -> None:
    """Another program has the store open: a plain sentence, and nothing changed."""
    path = tmp_path / "more.csv"
    path.write_text(JOBS.replace("1.5", "9"))
    code = "import duckdb,sys; c = duckdb.connect(sys.argv[1]); print('held', flush=True); sys.stdin.read()"
    with subprocess.Popen(
        [sys.executable, "-c", code, str(place / "store.duckdb")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        for words in (("load", path), ("status",), ("show", "ALD-1")):
            done = call(*words, "-w", place)
            assert (done.code, done.out) == (3, "")
            assert done.err == (
                f"The store store.duckdb is in use by another program (process {holder.pid}).\n"
                "Close that program, or wait until it has finished, and try again. Nothing was changed.\n"
            )
        holder.communicate("")
    assert call("load", path, "-w", place).code == 0


def test_a_file_that_may_not_be_read_and_a_stop_by_hand(
    call: Call, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the system refuses is passed on as a sentence; Ctrl-C is no crash; a fault of ours is named as one."""
    path = tmp_path / "more.csv"
    path.write_text(JOBS)

    def raising(error: BaseException) -> Callable[..., None]:
        def fail(*_: object) -> None:
            raise error

        return fail

    monkeypatch.setattr(Loader, "detect", raising(PermissionError(13, "Permission denied", str(path))))
    done = call("load", path, "-w", place)
    assert (done.code, done.err) == (3, f"Permission denied ({path}).\nCheck the path and the disk.\n")
    monkeypatch.setattr(Loader, "detect", raising(KeyboardInterrupt()))
    done = call("load", path, "-w", place)
    assert (done.code, done.err) == (3, "Stopped. What was not finished was not kept.\n")
    monkeypatch.setattr(Loader, "detect", raising(AssertionError("ours")))
    done = call("load", path, "-w", place)
    assert done.code == cli.CRASHED == 70
    assert done.err.startswith("A fault of the program, not of your files, stopped it: AssertionError in tests/cli/")


def test_undo_takes_a_load_back(call: Call, place: Path) -> None:
    """The store is what it was before; the result is told on standard output and as JSON."""
    done = call("undo", "4", "-w", place)
    assert (done.code, done.out) == (0, "Load 4 (log.csv) was taken back.\n")
    assert done.err == "1 job removed, 0 jobs in force again.\n"
    assert json.loads(call("undo", "3", "-w", place, "--json").out)["load"] == 3
    loads = json.loads(call("history", "-w", place, "--json").out)["loads"]
    assert [one["undone_at"] is None for one in loads] == [True, True, False, False]


def test_report_tells_what_was_written_and_what_was_not(
    call: Call, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Paths on standard output; one that failed is named with its reason, the others are written, exit code 1."""
    from pipeline.publish import writer
    from pipeline.publish.pool import Outcome

    faults: list[str] = []

    def rendered(tasks: Iterable[object], **_: object) -> list[Outcome]:
        return [Outcome(one.name, one.target, 0 if faults else 3, fault="".join(faults)) for one in tasks]  # type: ignore[attr-defined]

    monkeypatch.setattr(writer, "render_many", rendered)
    target = place / "reports" / "2026" / "ALD-1-condition-2026.pdf"
    done = call("report", "-g", "ALD-1", "-w", place)
    assert (done.code, done.out, done.err) == (0, f"{target}\n", "1 report with 3 pages written.\n")
    found = json.loads(call("report", "--all", "--only", "condition", "-w", place, "--json").out)["reports"]
    assert found == [
        {"document": "condition", "green": "ALD-1", "club": "ALD", "season": "2026", "path": str(target), "pages": 3,
         "unchanged": False, "fault": ""}
    ]  # fmt: skip
    faults.append("a glyph is missing")
    failed = call("report", "-c", "ALD", "-w", place)
    assert (failed.code, failed.out) == (1, "")
    assert failed.err == "0 reports with 0 pages written.\n" + "".join(
        f"{one}: not written: a glyph is missing\n" for one in ("ALD-1", "ALD")
    )


def test_doctor_says_what_is_missing(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without Pango is told the command that installs it; exit code 1."""
    from pipeline.cli import doctor as machine

    fine = machine.Check("Pango (text layout)", True, "a page was made")
    monkeypatch.setattr(machine, "_pango", lambda: fine)
    done = call("doctor")
    assert done.code == 0, done.out
    assert "ok  Pango (text layout)" in done.out
    monkeypatch.setattr(machine, "PACKAGES", ("duckdb", "no-such-package"))
    missing = call("doctor")
    assert missing.code == 1
    assert "not ok  no-such-package" in missing.out
    assert missing.err == "no-such-package: make setup\n"
    found = json.loads(call("doctor", "--json").out)["checks"]
    assert list(found[0]) == ["what", "fine", "found", "hint"]
    for system, word in (("Linux", "apt-get"), ("Darwin", "brew"), ("Windows", "pacman"), ("Plan 9", "Install Pango")):
        monkeypatch.setattr(machine.platform, "system", lambda system=system: system)
        assert machine.pango_hint().startswith(word)


@thorough
def test_a_green_is_found_in_any_case_and_by_its_other_names(call: Call, place: Path, tmp_path: Path) -> None:
    """As loading finds it: the code in small letters once was no green."""
    register = tmp_path / "greens.csv"
    register.write_text("green,club,name,aliases\nALD-1,ALD,Main green,the main|Alder top\n")
    assert call("load", register, "-w", place).code == 0
    by_code = call("show", "ALD-1", "-w", place, "--json").out
    for name in ("ald-1", "the main", "ALDER TOP"):
        assert call("show", name, "-w", place, "--json").out == by_code
    done = call("show", "the mean", "-w", place)
    assert done.code == 2


def test_the_short_help_and_the_version(call: Call) -> None:
    assert call("-h").out == call("--help").out
    assert call("show", "-h").out == call("show", "--help").out
    assert call("--version").out.startswith("swardtally ")
