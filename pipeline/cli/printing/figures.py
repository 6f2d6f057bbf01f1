"""A figure in words, and figures as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from pipeline.common.words import long_date
from pipeline.indicators.base.judgement import as_shown, digits, interval_digits, judgement

if TYPE_CHECKING:
    from pipeline.indicators.base.green_season import Indicator, Shown
    from pipeline.indicators.tracing import Trace


def figure(one: Indicator) -> tuple[str, ...]:
    """A value with its unit, then its interval: parts that stay whole; a dash where there is no value."""
    if one.value is None:
        return ("–",)
    value = f"{as_shown(one, digits(one)):,.{digits(one)}f} {one.unit}".rstrip() + (" ?" if one.questioned else "")
    if one.low is None or one.high is None:
        return (value,)
    places = interval_digits(one)
    return value, f"({one.low:,.{places}f} to {one.high:,.{places}f})"


def target(one: Indicator) -> str:
    """The target's band in words, "" where there is none."""
    if one.target_low is None and one.target_high is None:
        return ""
    if one.target_low is None:
        return f"{'under' if one.reached else 'at most'} {one.target_high:g}"
    if one.target_high is None:
        return f"at least {one.target_low:g}"
    return f"{one.target_low:g} to {one.target_high:g}"


def head(season: Shown) -> str:
    """Whose figures they are, of which season, up to which day."""
    code = "" if season.green_name == season.green else f" ({season.green})"
    whose = f"{season.club_name}, {season.green_name}{code}"
    return f"{whose}: season {season.season}, as of {long_date(season.as_of)}"


def green_as_json(season: Shown) -> dict[str, Any]:
    """The form of ``show --json``."""
    names = (
        "name", "band", "value", "unit", "low", "high", "n", "target_low", "target_high", "target_source", "standing",
        "judgement", "verdict", "method", "note", "questioned",
    )  # fmt: skip
    figures = []
    for one in season.indicators:
        made = {
            "judgement": judgement(one),
            "verdict": one.verdict.word if one.verdict else None,
            "questioned": [asdict(place) for place in one.questioned],
        }
        figures.append({name: made[name] if name in made else getattr(one, name) for name in names})
    return _season_as_json(season, figures)


def _season_as_json(season: Shown, figures: list[dict[str, Any]]) -> dict[str, Any]:
    days = {"as_of": season.as_of.isoformat(), "known_by": season.look.known_by}
    return {"green": season.green, "club": season.club, "season": season.season, **days, "indicators": figures}


def traces_as_json(season: Shown, found: Sequence[Trace]) -> dict[str, Any]:
    """The form of ``show --evidence --json``: each indicator as ``show --json`` has it, and what lies behind it."""
    told = []
    for one in found:
        plain = green_as_json(replace(season, indicators=(one.indicator,)))["indicators"][0]
        behind = {name: [asdict(record) for record in getattr(one, name)] for name in ("records", "registers")}
        told.append({**plain, "formulas": list(one.formulas), **behind})
    return _season_as_json(season, told)
