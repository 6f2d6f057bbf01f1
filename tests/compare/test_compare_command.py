"""The comparison from a store: groups, own greens, files and words."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import page
import pikepdf
import pypdfium2
import pytest
from typer.testing import CliRunner

from pipeline.cli import narrow
from pipeline.cli.app import app
from pipeline.cli.printing import documents as printing
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.load.files import load_paths
from pipeline.publish.comparison import Compared, compare
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.conftest import TODAY
from tests.thorough import beyond, thorough

CLUBS = 4
GREENS = 12
DRESSED = "70/30 sand and soil"


@pytest.fixture(scope="module")
def workspace(tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    """Twelve like greens of four clubs with two seasons; six of them were dressed much more in the second."""
    folder = tmp_path_factory.mktemp("compared")
    make_workspace(folder)
    greens = [(f"G{i:02}", f"C{i % CLUBS}") for i in range(GREENS)]
    texts = {
        "clubs.csv": "club,name,region\n" + "".join(f"C{i},<Club> & {i},Ostershire\n" for i in range(CLUBS)),
        "greens.csv": "green,club,name,area_m2,shape,construction,grasses\n"
        + "".join(f"{g},{c},Lawn of {g},1000,flat,Soil push-up,bent\n" for g, c in greens),
        "materials.csv": f"material,sort,form,mix,bulk_density_t_m3\n{DRESSED},top dressing,solid,70/30,1.5\n",
        "soil.csv": "date,green,analyte,depth_from_mm,depth_to_mm,lab,value,unit,burn_c,preparation,verdure,cores\n",
        "jobs.csv": "date,green,operation,material,quantity\n",
    }
    for i, (green, _) in enumerate(greens):
        more = i < GREENS / 2
        for year, om in ((2025, 6 + i / 10), (2026, 6 + i / 10 + (-1.5 - i % 3 / 2 if more else 0.5 + i % 3 / 2))):
            texts["soil.csv"] += f"{year}-09-10,{green},organic matter,0,20,Lab A,{om},%,440,whole,on,10\n"
            tonnes = 6 if more and year == 2026 else 3
            texts["jobs.csv"] += f"{year - 1}-10-05,{green},top dressing,{DRESSED},{tonnes} t\n"
    made = open_workspace(folder)
    for name, text in texts.items():
        (folder / name).write_text(text)
        assert not load_paths(made, [folder / name], today=TODAY)[0].failed
    return made


@pytest.fixture(scope="module")
def association(workspace: Workspace, tmp_path_factory: pytest.TempPathFactory) -> Compared:
    return compare(workspace, season="2026", out=tmp_path_factory.mktemp("association"))


def table(done: Compared, name: str) -> list[dict[str, str]]:
    path = next(path for path in done.files if path.name.endswith(f"{name}.csv"))
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8-sig"))))


@thorough
def test_group_by_hand(association: Compared) -> None:
    """Twelve greens, half at 3, half at 6 kg/m²: median 4.5, quartiles of type 8 at the two values."""
    row = next(row for row in table(association, "groups") if row["indicator"] == "dressing_kg_m2")
    assert (row["greens"], row["clubs"]) == ("12", "4")
    assert (row["lower_quartile"], row["median"], row["upper_quartile"]) == ("3.0", "4.5", "6.0")
    # By hand: what rounds to 3.0 and 6.0 lies from 2.75 to 6.25; outwards to whole kg/m² from 2 to 7.
    assert (row["lowest"], row["highest"]) == ("2.0", "7.0")
    assert row["group"] == "flat greens, Ostershire, soil push-up, bent"


def test_association_names_nobody(association: Compared) -> None:
    assert not association.comparison.own
    assert not any(path.name.endswith("own.csv") for path in association.files)
    words = "".join(path.read_text("utf-8-sig") for path in association.files if path.suffix == ".csv")
    words += pages(association)
    for word in ("Lawn", "G0", "G1", "Club"):
        assert word not in words.replace("Clubs", "")


def pages(done: Compared) -> str:
    pdf = pypdfium2.PdfDocument(next(path for path in done.files if path.suffix == ".pdf"))
    assert 2 <= len(pdf) <= 3
    return "".join(pdf[i].get_textpage().get_text_bounded() for i in range(len(pdf)))


def test_club_sees_its_own_named_and_no_other(workspace: Workspace) -> None:
    done = compare(workspace, season="2026", club="C1")
    rows = table(done, "own")
    assert {row["green"] for row in rows} == {"G01", "G05", "G09"}
    dressed = {row["green"]: row for row in rows if row["indicator"] == "dressing_kg_m2"}
    assert (dressed["G01"]["place_from"], dressed["G01"]["place_to"]) == ("7", "12")
    assert (dressed["G09"]["place_from"], dressed["G09"]["place_to"]) == ("1", "6")
    sampled = next(row for row in rows if row["indicator"] == "organic_matter_pct")
    assert float(sampled["estimate_low"]) < float(sampled["estimate"]) < float(sampled["estimate_high"])
    text = pages(done)
    assert "Lawn of G05" in text
    assert "<Club> & 1" in text
    assert "Lawn of G02" not in text
    assert "<Club> & 2" not in text


def test_what_went_with_more_dressing(association: Compared) -> None:
    """Six greens from 3 to 6 kg/m², six steady: the difference of mean changes of rounded figures, as association."""
    row = next(row for row in table(association, "associations") if row["programme"].startswith("at least 1.5 kg/m²"))
    assert (row["greens_changed"], row["greens_unchanged"]) == ("6", "6")
    assert float(row["difference"]) == pytest.approx(-3.0, abs=0.3)
    assert float(row["low"]) < float(row["difference"]) < float(row["high"]) < 0
    assert row["text"].startswith("Went with a change of −")
    assert row["text"].endswith("An association: what else differed is not taken out.")
    refused = [row for row in table(association, "associations") if not row["difference"]]
    assert all(row["text"].startswith("Not compared: ") and not row["greens_changed"] for row in refused)


def test_year_on_year(association: Compared) -> None:
    row = next(row for row in table(association, "changes") if row["indicator"] == "dressing_kg_m2")
    assert (row["from_season"], row["to_season"], row["greens"], row["median"]) == ("2025", "2026", "12", "1.5")
    # By hand: six greens by 3 and six by 0 kg/m²; standard deviation 3·√(3/11), Student's t with 11 degrees 2.201.
    half = 2.201 * 3 * (3 / 11) ** 0.5 / 12**0.5
    assert float(row["mean_change"]) == pytest.approx(1.5)
    assert [float(row["low"]), float(row["high"])] == pytest.approx([1.5 - half, 1.5 + half], abs=0.001)
    shares = next(row for row in table(association, "changes") if row["indicator"] == "organic_matter_pct")
    assert shares["unit"] == "percentage points"


def test_same_store_same_bytes(workspace: Workspace, association: Compared, tmp_path: Path) -> None:
    again = compare(workspace, season="2026", out=tmp_path)
    for one, other in zip(association.files, again.files, strict=True):
        assert one.read_bytes() == other.read_bytes(), one.name


def test_no_file_names_the_tool(association: Compared) -> None:
    for path in association.files:
        assert b"swardtally" not in path.name.encode().lower() + path.read_bytes().lower(), path.name


def test_pdf_carries_the_tables(association: Compared) -> None:
    with pikepdf.open(next(path for path in association.files if path.suffix == ".pdf")) as pdf:
        assert set(pdf.attachments) == {"about.csv", "associations.csv", "changes.csv", "groups.csv", "seasons.csv"}
        assert pdf.Root.Lang == "en-GB"


@pytest.mark.parametrize("profile", [page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A])
@pytest.mark.parametrize("club", ["", "C1"])
@beyond(2)
def test_pdf_keeps_the_standards(workspace: Workspace, tmp_path: Path, club: str, profile: Any) -> None:
    """Outside check: page-validation, ISO 14289-1 and ISO 19005-3 rules; qpdf through pikepdf for the syntax."""
    done = compare(workspace, season="2026", club=club, out=tmp_path)
    path = next(path for path in done.files if path.suffix == ".pdf")
    report = page.validate_pdf_bytes(path.read_bytes(), profile=profile)
    assert report.is_compliant, [str(failure) for failure in report.failures]
    with pikepdf.open(path) as document:
        assert document.check_pdf_syntax() == []


def test_command_as_json(workspace: Workspace) -> None:
    found = CliRunner().invoke(
        app, ["compare", "--workspace", str(workspace.folder), "--season", "2026", "--club", "C1", "--json"]
    )
    assert found.exit_code == 0, found.output
    told = json.loads(found.stdout)
    assert told["club"] == "C1"
    assert {one["green"] for one in told["own"]} == {"G01", "G05", "G09"}
    assert all(cell["n"] >= 5 and cell["clubs"] >= 2 for cell in told["cells"])
    assert all(Path(path).exists() for path in told["files"])


def test_command_prints_a_line_a_group(workspace: Workspace) -> None:
    folder = str(workspace.folder)
    found = CliRunner().invoke(app, ["compare", "-w", folder, "-s", "2026", "-i", "dressing_kg_m2", "-q"])
    assert re.search(
        r"Top dressing applied +flat greens, Ostershire, soil push-up, bent +12 +4  4.5 kg/m²", found.stdout
    )
    assert "dressing_kg_m2" not in found.stdout
    own = CliRunner().invoke(
        app, ["compare", "-w", folder, "-s", "2026", "-i", "dressing_kg_m2", "-q", "-c", "C1", "--names"]
    )
    assert own.stdout.splitlines()[0].endswith("name") and own.stdout.splitlines()[1].endswith("dressing_kg_m2")
    assert "7th to 12th lowest of 12" in own.stdout


@thorough
def test_some_indicators_tell_no_more_than_all(workspace: Workspace, association: Compared, tmp_path: Path) -> None:
    """Asked for one by one, each output holds lines of the whole, to the last digit: none shows a withheld group."""
    whole = {name: table(association, name) for name in ("groups", "changes", "associations")}
    for wanted in ("dressing_kg_m2", "organic_matter_pct"):
        one = compare(workspace, season="2026", names=[wanted], out=tmp_path)
        assert table(one, "groups")
        for name, rows in whole.items():
            assert all(row in rows for row in table(one, name)), (wanted, name)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"region": "Nowhere"}, "There is no region “Nowhere”"),
        ({"club": "C9"}, "There is no club “C9”"),
        ({"names": ["ph"]}, "There is no indicator that can be compared “ph”"),
    ],
)
def test_unknown_words_are_refused(workspace: Workspace, options: dict[str, object], message: str) -> None:
    with pytest.raises(WrongUsage, match=message) as refused:
        compare(workspace, season="2026", **options)  # type: ignore[arg-type]
    assert refused.value.hint.startswith("There are: ")


def call(workspace: Workspace, *words: str) -> Any:
    return CliRunner().invoke(app, [*words, "-w", str(workspace.folder)], standalone_mode=False)


def test_every_club_gets_what_it_would_get_by_itself(
    workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One run, the figures of the county made once; names of files and their bytes are those of a run for one club."""
    from pipeline.publish import comparison as command

    made: list[str] = []
    county_of = command.county_of
    monkeypatch.setattr(command, "county_of", lambda *words: made.append("once") or county_of(*words))
    names = ("-i", "dressing_kg_m2")
    done = call(workspace, "compare", "-s", "2026", "--each-club", *names, "--out", str(tmp_path / "all"))
    assert (done.return_value, made) == (0, ["once"])
    assert [line.split()[:2] for line in done.stdout.splitlines()[1:]] == [[f"C{i}", "3"] for i in range(CLUBS)]
    one = compare(workspace, season="2026", club="C1", names=["dressing_kg_m2"], out=tmp_path / "one")
    for path in one.files:
        assert (tmp_path / "all" / path.name).read_bytes() == path.read_bytes(), path.name
    pdfs = sorted(path.name for path in (tmp_path / "all").glob("*.pdf"))
    assert pdfs == [f"comparison-c{i}-2026.pdf" for i in range(CLUBS)]


def test_one_club_or_each(workspace: Workspace, tmp_path: Path) -> None:
    """Both at once have no meaning, and two clubs whose files would have one name are not written over each other."""
    from pipeline.publish.comparison import _refuse_one_file
    from pipeline.publish.writer import Planned

    both = CliRunner().invoke(app, ["compare", "-c", "C1", "--each-club", "-w", str(workspace.folder)])
    assert isinstance(both.exception, WrongUsage)
    assert str(both.exception) == "--club and --each-club exclude each other."
    alike = [Planned("comparison", "2026", tmp_path / "a.pdf", str, club=club) for club in ("ald", "ALD")]
    with pytest.raises(CannotDo, match="Clubs ald and ALD would be written to one file"):
        _refuse_one_file(alike)


def test_a_season_without_records_is_refused(workspace: Workspace, tmp_path: Path) -> None:
    """It was answered with an empty comparison, as though the greens had been looked at."""
    with pytest.raises(CannotDo) as refused:
        compare(workspace, season="2030", out=tmp_path)
    assert refused.value.message == "Of season 2030 the store holds no record of a green."
    assert refused.value.hint == "On record: seasons 2025, 2026."
    assert not list(tmp_path.iterdir())


@thorough
def test_a_comparison_that_would_come_out_the_same_is_left(workspace: Workspace, tmp_path: Path) -> None:
    """Until one of its files is changed, or --force asks for it."""
    first = compare(workspace, season="2026", club="C2", out=tmp_path)
    assert not first.written.unchanged
    times = {path: path.stat().st_mtime_ns for path in first.files}
    again = compare(workspace, season="2026", club="C2", out=tmp_path)
    assert again.written.unchanged
    assert again.files == first.files
    assert {path: path.stat().st_mtime_ns for path in first.files} == times
    said = call(workspace, "compare", "-s", "2026", "-c", "C2", "--out", str(tmp_path))
    assert "1 report would come out the same and was left as it is (--force writes it again).\n" in said.stderr
    assert not compare(workspace, season="2026", club="C2", out=tmp_path, force=True).written.unchanged
    first.files[-1].write_text("spoilt")
    assert not compare(workspace, season="2026", club="C2", out=tmp_path).written.unchanged
    assert first.files[-1].read_bytes() != b"spoilt"
    other = compare(workspace, season="2026", club="C2", names=["dressing_kg_m2"], out=tmp_path)
    assert not other.written.unchanged


def test_a_comparison_that_cannot_be_drawn_leaves_no_half(
    workspace: Workspace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Named tables without the page that explains them, or of another load than the page, mislead."""
    from pipeline.publish import pool
    from reports.page.house_style import RenderingFault

    def spoilt(*_: object, **__: object) -> bytes:
        raise RenderingFault("a glyph is missing")

    monkeypatch.setattr(pool, "renderer_of", lambda _: spoilt)
    words = ("compare", "-s", "2026", "-c", "C3", "--out", str(tmp_path))
    done = call(workspace, *words)
    assert done.return_value == 1
    assert "comparison-c3" not in "".join(path.name for path in tmp_path.iterdir())
    assert done.stderr == "C3: not written: a glyph is missing\n"
    told = json.loads(call(workspace, *words, "--json").stdout)
    assert (told["files"], told["fault"]) == ([], "a glyph is missing")


@thorough
def test_a_comparison_bears_the_house_style(workspace: Workspace, tmp_path: Path) -> None:
    """As every other document does: a template or a name of the workspace was not looked at here."""
    workspace.pages.mkdir()
    try:
        (workspace.pages / "comparison.html.j2").write_text(
            '{% extends "shipped/comparison.html.j2" %}{% block head %}<h1>Own head</h1>{% endblock %}', "utf-8"
        )
        done = compare(workspace, season="2026", out=tmp_path)
        assert "Own head" in pages(done)
    finally:
        (workspace.pages / "comparison.html.j2").unlink()
        workspace.pages.rmdir()


def test_on_a_narrow_screen_the_group_stands_below_its_figure(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A place “2nd of 9” without the nine says nothing, and the column that names them was left out."""
    done = compare(workspace, season="2026", club="C1", out=tmp_path)
    monkeypatch.setattr(narrow, "screen_width", lambda: 80)
    printing.comparison(done, quiet=True)
    said = capsys.readouterr()
    assert "Left out" not in said.err and max(map(len, said.out.splitlines())) <= 80
    for one in done.comparison.own:
        assert f"  among {one.cell.group if one.cell else 'no group large enough'}" in said.out.splitlines()
