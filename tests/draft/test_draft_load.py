"""A draft with its marks decided loads; every row is accounted for; nothing the file says is lost on the way."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from pipeline.cli.app import app
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.draft import draft_profile
from pipeline.load.files import load_paths
from pipeline.load.load import FileResult
from pipeline.profiles.profile import read_profile
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import ROOT, TODAY, Load
from tests.draft.conftest import Drafted, data_of, decide
from tests.thorough import beyond

DEMO = ROOT / "demo_data"


def _load(workspace: Workspace, path: Path) -> FileResult:
    return load_paths(workspace, [path], today=TODAY)[0]


NEW_USER = """\
Wünsche & Söhne – Pflegebuch;;;;;;
Wann;Platz;Was;Tiefe (in);Menge;Std;Bemerkung
03.04.2026;Alder Brook;scarified;0,25;;2,5;trocken
13.04.2026;Alder Brook;topdressing;;1.250 kg;1,75;naß
14.04.2026;Alder Brok;hollow cored;2,5;;3;
""".encode("cp1252")


def test_a_new_users_walk(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """Unknown headers, decimal comma, semicolons, cp1252, a title line: draft, edit one file as text, load."""
    export = tmp_path / "pflegebuch.csv"
    export.write_bytes(NEW_USER)
    made = draft_profile(workspace, export, kind="job")
    assert made.path is not None
    assert _load(workspace, export).faults["code"].to_list() == ["profile.undecided"]  # a mark still stands
    text = made.path.read_text("utf-8")
    assert 'encoding = "cp1252"' in text
    assert 'delimiter = ";"' in text
    assert "header_line = 2" in text
    assert 'decimal = ","' in text
    assert 'thousands = "."' in text
    assert 'date_order = "dmy"' in text
    text = text.replace('# "Alder Brok" = "…"', '"Alder Brok" = "ALD-1"')
    text = text.replace('quantity = "?"', 'quantity = "Menge"').replace('debris = "?"\n', "")
    text = text.replace('material = "?"\n', "")  # the book never says of what
    text = text.replace('"Tiefe (in)" = { field = "?"', '"Tiefe (in)" = { field = "depth_mm"')
    text = text.replace('Std = "?"', 'Std = { field = "hours", unit = "h" }')
    made.path.write_text(text, "utf-8")
    result = _load(workspace, export)
    assert (result.profile, result.counts.rows, result.counts.loaded) == ("pflegebuch", 3, 3)
    with Store(workspace.store, read_only=True) as store:
        rows = store.rows("SELECT date, operation, depth_mm, mass_kg, hours FROM job ORDER BY date")
    assert [tuple(map(str, row)) for row in rows] == [
        ("2026-04-03", "scarifying", "6.35", "None", "2.5"),  # a quarter inch
        ("2026-04-13", "top_dressing", "None", "1250.0", "1.75"),
        ("2026-04-14", "hollow_coring", "63.5", "None", "3.0"),
    ]


BOOK = "When;Where;Task;Used;Amount;Sky\n12.4.26;ALD-1;top dress;{};2 t;dry\n19.4.26;ALD-1;fed;{};2 x 25 kg;wet\n"


def test_a_column_of_materials_is_told_by_the_register_whatever_its_header_sounds_like(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """“Used” sounds like an amount; it went to [ignore] unasked, and 2 t of nothing was loaded without a word."""
    export = tmp_path / "book.csv"
    export.write_text(BOOK.format("70/30 sand and soil", "spring feed"), "utf-8")
    made = data_of(draft_profile(workspace, export, kind="job"))
    assert (made["fields"]["material"], made["ignore"]["headers"]) == ("Used", ["Sky"])


def test_amounts_of_which_no_column_says_of_what_are_asked_about(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """Before the materials are loaded nothing tells the column; none of words may go to [ignore] then."""
    export = tmp_path / "book.csv"
    export.write_text(BOOK.format("the brown stuff", "the green stuff"), "utf-8")
    drafted = draft_profile(workspace, export, kind="job")
    made = data_of(drafted)
    assert made["fields"]["material"] == "?"
    assert "ignore" not in made
    (asked,) = [one.why for one in drafted.asks if one.key == "fields.material"]
    assert asked.endswith("has none: write its column, one of “Used”, “Sky”, or delete the line")


def test_a_dose_under_a_header_nobody_knows_is_not_lost(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """A column “kgs” went to [ignore] unasked: the file loaded without a word, and without its 75 kg."""
    rows = "Date\tGreen\tOperation\tkgs\tSky\tEmpty\n2026-03-01\tALD-1\tfertilising\t50\tdry\t\n"
    export = tmp_path / "log.tsv"
    export.write_text(rows + "2026-04-01\tALD-1\tfertilising\t25\tgrey\t\n", "utf-8")
    made = draft_profile(workspace, export)
    assert data_of(made)["columns"] == {"kgs": "?"}
    assert data_of(made)["ignore"]["headers"] == ["Sky"]  # what fills "Empty" one day must be named
    assert [(ask.key, ask.about) for ask in made.asks] == [("columns", "kgs")]
    assert {one.header: one.how for one in made.mapped if one.field in {"", "?"}} == {
        "kgs": "decide, under [columns]",
        "Sky": "words, like no field: under [ignore]",
        "Empty": "empty: loading names it once it is filled",
    }
    decide(made, {r"columns\|kgs": "mass_kg"})
    assert _load(workspace, export).counts.loaded == 2
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT sum(mass_kg) FROM job") == [(75.0,)]


@pytest.mark.parametrize(
    ("header", "cell", "said"),
    [
        ("How deep (in)", "0.125", {"field": "?", "unit": "in"}),
        ("Put down", "1,5 t", None),  # an amount: asked under [fields]
        ("Wetness", "30-40 %", "?"),
        ("Slip", "J-1042", "?"),
        ("Sent", "3 April 2026", "?"),
    ],
)
def test_a_column_that_is_not_plainly_words_is_asked(drafted: Drafted, header: str, cell: str, said: object) -> None:
    made = drafted(f'Date,Green,Operation,{header}\n2026-04-03,ALD-1,mowing,"{cell}"\n', kind="job")
    assert data_of(made).get("columns", {}).get(header) == said
    assert "ignore" not in data_of(made)
    assert made.asks


def test_columns_say_the_same_as_fields_and_ignore(tmp_path: Path) -> None:
    """[columns] is read as [fields] and [ignore]; a field with two columns is refused."""
    path = tmp_path / "crew.toml"
    head = 'name = "crew"\nkind = "job"\n'
    path.write_text(head + '[columns]\nDeep = { field = "depth_mm", unit = "in" }\nHrs = "hours"\nSky = "ignore"\n')
    profile = read_profile(path)
    assert {name: (one.columns, one.unit) for name, one in profile.fields.items()} == {
        "depth_mm": (("Deep",), "in"),
        "hours": (("Hrs",), ""),
    }
    assert profile.ignore.headers == ("Sky",)
    for wrong in ('A = "hours"\nB = "hours"\n', "A = 1\n", 'A = { unit = "in" }\n', 'A = ["hours"]\n'):
        path.write_text(f"{head}[columns]\n{wrong}")
        with pytest.raises(CannotDo, match="needs a field of its own"):
            read_profile(path)
    path.write_text(head + '[columns]\nA = "hors"\n')
    with pytest.raises(CannotDo, match="'hors' is not a field of job"):
        read_profile(path)


def test_a_profile_that_is_not_decided_stops_its_own_files_alone(
    county: Load, workspace: Workspace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One draft left lying stopped every load in the workspace."""
    own, other = tmp_path / "own.csv", tmp_path / "other.csv"
    own.write_text("Wann,Green,Operation,Std\n2026-04-03,ALD-1,mowing,2\n", "utf-8")
    other.write_text("date,green,operation\n2026-04-04,ALD-1,mowing\n", "utf-8")
    made = draft_profile(workspace, own)
    assert made.asks
    mine, another = load_paths(workspace, [own, other], today=TODAY)
    if mine.file != "own.csv":
        mine, another = another, mine
    assert (mine.counts.rejected, another.counts.loaded) == (1, 1)
    assert mine.faults["code"].to_list() == ["profile.undecided"]
    assert "columns.Std still says “?”" in mine.faults["message"][0]
    (asked,) = load_paths(workspace, [other], today=TODAY, profile="own")
    assert asked.faults["code"].to_list() == ["profile.undecided"]
    app(["load", str(other), "--workspace", str(workspace.folder)], standalone_mode=False)
    assert "Profile own still says “?” somewhere" in capsys.readouterr().err


def test_a_header_that_names_an_analyte_is_enough(county: Load, drafted: Drafted) -> None:
    """A word among two results took pH and loss on ignition out of the draft without a question."""
    made = drafted("Date,Green,pH,LOI %\n2026-02-10,ALD-1,VH,4.2\n2026-02-11,ALD-1,6,VH\n")
    data = data_of(made)
    assert [entry["set"]["analyte"] for entry in data["long"]] == ["ph", "organic_matter"]
    assert "VH (2, first on line 2)" in made.asks[0].why
    assert "ignore" not in data


DEMO_CASES: dict[str, tuple[dict[str, object], str]] = {
    "jobs_north_round.csv": (
        {r"values\|barrow_l": 85, r"columns\|.*": "ignore"},
        "north-round",
    ),
    "jobs_south_crew.csv": (
        {
            r"values\|ton": "metric",
            r"values\|barrow_l": 85,
            r"fields\|treated_area_m2\|unit": "m2",
            r"fields\|trigger_hours\|unit": "h",
            r"fields\|.*\|unit": "mm",
            r"columns\|.*": "ignore",
        },
        "south-crew",
    ),
    "lab_tarnfold_nutrients_2026.csv": ({r"values\|missing\|0": []}, "tarnfold-nutrients"),
    "lab_tarnfold_organic_2026.csv": (
        {
            r"values\|missing\|0": [],
            r"units\|shares": "%",
            r"long\|LOI 0-20\|set\|depth_to_mm": 20,
            r"long\|LOI 20-40\|set\|depth_from_mm": 20,
            r"long\|LOI 20-40\|set\|depth_to_mm": 40,
            r"long\|LOI 40-60\|set\|depth_from_mm": 40,
            r"long\|LOI 40-60\|set\|depth_to_mm": 60,
        },
        "tarnfold-organic-matter",
    ),
    "speeds_county_2026.csv": ({r"values\|missing\|0": [], r"constants\|unit": "s"}, "county-speeds"),
}


@pytest.mark.parametrize("name", list(DEMO_CASES))
@beyond(1)
def test_a_decided_draft_loads_what_the_hand_written_profile_loads(name: str, workspace: Workspace) -> None:
    """Against the profiles a person wrote for the demo's exports: the same rows come in, the same stay out."""
    load_paths(workspace, [DEMO / "registers"], today=TODAY)
    decisions, by_hand = DEMO_CASES[name]
    made = draft_profile(workspace, DEMO / "as_it_arrives" / name)
    decide(made, decisions)
    drafted = load_paths(workspace, [DEMO / "as_it_arrives" / name], today=TODAY, dry_run=True)[0]
    assert made.path is not None
    made.path.unlink()
    for profile in (DEMO / "profiles").glob("*.toml"):
        (workspace.profiles / profile.name).write_bytes(profile.read_bytes())
    hand = load_paths(workspace, [DEMO / "as_it_arrives" / name], today=TODAY, profile=by_hand, dry_run=True)[0]
    assert hand.counts.loaded > 0
    got, wanted = drafted.counts, hand.counts
    # Seen by the draft and by nobody who wrote the others: "MOS 1" for MOS-1, and what "2 ton" is once it is decided.
    more = {"jobs_north_round.csv": 1, "jobs_south_crew.csv": 1}.get(name, 0)
    assert (got.rows, got.loaded, got.rejected) == (wanted.rows, wanted.loaded + more, wanted.rejected - more)


def test_header_line_is_written_where_rows_of_data_look_like_headers(
    county: Load, workspace: Workspace, drafted: Drafted, tmp_path: Path
) -> None:
    """Cells P, K, S and the like are known headers too; loading must find the header drafting found."""
    rows = "plot,site,sampled,soil_pH,Mg mg/kg,what,more\n1,ALD-1,2026-02-10,6,80,P,K\n2,ALD-1,2026-02-11,6,81,K,P\n"
    decide(drafted(rows, kind="soil_test"), {})
    result = _load(workspace, tmp_path / "export.csv")
    assert (result.counts.rows, result.counts.loaded) == (4, 4)


def test_an_existing_profile_is_not_overwritten(workspace: Workspace, tmp_path: Path) -> None:
    path = tmp_path / "a b.csv"
    path.write_text("Date,Green,Operation\n2026-04-03,ALD-1,mowing\n", "utf-8")
    made = draft_profile(workspace, path)
    assert made.path == workspace.profiles / "a-b.toml"
    made.path.write_text("mine", "utf-8")
    with pytest.raises(WrongUsage, match="already"):
        draft_profile(workspace, path)
    assert made.path.read_text("utf-8") == "mine"
    assert draft_profile(workspace, path, name="other").path == workspace.profiles / "other.toml"
    draft_profile(workspace, path, force=True)
    assert made.path.read_text("utf-8") != "mine"


def test_a_name_that_another_file_has_is_refused(workspace: Workspace, tmp_path: Path) -> None:
    """Loading would refuse both from then on."""
    (workspace.profiles / "mine.toml").write_text('name = "crew"\nkind = "job"\n', "utf-8")
    path = tmp_path / "crew.csv"
    path.write_text("Date,Green,Operation\n2026-04-03,ALD-1,mowing\n", "utf-8")
    with pytest.raises(WrongUsage, match="already"):
        draft_profile(workspace, path, force=True)


def test_a_workbook_is_drafted_from_too(county: Load, workspace: Workspace, tmp_path: Path) -> None:
    """A sheet has neither encoding nor delimiter to write down."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["When", "Where", "What"], ["3 April 2026", "ALD-1", "mowing"], ["4 April 2026", "ALD-1", "cut"]):
        sheet.append(row)
    path = tmp_path / "crew.xlsx"
    book.save(path)
    decide(draft_profile(workspace, path), {})
    assert _load(workspace, path).counts.loaded == 2


@pytest.mark.parametrize(("options", "message"), [({"kind": "cricket"}, "not a kind"), ({}, "no file")])
def test_wrong_words_are_said(workspace: Workspace, tmp_path: Path, options: dict[str, Any], message: str) -> None:
    path = tmp_path / "x.csv"
    if options:
        path.write_text("a,b\n1,2\n", "utf-8")
    with pytest.raises(WrongUsage, match=message):
        draft_profile(workspace, path, **options)


def test_the_name_of_a_profile_cannot_lead_out_of_its_folder(workspace: Workspace, tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("Date,Green,Operation\n2026-04-03,ALD-1,mowing\n", "utf-8")
    made = draft_profile(workspace, path, name="../../away")
    assert made.path is not None
    assert made.path.parent == workspace.profiles
