"""What a person decides is kept, followed whatever is loaded, told where it fits no more, and can be taken back."""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile, copytree

import pytest

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.indicators.base.open_matters import OpenMatter, open_matters
from pipeline.indicators.base.reading import read_records
from pipeline.load.files import load_paths
from pipeline.season.green import green_season
from pipeline.store.changes import changes
from pipeline.store.decide import decide
from pipeline.store.decisions import read_decisions
from pipeline.store.inventory import decisions
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY, Load, put_store
from tests.thorough import beyond, thorough

pytestmark = pytest.mark.both_stores(ordinary=("test_one_job_counts_once_and_history_says_why",))

HEAD = "date,green,operation,logged_by,hours\n"
LOG = HEAD + "2026-03-01,ALD-1,mowing,Ann,2\n2026-03-02,ALD-1,scarifying,Ann,3\n"
CREW = HEAD + "2026-02-20,ALD-1,rolling,Bob,1\n2026-03-01,ALD-1,mowing,Bob,2\n2026-03-02,ALD-1,scarifying,Bob,1\n"
TWO_HANDS = {"log.csv": LOG, "crew.csv": CREW}
BARE = "date,green,operation,hours\n2026-03-01,ALD-1,mowing,2\n"
FOR = {"why": "both wrote it down", "who": "office"}
ROWS = list[tuple[object, ...]]


def in_force(workspace: Workspace) -> ROWS:
    """Day, operation, who and hours of every job in force."""
    with Store(workspace.store, read_only=True) as store:
        return store.rows("SELECT day(date), operation, logged_by, hours FROM job ORDER BY ALL")


def open_of(workspace: Workspace, sort: str = "double") -> list[OpenMatter]:
    """What is open of one sort."""
    return [one for one in open_matters(workspace) if one.sort == sort]


@pytest.fixture(scope="module")
def of_two_hands(registers: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with an office's log and a crew's, which hold two jobs twice: to be copied, never written."""
    folder = tmp_path_factory.mktemp("two-hands")
    make_workspace(folder / "workspace")
    workspace = open_workspace(folder / "workspace")
    copyfile(registers[1], workspace.store_file)
    for name, text in TWO_HANDS.items():
        (folder / name).write_text(text, "utf-8")
        assert not load_paths(workspace, [folder / name], today=TODAY)[0].failed
    return workspace.store_file


@pytest.fixture
def two_hands(county: Load, workspace: Workspace, of_two_hands: Path, tmp_path: Path) -> Workspace:
    """A copy of it, and the files it was loaded from."""
    for name, text in TWO_HANDS.items():
        (tmp_path / name).write_text(text, "utf-8")
    put_store(of_two_hands, workspace)
    return workspace


def test_one_job_counts_once_and_history_says_why(two_hands: Workspace) -> None:
    before = in_force(two_hands)
    done = decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    assert done.entries == ((6, "line 2 of log.csv and line 3 of crew.csv"),)
    assert in_force(two_hands) == [row for row in before if row[:3] != (1, "mowing", "Bob")]
    assert [(one.file, one.line) for one in open_of(two_hands)] == [("crew.csv", 4)]
    (change,) = changes(two_hands, green="ALD-1")
    assert (change.how, change.file, change.load_id) == ("counted_once", "decisions/decided.toml", 6)
    assert (change.former_file, change.former_line) == ("crew.csv", 3)
    (entry,) = decisions(two_hands)
    assert (entry["why"], entry["who"], entry["fits"]) == ("both wrote it down", "office", True)


def test_the_first_named_counts_whichever_was_loaded_first(two_hands: Workspace) -> None:
    decide(two_hands, "one", ["crew.csv:3", "log.csv:2"], **FOR)
    assert (1, "mowing", "Ann", 2.0) not in in_force(two_hands)
    assert (1, "mowing", "Bob", 2.0) in in_force(two_hands)


def test_two_jobs_both_count_and_are_not_asked_about_again(two_hands: Workspace) -> None:
    before = in_force(two_hands)
    decide(two_hands, "two", ["log.csv", "crew.csv"], **FOR)
    assert in_force(two_hands) == before
    assert open_of(two_hands) == []
    with Store(two_hands.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", two_hands.season("2026"), two_hands)
    assert not any(one.questioned for one in done.indicators)


@pytest.mark.parametrize("word", ["one", "two"])
@beyond(1)
def test_taken_back_it_is_open_again_and_stays_in_the_history(two_hands: Workspace, word: str) -> None:
    before, asked = in_force(two_hands), open_of(two_hands)
    number = decide(two_hands, word, ["log.csv:2", "crew.csv:3"], **FOR).entries[0][0]
    undo(two_hands, number)
    assert (in_force(two_hands), open_of(two_hands)) == (before, asked)
    assert decisions(two_hands)[0]["taken_back_at"] is not None
    with pytest.raises(WrongUsage, match=f"Decision {number} has been taken back already"):
        undo(two_hands, number)
    again = decide(two_hands, word, ["log.csv:2", "crew.csv:3"], **FOR)
    assert again.entries[0][0] == number + 1, "a number is not given twice"


@pytest.mark.parametrize("order", [("log.csv", "crew.csv"), ("crew.csv", "log.csv")])
@beyond(1)
def test_the_same_files_and_decisions_make_the_same_store(
    two_hands: Workspace, tmp_path: Path, registers: tuple[Path, Path], order: tuple[str, str]
) -> None:
    """A workspace is made anew from its exports: what was decided holds there, in whatever order they are loaded."""
    decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    decide(two_hands, "two", ["log.csv:3", "crew.csv:4"], **FOR)
    folder = tmp_path / "anew"
    folder.mkdir()
    make_workspace(folder)
    copytree(two_hands.decisions, folder / "decisions", dirs_exist_ok=True)
    copyfile(registers[1], folder / "store.duckdb")
    anew = open_workspace(folder)
    for name in order:
        (result,) = load_paths(anew, [tmp_path / name], today=TODAY)
        assert "decision.does_not_fit" not in result.faults["code"].to_list()
    assert in_force(anew) == in_force(two_hands)
    assert open_of(anew) == open_of(two_hands) == []


def test_a_longer_export_does_not_bring_the_second_back(two_hands: Workspace, county: Load) -> None:
    """It was found to be new, for the record it says again was out of force."""
    decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    before = in_force(two_hands)
    longer = county("crew_april.csv", CREW + "2026-04-01,ALD-1,mowing,Bob,1\n")
    assert (longer.counts.loaded, longer.counts.unchanged) == (1, 3)
    assert in_force(two_hands) == sorted([*before, (1, "mowing", "Bob", 1.0)])
    assert county("crew.csv", CREW).counts.changed == 0
    assert [(one.file, one.line) for one in open_of(two_hands)] == [("crew.csv", 4)]


@thorough
def test_a_decision_about_what_was_corrected_since_is_told_and_not_followed(two_hands: Workspace, county: Load) -> None:
    """It was made of two hours; nobody has decided about five."""
    decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    told = county("crew.csv", CREW.replace("mowing,Bob,2", "mowing,Bob,5"))
    (fault,) = told.faults.filter(told.faults["code"] == "decision.does_not_fit").iter_rows(named=True)
    assert fault["message"] == (
        "decisions/decided.toml decides about line 2 of log.csv and line 3 of crew.csv, but that is no longer what "
        "stands there: it is not followed."
    )
    assert fault["hint"].startswith("Take it back (undo 6);")
    assert (1, "mowing", "Bob", 5.0) in in_force(two_hands)
    (matter,) = open_of(two_hands, "decision")
    assert matter.next == (("swardtally undo 6", "takes it back"),)
    county("crew.csv", CREW + "\n")
    assert open_of(two_hands, "decision") == [], "what it was made for stands there again"
    assert (1, "mowing", "Bob", 2.0) not in in_force(two_hands)


def test_an_entry_deleted_by_hand_has_no_effect_left(two_hands: Workspace, county: Load) -> None:
    before = in_force(two_hands)
    decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    (two_hands.decisions / "decided.toml").unlink()
    assert county("log.csv", LOG).counts.changed == 0
    assert in_force(two_hands) == before
    assert decisions(two_hands)[0]["taken_back_at"] is not None


@pytest.mark.parametrize("whole", [True, False])
def test_an_entry_deleted_by_hand_can_be_taken_back_too(two_hands: Workspace, whole: bool) -> None:
    """As it is left where a process is killed after the file has changed and before the store has."""
    before = in_force(two_hands)
    number = decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR).entries[0][0]
    path = two_hands.decisions / "decided.toml"
    path.unlink() if whole else path.write_text("")
    undo(two_hands, number)
    assert in_force(two_hands) == before
    assert decisions(two_hands)[0]["taken_back_at"] is not None


def test_taking_one_back_leaves_what_a_person_wrote_beside_it(two_hands: Workspace) -> None:
    first = decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR).entries[0][0]
    path = two_hands.decisions / "decided.toml"
    path.write_text("# kept by the office\n" + path.read_text("utf-8"), "utf-8")
    decide(two_hands, "two", ["log.csv:3", "crew.csv:4"], **FOR)
    undo(two_hands, first)
    assert path.read_text("utf-8").startswith('# kept by the office\n[[decision]]\ndecided = "two"\n')
    assert [one.decided for one in read_decisions(two_hands.decisions)] == ["two"]


def test_a_load_under_a_decision_is_taken_back_as_if_it_had_never_been(two_hands: Workspace, county: Load) -> None:
    decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    undo(two_hands, 4)
    assert (1, "mowing", "Bob", 2.0) in in_force(two_hands), "the one that counted is gone: the other does"
    county("log.csv", LOG)
    assert (1, "mowing", "Bob", 2.0) not in in_force(two_hands), "the decision is kept"


@thorough
def test_what_two_files_say_alike_counts_twice_once_it_is_decided(county: Load, workspace: Workspace) -> None:
    """The half of the second crew was lost, or took a reference of the user's own invention."""
    county("ann.csv", BARE)
    county("bob.csv", BARE)
    (asked,) = open_of(workspace)
    assert asked.text == "line 2 of bob.csv and line 2 of ann.csv say the very same, and it counts once."
    assert [command.partition(" --why")[0] for command, _ in asked.next] == [
        "swardtally decide one ann.csv:2 bob.csv:2", "swardtally decide two ann.csv:2 bob.csv:2",
    ]  # fmt: skip
    done = decide(workspace, "two", ["ann.csv:2", "bob.csv:2"], **FOR)
    assert done.next == ("swardtally load bob.csv",)
    assert len(open_of(workspace)) == 1, "until the second file is loaded again"
    assert county("bob.csv", BARE).counts.loaded == 1
    assert (len(in_force(workspace)), open_of(workspace)) == (2, [])
    for name in ("bob.csv", "ann.csv", "bob.csv"):
        assert county(name, BARE).counts.changed == 0
    assert (len(in_force(workspace)), open_of(workspace)) == (2, [])
    number = done.entries[0][0]
    with pytest.raises(CannotDo) as caught:
        undo(workspace, number)
    assert caught.value.hint == "Take that load back first: swardtally undo 7"
    undo(workspace, 7)
    undo(workspace, number)
    assert (len(in_force(workspace)), len(open_of(workspace))) == (1, 1), "as before anybody had decided"


def test_what_two_files_say_alike_is_settled_as_one(county: Load, workspace: Workspace) -> None:
    county("ann.csv", BARE)
    county("bob.csv", BARE)
    decide(workspace, "one", ["ann.csv:2", "bob.csv:2"], **FOR)
    assert (len(in_force(workspace)), open_of(workspace)) == (1, [])


@thorough
def test_what_took_anothers_place_stands_beside_it_once_decided(county: Load, workspace: Workspace) -> None:
    county("ann.csv", BARE)
    later = county("bob.csv", BARE.replace(",2\n", ",3\n"))
    done = decide(workspace, "two", ["ann.csv:2", "bob.csv:2"], **FOR)
    assert done.next == (f"swardtally undo {later.load_id}", "swardtally load bob.csv")
    undo(workspace, later.load_id or 0)
    assert county("bob.csv", BARE.replace(",2\n", ",3\n")).faults.is_empty()
    assert [row[3] for row in in_force(workspace)] == [2, 3]
    assert open_of(workspace) == []


@thorough
def test_what_took_anothers_place_is_settled_as_one(county: Load, workspace: Workspace) -> None:
    county("ann.csv", BARE)
    later = county("bob.csv", BARE.replace(",2\n", ",3\n"))
    with pytest.raises(CannotDo) as caught:
        decide(workspace, "one", ["ann.csv:2", "bob.csv:2"], **FOR)
    assert caught.value.hint.endswith(f"take the later load back: swardtally undo {later.load_id}")
    decide(workspace, "one", ["bob.csv:2", "ann.csv:2"], **FOR)
    assert open_of(workspace) == []
    assert [row[3] for row in in_force(workspace)] == [3]


BAD = HEAD + "2026-03-01,ALD-1,mowing,Ann,2\n2026-03-02,ALD-1,scarrifing xx,Ann,3\n2026-03-03,ALD-9,rolling,Ann,3\n"


@thorough
def test_a_rejected_row_set_aside_stands_in_no_list_and_no_report(county: Load, workspace: Workspace) -> None:
    """It was typed anew elsewhere, and every report said that it was missing."""
    county("log.csv", BAD)
    load = f"swardtally load {workspace.rejected / 'log.rejected.csv'}"
    assert [(one.line, one.next[0][0]) for one in open_of(workspace, "rejected")] == [(3, load), (4, load)]
    number = decide(workspace, "aside", ["log.csv:3"], why="in the crew's log", who="office").entries[0][0]
    assert [one.line for one in open_of(workspace, "rejected")] == [4]
    with Store(workspace.store, read_only=True) as store:
        done = green_season(read_records(store), "ALD-1", workspace.season("2026"), workspace)
    assert not [note for note in done.data_notes if note.topic == "rejected"]
    assert not any(one.questioned for one in done.indicators)
    again = county("log.csv", BAD.replace("ALD-1,mowing,Ann,2", "ALD-1,mowing,Ann,2.5"))
    (told,) = again.faults.filter(again.faults["code"] == "decision.aside").iter_rows(named=True)
    assert (told["line"], told["severity"]) == (3, "note")
    assert told["message"] == "The row was set aside: it is not asked for any more (in the crew's log; office)."
    assert [one.line for one in open_of(workspace, "rejected")] == [4]
    undo(workspace, number)
    assert [one.line for one in open_of(workspace, "rejected")] == [3, 4]


def test_another_row_on_that_line_is_not_set_aside(county: Load, workspace: Workspace) -> None:
    """The decision is about what the row said."""
    county("log.csv", BAD)
    decide(workspace, "aside", ["log.csv:3"], **FOR)
    moved = BAD.replace("2026-03-01,", "2026-02-01,ALD-1,diggging,Ann,1\n2026-03-01,", 1)
    county("log.csv", moved)
    assert [one.line for one in open_of(workspace, "rejected")] == [2, 5]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("three", ["log.csv:2", "crew.csv:3"], "why", "who"), "“three” decides nothing."),
        (("one", ["log.csv:2"], "why", "who"), "“one” is about two lines, the one that counts first."),
        (("aside", ["log.csv:2", "crew.csv:3"], "why", "who"), "“aside” is about one rejected row."),
        (("one", ["log.csv:2", "crew.csv:3"], "...", "who"), "A decision needs a reason and a name."),
        (("one", ["log.csv:2", "crew.csv:3"], "why", ""), "A decision needs a reason and a name."),
        (("one", ["log.csv:2", "crew.csv:4"], "why", "who"), "Nothing is asked about line 2 of log.csv and line 4 of"),
        (("aside", ["log.csv:2"], "why", "who"), "No rejected row stands at line 2 of log.csv."),
    ],
)
def test_what_decides_nothing_is_refused(
    two_hands: Workspace, words: tuple[str, list[str], str, str], said: str
) -> None:
    with pytest.raises(WrongUsage) as caught:
        decide(two_hands, *words)
    assert caught.value.message.startswith(said)
    assert not (two_hands.decisions / "decided.toml").exists()


def test_two_lines_nobody_asked_about_can_be_one_all_the_same(county: Load, workspace: Workspace) -> None:
    """Two hands with other hours: nothing tells it but a person."""
    county("log.csv", HEAD + "2026-03-01,ALD-1,mowing,Ann,2\n2026-03-01,ALD-1,mowing,Bob,1\n")
    assert open_of(workspace) == []
    decide(workspace, "one", ["log.csv:2", "log.csv:3"], **FOR)
    assert in_force(workspace) == [(1, "mowing", "Ann", 2.0)]


def test_a_decision_that_cannot_be_written_is_not_followed(
    two_hands: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    before = in_force(two_hands)
    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(CannotDo, match=r"could not be written to .*decided\.toml: No space left on device"):
        decide(two_hands, "one", ["log.csv:2", "crew.csv:3"], **FOR)
    monkeypatch.undo()
    assert in_force(two_hands) == before
    assert decisions(two_hands) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[decison]]\n", "own.toml may only hold [[decision]] tables."),
        ('[[decision]]\ndecided = "both"\n', "own.toml, decision 1: decided = 'both' must be 'one', 'two' or 'aside'"),
        (
            '[[decision]]\ndecided = "one"\nkind = "job"\nwhy = "w"\nwho = "w"\n'
            'record = { file = "a.csv", line = 2, says = { hours = "2" } }\n',
            "own.toml, decision 1: decision: `one` and `two` need a record and an `other`, `aside` the record alone",
        ),
    ],
)
def test_a_file_of_decisions_that_does_not_fit_is_named(
    county: Load, workspace: Workspace, text: str, said: str
) -> None:
    (workspace.decisions / "own.toml").write_text(text, "utf-8")
    with pytest.raises(CannotDo) as caught:
        county("log.csv", LOG)
    assert caught.value.message.startswith(said)


AREA = "green,club,area_m2\nALD-1,ALD,1000\n"


def test_two_rows_of_a_register_are_never_both_in_force(county: Load, workspace: Workspace) -> None:
    """Two rows of one green in force double every figure of it."""
    county("office.csv", AREA)
    later = county("book.csv", AREA.replace("1000", "1200"))
    (fault,) = later.faults.filter(later.faults["code"] == "record.other_file").iter_rows(named=True)
    assert fault["hint"].startswith(
        "If what book.csv says is right: decide one; if the former was right, take this load back (undo "
        f"{later.load_id}); if it changed on a day, take this load back, give the new row its day in valid_from, and "
        "load it again."
    )
    asked = [one for one in open_of(workspace) if one.file == "book.csv"]
    assert [[command.partition(" --why")[0] for command, _ in one.next] for one in asked] == [
        ["swardtally decide one book.csv:2 office.csv:2", f"swardtally undo {later.load_id}"]
    ]
    with pytest.raises(CannotDo) as caught:
        decide(workspace, "two", ["book.csv:2", "office.csv:2"], **FOR)
    assert caught.value.message == (
        "line 2 of book.csv and line 2 of office.csv are one record (green), so that both cannot count."
    )
    assert not (workspace.decisions / "decided.toml").exists()


@thorough
def test_a_former_decision_that_two_rows_of_a_register_count_is_not_followed(
    county: Load, workspace: Workspace
) -> None:
    county("office.csv", AREA)
    later = county("book.csv", AREA.replace("1000", "1200"))
    decide(workspace, "one", ["book.csv:2", "office.csv:2"], **FOR)
    path = workspace.decisions / "decided.toml"
    path.write_text(path.read_text("utf-8").replace('"one"', '"two"'), "utf-8")
    undo(workspace, later.load_id or 0)
    told = county("book.csv", AREA.replace("1000", "1200"))
    assert (
        "decisions/decided.toml says that line 2 of book.csv and line 2 of office.csv both count, but of this kind "
        "(green) they are one record: it is not followed."
    ) in told.faults["message"].to_list()
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT area_m2 FROM green WHERE green = 'ALD-1'") == [(1200.0,)]
    (matter,) = open_of(workspace, "decision")
    number = matter.next[0][0].rpartition(" ")[2]
    undo(workspace, int(number))
    assert open_of(workspace, "decision") == []
