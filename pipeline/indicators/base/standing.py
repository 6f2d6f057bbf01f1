"""Targets in force, and how a figure stands against them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache, lru_cache

from pipeline.common.amounts import joined
from pipeline.common.words import listed
from pipeline.indicators.base.description import Description
from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.green_season import Indicator, Sample, Series, Standing
from pipeline.indicators.base.judgement import by_reading, stand
from pipeline.workspace.targets import STANDARD, shipped_targets
from pipeline.workspace.targets.fit import (
    BUILT,
    NO_BASIS,
    Basis,
    at_odds,
    ended,
    may_hold,
    most_particular,
    names_method,
    rank,
    unfit,
)
from schemas.codes import fold, spellings

Row = Mapping[str, object]
"""A target's row: fields as in schemas/target.py, of a user's own also where it stands."""


@dataclass(frozen=True)
class Target:
    """A goal: lower and upper end, and who says so.

    Attributes:
        low: lower end; None where there is none.
        high: upper end.
        unit: their unit.
        source: who says so.
        any_method: whether a user set it for every laboratory method.
        passed_over: which target of a user's would come before it, were what it asks for recorded; "" where none would.
        reached: whether its upper end is missed as soon as it is reached.
    """

    low: float | None
    high: float | None
    unit: str
    source: str
    any_method: bool = False
    passed_over: str = ""
    reached: bool = False


def target_for(records: GreenRecords, what: Description, band: str = "", basis: Basis = NO_BASIS) -> Target | None:
    """The target in force: one that a user loaded, else the one of the shipped sets that the settings choose.

    One made for another construction, shape or laboratory method than the figure's holds for none of it.
    """
    return target_or_reason(records, what, band, basis)[0]


def target_or_reason(
    records: GreenRecords, what: Description, band: str = "", basis: Basis = NO_BASIS
) -> tuple[Target | None, str]:
    """The target in force, or None and why of those there are none holds here ("" where there are none)."""
    own, season, sets = list(_by_scope(records, what.name)), records.season.name, tuple(records.settings.target_sets)
    if own:
        return _in_force(own, *_shipped(what, sets), season, band, records.green, basis)
    return _of_sets(what, sets, season, band, tuple(records.green.get(name) for name in BUILT), basis)


@lru_cache(4096)
def _of_sets(
    what: Description, sets: tuple[str, ...], season: str, band: str, built: tuple[object, ...], basis: Basis
) -> tuple[Target | None, str]:
    """The same where a user set none: greens that are built alike share it."""
    return _in_force([], *_shipped(what, sets), season, band, dict(zip(BUILT, built, strict=True)), basis)


def _in_force(
    own: Sequence[Sequence[Row]], shipped: Sequence[Row], with_ends: Sequence[Row], season: str, band: str,
    green: Row, basis: Basis,
) -> tuple[Target | None, str]:  # fmt: skip
    """The target in force among a user's, scope by scope, and those shipped; None and why none is."""
    others: list[Row] = []
    for rows in (*own, with_ends):
        covering = _covering(rows, season, band)
        found = _holding(covering, green, basis)
        if _own(found) and at_odds(found):
            return None, _tied(found)
        if found:
            before = [*others, *(row for row in covering if rank(row) < rank(found[0]))]
            return _over(_target(found[0]), before, green, basis), ""
        others += covering
    if others:
        which = "the one set" if len(others) == 1 else f"of {len(others)} set none holds here; the first"
        return None, f"No target: {which} ({others[0]['source']}) is {unfit(others[0], green, basis)}."
    none = [str(row["source"]) for row in _covering(shipped, season, band)]
    return None, f"No target: {none[0]}." if none else ""


@cache
def _shipped(what: Description, sets: tuple[str, ...]) -> tuple[list[Row], list[Row]]:
    """An indicator's targets of the sets chosen, the last named first; and those of them with an end."""
    rows = [row for name in reversed(sets) for row in shipped_rows(what, name)]
    return rows, [row for row in rows if _number(row["low"]) is not None or _number(row["high"]) is not None]


def shipped_rows(what: Description, name: str) -> list[Row]:
    """An indicator's targets of one shipped set, fields as in schemas/target.py (grain: target)."""
    if name != STANDARD:
        return [dict(row) for row in shipped_targets(name) if row["indicator"] == what.name]
    of_all = {"indicator": what.name, "scope": "standard", "scope_name": "", "season": ""}
    return [of_all | asdict(one) | {"unit": one.unit or what.unit} for one in what.targets]


def own_target(records: GreenRecords, indicator: str, band: str = "", basis: Basis = NO_BASIS) -> Target | None:
    """The target that a user loaded and that holds here: green beats club beats region beats standard.

    A season's own beats one for all seasons, one for a band one for all bands, and one made for this very surface or
    method one for all. None too where two that are equally particular ask for different things.
    """
    found = _own_holding(records, indicator, band, basis)
    return _target(found[0]) if found and not at_odds(found) else None


def quarrel(records: GreenRecords, indicator: str) -> str:
    """That targets of a user's hold here alike and ask for different things, so that none is in force; "" else."""
    found = _own_holding(records, indicator)
    return _tied(found) if at_odds(found) else ""


def _own_holding(records: GreenRecords, indicator: str, band: str = "", basis: Basis = NO_BASIS) -> Sequence[Row]:
    """Of a user's targets that hold here the most particular of the narrowest scope; several say things alike."""
    scopes = (_covering(rows, records.season.name, band) for rows in _by_scope(records, indicator))
    return next(filter(None, (_holding(rows, records.green, basis) for rows in scopes)), [])


def target_ahead(
    records: GreenRecords, indicator: str, band: str = "", basis: Basis = NO_BASIS
) -> tuple[Target, str] | None:
    """The target set for a season after the one looked at, and that season's name: narrowest scope, then nearest."""
    for rows in _by_scope(records, indicator):
        later = {str(row["season"]) for row in rows if _is_later(str(row["season"]), records.season.name)}
        for season in sorted(later):
            of_season = _covering([row for row in rows if row["season"] == season], season, band)
            if found := _holding(of_season, records.green, basis):
                return None if at_odds(found) else (_target(found[0]), season)
    return None


def _by_scope(records: GreenRecords, indicator: str) -> Iterator[Sequence[Row]]:
    """A user's targets of an indicator that hold for the green, scope by scope, narrowest first."""
    own = records.own_targets.get(indicator)
    if not own:
        return
    for scope, name in {**records.scope_names, "standard": ""}.items():
        if name is not None:  # a club without a region
            yield [row for row in own if row["scope"] == scope and (not name or row["scope_name"] == name)]


def _is_later(season: str, than: str) -> bool:
    """Whether a season's name is a year after another's."""
    return season.isdecimal() and len(season) == 4 and int(season) > int(than)


def _covering(rows: Sequence[Row], season: str, band: str) -> list[Row]:
    """The targets for this season and band, or for all, whatever surface and method they are made for."""
    return [row for row in rows if str(row["season"] or "") in {"", season} and _covers(str(row["band"] or ""), band)]


def _holding(covering: Sequence[Row], green: Row, basis: Basis) -> Sequence[Row]:
    """Of a scope's targets that hold for the green's surface and the figure's method, the most particular."""
    fitting = [row for row in covering if not unfit(row, green, basis)]
    return most_particular(fitting) if fitting else []


def _target(row: Row) -> Target:
    low, high = _number(row["low"]), _number(row["high"])
    any_method, reached = _own([row]) and not names_method(row), bool(row.get("reached"))
    return Target(low, high, str(row["unit"]), str(row["source"]), any_method, reached=reached)


def _own(rows: Sequence[Row]) -> bool:
    """Whether targets are a user's: a shipped one comes from no file."""
    return any("file" in row for row in rows)


def _tied(rows: Sequence[Row]) -> str:
    """That targets of a user's ask for two things at once, where they stand, and the way out."""
    ordered = sorted(rows, key=lambda row: (str(row["file"]), int(str(row["line"]))))
    places = listed([f"line {row['line']} of {row['file']} ({row['source']})" for row in ordered])
    return f"No target: {places} hold here alike and ask for different things: narrow or end all but one."


def _over(target: Target, before: Sequence[Row], green: Row, basis: Basis) -> Target:
    """The target; with the first of a user's that would come before it, were what that one asks for recorded."""
    for row in before:
        if _own([row]) and not ended(row) and may_hold(row, green, basis):
            scope = "every green" if row["scope"] == "standard" else f"this {row['scope']}"
            why = f"The target set for {scope} ({row['source']}) is passed over: it is "
            return replace(
                target,
                source=f"{target.source}, in place of the one set for {scope}",
                passed_over=f"{why}{unfit(row, green, basis)}.",
            )
    return target


def _covers(target_band: str, band: str) -> bool:
    """Whether a target of this band holds for the indicator's: all bands, the same, or one parted further by depth."""
    wanted, own = band_key(target_band), band_key(band)
    return not wanted or own == wanted or own.startswith(f"{wanted}, ")


def band_key(band: str) -> str:
    """A band for comparing: a depth typed with a hyphen is that printed with a dash."""
    return fold(band.replace("–", "-").replace("—", "-"))


def _number(cell: object) -> float | None:
    return None if cell is None or cell == "" else float(str(cell))


def series(
    records: GreenRecords, what: Description, samples: Sequence[Sample], band: str = "", basis: Basis = NO_BASIS
) -> Series:
    """Samples of an indicator over time with the target in force, for the charts; ``basis`` is of the latest.

    Those with a result under an open warning are marked.
    """
    target = target_for(records, what, band, basis)
    ends = (target.low, target.high, target.source) if target else (None, None, "")
    asked = records.warned
    marked = (replace(s, questioned=any((at.load_id, at.line) in asked for at in s.evidence)) for s in samples)
    return Series(what.label, band, what.unit, tuple(marked), *ends)


def against_target(indicator: Indicator, records: GreenRecords, what: Description) -> Indicator:
    """The indicator with its target and standing filled in.

    A target in another unit than the indicator's, or made for another surface or method, is not applied, and the note
    says so. A standing already set ("too few", "not comparable") stays.

    Args:
        indicator: the figure.
        records: of its green and season.
        what: its description.
    """
    target, why = target_or_reason(records, what, indicator.band, indicator.basis)
    if target is None:
        judged = indicator.target_low is not None or indicator.target_high is not None
        return indicator if judged or indicator.value is None or not why else _noted(indicator, why)
    if unit_name(target.unit) not in unit_names(indicator.unit):
        return _noted(indicator, f"The target is in {target.unit}, the figure in {indicator.unit}: not compared.")
    if target.passed_over:
        indicator = _noted(indicator, target.passed_over)
    if target.any_method and indicator.basis.several:
        indicator = _noted(indicator, "The target names no laboratory method and is taken to hold for every one.")
    stands: Standing = indicator.standing
    if indicator.value is not None and stands == "no target":
        stands = stand(indicator.value, target.low, target.high, reached=target.reached)
    done = replace(
        indicator,
        target_low=target.low,
        target_high=target.high,
        target_source=target.source,
        standing=stands,
        reached=target.reached,
    )
    return _noted(done, reading_words(what)) if what.reading and by_reading(done) else done


def reading_words(what: Description) -> str:
    """Why a figure that rests on a laboratory's reading is close to a limit, for its note."""
    assert what.reading is not None, "only a reading is known to what laboratories differ by"
    far = what.reading.words
    return f"Nearer to a limit than laboratories differ ({far}{'' if '%' in far else f' {what.unit}'.rstrip()})."


def _noted(indicator: Indicator, said: str) -> Indicator:
    """The indicator with a further word in its note."""
    return replace(indicator, note=joined(" ", [indicator.note, said]) if indicator.note else said)


def unit_names(unit: str) -> set[str]:
    """How an indicator's unit may be written in a target, as `unit_name` has it; a bare number is a count, or pH."""
    return {unit_name(unit)} if unit else {"", "count", "ph"}


def unit_name(unit: str) -> str:
    """A unit for comparing, folded; one that results of the soil come in by its name: meq/100g is meq/100 g."""
    return fold(spellings("soil_unit").get(fold(unit), unit))
