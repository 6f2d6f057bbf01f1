"""What a target is made for: surface and laboratory method, and why it does not hold for a green's figure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from schemas.codes import code_list, fold
from schemas.construction import construction_of

SURFACE = ("construction", "shape")
BUILT = ("construction_type", "construction", "shape")
"""Columns of a green's register line that say what surface it is."""
METHOD = ("burn_c", "preparation", "verdure", "lab", "extractant")
UNSTATED = "method_not_stated"
"""Column of a shipped set: "yes" where the source gives a limit without the method it was made with."""


@dataclass(frozen=True)
class Basis:
    """How a laboratory made a figure; what it does not state is None, as is all of it for any other figure.

    Attributes:
        burn_c: burn temperature, °C.
        preparation: code of the sample's preparation.
        verdure: code of what became of the green top.
        lab: laboratory.
        extractant: code of the extractant.
        several: whether the green's results of this kind were made by more than one method.
    """

    burn_c: float | None = None
    preparation: str | None = None
    verdure: str | None = None
    lab: str | None = None
    extractant: str | None = None
    several: bool = False


NO_BASIS = Basis()
"""Of a figure that no laboratory made."""


def facets(target: Mapping[str, Any]) -> int:
    """How many things of surface and method a target names."""
    return sum(not _blank(target.get(name)) for name in (*SURFACE, *METHOD))


def rank(target: Mapping[str, Any]) -> tuple[bool, int, int]:
    """How particular a target of a scope is, the most particular first: season, then band, then surface and method."""
    return not target.get("season"), -len(fold(str(target.get("band") or ""))), -facets(target)


def at_odds(targets: Sequence[Mapping[str, Any]]) -> bool:
    """Whether targets that hold for one figure, none more particular than another, ask for different things of it."""
    return len({(one["low"], one["high"], fold(str(one["unit"]))) for one in targets}) > 1


def most_particular(targets: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Of the targets of a scope that hold, those that none is more particular than; those with an end, where one has.

    Usually one. Several say two things at once of one green, say one target of its construction and one of its shape.
    """
    if len(targets) < 2:
        return list(targets)
    ranks = [rank(one) for one in targets]
    best = [one for one, own in zip(targets, ranks, strict=True) if own == min(ranks)]
    return [one for one in best if not ended(one)] or best


def clash(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two targets may hold for one figure at once, are equally particular and ask for different things."""
    same = all(one.get(name) == other.get(name) for name in ("indicator", "scope", "scope_name", "season"))
    same = same and fold(str(one.get("band") or "")) == fold(str(other.get("band") or "")) and rank(one) == rank(other)
    both = all(_agree(name, one.get(name), other.get(name)) for name in (*SURFACE, *METHOD))
    return same and both and not (ended(one) or ended(other)) and at_odds([one, other])


def may_hold(target: Mapping[str, Any], green: Mapping[str, Any], basis: Basis = NO_BASIS) -> bool:
    """Whether nothing that is recorded of a green and its figure speaks against a target; arguments as of `unfit`."""
    built = {"construction": construction_of(green), "shape": green.get("shape")}
    own = {**built, **{name: getattr(basis, name) for name in METHOD}}
    return target.get(UNSTATED) != "yes" and all(_agree(name, target.get(name), own[name]) for name in own)


def _agree(name: str, one: Any, other: Any) -> bool:
    """Whether one of two says nothing of a surface or method, or both the same."""
    return _blank(one) or _blank(other) or (one == other if name in SURFACE else _told(name, one) == _told(name, other))


def ended(target: Mapping[str, Any]) -> bool:
    """Whether a target has neither end: so a user takes one back that asked for something."""
    return _blank(target["low"]) and _blank(target["high"])


def names_method(target: Mapping[str, Any]) -> bool:
    """Whether a target names anything of the method it holds for."""
    return any(not _blank(target.get(name)) for name in METHOD)


def unfit(target: Mapping[str, Any], green: Mapping[str, Any], basis: Basis = NO_BASIS) -> str:
    """Why a target does not hold for a figure of a green, in words after "is"; "" where it holds.

    Args:
        target: the target's row; a blank holds for all.
        green: the green's register row.
        basis: how the figure was made.
    """
    return _of_construction(target, green) or _of_shape(target, green) or _of_method(target, basis)


def _of_construction(target: Mapping[str, Any], green: Mapping[str, Any]) -> str:
    wanted, built = target.get("construction"), construction_of(green)
    if _blank(wanted) or wanted == built:
        return ""
    asked = f"for greens of the construction “{_label('construction', wanted)}”"
    if built is not None:
        return f"{asked}; this one's is “{_label('construction', built)}”"
    words = green.get("construction")
    said = f"says “{words}”, which stands for no code" if words else "does not record this one's"
    return f"{asked}; the register {said}: fill in construction_type"


def _of_shape(target: Mapping[str, Any], green: Mapping[str, Any]) -> str:
    wanted, shape = target.get("shape"), green.get("shape")
    if _blank(wanted) or wanted == shape:
        return ""
    asked = f"for a {_label('green_shape', wanted).lower()}"
    if shape:
        return f"{asked}; this is a {_label('green_shape', shape).lower()}"
    return f"{asked}; the register does not say whether this one is flat or crown: fill in shape"


def _of_method(target: Mapping[str, Any], basis: Basis) -> str:
    if target.get(UNSTATED) == "yes":
        return (
            "given without the laboratory method it was made with, and results of two methods do not compare: set a "
            "target of your own if it is to hold"
        )
    for name in METHOD:
        wanted, own = target.get(name), getattr(basis, name)
        if not _blank(wanted) and _told(name, wanted) != _told(name, own):
            has = (
                f"this one's is {_told(name, own)}" if own is not None else f"this one's is not stated: fill in {name}"
            )
            return f"for results whose {_WHAT[name]} is {_told(name, wanted)}; {has}"
    return ""


_WHAT = {
    "burn_c": "burn temperature",
    "preparation": "preparation",
    "verdure": "verdure",
    "lab": "laboratory",
    "extractant": "extractant",
}


def _told(name: str, value: Any) -> str:
    """A part of the method in words that are the same where the method is."""
    if value is None:
        return ""
    if name == "burn_c":
        return f"{float(value):g} °C"
    return f"“{' '.join(str(value).split())}”".casefold() if name == "lab" else f"“{_label(name, value)}”"


def _label(codes: str, value: Any) -> str:
    return code_list(codes)[str(value)].label


def _blank(value: Any) -> bool:
    return value is None or value == ""
