"""The condition survey of a visit: from files to a document that stands up."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import page
import pikepdf
import pytest

from pipeline.agronomy.levels.green_axes import Axes
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.findings.findings import Finding
from pipeline.indicators.base.green_season import Indicator
from pipeline.indicators.surface.readings import Change
from pipeline.publish.survey import write_survey
from pipeline.statistics.difference import Difference
from pipeline.survey import build as survey_build
from pipeline.survey.build import condition_survey, own_text_file
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace
from reports.page import changes as over_years
from reports.survey import render as document
from reports.survey import samples
from reports.survey.data import csv_files
from tests.conftest import Load
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import attached, flat, overlaps, pages_text
from tests.survey.conftest import DAY, LOW
from tests.thorough import thorough

Visit = Callable[..., Workspace]
HOSTILE = "<script>alert(1)</script> {{ 7*7 }} \u202ebidi 🙂 " + "W" * 60


def test_a_visit_is_put_together(found: ConditionSurvey) -> None:
    assert found.levels is not None
    assert found.levels.n == len(found.levels.points_m) == 121
    low = found.levels.lows[0]
    assert (low.across_m, low.along_m) == pytest.approx(LOW)
    moss = next(one for one in found.observations.measured if one.what == "moss")
    assert moss.value == pytest.approx(100 * 18 / 150)
    assert [one.rule.id for one in found.findings if one.rule.id in ("moss", "thatch-deep", "levels-out")] == [
        "levels-out",
        "thatch-deep",
        "moss",
    ]
    asked = {line.operation for line in found.programme.lines if line.why}
    assert {"levelling", "scarifying"} <= asked
    levelling = next(line for line in found.programme.lines if line.operation == "levelling")
    assert "t of dry dressing for the lows" in levelling.quantity


def test_a_job_in_two_halves_was_done_once(visit: Visit, load: Load) -> None:
    """The calendar says how often a work was done: two lines of one dressing are one, two feeds of a day are two."""
    halves = "2026-03-20,ALD-1,top dressing,70/30 sand and soil,2 t,800\n" * 2
    feeds = "".join(f"2026-04-20,ALD-1,fertilising,{name},,\n" for name in ("iron", "spring granular 11-5-5 + 8 Fe"))
    workspace = visit()
    assert not load("more.csv", f"date,green,operation,material,quantity,treated_area_m2\n{halves}{feeds}").failed
    made = condition_survey(workspace, "ALD-1", DAY).programme
    done = {line.operation: sum(line.done) for line in made.lines}
    assert (done["top_dressing"], done["fertilising"]) == (1, 2)


def test_the_document_says_what_was_found_and_certifies_nothing(found: ConditionSurvey, pdf: bytes) -> None:
    words = [flat(one) for one in pages_text(pdf)]
    assert "Itcertifiesnothing" in words[0]
    every = "".join(words)
    for part in (
        "Mosscovers12.0%",
        "Lowstofill",
        "Rootzone,RZ,16September2026",
        "Corebesidetheruler",
        "Programme,October2026toSeptember2027",
    ):
        assert part in every, part
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        report = page.validate_pdf_bytes(pdf, profile=profile)
        assert report.is_compliant, [str(failure) for failure in report.failures]
    assert pdf == document.render(found, version=VERSION)


def test_what_is_compared_with_the_visit_before_says_what_chance_would_show(found: ConditionSurvey) -> None:
    """Fourteen comparisons at 5 % each stood in one table, and two of three surveys "showed" something by chance."""
    seen = found.observations
    moved = Change(date(2025, 9, 17), 10.0, Difference(2.0, -1.0, 5.0))
    single = Change(date(2025, 9, 17), 10.0, Difference(2.0, None, None))
    every = [moved if i < 3 else single if i == 3 else None for i in range(len(seen.measured))]
    told = tuple(replace(one, change=change) for one, change in zip(seen.measured, every, strict=True))
    made = document.view(replace(found, observations=replace(seen, measured=told)), version=VERSION)
    assert made.by_chance == over_years.comparisons(3)
    assert "show 0.2 of them" in made.by_chance  # 3 × 0.05
    none = tuple(replace(one, change=None) for one in seen.measured)
    assert document.view(replace(found, observations=replace(seen, measured=none)), version=VERSION).by_chance == ""


@thorough
def test_a_standing_of_several_words_does_not_lie_on_the_change_beside_it(found: ConditionSurvey) -> None:
    """ "… too few to say" ran into "+1.2 (−1.6 to 4.5)" of the next column."""
    moved = Change(date(2025, 9, 17), 10.0, Difference(1.2, -1.6, 4.5))
    told = tuple(replace(one, change=moved) for one in found.observations.measured)
    wide = tuple(
        replace(one, low=1.0, high=40.0, target_high=12.0, standing="above")
        if one.name in {"moss_pct", "thatch_mm"}
        else one
        for one in found.season.indicators
    )
    of = {(one.name, one.band): one for one in wide}
    made = replace(
        found,
        observations=replace(found.observations, measured=told),
        season=replace(found.season, indicators=wide),
        told=tuple(replace(one, parts=tuple(_with(part, of) for part in one.parts)) for one in found.told),
    )
    rendered = document.render(made, version=VERSION)
    assert "toofewto" in "".join(flat(one) for one in pages_text(rendered))
    assert [pair for pair in overlaps(rendered, 0.0) if "few" in pair[1] + pair[2]] == []


def _with(found: Finding, of: dict[tuple[str, str], Indicator]) -> Finding:
    return replace(found, figures=tuple(of[i.name, i.band] for i in found.figures))


def test_further_findings_are_counted_in_the_right_number(found: ConditionSurvey) -> None:
    """ "1 further finding stand under" it read."""
    one = found.told[0]
    for number, words in ((5, "1 further finding stands under"), (6, "2 further findings stand under")):
        said = document.view(replace(found, told=(one,) * number), version=VERSION).matters
        assert said[-1].replace("\u00a0", " ").startswith(words)


def test_every_picture_says_what_it_shows(found: ConditionSurvey) -> None:
    made = document.html(found, version=VERSION)
    for part in ("Map of heights over", "Core C1", "Sieve curve of", "read at 3"):
        assert f'alt="{part}' in made or part in made.partition("<body")[2], part
    assert 'alt=""' not in made


def test_the_data_lead_to_file_and_line(found: ConditionSurvey, pdf: bytes) -> None:
    tables = attached(pdf)
    moss = [row for row in tables["observations.csv"] if row["what"] == "Moss"]
    assert [(row["hits"], row["points"], row["file"], row["line"]) for row in moss] == [
        ("6", "50", "observations.csv", "2"),
        ("4", "50", "observations.csv", "3"),
        ("8", "50", "observations.csv", "4"),
    ]
    described = {row["file"] for row in tables["columns.csv"]}
    assert described == {name for name in tables if not name.startswith(("columns", "records-"))}
    assert tables["findings.csv"][0]["id"] == "levels-out"
    assert len(tables["lows.csv"]) == len(found.levels.lows if found.levels else ())


def test_a_hostile_surveyor_breaks_nothing(visit: Visit) -> None:
    workspace = visit(layer=HOSTILE.replace('"', ""), caption=HOSTILE)
    own = own_text_file(workspace, "ALD-1", DAY)
    own.parent.mkdir()
    drawn = HOSTILE.replace("🙂", "")  # a text with a letter that cannot be drawn is refused
    own.write_text(f"# {drawn}\n\n![x](file:///etc/hostname)\n\n" + "word " * 4000, "utf-8")
    survey = condition_survey(workspace, "ALD-1", DAY)
    assert "<script" not in document.html(survey, version=VERSION)
    pdf = document.render(survey, version=VERSION)
    assert page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_UA_1).is_compliant
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert len(opened.pages) >= 4


def test_the_consultants_text_shows_pictures_of_its_folder_and_of_nowhere_else(visit: Visit, tmp_path: Path) -> None:
    workspace = visit()
    own = own_text_file(workspace, "ALD-1", DAY)
    own.parent.mkdir()
    (tmp_path / "away.svg").write_text("<svg/>", "utf-8")
    drain = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><rect width="40" height="20"/></svg>'
    (own.parent / "drain.svg").write_text(drain, "utf-8")
    with pytest.raises(CannotDo, match=r"surveys/drain\.svg belongs to no visit"):
        write_survey(workspace, "ALD-1", DAY)
    for text, said in (
        ("one\n\n![The outlet](gone.png)", r"surveys/ALD-1-2026-09-16\.md, line 3: there is no picture 'gone\.png'"),
        ("![The outlet](../../away.svg)", "outside|there is no picture"),
        ("![](drain.svg)", "no words say what 'drain.svg' shows"),
    ):
        own.write_text(f"{text}\n\ndrain.svg", "utf-8")
        with pytest.raises(CannotDo, match=said):
            write_survey(workspace, "ALD-1", DAY)
    own.write_text("![The outlet, seen from the bank](drain.svg)", "utf-8")
    done = write_survey(workspace, "ALD-1", DAY)
    assert not done.fault
    pdf = done.path.read_bytes()
    assert page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_UA_1).is_compliant
    assert page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_A_3A).is_compliant
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        alts = [str(one.get("/Alt", "")) for one in opened.objects if isinstance(one, pikepdf.Dictionary)]
    assert "The outlet, seen from the bank" in alts


def test_a_photo_keeps_no_metadata_in_the_document(found: ConditionSurvey) -> None:
    (photo,) = found.observations.photos
    assert b"Exif" not in photo.jpeg


def test_the_consultants_text_stands_in_it(visit: Visit) -> None:
    workspace = visit()
    own = own_text_file(workspace, "ALD-1", DAY)
    own.parent.mkdir()
    own.write_text("# Drains\n\nThe outlet is *blocked*.\n", "utf-8")
    made = document.html(condition_survey(workspace, "ALD-1", DAY), version=VERSION)
    assert "<h3>Drains</h3>" in made
    assert "<em>blocked</em>" in made
    own.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CannotDo, match="not UTF-8"):
        condition_survey(workspace, "ALD-1", DAY)
    own.write_text("x" * 50_000, "utf-8")
    with pytest.raises(CannotDo, match="50,000 characters"):
        condition_survey(workspace, "ALD-1", DAY)


def test_a_day_without_a_visit_names_those_there_are(seen: Workspace) -> None:
    workspace = seen
    with pytest.raises(WrongUsage, match="Nothing was surveyed on ALD-1 on 2026-09-15") as told:
        condition_survey(workspace, "ALD-1", date(2026, 9, 15))
    assert "2026-09-16" in told.value.hint
    with pytest.raises(WrongUsage, match="ALD-9"):
        condition_survey(workspace, "ALD-9", DAY)


def test_nothing_after_the_day_of_the_visit_is_counted(visit: Visit, load: Load) -> None:
    workspace = visit()
    load("later.csv", "date,green,operation\n2026-09-20,ALD-1,hollow coring\n")
    survey = condition_survey(workspace, "ALD-1", DAY)
    assert survey.season.as_of == DAY
    assert {work.operation for work in survey.season.works} == {"Scarifying"}


def test_it_is_written_beside_the_reports_of_its_season(seen: Workspace) -> None:
    written = write_survey(seen, "ALD-1", DAY)
    assert written.fault == ""
    assert written.path.name == "ALD-1-survey-2026-09-16.pdf"
    assert written.path.parent.name == "2026"


def test_tables_without_a_row_are_not_attached(found: ConditionSurvey) -> None:
    names = {file.name for file in csv_files(found)}
    assert {
        "observations.csv",
        "layers.csv",
        "sieves.csv",
        "lows.csv",
        "findings.csv",
        "programme.csv",
        "photos.csv",
    } <= names


def test_readings_in_the_surveys_coordinates_stand_on_the_green(found: ConditionSurvey) -> None:
    """Guards against figures heaped in a corner where a survey counts eastings in hundreds of thousands."""
    levels = found.levels
    assert levels is not None
    spots = [(8.0, 8.0, 1.0), (32.0, 8.0, 2.0), (8.0, 32.0, 3.0)]
    assert samples.on_the_green(spots, levels) == spots
    turn = math.radians(27)
    far = [
        (10000 + x * math.cos(turn) - y * math.sin(turn), 20000 + x * math.sin(turn) + y * math.cos(turn), value)
        for x, y, value in spots
    ]
    moved = replace(levels, axes=Axes(10000.0, 20000.0, -27.0, 40.0, 40.0, told=True))
    turned = samples.on_the_green(far, moved)
    assert turned is not None
    for spot, expected in zip(turned, spots, strict=True):
        assert spot == pytest.approx(expected, abs=1e-6)
    assert samples.on_the_green(far, levels) is None
    assert samples.on_the_green(spots, None) is None


def test_a_text_under_its_former_name_is_not_left_out_in_silence(visit: Visit, monkeypatch: pytest.MonkeyPatch) -> None:
    """Names once told capitals from small letters, which not every file system does: such a text is to be renamed."""
    workspace = visit()
    monkeypatch.setattr(survey_build, "file_stem", lambda code: f"{code}_0123456789abcdef")
    folder = workspace.folder / survey_build.OWN_TEXTS
    folder.mkdir()
    (folder / "ald-1-2026-09-16.md").write_text("Another green's text", "utf-8")
    assert condition_survey(workspace, "ALD-1", DAY).own_text == ""
    (folder / "ALD-1-2026-09-16.md").write_text("Its own", "utf-8")
    with pytest.raises(CannotDo, match=r"ALD-1-2026-09-16\.md has the name") as refused:
        condition_survey(workspace, "ALD-1", DAY)
    assert refused.value.hint == "Rename it to ALD-1_0123456789abcdef-2026-09-16.md."


@thorough
def test_a_survey_that_would_come_out_the_same_is_left(visit: Visit) -> None:
    """The consultant's own text and the rules lie outside the store: a change of one must be seen all the same."""
    workspace = visit()
    assert not write_survey(workspace, "ALD-1", DAY).unchanged
    left = write_survey(workspace, "ALD-1", DAY)
    assert left.unchanged
    assert left.pages >= 4
    assert not write_survey(workspace, "ALD-1", DAY, force=True).unchanged
    own = own_text_file(workspace, "ALD-1", DAY)
    own.parent.mkdir()
    own.write_text("The outlet is blocked.\n", "utf-8")
    assert not write_survey(workspace, "ALD-1", DAY).unchanged
    assert write_survey(workspace, "ALD-1", DAY).unchanged
