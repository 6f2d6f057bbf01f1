"""A moment is not a season: totals of a season that still runs, against a target that is of the whole of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.indicators.base import judgement
from pipeline.indicators.families import DESCRIBED
from reports.condition import wording
from tests.indicators.figures import HOUSE, Figures, of
from tests.thorough import beyond

JOB = "date,green,operation,material,quantity\n"
MIX = "70/30 sand and soil"
FEED = "spring granular 11-5-5 + 8 Fe"
SEEN = "2026-10-20,ALD-1,mowing,,\n"
ENDED = "2027-09-30"


def fed(kg: float) -> str:
    return f"2026-10-12,ALD-1,fertilising,{FEED},{kg} kg\n"


def test_a_total_of_october_is_not_below_the_target_of_a_year(figures: Figures) -> None:
    """20.36 kg at 11 % on 1,600 m² are 14 kg/ha on 20 October: of at least 80, 66 are open and nobody is behind."""
    one = of(figures(season="2027", target=HOUSE, job=JOB + fed(20.36) + SEEN), "nitrogen_kg_ha")
    assert one.value == pytest.approx(14, abs=0.01)
    assert (one.standing, one.target_low, one.target_high) == ("too early", 80, 200)
    assert one.note.startswith("Open: 66 kg/ha until 30 September 2027; an even spread would be at 4 kg/ha by now.")


def test_page_one_names_what_is_open_without_a_verdict(figures: Figures) -> None:
    """The headline called 14 kg/ha below the target."""
    done = figures(season="2027", target=HOUSE, job=JOB + fed(20.36) + SEEN)
    said = [line.replace("\u00a0", " ") for line in wording.headline(done)]
    assert "Too early to judge, for the season runs to 30 September 2027: Nitrogen (N) applied." in said
    assert not [line for line in said if "below" in line]


def test_what_lies_over_the_upper_end_stays_over_it(figures: Figures) -> None:
    """10 t on 1,600 m² are 6.25 kg/m², over the 6 of a whole season, whatever comes."""
    one = of(figures(season="2027", job=JOB + f"2026-10-12,ALD-1,top dressing,{MIX},10 t\n"), "dressing_kg_m2")
    assert (one.value, one.standing) == (6.25, "above")
    assert "season runs" not in one.note


def test_what_lies_within_does_so_as_yet(figures: Figures) -> None:
    """ "On target" beside it promised the season; the words "so far" stood in a note below the table."""
    done = figures(season="2027", job=JOB + f"2026-10-12,ALD-1,top dressing,{MIX},5 t\n")
    one = of(done, "dressing_kg_m2")
    assert (one.value, one.standing) == (3.125, "within")
    assert one.note.endswith("So far: the season runs to 30 September 2027.")
    assert judgement.said(one) == "on target so far"
    assert wording.headline(replace(done, indicators=(one,)))[0] == (
        "One figure has a target; it is on target. It is a total of a season that still runs."
    )


@pytest.mark.parametrize(("last", "standing"), [("2026-09-29", "too early"), ("2026-09-30", "below")])
@beyond(2)
def test_at_the_end_the_season_is_judged_whole(figures: Figures, last: str, standing: str) -> None:
    """1 t on 1,600 m² are 0.625 of at least 2 kg/m²: open while records run to the day before the last, then below."""
    job = JOB + f"2026-03-12,ALD-1,top dressing,{MIX},1 t\n{last},ALD-1,mowing,,\n"
    one = of(figures(job=job), "dressing_kg_m2")
    assert (one.value, one.standing) == (0.625, standing)


def test_a_reading_is_judged_at_any_time(figures: Figures) -> None:
    """A speed does not grow through the season."""
    speed = "date,green,device,value,unit\n" + "2026-10-19,ALD-1,timed bowl,8.0,s\n" * 4
    one = of(figures(season="2027", green_speed=speed), "speed_s")
    assert one.standing == "below"


GROWING = ("dressing_kg_m2", "dressing_t", "nitrogen_kg_ha", "disturbed_pct", "hours_h", "cost", "rain_mm")
STILL = ("speed_s", "nitrogen_dose_g_m2", "nitrogen_12m_kg_ha", "level_within_pct", "water_balance_mm")


@pytest.mark.parametrize("name", [*GROWING, *STILL])
def test_what_accumulates_says_so(name: str) -> None:
    """A total that forgot the word would be judged in October; a reading that has it would not be all year."""
    assert DESCRIBED[name].accumulates == (name in GROWING)
