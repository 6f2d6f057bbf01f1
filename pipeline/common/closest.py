"""Known names that are nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from pipeline.common.refusal import WrongUsage
from schemas.codes import fold

MOST_LISTED = 20
"""Names listed where one is not known."""


def closest(word: str, among: Iterable[str], most: int = 3) -> list[str]:
    """The names nearest to a word in spelling, best first, equally near ones by name; none that is far off."""
    from rapidfuzz import fuzz, process

    names = {fold(name): name for name in sorted(among)}  # in order, for what is among them may be a set
    found = process.extract(fold(word), list(names), scorer=fuzz.ratio, limit=most, score_cutoff=60)
    return [names[match] for match, _, _ in found]


def offered(word: str, among: Iterable[str]) -> str:
    """The closest names as the tail of a message: “; closest: a, b”, or "" where nothing is near."""
    near = closest(word, among)
    return f"; closest: {', '.join(near)}" if near else ""


def as_known(
    kind: str, names: Iterable[str], known: Collection[str], also: Mapping[str, str] | None = None
) -> list[str]:
    """The names as they are known, in whatever case they are asked for.

    Args:
        kind: what they should be names of.
        names: names that were asked for.
        known: names there are.
        also: other names, each with the one it stands for.

    Raises:
        WrongUsage: one is not known, with the closest that are.
    """
    every = {**(also or {}), **{name: name for name in known}}
    folded: dict[str, set[str]] = {}
    for name, own in every.items():
        folded.setdefault(fold(name), set()).add(own)
    found = []
    for name in names:
        alike = folded.get(fold(name), set())
        own = every.get(name) or (next(iter(alike)) if len(alike) == 1 else name)
        refuse_unknown(kind, [own], known)
        found.append(own)
    return found


def refuse_unknown(kind: str, names: Iterable[str], known: Collection[str], *, listed: bool = False) -> None:
    """Refuse the first name that is none of its kind.

    Args:
        kind: what it should be the name of.
        names: names that were asked for.
        known: names there are.
        listed: whether the hint lists those there are, where ``swardtally status`` does not.

    Raises:
        WrongUsage: with the closest names that are.
    """
    for name in names:
        if name not in known:
            hint = _some(known) if listed else f"swardtally status lists every {kind}."
            raise WrongUsage(f"There is no {kind} “{name}”{offered(name, known)}.", hint)


def _some(known: Collection[str]) -> str:
    """The first of the names there are, for a hint."""
    if not known:
        return "There are none."
    some = sorted(known)[:MOST_LISTED]
    return f"There are: {', '.join(some)}{' and others' if len(known) > len(some) else ''}."
