"""Registers that change: rows that hold from a day, columns that are missing, and what was reported already."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.indicators.base.open_matters import open_matters
from pipeline.load.result import FileResult
from pipeline.publish.documents import season_of_green
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.laid import laid

TODAY = date(2026, 11, 1)
Put = Callable[[str, str], FileResult]


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """A workspace with a club, a green of 1,000 m², a feed of 10 % N in bags of 25 kg, and two seasons' jobs."""
    (tmp_path / "settings.toml").write_text("", "utf-8")
    here = open_workspace(tmp_path)
    files = {
        "clubs.csv": "club,name\nALD,Alder Brook\n",
        "greens.csv": "green,club,name,area_m2,length_m,width_m\nALD-1,ALD,Main,1000,40,25\n",
        "materials.csv": "material,sort,form,n_pct,fe_pct,analysis_by,pack_kg,price\n"
        "feed,fertiliser,solid,10,2,w/w,25,30\n",
        "jobs.csv": "date,green,operation,material,packs,hours,cost\n"
        "2025-05-01,ALD-1,fertilising,feed,2,3,100\n2026-05-01,ALD-1,fertilising,feed,2,4,100\n",
    }
    for name, text in files.items():
        assert not load(here, name, text).failed, name
    return here


def load(here: Workspace, name: str, text: str) -> FileResult:
    """What a file of this text came to."""
    path = here.folder / name
    path.write_text(text, "utf-8")
    return laid(here, path, today=TODAY)


def said(result: FileResult, code: str) -> list[tuple[int | None, str, str]]:
    """Line, severity and message of the faults of a code."""
    rows = result.faults.filter(result.faults["code"] == code)
    return rows.select("line", "severity", "message").rows()


def figures(here: Workspace, season: str) -> dict[str, float | None]:
    """Figures of ALD-1 by name and band."""
    made = season_of_green(here, "ALD-1", season)
    return {f"{one.name} {one.band}".strip(): one.value for one in made.indicators}


def reported(here: Workspace, season: str) -> None:
    """A season of which the report lies in the folder."""
    folder = here.reports / season
    folder.mkdir(parents=True)
    (folder / f"ALD-1-condition-{season}.pdf").write_bytes(b"%PDF")


def values(here: Workspace, sql: str) -> list[tuple[object, ...]]:
    with Store(here.store, read_only=True) as store:
        return store.rows(sql)


def test_an_area_from_a_day_on_leaves_the_season_before_as_it_was(workspace: Workspace) -> None:
    """50 kg at 10 % N is 5 kg: 5 g/m² on 1,000 m²; from October 2025 on 800 m² it is 6.25 g/m²."""
    before = figures(workspace, "2025")
    reported(workspace, "2025")
    result = load(workspace, "greens_2026.csv", "green,club,area_m2,from\nALD-1,ALD,800,2025-10-01\n")
    assert not result.failed
    assert not said(result, "load.alters_reported")
    assert figures(workspace, "2025") == before
    assert before["cost_m2"] == pytest.approx(0.1)
    assert figures(workspace, "2026")["cost_m2"] == pytest.approx(0.125)
    assert season_of_green(workspace, "ALD-1", "2025").area_m2 == 1000
    assert season_of_green(workspace, "ALD-1", "2026").area_m2 == 800
    assert len(season_of_green(workspace, "ALD-1", "2026").data_notes) < 20
    assert values(workspace, "SELECT name, area_m2, length_m FROM green") == [("Main", 800.0, None)]
    assert values(workspace, "SELECT count(*) FROM application") == [(2,)]


def test_an_area_without_a_day_says_what_it_alters_and_where(workspace: Workspace) -> None:
    """The whole past is rewritten: the figures and documents are named, and what to do."""
    reported(workspace, "2025")
    result = load(workspace, "greens.csv", "green,club,name,area_m2,length_m,width_m\nALD-1,ALD,Main,800,40,20\n")
    ((line, severity, message),) = said(result, "load.alters_reported")
    assert (line, severity) == (None, "warning")
    assert message.startswith("The green ALD-1 changes what has been reported of season 2025, ALD-1: ")
    assert "Cost per square metre" in message
    assert "Hours" not in message
    assert message.endswith(" Documents: ALD-1-condition-2025.pdf.")
    assert result.counts.warnings == result.faults.filter(result.faults["severity"] == "warning").height


def test_an_area_from_within_a_reported_season_is_warned_about(workspace: Workspace) -> None:
    """From 1 April 2025 the job of 1 May lies on the new area."""
    reported(workspace, "2025")
    result = load(workspace, "greens.csv", "green,club,area_m2,from\nALD-1,ALD,800,2025-04-01\n")
    assert len(said(result, "load.alters_reported")) == 1
    notes = [str(note.text) for note in season_of_green(workspace, "ALD-1", "2025").data_notes]
    assert (
        "The green's area changed: 1,000 m² at first, 800 m² from 1 April 2025. Each job counts by the area of its day."
        in notes
    )


def test_a_label_from_a_day_on_is_a_whole_one_and_the_pack_stays(workspace: Workspace) -> None:
    """12 % N without iron from 2026 on: 50 kg give 6 kg N; the iron of the former label is not carried over."""
    result = load(workspace, "materials_2026.csv", "material,sort,n_pct,fe_pct,from\nfeed,fertiliser,12,,2026-01-01\n")
    assert not result.failed
    rows = values(workspace, "SELECT date, n_pct, fe_pct, pack_kg, price, mass_kg FROM application ORDER BY date")
    assert rows == [
        (date(2025, 5, 1), 10.0, 2.0, 25.0, 30.0, 50.0),
        (date(2026, 5, 1), 12.0, None, 25.0, 30.0, 50.0),
    ]
    assert values(workspace, "SELECT count(*) FROM material") == [(1,)]


def test_a_new_pack_has_no_price_until_one_is_given(workspace: Workspace) -> None:
    """The price is that of a pack of 25 kg; of 20 kg nobody has said one. A price alone keeps the pack."""
    result = load(workspace, "a.csv", "material,sort,pack_kg,from\nfeed,fertiliser,20,2025-12-01\n")
    assert said(result, "register.not_carried") == [
        (
            2,
            "warning",
            "price was 30.0 and is blank here: it is not carried over, since the row gives pack_kg anew.",
        )
    ]
    load(workspace, "b.csv", "material,sort,price,from\nfeed,fertiliser,28,2026-06-01\n")
    rows = values(
        workspace, "SELECT pack_kg, price, holds_from, holds_until FROM material_by_day ORDER BY holds_from NULLS FIRST"
    )
    assert rows == [
        (25.0, 30.0, None, date(2025, 12, 1)),
        (20.0, None, date(2025, 12, 1), date(2026, 6, 1)),
        (20.0, 28.0, date(2026, 6, 1), None),
    ]


def test_a_register_without_a_column_empties_nothing(workspace: Workspace) -> None:
    """Only the price is new; label and pack stay, and it is said."""
    result = load(workspace, "prices.csv", "material,sort,price\nfeed,fertiliser,33\n")
    assert values(workspace, "SELECT n_pct, fe_pct, pack_kg, price FROM material") == [(10.0, 2.0, 25.0, 33.0)]
    assert said(result, "load.kept") == [
        (
            None,
            "note",
            "The file has no column for form, n_pct, fe_pct, analysis_by and pack_kg: what the store held of "
            "1 material stays.",
        )
    ]


def test_a_blank_cell_of_a_register_empties_and_says_so(workspace: Workspace) -> None:
    """The column is there, so blank means blank."""
    result = load(workspace, "greens.csv", "green,club,name,area_m2,length_m,width_m\nALD-1,ALD,Main,,40,25\n")
    assert values(workspace, "SELECT area_m2 FROM green") == [(None,)]
    assert said(result, "register.emptied") == [
        (
            2,
            "warning",
            "area_m2 is blank here and was 1000.0: the field is empty now, for every season the row holds in.",
        )
    ]


def test_a_job_log_without_a_column_keeps_what_was_logged(workspace: Workspace) -> None:
    """Hours stay with the job whose place is taken, and a job that says nothing else is the same job."""
    result = load(
        workspace,
        "jobs.csv",
        "date,green,operation,material,packs,cost\n2025-05-01,ALD-1,fertilising,feed,2,100\n"
        "2026-05-01,ALD-1,fertilising,feed,2,120\n",
    )
    assert (result.counts.unchanged, result.counts.superseded) == (1, 1)
    assert values(workspace, "SELECT hours, cost FROM job ORDER BY date") == [(3.0, 100.0), (4.0, 120.0)]


def test_another_amount_lets_go_of_the_one_it_contradicts(workspace: Workspace) -> None:
    """60 kg in a log without a column for packs: two packs of 25 kg are not kept beside them."""
    result = load(
        workspace, "jobs.csv", "date,green,operation,material,mass_kg\n2026-05-01,ALD-1,fertilising,feed,60\n"
    )
    assert values(workspace, "SELECT mass_kg, packs, hours FROM job ORDER BY date DESC LIMIT 1") == [(60.0, None, 4.0)]
    ((line, severity, message),) = said(result, "load.not_kept")
    assert (line, severity) == (2, "warning")
    assert message == "The file has no column for packs; the 2.0 that stood is not kept, since mass_kg changed."


def test_a_first_row_with_a_day_is_asked_about(workspace: Workspace) -> None:
    """What held before is not guessed in silence."""
    result = load(workspace, "new.csv", "material,sort,n_pct,from\nsalt,fertiliser,21,2026-03-01\n")
    assert said(result, "register.no_first") == [
        (
            2,
            "warning",
            "salt has no row that holds from the start: that from 2026-03-01 on is taken for the days before it as "
            "well.",
        )
    ]
    assert not said(
        load(workspace, "more.csv", "material,sort,n_pct,from\nfeed,fertiliser,9,2026-03-01\n"), "register.no_first"
    )


def test_a_row_without_a_day_says_that_it_changes_what_held_from_the_start(workspace: Workspace) -> None:
    """Who sends a list without days means today's row, which stays as the dated row says."""
    load(workspace, "areas.csv", "green,from,area_m2\nALD-1,2026-02-01,950\n")
    greens = "green,club,name,area_m2,length_m,width_m\nALD-1,ALD,{},{},40,25\n"
    result = load(workspace, "greens.csv", greens.format("Top", 900))
    assert said(result, "register.from_start") == [
        (
            2,
            "warning",
            "The row of ALD-1 has no day, so it changes what held from the start: name from Main to Top, and it is "
            "still Main from 2026-02-01 on where that row gives it, Top where it leaves it blank.",
        ),
        (
            2,
            "warning",
            "The row of ALD-1 has no day, so it changes what held from the start: area_m2 from 1000 to 900, and it is "
            "still 950 from 2026-02-01 on.",
        ),
    ]
    asked = result.faults.filter(pl.col("code") == "register.from_start")
    assert asked["column"].to_list() == ["name", "area_m2"], "columns that the file has, so that they can be confirmed"
    rows = "SELECT name, area_m2 FROM green_by_day ORDER BY holds_from NULLS FIRST"
    assert values(workspace, rows) == [("Top", 900.0), ("Top", 950.0)]
    again = load(workspace, "greens_again.csv", greens.format("Top", 900) + "\n")
    assert not said(again, "register.from_start"), "it says what stands already"


def test_a_whole_list_may_change_what_held_from_the_start(workspace: Workspace) -> None:
    load(workspace, "areas.csv", "green,from,area_m2\nALD-1,2026-02-01,950\n")
    whole = "green,club,name,area_m2,from\nALD-1,ALD,Main,980,\nALD-1,ALD,Main,950,2026-02-01\n"
    assert not said(load(workspace, "greens.csv", whole), "register.from_start")


def test_a_later_row_need_not_repeat_what_the_first_says(workspace: Workspace) -> None:
    """A list of prices, or of areas measured again, names neither club nor sort: both are those of the row before."""
    reported(workspace, "2025")
    prices = load(workspace, "prices.csv", "material,from,price\nfeed,2026-02-01,34\n")
    areas = load(workspace, "areas.csv", "green,from,area_m2\nALD-1,2025-10-01,950\n")
    assert [(one.kind, one.counts.loaded, one.failed) for one in (prices, areas)] == [
        ("material", 1, False),
        ("green", 1, False),
    ]
    rows = "SELECT sort, pack_kg, price, n_pct FROM material_by_day ORDER BY holds_from NULLS FIRST"
    assert values(workspace, rows) == [("fertiliser", 25.0, 30.0, 10.0), ("fertiliser", 25.0, 34.0, 10.0)]
    assert values(workspace, "SELECT club, name, area_m2 FROM green") == [("ALD", "Main", 950.0)]
    assert figures(workspace, "2026")["cost_m2"] == pytest.approx(100 / 950)
    again = load(workspace, "prices.csv", "material,from,price\nfeed,2026-02-01,34\n")
    assert (again.counts.unchanged, again.counts.changed) == (1, 0)


def test_a_new_thing_needs_them_all_the_same(workspace: Workspace) -> None:
    """Nothing stands to take them from: neither in the store nor in an earlier row of the file."""
    result = load(
        workspace,
        "prices.csv",
        "material,from,price\nfeed,2026-02-01,34\nsand,2026-02-01,12\nfeed,,29\nloam,,9\n",
    )
    assert (result.counts.loaded, result.counts.superseded, result.counts.rejected) == (1, 1, 2)
    assert said(result, "register.new_needs") == [
        (3, "error", "“sand” has no sort here, and no row before it to take it from."),
        (5, "error", "“loam” has no sort here, and no row before it to take it from."),
    ]
    assert values(workspace, "SELECT price, sort FROM history.material WHERE ended_by IS NULL ORDER BY price") == [
        (29.0, "fertiliser"),
        (34.0, "fertiliser"),
    ]


def test_a_row_takes_from_an_earlier_row_of_the_same_file(workspace: Workspace) -> None:
    """Of a new material the first row says the sort; the order of the lines does not matter."""
    result = load(workspace, "sand.csv", "material,sort,from,price\nsand,,2026-03-01,15\nsand,top dressing,,12\n")
    assert not result.failed
    rows = values(workspace, "SELECT sort, price FROM material_by_day WHERE material = 'sand' ORDER BY price")
    assert rows == [("top_dressing", 12.0), ("top_dressing", 15.0)]


def test_a_pack_said_again_keeps_its_price(workspace: Workspace) -> None:
    """The same 25 kg is no new pack; of 20 kg in the next row nobody has said a price, and the row before is asked."""
    result = load(
        workspace,
        "packs.csv",
        "material,sort,from,pack_kg,price\nfeed,fertiliser,2025-12-01,25,\nfeed,fertiliser,2026-01-01,25,33\n"
        "feed,fertiliser,2026-02-01,20,\nfeed,fertiliser,2026-03-01,20,\n",
    )
    assert said(result, "register.not_carried") == [
        (
            4,
            "warning",
            "price was 33.0 and is blank here: it is not carried over, since the row gives pack_kg anew.",
        )
    ]
    rows = values(workspace, "SELECT pack_kg, price FROM material_by_day ORDER BY holds_from NULLS FIRST")
    assert rows == [(25.0, 30.0), (25.0, 30.0), (25.0, 33.0), (20.0, None), (20.0, None)]


def test_a_load_whose_rows_others_take_from_is_not_taken_back_alone(workspace: Workspace) -> None:
    """Without the first row of the green the second would have had no club."""
    load(workspace, "areas.csv", "green,from,area_m2\nALD-1,2025-10-01,950\n")
    ((first,),) = values(workspace, "SELECT load_id FROM meta.load WHERE file LIKE '%greens.csv'")
    with pytest.raises(CannotDo, match="takes from it what 1 row left out"):
        undo(workspace, int(str(first)))


def asked(here: Workspace) -> set[str]:
    """Sorts of what is open about the change that office.csv makes."""
    mine = [one for one in open_matters(here) if one.file == "office.csv"]
    return {one.sort for one in mine if one.sort == "double" or "what held from the start" in one.text}


def test_one_change_of_a_register_is_one_question(workspace: Workspace) -> None:
    """It was asked under two heads, and an answer to one left the other standing."""
    load(workspace, "areas.csv", "green,from,area_m2\nALD-1,2026-02-01,950\n")
    load(workspace, "office.csv", "green,club,name,area_m2\nALD-1,ALD,Main,900\n")
    assert asked(workspace) == {"double", "question"}
    made = decide(workspace, "one", ["office.csv:2", "greens.csv:2"], "measured", "office")
    assert asked(workspace) == set()
    undo(workspace, made.entries[0][0])
    assert asked(workspace) == {"double", "question"}
    workspace.corrections.mkdir(exist_ok=True)
    (workspace.corrections / "office.toml").write_text(
        '[[correction]]\nfile = "office.csv"\nline = 2\ncolumn = "area_m2"\nfrom = "900"\nto = "900"\n'
        'why = "measured"\nwho = "office"\n'
    )
    load(workspace, "office.csv", "green,club,name,area_m2\nALD-1,ALD,Main,900\n")
    assert asked(workspace) == set()


def test_of_a_store_made_anew_no_figure_is_altered(workspace: Workspace) -> None:
    """Its reports are older than it, and “changes what has been reported, : .” said nothing."""
    reported(workspace, "2026")
    workspace.store.unlink()
    load(workspace, "clubs.csv", "club,name\nALD,Alder Brook\n")
    result = load(workspace, "greens.csv", "green,club,name,area_m2\nALD-1,ALD,Main,1000\nALD-2,ALD,Second,900\n")
    assert said(result, "load.alters_reported") == []


def test_several_greens_change_what_was_reported(workspace: Workspace) -> None:
    reported(workspace, "2025")
    result = load(workspace, "more.csv", "green,club,name,area_m2\nALD-1,ALD,Main,800\nALD-2,ALD,Second,900\n")
    ((_, _, message),) = said(result, "load.alters_reported")
    assert message.startswith("The greens ALD-1 and ALD-2 change what has been reported of season 2025, ALD-1: ")
