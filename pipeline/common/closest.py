"""Known names that are nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from pipeline.common.refusal import WrongUsage
from schemas.codes import fold


def closest(word: str, among: Iterable[str], most: int = 3) -> list[str]:
    """The names nearest to a word in spelling, best first; none that is far off."""
    from rapidfuzz import fuzz, process

    names = {fold(name): name for name in among}
    found = process.extract(fold(word), list(names), scorer=fuzz.ratio, limit=most, score_cutoff=60)
    return [names[match] for match, _, _ in found]


def offered(word: str, among: Iterable[str]) -> str:
    """The closest names as the tail of a message: “; closest: a, b”, or "" where nothing is near."""
    near = closest(word, among)
    return f"; closest: {', '.join(near)}" if near else ""


def refuse_unknown(kind: str, names: Iterable[str], known: Collection[str]) -> None:
    """Refuse the first name that is not in the register of its kind.

    Raises:
        WrongUsage: with the closest names that are.
    """
    for name in names:
        if name not in known:
            said = f"There is no {kind} “{name}”{offered(name, known)}."
            raise WrongUsage(said, f"swardtally status lists every {kind}.")
