"""What of the records of greens is read, where not all of it is asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Part:
    """Which records are read; registers are read whole, and of a kind that is not named nothing.

    Rows that were rejected are told of jobs alone, for these are held against no other record.

    Attributes:
        sql: queries by kind, and of ``application``; each asks for all of ``values``.
        values: values of their parameters.
        doubles_since: the first day of jobs that are held against each other as likely doubles.
    """

    sql: Mapping[str, str]
    values: Mapping[str, object]
    doubles_since: date
