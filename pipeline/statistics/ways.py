"""Names of the ways in which statistics are made, where opinion differs; settings read them without the statistics."""

from __future__ import annotations

from typing import Literal

PercentileType = Literal[6, 7, 8]
