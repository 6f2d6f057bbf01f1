"""Records and the ways a source may write them, for property tests: what is written here must come back the same."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from pipeline.profiles.profile import Profile
from schemas import KINDS
from schemas.codes import code_list

Record = dict[str, Any]

WORDS = ("dry", "wind", "café", "Müller", "€5", "½ done", "a,b", "c;d", "e|f", '"so"', "it's", "#1", "x=1", "5%", "O'K")
UNITS = {
    "mm": {"mm": 1.0, "cm": 10.0, "in": 25.4, "m": 1000.0},
    "m": {"m": 1.0, "ft": 0.3048, "yd": 0.9144, "cm": 0.01},
    "m²": {"m2": 1.0, "sq ft": 0.3048**2, "ha": 1e4, "sq yd": 0.9144**2},
    "kg": {"kg": 1.0, "lb": 0.45359237, "t": 1000.0, "g": 0.001},
    "h": {"h": 1.0, "min": 1 / 60},
}
"""Unit of the store → units a source may use, each with what one of them is (definitions: metre, inch, yard, pound)."""
SHORT_YEARS = "dmy with points"
DATES: dict[str, tuple[dict[str, object], Callable[[date], str]]] = {
    "iso": ({}, date.isoformat),
    "iso and midnight": ({}, lambda day: f"{day} 00:00:00"),
    "words": ({}, lambda day: f"{day.day} {day:%b} {day.year}"),
    "dmy": ({"date_order": "dmy"}, lambda day: f"{day.day}/{day.month}/{day.year}"),
    SHORT_YEARS: ({"date_order": "dmy"}, lambda day: f"{day:%d.%m.%y}"),
    "mdy": ({"date_order": "mdy"}, lambda day: f"{day.month}/{day.day}/{day.year}"),
    "ymd": ({"date_order": "ymd"}, lambda day: f"{day.year}.{day.month}.{day.day}"),
    "1900": ({"spreadsheet_dates": 1900}, lambda day: str((day - date(1899, 12, 30)).days)),
    "1904": ({"spreadsheet_dates": 1904}, lambda day: str((day - date(1904, 1, 1)).days)),
}
MARKS = {".": ("", ",", " ", "'"), ",": ("", ".", " ", "'")}
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252")


@dataclass(frozen=True)
class Writing:
    """How a source writes its files."""

    encoding: str
    delimiter: str
    end: str
    quote_all: bool
    decimal: str
    thousands: str
    dates: str
    missing: str
    titles: int
    told: bool
    """Whether the profile declares encoding and delimiter (the ones that can be found out)."""
    units: Mapping[str, str]

    @property
    def values(self) -> dict[str, object]:
        """The profile's [values]."""
        return {"decimal": self.decimal, "thousands": self.thousands, **DATES[self.dates][0]}


@st.composite
def writings(draw: st.DrawFn) -> Writing:
    """Any way of writing that a profile may declare."""
    decimal = draw(st.sampled_from(sorted(MARKS)))
    return Writing(
        encoding=draw(st.sampled_from(ENCODINGS)),
        delimiter=draw(st.sampled_from(",;\t|")),
        end=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        quote_all=draw(st.booleans()),
        decimal=decimal,
        thousands=draw(st.sampled_from(MARKS[decimal])),
        dates=draw(st.sampled_from(sorted(DATES))),
        missing=draw(st.sampled_from(["", "NA", "-", "*", "---", " "])),
        titles=draw(st.integers(0, 2)),
        told=draw(st.booleans()),
        units={unit: draw(st.sampled_from(sorted(others))) for unit, others in UNITS.items()},
    )


def _figures(low: float, high: float, decimals: int = 3) -> st.SearchStrategy[float]:
    scale = 10**decimals
    return st.integers(int(low * scale), int(high * scale)).map(lambda whole: whole / scale)


NOTE = st.lists(st.sampled_from(WORDS), min_size=1, max_size=4).flatmap(
    lambda words: st.sampled_from([" ", "\n", "  "]).map(lambda gap: gap.join(words))
)
DAY = st.integers(0, 2129).map(lambda days: date(2021, 1, 1) + timedelta(days))
GREEN = st.sampled_from(["ALD-1", "ALD-2", "TAR-1"])


def _maybe(what: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | what


JOBS = st.fixed_dictionaries(
    {
        "date": DAY,
        "green": GREEN,
        "operation": st.sampled_from(sorted(code_list("operation"))),
        "material": _maybe(st.sampled_from(["spring granular 11-5-5", "70/30 sand and soil"])),
        "reference": _maybe(st.sampled_from(["J-1042", "007", "1E+05", "t", "1-6-12", "0012-1"])),
        "passes": _maybe(st.integers(1, 20)),
        "depth_mm": _maybe(_figures(0.5, 300)),
        "mass_kg": _maybe(_figures(0.5, 9000)),
        "treated_area_m2": _maybe(_figures(1, 20000, 1)),
        "hours": _maybe(_figures(0.25, 12, 2)),
        "note": _maybe(NOTE),
    }
)
SOIL_TESTS = st.fixed_dictionaries(
    {
        "date": DAY,
        "green": GREEN,
        "analyte": st.sampled_from(["potassium", "phosphorus", "magnesium", "calcium"]),
        "depth_from_mm": st.just(0.0),
        "depth_to_mm": _figures(10, 200, 1),
        "lab": _maybe(st.sampled_from(["Lab A", "Tärnfold & Co", "North Lab"])),
        "value": _figures(0.01, 4500, 2),  # less than 0 is asked about: missing/less-than-zero
        "unit": st.just("mg/kg"),
        "below_limit": st.booleans(),
        "cores": _maybe(st.integers(1, 40)),
        "note": _maybe(NOTE),
    }
)
SPEEDS = st.fixed_dictionaries(
    {
        "date": DAY,
        "green": GREEN,
        "rink": _maybe(st.sampled_from(["1", "01", "A"])),
        "value": _figures(5, 25, 2),
        "unit": st.just("s"),
        "distance_m": _maybe(_figures(20, 40, 2)),
        "hours_since_cut": _maybe(_figures(0, 100, 1)),
        "note": _maybe(NOTE),
    }
)
NUMBER = {"job": "reference", "soil_test": "sample", "green_speed": "rink"}
RECORDS = {"job": JOBS, "soil_test": SOIL_TESTS, "green_speed": SPEEDS}
WEATHER = st.fixed_dictionaries(
    {
        "date": DAY,
        "station": st.sampled_from(["Ostershire airfield", "007", "1E+05"]),
        "tmax_c": _maybe(_figures(-20, 40, 1)),
        "tmin_c": _maybe(_figures(-40, -20, 1)),  # never above the highest
        "humidity_pct": _maybe(_figures(0, 100, 1)),
        "rain_mm": _maybe(_figures(0, 200, 1)),
        "sun_h": _maybe(_figures(0, 16, 1)),
        "radiation_mj_m2": _maybe(_figures(0, 40, 2)),
        "wind_m_s": _maybe(_figures(0, 40, 1)),
        "wind_height_m": _maybe(_figures(1, 20, 1)),
        "note": _maybe(NOTE),
    }
)
PLACES = [("standard", None), ("region", "Ostershire"), ("club", "ALD"), ("green", "ALD-1"), ("green", "01")]
TARGETS = st.builds(
    lambda place, what, band, rest: {
        "scope": place[0],
        "scope_name": place[1],
        "indicator": what[0],
        "unit": what[1],
        "band": band if what[2] else None,
        **rest,
    },
    st.sampled_from(PLACES),
    st.sampled_from([("dressing_kg_m2", "kg/m2", False), ("speed_s", "s", False), ("organic_matter_pct", "%", True)]),
    _maybe(st.sampled_from(["0–20 mm", "20-40 mm"])),
    st.fixed_dictionaries(
        {
            "season": _maybe(st.sampled_from(["2025", "2026"])),
            "low": _maybe(_figures(-10, 1000)),
            "high": _maybe(_figures(0, 90000)),
            "source": NOTE,
            "note": _maybe(NOTE),
        }
    ),
)
CLUBS = st.fixed_dictionaries(
    {
        "club": st.sampled_from(["X-1", "01", "1", "t", "1E+05", "0012-1"]),
        "name": NOTE,
        "region": _maybe(st.just("Ostershire")),
        "contact": _maybe(NOTE),
    }
)
GREENS = st.fixed_dictionaries(
    {
        "green": st.sampled_from(["X-1", "01", "1", "t", "1E+05", "0012-1"]),
        "club": st.sampled_from(["ALD", "TAR"]),
        "name": _maybe(NOTE),
        "area_m2": _maybe(_figures(500, 2000, 1)),
        "shape": _maybe(st.sampled_from(sorted(code_list("green_shape")))),
        "laid_on": _maybe(st.integers(0, 700).map(lambda days: date(2021, 1, 1) + timedelta(days))),
        "closed_on": _maybe(st.integers(0, 700).map(lambda days: date(2024, 1, 1) + timedelta(days))),
        "latitude_deg": _maybe(_figures(-60, 60)),
    }
)
MATERIALS = st.fixed_dictionaries(
    {
        "material": st.sampled_from(["9-4-6", "01", "70/30", "feed, spring", "1E+05", "x"]),
        "sort": st.sampled_from(sorted(code_list("material_sort"))),
        "form": st.just("solid"),
        "n_pct": _maybe(_figures(0, 40, 2)),
        "fe_pct": _maybe(_figures(0, 20, 2)),
        "sand_pct": _maybe(_figures(0, 100, 1)),
        "bulk_density_t_m3": _maybe(_figures(0.5, 2)),
        "pack_kg": _maybe(_figures(1, 1000, 1)),
        "price": _maybe(_figures(0, 9000, 2)),
        "note": _maybe(NOTE),
    }
)
OTHERS = {"weather_day": WEATHER, "target": TARGETS, "club": CLUBS, "green": GREENS, "material": MATERIALS}
"""Kinds whose natural key is a record's own, and so drawn once in a table."""


@dataclass(frozen=True)
class Table:
    """Valid records of one kind, and how they are written."""

    kind: str
    records: tuple[Record, ...]
    writing: Writing
    order: tuple[str, ...]
    """Fields in the order of the columns."""

    @property
    def profile(self) -> Profile:
        """The source profile that declares this writing."""
        fields = {name: {"from": _header(name), "unit": self._unit(name)} for name in self.order}
        told = {"encoding": self.writing.encoding, "delimiter": self.writing.delimiter} if self.writing.told else {}
        return Profile.model_validate(
            {
                "name": "source",
                "kind": self.kind,
                "match": {"headers": [_header(name) for name in self.order]},
                "reading": told,
                "values": self.writing.values,
                "fields": fields,
                "sha256": "0",
            }
        )

    def _unit(self, name: str) -> str:
        unit = KINDS[self.kind].by_name[name].unit
        sure = unit if self.kind.startswith("weather") else ""  # weather must say its unit, be it the one stored
        return self.writing.units.get(unit, sure) if name != "mass_kg" or unit else ""

    def cells(self) -> list[list[str]]:
        """The cells as this source writes them, header first."""
        rows = [[_header(name) for name in self.order]]
        return rows + [[self._cell(name, record) for name in self.order] for record in self.records]

    def _cell(self, name: str, record: Record) -> str:
        value = record[name]
        if value is None:
            return self.writing.missing
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, date):
            return f"{value:%d.%m.%Y}" if self._asks_for_years(name) else DATES[self.writing.dates][1](value)
        if isinstance(value, str):
            return value
        unit = KINDS[self.kind].by_name[name].unit
        return self._number(value / UNITS[unit][self.writing.units[unit]] if unit in UNITS else value)

    def _asks_for_years(self, name: str) -> bool:
        """Whether years of two digits would be asked about: 20.06.26 among dates of 2021 may be of 2020 or of 2026."""
        years = [record[name].year for record in self.records if record[name] is not None]
        return self.writing.dates == SHORT_YEARS and max(years) - min(years) > 1

    def _number(self, value: float) -> str:
        whole, _, part = f"{value:,.12f}".rstrip("0").partition(".")
        mark = self.writing.decimal if part else ""
        return whole.replace(",", self.writing.thousands) + mark + part

    def _quoted(self, cell: str) -> str:
        """The cell, in quotes where it needs them (RFC 4180)."""
        needs = any(mark in cell for mark in (self.writing.delimiter, '"', "\n", "\r"))
        return '"' + cell.replace('"', '""') + '"' if needs or self.writing.quote_all else cell

    def bytes_of(self, cells: list[list[str]]) -> tuple[bytes, list[int]]:
        """The file, and the physical line of each row under the header."""
        how = self.writing
        out = io.StringIO()
        out.write("".join(f"Title {number} of the list{how.end}" for number in range(how.titles)))
        lines = []
        for row in cells:
            lines.append(len(out.getvalue().replace("\r\n", "\n").replace("\r", "\n").split("\n")))
            out.write(how.delimiter.join(self._quoted(cell) for cell in row) + how.end)
        return out.getvalue().encode(how.encoding), lines[1:]


def _header(name: str) -> str:
    return f"their {name} column"  # a unit behind a name would have to be the one declared


@st.composite
def keyed_tables(draw: st.DrawFn, kind: str) -> Table:
    """Any table of valid records of one of :data:`OTHERS`, each key once, in any writing."""
    key = KINDS[kind].key
    records = draw(st.lists(OTHERS[kind], min_size=1, max_size=5, unique_by=lambda one: tuple(map(one.get, key))))
    return Table(kind, tuple(records), draw(writings()), tuple(draw(st.permutations(sorted(records[0])))))


@st.composite
def tables(draw: st.DrawFn, *, numbered: bool = False) -> Table:
    """Any table of valid records in any writing.

    A soil test has a number, so that its key is its own; ``numbered``: so have jobs and readings, of which several
    alike may else be real.
    """
    kind = draw(st.sampled_from(sorted(RECORDS)))
    records = draw(st.lists(RECORDS[kind], min_size=1, max_size=6))
    if numbered or kind == "soil_test":
        records = [{**record, NUMBER[kind]: f"S-{number:03}"} for number, record in enumerate(records)]
    order = draw(st.permutations(sorted(records[0])))
    return Table(kind, tuple(records), draw(writings()), tuple(order))


def with_own_headers(table: Table) -> bytes:
    """The table as a file that needs no profile."""
    plain = replace(table.writing, dates="iso", decimal=".", thousands="", titles=0, units=dict(zip(UNITS, (
        "mm", "m", "m2", "kg", "h"), strict=True)))  # fmt: skip
    own = replace(table, writing=plain)
    return own.bytes_of([list(own.order), *own.cells()[1:]])[0]
