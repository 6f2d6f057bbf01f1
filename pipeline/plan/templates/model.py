"""What a template programme holds, and what is refused in one."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, field_validator, model_validator

from pipeline.common.closest import offered
from pipeline.workspace.settings import Season
from schemas.codes import code_list

NO_SOURCE = "common practice, no source"
"""What stands for the source of figures that no publication is known for."""
LICENSED = frozenset({"plant_protection", "moss_treatment"})
"""Operations, and sorts of material, that no programme plans: a licensed person decides on them by the label."""
RATES = ("rate_g_m2", "rate_kg_m2", "rate_ml_m2")
_AMOUNTS = (*RATES, "amount_kg")
_OF_TINES = ("tine_mm", "spacing_mm")
_ANY_YEAR = 2001
"""A year without a 29 February: a window that begins or ends on one would be no day in most seasons."""
_DAY = re.compile(r"\d\d-\d\d")

Part = Literal["spring", "season", "autumn", "winter", "feeding", "year"]
"""Part of the year that a template covers; one of the whole year stands alone."""


def _as_range(value: Any) -> Any:
    """One number as a range of that number."""
    return (value, value) if isinstance(value, int | float) and not isinstance(value, bool) else value


def _in_order(value: tuple[float, float]) -> tuple[float, float]:
    low, high = value
    if not 0 < low <= high:
        raise ValueError(f"{low:g} to {high:g} is no range: a number above 0, or the lower of two first")
    return value


Range = Annotated[tuple[float, float], BeforeValidator(_as_range)]
"""A number, or the lower and the upper of two."""


class Line(BaseModel):
    """One work that a template asks for.

    Attributes:
        operation: a word of schemas/codes/operation.toml.
        first: first day of its window, month and day (MM-DD).
        last: last day of its window, the same; before ``first`` where the window runs over the turn of the year.
        source: where its figures come from; "" where that of the template holds.
        sort: what is put on, a word of schemas/codes/material_sort.toml; "" where nothing is.
        material: what is put on in words, no brand.
        n_pct: nitrogen of a feed, %.
        p_pct: its phosphorus as P2O5, %.
        k_pct: its potassium as K2O, %.
        rate_g_m2: how much of it at one time; at most one of the three rates.
        rate_kg_m2: the same in kg/m².
        rate_ml_m2: the same in ml/m².
        amount_kg: how much of it at one time on a green of ``of_m2``, where the source gives that in place of a rate.
        of_m2: area of the green that the source speaks of.
        depth_mm: working depth.
        tine_mm: diameter of tines, as the source has it.
        spacing_mm: distance of holes from centre to centre, both ways.
        passes: times that the machine goes over at one visit.
        times: how often within the window.
        a_week: how often a week within the window.
        cut_height_mm: height of cut.
        every_seasons: in how many seasons it comes once.
        if_needed: whether the source leaves it to the state of the green.
        pests: whether it is about diseases, pests, weeds or moss; the caution on licensed practice then stands at it.
        note: what the source says beside it.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    operation: str
    first: str
    last: str
    source: str = ""
    sort: str = ""
    material: str = ""
    n_pct: Range | None = None
    p_pct: Range | None = None
    k_pct: Range | None = None
    rate_g_m2: Range | None = None
    rate_kg_m2: Range | None = None
    rate_ml_m2: Range | None = None
    amount_kg: Range | None = None
    of_m2: float | None = Field(default=None, gt=0, le=20_000)
    depth_mm: Range | None = None
    tine_mm: Range | None = None
    spacing_mm: float | None = Field(default=None, gt=0, le=1000)
    passes: Range | None = None
    times: int | None = Field(default=None, ge=1, le=200)
    a_week: float | None = Field(default=None, gt=0, le=14)
    cut_height_mm: Range | None = None
    every_seasons: int = Field(default=1, ge=1, le=10)
    if_needed: bool = False
    pests: bool = False
    note: str = ""

    @model_validator(mode="before")
    @classmethod
    def _rate_has_its_unit(cls, value: Any) -> Any:
        if isinstance(value, dict) and "rate" in value:
            raise ValueError(f"a rate says its unit: write {', '.join(RATES[:-1])} or {RATES[-1]} in place of rate")
        return value

    @field_validator("operation")
    @classmethod
    def _is_operation(cls, value: str) -> str:
        return _known(value, "operation", "operation")

    @field_validator("sort")
    @classmethod
    def _is_sort(cls, value: str) -> str:
        return _known(value, "material_sort", "sort of material") if value else value

    @field_validator("first", "last")
    @classmethod
    def _is_day(cls, value: str) -> str:
        day_of(value, _ANY_YEAR)
        return value

    @field_validator(*_AMOUNTS, "depth_mm", "tine_mm", "passes", "cut_height_mm")
    @classmethod
    def _is_range(cls, value: tuple[float, float] | None) -> tuple[float, float] | None:
        return None if value is None else _in_order(value)

    @field_validator("n_pct", "p_pct", "k_pct")
    @classmethod
    def _is_share(cls, value: tuple[float, float] | None) -> tuple[float, float] | None:
        if value is not None and not 0 <= value[0] <= value[1] <= 100:
            raise ValueError(f"{value[0]:g} to {value[1]:g} is no share: 0 to 100 %, the lower first")
        return value

    @model_validator(mode="after")
    def _fits_together(self) -> Line:
        for wrong in self._misfits():
            raise ValueError(wrong)
        return self

    def _misfits(self) -> list[str]:
        """What does not go together."""
        rates = [name for name in _AMOUNTS if getattr(self, name) is not None]
        opens = code_list("operation")[self.operation].facts.get("disturbs", "")
        found = [
            (len(rates) > 1, f"{' and '.join(rates)} say one thing twice: keep one"),
            (bool(rates or self.material) and not self.sort, "a material or a rate needs its sort"),
            ((self.amount_kg is None) != (self.of_m2 is None), "amount_kg and of_m2 go together"),
            (self.times is not None and self.a_week is not None, "times and a_week exclude each other"),
            (self.cut_height_mm is not None and self.operation != "mowing", "only mowing has a height of cut"),
            (self._of_tines and opens not in {"hollow", "solid"}, f"{self.operation} has no tines"),
            (self._labelled and self.sort != "fertiliser", "N, P and K stand at a fertiliser"),
        ]
        return [what for wrong, what in found if wrong]

    @property
    def _of_tines(self) -> bool:
        return any(getattr(self, name) is not None for name in _OF_TINES)

    @property
    def _labelled(self) -> bool:
        return any(share is not None for share in (self.n_pct, self.p_pct, self.k_pct))

    @property
    def rate(self) -> tuple[float, float, Literal["g/m²", "ml/m²"]] | None:
        """How much of its material at one time, lower and upper end; None where it says none."""
        if self.rate_ml_m2:
            return (*self.rate_ml_m2, "ml/m²")
        if self.amount_kg and self.of_m2:
            low, high = (kg * 1000 / self.of_m2 for kg in self.amount_kg)
            return (low, high, "g/m²")
        if self.rate_kg_m2:
            return (self.rate_kg_m2[0] * 1000, self.rate_kg_m2[1] * 1000, "g/m²")
        return (*self.rate_g_m2, "g/m²") if self.rate_g_m2 else None

    def window(self, season: Season) -> tuple[date, date]:
        """First and last day in a season.

        A window belongs to the season that its last day lies in, and is kept whole: one that begins before the season
        does (15 September to 15 October, of a season from 1 October) begins on that day all the same.
        """
        last = _on_or_before(self.last, season.end)
        return _on_or_before(self.first, last), last


class Template(BaseModel):
    """A programme for a part of the year, as one school has it.

    Attributes:
        name: name of its file, by which it is asked for.
        title: what it is, in words.
        part: the part of the year.
        school: what tells it from others of its part.
        source: publication, or ``NO_SOURCE``.
        shape: shapes of green it is for, words of schemas/codes/green_shape.toml; () where the source names none.
        construction: constructions it is for, words of schemas/codes/construction.toml; () likewise.
        hemisphere: the half of the earth whose months it names.
        grass: grasses it is for, in words that a register's ``grasses`` holds; () likewise.
        caution: cautions that hold for all of it.
        line: the works.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    title: str = Field(min_length=1)
    part: Part
    school: str = Field(min_length=1)
    source: str = Field(min_length=1)
    shape: tuple[str, ...] = ()
    construction: tuple[str, ...] = ()
    hemisphere: Literal["north", "south"]
    grass: tuple[str, ...] = ()
    caution: tuple[str, ...] = ()
    line: tuple[Line, ...] = Field(min_length=1)

    @field_validator("shape")
    @classmethod
    def _are_shapes(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(_known(word, "green_shape", "shape") for word in value)

    @field_validator("construction")
    @classmethod
    def _are_constructions(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(_known(word, "construction", "construction") for word in value)

    def source_of(self, line: Line) -> str:
        """Where a line's figures come from."""
        return line.source or self.source


def day_of(text: str, year: int) -> date:
    """The day of a year that a month and day name.

    Raises:
        ValueError: they name none of every year.
    """
    try:
        if not _DAY.fullmatch(text):
            raise ValueError
        return date.fromisoformat(f"{year}-{text}")
    except ValueError:
        raise ValueError(f"“{text}” is no day of every year: write month and day, such as 04-01") from None


def _on_or_before(text: str, latest: date) -> date:
    day = day_of(text, latest.year)
    return day if day <= latest else day_of(text, latest.year - 1)


def _known(word: str, of: str, what: str) -> str:
    if word in LICENSED:
        raise ValueError(f"{word} is never planned by a template: a licensed person decides on it by the label")
    known = code_list(of)
    if word not in known:
        raise ValueError(f"there is no {what} {word!r}{offered(word, known)}")
    return word
