"""A survey of any one kind of reading, and of its own day: what is of another day says so.

Guards against a survey that cannot be made unless a visit had cores and sieves, and against readings of spring that are
printed as those of an autumn visit.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import date
from itertools import combinations, pairwise

import page
import pytest

from pipeline.common.refusal import WrongUsage
from pipeline.findings.findings import Rule
from pipeline.survey.build import condition_survey
from pipeline.workspace.settings import Workspace
from reports.survey import render as document
from reports.survey.data import csv_files
from tests.conftest import Load
from tests.indicators.figures import HOUSE
from tests.reports.conftest import VERSION
from tests.reports.test_report_pages import flat, pages_text
from tests.survey.conftest import DAY, SIEVES, jpeg, levels
from tests.thorough import FUZZ, beyond, thorough

SPRING = date(2026, 5, 12)
KINDS = {
    "levels": levels(),
    "few levels": "\n".join(levels().splitlines()[:4]),
    "counts": "date,green,observed,place,method,value,unit,hits,points\n"
    "2026-09-16,ALD-1,moss,F1,point_quadrat,,,6,50\n2026-09-16,ALD-1,moss,F2,point_quadrat,,,8,50\n",
    "cores": "date,green,observed,place,depth_from_mm,depth_to_mm,layer\n2026-09-16,ALD-1,layer,C1,0,20,turf\n"
    "2026-09-16,ALD-1,layer,C1,20,150,sandy loam\n",
    "thatch": "date,green,observed,place,method,value,unit\n2026-09-16,ALD-1,thatch_depth,C1,core,22,mm\n",
    "sieves": SIEVES,
    "soil": "date,green,analyte,depth_from_mm,depth_to_mm,value,unit,lab\n"
    "2026-09-16,ALD-1,organic_matter,0,20,7.4,%,Quillbrook\n2026-09-16,ALD-1,ph,0,100,4.9,pH,Quillbrook\n",
    "speeds": "date,green,device,rink,value,unit\n2026-09-16,ALD-1,timed_bowl,1,11.8,s\n"
    "2026-09-16,ALD-1,timed_bowl,2,12.4,s\n",
    "photos": "date,green,picture,caption\n2026-09-16,ALD-1,core.jpg,Core beside the ruler\n",
}
SAID = {
    "levels": "121points",
    "few levels": "isnotworkedout:3points",
    "counts": "14.0%",
    "cores": "Thisvisitgavenofigure;itholds1describedcore.",
    "thatch": "22mm",
    "sieves": "Rootzone,RZ,16September2026",
    "soil": "7.4%",
    "speeds": "12.1s",
    "photos": "Thisvisitgavenofigure;itholds1photo.",
}
"""What must stand in the survey of a visit that had this alone, all white space left out."""

GONE = {"levels": ["Mapofheights"], "counts": ["Mosscovers14.0"], "cores": ["turf"], "photos": ["Corebesidetheruler"]}
"""What must not stand in the survey of another day."""

PAIRS = list(combinations(KINDS, 2)) if FUZZ else [*pairwise(KINDS), ("photos", "levels")]
"""Each kind with two others; in ``make fuzz`` with every other."""

Give = Callable[..., Workspace]


@pytest.fixture
def give(workspace: Workspace, county: Load, tmp_path) -> Give:  # type: ignore[no-untyped-def]
    """A workspace with registers and the kinds of readings named; a day may be given for each."""
    (tmp_path / "core.jpg").write_bytes(jpeg())

    def _give(*kinds: str, day: date = DAY) -> Workspace:
        for kind in kinds:
            done = county(f"{kind}-{day}.csv", KINDS[kind].replace("2026-09-16", day.isoformat()))
            assert not done.failed, done.as_json()
            assert done.counts.rejected == 0, done.as_json()
        return workspace

    return _give


@pytest.mark.parametrize("kind", KINDS)
@beyond(1)
def test_any_one_kind_of_reading_makes_a_survey(give: Give, kind: str) -> None:
    survey = condition_survey(give(kind), "ALD-1", DAY)
    pdf = document.render(survey, version=VERSION)
    words = flat("".join(pages_text(pdf)))
    assert SAID[kind] in words
    assert f"Filesbehindthissurvey{flat(kind)}-2026-09-16.csv" in words
    for profile in (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A):
        assert page.validate_pdf_bytes(pdf, profile=profile).is_compliant


@pytest.mark.parametrize(("one", "other"), PAIRS)
@pytest.mark.hypothesis  # so that ``make fuzz`` runs it
@beyond(1)
def test_any_two_kinds_of_readings_make_a_survey(give: Give, one: str, other: str) -> None:
    made = flat(document.html(condition_survey(give(one, other), "ALD-1", DAY), version=VERSION))
    assert "Abouttherecords</h2>" in made


@pytest.mark.parametrize("spring", KINDS)
@beyond(1)
def test_what_was_read_in_spring_is_not_of_the_autumn_visit(give: Give, spring: str) -> None:
    give(spring, day=SPRING)
    other = "photos" if spring != "photos" else "thatch"
    survey = condition_survey(give(other), "ALD-1", DAY)
    own = [one for one in survey.season.indicators if survey.of_the_visit(one)]
    assert {one.name for one in own} == ({"thatch_mm"} if other == "thatch" else set())
    made = flat(document.html(survey, version=VERSION))
    for gone in GONE.get(spring, ()):
        assert gone not in made, gone
    if spring in ("levels", "counts", "thatch"):
        assert "Readingsof12May2026" in made
        assert "standinthesurveyofthatday" in made
    if spring == "sieves":
        assert "sampled12May2026,notonthisvisit" in made


def test_a_finding_on_another_days_reading_names_that_day(give: Give, load: Load) -> None:
    load("targets.csv", HOUSE)
    give("soil", "speeds", day=SPRING)
    survey = condition_survey(give("photos"), "ALD-1", DAY)
    acid = next(one for one in survey.findings if one.rule.id == "acid")
    report = document.view(survey, version=VERSION)
    assert report.findings == ()
    (block,) = [one for one in report.findings_before if one.may_mean == acid.rule.may_mean]
    assert [flat(one.sentence) for one in block.signs] == ["pHis4.9,belowthetarget(5.5–6.5).Measured12May2026."]
    assert "measured12May2026" in flat(block.rests_on)
    assert any("measured12May2026" in flat(one.band) for table in report.others for one in table.figures)
    assert not report.readings
    (file,) = [one for one in csv_files(survey) if one.name == "findings.csv"]
    rows = list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert {(r["measured_from"], r["measured_to"]) for r in rows if r["id"] == "acid"} == {("2026-05-12", "2026-05-12")}


@thorough
def test_speeds_of_a_visit_are_those_of_its_day(give: Give, load: Load) -> None:
    """The season's mean of two days is not what the visit timed."""
    workspace = give("speeds")
    survey = condition_survey(workspace, "ALD-1", DAY)
    before = next(one for one in survey.season.indicators if one.name == "speed_s")
    assert before.value == pytest.approx(12.1)
    load("speeds-of-spring.csv", KINDS["speeds"].replace("2026-09", "2026-05").replace("12.4", "16.4"))
    again = next(one for one in condition_survey(workspace, "ALD-1", DAY).season.indicators if one.name == "speed_s")
    assert (again.value, again.n) == (before.value, before.n)


@thorough
def test_a_change_since_spring_is_of_the_visit_that_shows_it(give: Give) -> None:
    give("counts", day=SPRING)
    survey = condition_survey(give("counts"), "ALD-1", DAY)
    own = {one.name for one in survey.season.indicators if survey.of_the_visit(one)}
    assert {"moss_pct", "moss_change_pct"} <= own
    assert "survey of that day" not in document.html(survey, version=VERSION)


def test_a_day_on_which_nothing_was_measured_names_the_days_there_are(give: Give, load: Load) -> None:
    load("jobs.csv", "date,green,operation\n2026-03-16,ALD-1,scarifying\n")
    workspace = give("soil", "photos", day=SPRING)
    give("speeds")
    with pytest.raises(WrongUsage, match="Nothing was surveyed on ALD-1 on 2026-03-16") as told:
        condition_survey(workspace, "ALD-1", date(2026, 3, 16))
    assert told.value.hint == "Surveyed on 2026-05-12 and 2026-09-16."


def test_a_photo_that_is_missing_is_told_without_any_reading(give: Give, load: Load) -> None:
    load("c.csv", KINDS["cores"].replace("layer\n", "layer,photo\n", 1).replace("turf\n", "turf,gone.jpg\n"))
    made = document.html(condition_survey(give(), "ALD-1", DAY), version=VERSION)
    assert "gone.jpg" in made


@pytest.mark.parametrize("place", ["{value:>99999999999}", "{label:{value.__class__}}", "{value!r}", "{value.real}"])
def test_a_rule_names_its_figure_and_formats_nothing(place: str) -> None:
    with pytest.raises(ValueError, match="is not one of"):
        Rule.model_validate(
            {"id": "x", "all": [{"indicator": "ph", "at_least": 1}], "finding": place, "may_mean": "m", "helps": "h",
             "source": "s"}
        )  # fmt: skip
