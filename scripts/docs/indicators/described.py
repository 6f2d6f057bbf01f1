"""An indicator as the page of indicators describes it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Described:
    """An indicator as the page describes it: what the records yield must agree in name, label, unit and family."""

    name: str
    label: str
    unit: str
    family: str
    band: str
    meaning: str
    made: str
