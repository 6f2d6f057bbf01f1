"""What is to come is never proposed for a file of what was: the demo's files as they arrive are drafted as before."""

from __future__ import annotations

from datetime import date
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from pipeline.draft.build import draft_profile
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas import AHEAD
from tests.conftest import Load
from tests.draft.measure import drafts
from tests.thorough import but_for, thorough

PRICE_LIST = "Product,Supplier,Pack size,Price each,Delivery\nspring granular 9-4-6 + 2 Fe,merchant,25 kg,27.50,12\n"
FIXTURES = "Date,Club,Home/Away,Opponents\n2026-05-09,ALD,H,Bridge End\n2026-05-16,ALD,A,Bridge End\n"


BEFORE = {"jobs": "job", "lab": "soil_test", "speeds_crown": "green_speed", "speeds_county": "observation"}
"""What the drafts of these files were before there were kinds of what is to come, by how their names begin."""


TO_COME = {
    "closed_days.csv": "calendar",
    "prices_merchant.csv": "price",
    "programme_2026.csv": "planned_work",
    "programme_2027.csv": "planned_work",
    "rates.csv": "rate",
}
"""Files of the demo with the own headers of what is to come, and their kinds."""
AS_THEY_ARRIVE = {
    "fixtures_2027.csv": "calendar",
    "prices_farm_store_2026.csv": "price",
    "prices_quarry_2026-10.csv": "price",
    "programme_volunteers_2027.csv": "planned_work",
    "stock_yards_2026-10.csv": "stock",
}
"""The same of those with headers of somebody's own."""


@pytest.mark.parametrize("folder", but_for(("registers",), ["clean", "registers"]))
def test_only_files_of_what_is_to_come_are_drafted_as_that(folder: str, workspace: Workspace) -> None:
    """A register of materials has prices, a job log costs."""
    with as_file(files("demo_data")) as source:
        made = {one.file: one.drafted_for for one in drafts(Path(source) / folder, workspace)}
    assert len(set(made.values())) >= 3
    assert {file: kind for file, kind in made.items() if kind in AHEAD} == (TO_COME if folder == "clean" else {})


@thorough
def test_files_as_they_arrive_are_drafted_as_before(workspace: Workspace) -> None:
    """A job log with prices in it would be read as a price list, and its works be lost.

    What is to come under headers of somebody's own is not told unasked either: its draft has questions, and loads
    nothing before a person has named the kind.
    """
    with as_file(files("demo_data")) as source:
        every = {one.file: one for one in drafts(Path(source) / "as_it_arrives", workspace)}
    of_what_was = {file: one.drafted_for for file, one in every.items() if file not in AS_THEY_ARRIVE}
    assert len(of_what_was) == 12
    assert of_what_was == {file: next(kind for name, kind in BEFORE.items() if file.startswith(name))
                           for file in of_what_was}  # fmt: skip
    assert set(every) - set(of_what_was) == set(AS_THEY_ARRIVE)
    assert all(every[file].asks for file in AS_THEY_ARRIVE)


@pytest.mark.parametrize("file", AS_THEY_ARRIVE)
def test_what_is_to_come_is_drafted_as_that_where_a_person_says_so(file: str, workspace: Workspace) -> None:
    """The year ahead would need profiles written from nothing."""
    with as_file(files("demo_data")) as source:
        made = draft_profile(workspace, Path(source) / "as_it_arrives" / file, kind=AS_THEY_ARRIVE[file])
    assert made.kind == AS_THEY_ARRIVE[file]
    assert sum(one.field not in {"", "?"} for one in made.mapped) >= 2


@pytest.mark.parametrize(("text", "kind"), [(PRICE_LIST, "price"), (FIXTURES, "calendar")])
def test_a_list_is_drafted_as_one_where_a_person_says_so(
    text: str, kind: str, workspace: Workspace, tmp_path: Path
) -> None:
    """Unasked a fixture list is none of ours; a list that names supplier, pack and price is one by its own headers."""
    path = tmp_path / "list.csv"
    path.write_text(text, "utf-8")
    unasked = draft_profile(workspace, path)
    assert unasked.drafted_for == "price" or unasked.drafted_for not in AHEAD
    without = tmp_path / "without.csv"
    without.write_text(text.replace("Supplier,", "").replace("merchant,", ""), "utf-8")
    assert draft_profile(workspace, without).drafted_for not in AHEAD
    asked = draft_profile(workspace, path, kind=kind, force=True)
    assert (asked.kind, [one.header for one in asked.mapped if not one.field]) == (kind, [])


def test_the_day_of_a_count_may_stand_in_a_title_line(tmp_path: Path, workspace: Workspace) -> None:
    """A count's day is in its title more often than not: the draft says how it is read there."""
    count = tmp_path / "count.csv"
    count.write_text("Counted 12 Feb 2027\nProduct,Qty\nspring granular 9-4-6 + 2 Fe,1 x 25 kg\n", encoding="utf-8")
    drafted = draft_profile(workspace, count, kind="stock")
    (asked,) = [one.why for one in drafted.asks if one.key == "constants.counted_on"]
    assert asked == (
        "no column says it (Day of the count): write the day of every row, as 2027-02-12, or say under "
        "[given.counted_on] how a title line or the file’s name has it, in place of this"
    )


COUNT = ("stock", "Product,Qty,Counted on,Depot\nloam,3 t,2027-02-12,yard\n")
LIST = ("price", "Product,Pack size,Price each,Supplier,Prices from\nloam,1 t,60,quarry,2027-01-01\n")


@pytest.mark.parametrize(
    ("sheet", "header", "cell", "asked"),
    [
        (COUNT, ",Depot", ",yard", "depot"),
        (COUNT, ",Counted on", ",2027-02-12", "counted_on"),
        (LIST, ",Supplier", ",quarry", "supplier"),
        (LIST, ",Prices from", ",2027-01-01", "holds_from"),
    ],
)
def test_what_decides_about_stock_and_prices_is_asked_where_no_column_says_it(
    sheet: tuple[str, str], header: str, cell: str, asked: str, tmp_path: Path, workspace: Workspace
) -> None:
    """Stock of no depot serves no green and is bought again; last year's prices without a day are this year's."""
    kind, text = sheet
    path = tmp_path / "sheet.csv"
    path.write_text(text, "utf-8")
    assert not draft_profile(workspace, path, kind=kind).asks
    path.write_text(text.replace(header, "").replace(cell, ""), "utf-8")
    drafted = draft_profile(workspace, path, kind=kind, force=True)
    assert [one.key for one in drafted.asks] == [f"constants.{asked}"]
    assert f'\n{asked} = "?"' in drafted.text
    assert f'# {asked} = "…"' not in drafted.text, "asked in one place"


def test_a_count_loads_once_its_marks_are_answered(county: Load, workspace: Workspace) -> None:
    """The answers that the draft asks for load the count as it lies there."""
    count = workspace.folder / "count.csv"
    count.write_text("Counted 12 Feb 2027\nProduct,Qty\n70/30 sand and soil,3 t\n", "utf-8")
    drafted = draft_profile(workspace, count, kind="stock")
    assert drafted.path is not None
    waits = county("count.csv", count.read_bytes())
    assert waits.failed, "a mark refuses the files it fits"
    title = '\n[given.counted_on]\ntitle = "Counted (.+)"\n'
    text = drafted.text.replace('\ncounted_on = "?"', "").replace('\ndepot = "?"', '\ndepot = "yard"') + title
    drafted.path.write_text(text, "utf-8")
    assert county("count.csv", count.read_bytes()).counts.loaded == 1
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT depot, counted_on FROM stock") == [("yard", date(2027, 2, 12))]
