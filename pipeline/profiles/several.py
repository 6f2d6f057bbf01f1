"""What a profile may say of cells that name several."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from schemas.codes import fold
from schemas.job import OF_ONE_OPERATION

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile

_WHOLE = {"operation": ("", "first"), "green": ("", "each", "shared")}


def refuse_odd_several(profile: Profile) -> None:
    """Refuse to part cells that nothing is read from, or in a way that says nothing of them.

    Raises:
        ValueError: in words that name the key.
    """
    for name, said in profile.several.items():
        if name not in _WHOLE or name not in profile.fields:
            raise ValueError(f"several.{name}: only operation and green are parted, where [fields] says their column")
        if said.whole not in _WHOLE[name] or (said.whole == "shared" and profile.kind != "job"):
            raise ValueError(f"several.{name}: whole = {said.whole!r} has no meaning for {name} of {profile.kind}")
    if profile.several and profile.long:
        raise ValueError("[several] and [[long]] do not go together: one line would be several twice over")
    greens, operation = profile.several.get("green"), profile.several.get("operation")
    if greens and not (greens.between or greens.words):
        raise ValueError('several.green needs `between`, the marks between two greens (between = ["&", "/"]), or words')
    for word in _both(profile.aliases.get("green", {}), greens.words if greens else {}):
        raise ValueError(
            f"{word!r} stands in [aliases.green], as one green, and in words of [several.green], as several: "
            "take it out of one of the two"
        )
    if greens and any(not mark.strip() for mark in greens.between):
        raise ValueError("several.green: a mark in `between` cannot be a blank")
    if operation and (operation.between or operation.words):
        raise ValueError("several.operation: a crew's own words part it; `between` and `words` hold for greens alone")
    wrong = [name for name in profile.constants if operation and name in OF_ONE_OPERATION]
    if wrong:
        raise ValueError(f"{wrong[0]} cannot be the same for every operation of a cell: take it out of [constants]")


def _both(some: Iterable[str], others: Iterable[str]) -> list[str]:
    """Words of the one that the other holds too, however written."""
    folded = {fold(word) for word in others}
    return [word for word in some if fold(word) in folded]
