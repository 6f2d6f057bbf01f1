"""A figure as a row of the store and back: nothing of it is lost, a note's quantities and all."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, astuple, fields
from functools import lru_cache
from operator import attrgetter
from typing import Any

from pipeline.common.amounts import Amount, AmountText
from pipeline.indicators.base.green_season import Doubt, Evidence, Indicator, Verdict
from pipeline.workspace.targets.fit import NO_BASIS, Basis

COLUMNS = (
    "label", "value", "unit", "low", "high", "n", "standing", "target_low", "target_high", "target_source", "method",
    "note", "family", "decimals", "reached", "so_far", "unsure",
)  # fmt: skip
"""Fields of an indicator that are columns of the same name; its name, band, verdict and lines have their own.

Figures stand in SI, so that ``judged_as`` is none."""


_COLUMNS_OF = attrgetter(*COLUMNS)


def as_row(one: Indicator) -> dict[str, Any]:
    """The columns of a figure; its lines stand for themselves (``evidence`` and ``questioned`` are lists of places)."""
    verdict = one.verdict
    return {
        "indicator": one.name,
        "band": one.band,
        **dict(zip(COLUMNS, _COLUMNS_OF(one), strict=True)),
        "note": str(one.note),
        "verdict": verdict.word if verdict else None,
        "verdict_why": verdict.why if verdict else None,
        "p": verdict.p if verdict else None,
        "p_adjusted": verdict.p_adjusted if verdict else None,
        "in_question": bool(one.questioned),
        "basis": _basis(one.basis),
        "amounts": _parts(one),
        "doubts": json.dumps([[*astuple(doubt.place), doubt.text] for doubt in one.doubts], ensure_ascii=False)
        if one.doubts
        else None,
        "evidence": one.evidence,
        "questioned": one.questioned,
    }


@lru_cache(4096)
def _basis(one: Basis) -> str | None:
    return None if one == NO_BASIS else json.dumps(asdict(one), ensure_ascii=False)


def from_row(row: Mapping[str, Any], evidence: Sequence[Evidence], questioned: Sequence[Evidence]) -> Indicator:
    """The figure of a row, with its lines."""
    verdict = Verdict(row["verdict"], row["verdict_why"], row["p"], row["p_adjusted"]) if row["verdict"] else None
    told = {name: row[name] for name in COLUMNS} | _texts(row["amounts"])
    basis = Basis(**json.loads(row["basis"])) if row["basis"] else NO_BASIS
    return Indicator(
        name=row["indicator"], band=row["band"], verdict=verdict, basis=basis, evidence=tuple(evidence),
        questioned=tuple(questioned), doubts=_doubts(row["doubts"]), **told,
    )  # fmt: skip


def _doubts(told: str | None) -> tuple[Doubt, ...]:
    return tuple(Doubt(Evidence(*place), text) for *place, text in json.loads(told)) if told else ()


def _parts(one: Indicator) -> str | None:
    """The texts that remember their quantities, part by part, as JSON; None where none does."""
    told = {
        name: [part if isinstance(part, str) else _amount(part) for part in text.parts]
        for name in ("note", "method", "target_source")
        if isinstance(text := getattr(one, name), AmountText)
    }
    return json.dumps(told, ensure_ascii=False) if told else None


def _amount(one: Amount) -> list[Any]:
    return [getattr(one, each.name) for each in fields(Amount)]


def _texts(amounts: str | None) -> dict[str, AmountText]:
    told: dict[str, Iterable[Any]] = json.loads(amounts) if amounts else {}
    return {
        name: AmountText(*(part if isinstance(part, str) else Amount(*part) for part in parts))
        for name, parts in told.items()
    }
