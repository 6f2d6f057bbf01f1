"""Texts that people write themselves, as files: read whole, or refused with what to do."""

from __future__ import annotations

from pathlib import Path

from pipeline.common.places import resolved
from pipeline.common.refusal import CannotDo

MOST_TEXT = 40_000
"""Most characters of one text, some twelve pages."""


def read_own_text(path: Path, named: str, too_long: str) -> str:
    """A text of a file.

    Args:
        path: the file.
        named: what it is called in a refusal.
        too_long: what to do where it is too long.

    Raises:
        CannotDo: it is a link that leads out of its folder, it is not UTF-8, or it has more than ``MOST_TEXT``
            characters.
    """
    if not resolved(path).is_relative_to(resolved(path.parent)):
        raise CannotDo(f"{named} leads out of the folder {path.parent.name}.", "Copy the text into it.")
    try:
        found = path.read_text("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise CannotDo(f"{named}, line {line} is not UTF-8 (byte {error.start}).", "Save it as UTF-8.") from None
    if len(found) > MOST_TEXT:
        raise CannotDo(f"{named} has {len(found):,} characters; {MOST_TEXT:,} are the most.", too_long)
    return found
