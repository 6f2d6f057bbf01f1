"""Up to when records count: each green up to its own last day, and documents of many say which end earlier."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from pipeline.compare.build import comparison
from pipeline.compare.county import County, Member
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.look import Look
from pipeline.summaries.club import club_season
from reports.comparison import render as compared
from reports.condition import view as condition
from reports.round_up import render as of_all
from reports.round_up.data import csv_files
from reports.summary import render as of_club
from tests.reports import club_sample

END = date(2026, 9, 30)
EARLY = date(2026, 8, 12)
HARD = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2060": None})
SPAN = "Records up to 30 September 2026"


def plain(words: str) -> str:
    """The words with ordinary spaces."""
    return words.translate(HARD)


def greens(*days: date, known_to: tuple[date, ...] = ()) -> list[GreenSeason]:
    """Greens of one club whose records end on these days."""
    known = known_to or days
    return [
        replace(club_sample.main_green(), green=f"LB-{nth}", as_of=day, known_to=known[nth - 1])
        for nth, day in enumerate(days, start=1)
    ]


def counted(*days: date, known_to: tuple[date, ...] = ()) -> list[str]:
    """What the summary and the round-up of such greens print."""
    seasons = greens(*days, known_to=known_to)
    views = (
        of_club.view(club_season(seasons), version="0"),
        of_all.view(club_sample.summaries.round_up(map(club_sample.summaries.green_line, seasons), seasons[-1]),
                    version="0"),
    )  # fmt: skip
    return [plain(one.counted) for one in views]


def test_greens_that_end_on_one_day_are_told_by_that_day() -> None:
    assert counted(END, END) == [f"{SPAN}."] * 2


def test_greens_whose_records_end_earlier_are_named_with_their_day() -> None:
    """Whichever green comes last: the day of the document is the latest."""
    for days in ((END, EARLY), (EARLY, END)):
        early = f"LB-{days.index(EARLY) + 1}"
        assert counted(*days) == [f"{SPAN}; those of {early} end on 12 August 2026."] * 2
    said = f"{SPAN}; those of LB-1 end on 12 August 2026 and those of LB-3 on 13 August 2026."
    assert counted(EARLY, END, EARLY + timedelta(days=1)) == [said] * 2


def test_of_many_that_end_earlier_the_number_is_told() -> None:
    days = [EARLY + timedelta(days=nth) for nth in range(5)]
    said = f"{SPAN}; those of 5 greens end earlier, the first on 12 August 2026."
    assert counted(END, *days) == [said] * 2


def test_what_is_due_counts_to_each_greens_own_last_record() -> None:
    after = date(2026, 11, 2)
    assert counted(END, END, known_to=(after, after)) == [f"{SPAN}; what is due counts to 2 November 2026."] * 2
    said = f"{SPAN}; what is due counts to the last of each green’s own records, the latest of 2 November 2026."
    assert counted(END, END, known_to=(after, END)) == [said] * 2


def test_what_lags_is_told_on_each_greens_own_day() -> None:
    for days, on in (((END, END), "30 September 2026"), ((END, EARLY), "the last day of each green’s own records")):
        lines = list(map(club_sample.summaries.green_line, greens(*days)))
        whole = club_sample.summaries.round_up(lines, greens(*days)[0])
        assert plain(of_all.view(whole, version="0").as_of) == on
        (table,) = [one for one in csv_files(whole) if one.name == "greens.csv"]
        rows = table.content.decode("utf-8-sig").splitlines()
        at = rows[0].split(",").index("records_up_to")
        assert [row.split(",")[at] for row in rows[1:]] == [day.isoformat() for day in days]


def test_a_comparison_names_the_readers_own_greens_alone() -> None:
    """Which green of another club has no records since when is nobody's business."""
    path = ("Ostershire", "flat")
    members = {
        "A-1": Member("Main", "A", path, END),  # type: ignore[arg-type]
        "A-2": Member("Far", "A", path, EARLY),  # type: ignore[arg-type]
        "B-1": Member("Lawn", "B", path, date(2026, 3, 4)),  # type: ignore[arg-type]
    }
    county = County(members, {}, {}, "2026", "2025", END)
    said = {club: plain(compared.view(comparison(county, club=club), version="0").counted) for club in ("", "A", "B")}
    own = f"{SPAN}, of each green up to its own last day"
    assert said == {
        "": f"{own}.",
        "A": f"{own}; those of Far end on 12 August 2026.",
        "B": f"{own}; those of Lawn end on 4 March 2026.",
    }
    same = replace(county, members={name: replace(one, as_of=END) for name, one in members.items()})
    assert plain(compared.view(comparison(same, club="A"), version="0").counted) == f"{SPAN}."


@pytest.mark.parametrize(
    ("look", "said"),
    [
        (Look(as_of=END), "; records dated after 30 September 2026 are left out."),
        (
            Look(known_by=EARLY),
            "; all of it from the store as it stood at the end of 12 August 2026.",
        ),
        (
            Look(END, EARLY, ("load 3 (a.csv), taken back on 1 September 2026",)),
            "; records dated after 30 September 2026 are left out; all of it from the store as it stood at the end of "
            "12 August 2026 but for 1 load or decision taken back since.",
        ),
    ],
)
def test_a_look_at_another_day_is_said_on_the_page(look: Look, said: str) -> None:
    seasons = [replace(one, look=look) for one in greens(END, END)]
    county = County({}, {}, {}, "2026", "2025", END, look=look)
    whole = club_sample.summaries.round_up(map(club_sample.summaries.green_line, seasons), seasons[0])
    views = (
        condition.view(seasons[0], version="0"), of_club.view(club_season(seasons), version="0"),
        of_all.view(whole, version="0"), compared.view(comparison(county), version="0"),
    )  # fmt: skip
    assert [plain(one.counted) for one in views] == [f"{SPAN}{said}"] * 4
