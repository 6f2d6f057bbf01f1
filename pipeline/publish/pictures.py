"""Pictures that a workspace's texts show, and its logo: read from their folder, or refused with what to do."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pipeline.common.refusal import CannotDo
from reports.page import own_text

MOST_PICTURE_BYTES = 1_000_000
"""Of a logo, and of each picture of a text: every document carries them."""
_STARTS = ((b"\x89PNG\r\n\x1a\n", "image/png"), (b"\xff\xd8\xff", "image/jpeg"))


def pictures_of(pages: Path, texts: Mapping[str, str]) -> dict[str, tuple[str, bytes]]:
    """Media type and bytes of the pictures that texts show, by their names.

    Raises:
        CannotDo: one is not there, too large or no picture, or no words say what it shows.
    """
    wanted = {name for source in texts.values() for name in own_text.picture_names(source)}
    inside = [name for name in sorted(wanted) if (pages / name).is_file()]
    found = {name: picture(pages, name, f"picture {pages.name}/{name}", f"the folder {pages.name}") for name in inside}
    for name, source in texts.items():
        try:
            own_text.html_of(source, pictures=found)
        except own_text.OwnTextFault as fault:
            raise CannotDo(f"{pages.name}/{name}, {fault}.", "Mend the text, or add the picture.") from fault
    return found


def picture(folder: Path, name: str, what: str, where: str) -> tuple[str, bytes]:
    """Media type and bytes of a picture of a folder.

    Raises:
        CannotDo: it lies outside the folder, is too large, or is no PNG, JPEG or SVG picture.
    """
    folder = folder.resolve()
    path = (folder / name).resolve()
    if not path.is_relative_to(folder):
        raise CannotDo(f"The {what} lies outside {where}.", f"Copy it into {folder} and name it from there.")
    if path.stat().st_size > MOST_PICTURE_BYTES:
        raise CannotDo(f"The {what} is larger than 1 MB.", "Save a smaller copy; 1,000 pixels across are plenty.")
    content = path.read_bytes()
    for start, kind in _STARTS:
        if content.startswith(start):
            return kind, content
    if b"<svg" in content[:2000]:
        return "image/svg+xml", content
    raise CannotDo(f"The {what} is not a PNG, JPEG or SVG picture.", "Save it as one of these.")
