"""A key that does not fit is told with its line, its value and what it must be, in words of no library."""

from __future__ import annotations

import pytest
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pipeline.common.misfits import misfits
from pipeline.common.toml import toml_of


class Step(BaseModel):
    """One of a list of tables."""

    model_config = ConfigDict(extra="forbid")

    depth: float = Field(default=1, gt=0, le=9)
    said: str = Field(default="x", min_length=1, max_length=3)


class Whole(BaseModel):
    """A document."""

    model_config = ConfigDict(extra="forbid")

    name: str
    day: bool = Field(default=False, strict=True)
    step: tuple[Step, ...] = ()
    by: dict[str, dict[str, int]] = Field(default_factory=dict)


def told(source: str) -> str:
    with pytest.raises(ValidationError) as caught:
        Whole.model_validate(toml_of(source.encode(), "x.toml"))
    return misfits(caught.value, "whole", Whole, source)


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("day = true", "name is missing"),
        ('# name = 3\n\nname = 3 # "x"', "line 3, name = 3 must be text in quotes"),
        ('name = "a"\n"day" = "yes"', "line 2, day = 'yes' must be true or false"),
        ('name = "a"\nstep = 3', "line 2, step = 3 must be a list, such as [ … ]"),
        ('name = "a"\nby = 3', "line 2, by = 3 must be a table, such as { NAME = … }"),
        ('name = "a"\n[[step]]\ndepth = 1\n[[step]]\n\ndepth = 10', "line 6, step.1.depth = 10 must be at most 9"),
        ('name = "a"\n[[step]]\ndepth = 0', "line 3, step.0.depth = 0 must be more than 0"),
        ('name = "a"\n[[step]]\nsaid = ""', "line 3, step.0.said = '' must not be empty"),
        ('name = "a"\n[[step]]\nsaid = "four"', "line 3, step.0.said = 'four' is longer than the 3 characters"),
        ('name = "a"\n[[step]]\ndept = 1', "line 3, step.0.dept: there is no such key; closest: depth"),
        ('name = "a"\n[by.a]\n"b c" = "x"', "line 3, by.a.b c = 'x' must be a whole number"),
        ('name = "a"\nby.a.b = "x"', "line 2, by.a.b = 'x' must be a whole number"),
        ('name = "a"\nby = { a = { b = "x" } }', "line 2, by.a.b = 'x' must be a whole number"),
    ],
)
def test_a_misfit_is_told_with_line_value_and_what_it_must_be(source: str, said: str) -> None:
    """The words of a library ("Input should be a valid tuple") and no line told an office nothing."""
    assert told(source).startswith(said)


def test_without_the_source_no_line_is_told() -> None:
    with pytest.raises(ValidationError) as caught:
        Whole.model_validate({"name": 3})
    assert misfits(caught.value) == "name = 3 must be text in quotes"
