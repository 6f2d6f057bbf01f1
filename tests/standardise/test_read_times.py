"""Lengths of time as people write them, each reading worked out by hand."""

from __future__ import annotations

import polars as pl
import pytest

from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.fields import understand
from schemas import KINDS


def read(text: str, unit: str = "", kind: str = "job", field: str = "hours") -> tuple[object, list[str]]:
    """The value and the codes of what is said."""
    cells = Cells(pl.Series([2], dtype=pl.Int64), pl.Series([text]), "their column", unit)
    done = understand(KINDS[kind].by_name[field], cells, Style(working_day_h=7.5, working_week_h=37.5), {})
    return done.values[field][0], done.faults["code"].to_list()


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("1h30", 1.5), ("1 hr 30 min", 1.5), ("1h 5m", 1 + 5 / 60), ("2 hrs 15", 2.25), ("90 min", 1.5),
        ("half an hour", 0.5), ("an hour", 1), ("6 man-hours", 6),
        ("1½ man days", 11.25), ("all day", 7.5), ("quarter of a day", 1.875),
        ("2 men x 3 hrs", 6), ("3 hrs x 2 men", 6), ("2x3h", 6), ("2 men @ 1h30", 3), ("2 lads 3.5hrs each", 7),
        ("2 men x half a day", 7.5), ("1 man 3 hrs", 3), ("2 men x 3 man hours", 6),
        ("1-1.5", 1.25), ("20-30 min", 25 / 60),
    ],
)  # fmt: skip
def test_hours_of_work(text: str, hours: float) -> None:
    assert read(text)[0] == pytest.approx(hours)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("8-12", "time.clock_or_range"), ("10 - 12 hrs", "time.clock_or_range"), ("1 to 3", "time.clock_or_range"),
        ("2 men 8-12", "time.clock_or_range"), ("8.30-12", "time.clock_or_range"), ("8:30-12", "time.clock"),
        ("8am-4pm", "time.clock"), ("9 to noon", "time.clock"),
        ("10-2", "time.clock"), ("0800-1200 hrs", "time.clock"),
        ("pm", "time.part_of_day"), ("all morning", "time.part_of_day"), ("0730", "time.leading_zero"),
        ("1:30", "time.colon"), ("01:30:00", "time.colon"), ("2 men 3 hrs", "time.people"),
        ("3 hrs, 2 men", "time.people"), ("2 men all day", "time.people"),
        ("3 hrs each", "time.each"), ("2 months", "unit.misfit"), ("3 bags", "unit.unknown"),
    ],
)  # fmt: skip
def test_what_may_be_something_else_is_refused(text: str, code: str) -> None:
    assert read(text) == (None, [code])


@pytest.mark.parametrize(
    ("text", "unit", "kind", "field", "value"),
    [
        ("1:30", "h", "job", "hours", 1.5), ("1:30:36", "h", "weather_day", "sun_h", 1.51),
        ("1:30", "s", "observation", "minutes", 1.5), ("0:12.5", "min", "observation", "minutes", 12.5 / 60),
        ("1:30", "m:ss", "observation", "minutes", 1.5), ("1:30", "h:mm", "observation", "minutes", 90),
        ("0:01:30", "h:mm:ss", "observation", "minutes", 1.5), ("2:15", "h:mm", "job", "hours", 2.25),
    ],
)  # fmt: skip
def test_a_colon_where_the_unit_is_declared(text: str, unit: str, kind: str, field: str, value: float) -> None:
    found, codes = read(text, unit, kind, field)
    assert (found, codes) == (pytest.approx(value), ["time.colon_read"])


@pytest.mark.parametrize("text", ["10", "1:30:00", "1h30", "1:75"])
def test_what_is_not_in_the_form_declared_is_refused(text: str) -> None:
    assert read(text, "m:ss", "observation", "minutes") == (None, ["time.form"])


def test_a_column_in_days_is_of_working_days() -> None:
    assert read("2", "days") == (15.0, [])


def test_elapsed_time_is_no_working_time() -> None:
    assert read("1 day", "", "green_speed", "hours_since_cut") == (24.0, [])
