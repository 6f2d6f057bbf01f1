"""Whether the machines of a day can be told to have been one person's."""

from __future__ import annotations

import polars as pl

IF_ONE = "if one person did all of it"
"""Beside a day's sum that may be several people's: the log says who wrote a line, not who held the machine."""


def of_one_person() -> pl.Expr:
    """Whether the jobs of a group are one person's: all by one named writer, each said to be done by one alone.

    A blank is not one: a file without the column that says who wrote a line holds everybody's work.
    """
    return (pl.col("logged_by").is_not_null() & (pl.col("people") == 1)).fill_null(False).all()
