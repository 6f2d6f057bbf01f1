"""Patterns that a person writes: regular expressions whose time grows with the text and not faster, whatever they say.

They are polars' (Rust's), without looking around and back-references, which is why they cannot run away.
"""

from __future__ import annotations

import polars as pl
from polars.exceptions import ComputeError


def why_no_pattern(pattern: str) -> str:
    """Why a text is no pattern; "" where it is one."""
    try:
        _texts("").str.extract_groups(pattern)
    except ComputeError as error:
        return str(error).strip().splitlines()[-1].removeprefix("error: ").removeprefix("regex error: ").rstrip(".")
    return ""


def match_of(pattern: str, text: str) -> tuple[str, dict[str, str]] | None:
    """What a pattern finds first in a text, and what its groups do, by name or number; None where it finds nothing."""
    whole = _texts(text).str.extract(pattern, 0).item()
    if whole is None:
        return None
    groups = _texts(text).str.extract_groups(pattern).to_list()[0]
    return whole, {name: found or "" for name, found in groups.items()}


def _texts(text: str) -> pl.Series:
    return pl.Series([text], dtype=pl.String)
