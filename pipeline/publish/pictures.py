"""Pictures that a workspace's texts show, and its logo: read from their folder, or refused with what to do."""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from markupsafe import Markup

from pipeline.common.limits import MB, RAISE, STANDARD, Limits
from pipeline.common.places import resolved
from pipeline.common.refusal import CannotDo
from pipeline.publish.drawings import refuse_drawing
from reports.page import own_text

SMALLER = "Save a smaller copy; 1,000 pixels across are plenty."
_MODES = ("1", "L", "LA", "P", "PA", "RGB", "RGBA")
_STARTS = ((b"\x89PNG\r\n\x1a\n", "image/png"), (b"\xff\xd8\xff", "image/jpeg"))


Picture = tuple[str, bytes]
"""Media type and bytes."""


def texts_of(
    folder: Path, texts: Mapping[str, str], heading: str, limits: Limits = STANDARD
) -> tuple[dict[str, Markup], dict[str, Picture]]:
    """Texts as HTML by their names, and the pictures of their folder that they show, by theirs.

    Args:
        folder: where both lie.
        texts: Markdown by name of file.
        heading: what each heading is.
        limits: how large a picture may be.

    Raises:
        CannotDo: a text cannot be printed as it is meant (``own_text.html_of`` says when), or a picture cannot be
            drawn.
    """
    wanted = {name for source in texts.values() for name in own_text.picture_names(source)}
    inside = [name for name in sorted(wanted) if is_there(folder / name)]
    found = {
        name: picture(folder, name, f"picture {folder.name}/{name}", f"the folder {folder.name}", limits)
        for name in inside
    }
    made = {}
    for name, source in texts.items():
        try:
            made[name] = own_text.html_of(source, heading=heading, pictures=found)
        except own_text.OwnTextFault as fault:
            raise CannotDo(f"{folder.name}/{name}, {fault}.", fault.hint) from fault
    return made, found


def is_there(path: Path) -> bool:
    """Whether a file of this name lies there; a name that no file can have is none."""
    try:
        return path.is_file()
    except OSError:  # longer than names are
        return False


def picture(folder: Path, name: str, what: str, where: str, limits: Limits = STANDARD) -> Picture:
    """Media type and bytes of a picture of a folder.

    Raises:
        CannotDo: it lies outside the folder, is too large, or cannot be drawn as it is meant.
    """
    folder = resolved(folder)
    path = resolved(folder / name)
    if not path.is_relative_to(folder):
        raise CannotDo(f"The {what} lies outside {where}.", f"Copy it into {folder} and name it from there.")
    size = path.stat().st_size
    if size > limits.picture_kb * 1_000:
        said = f"The {what} is {math.ceil(size / 1_000):,} kB large; {limits.picture_kb:,} kB are the most."
        raise CannotDo(said, f"{SMALLER} Or {RAISE.format(setting='picture_kb')}.")
    content = path.read_bytes()
    for start, kind in _STARTS:
        if content.startswith(start):
            _refuse_pixels(content, what, limits)
            return kind, content
    if b"<svg" in content or path.suffix.lower() == ".svg":
        refuse_drawing(content, what)
        return "image/svg+xml", content
    raise CannotDo(f"The {what} is not a PNG, JPEG or SVG picture.", "Save it as one of these.")


def _refuse_pixels(content: bytes, what: str, limits: Limits) -> None:
    """Refuse a picture of pixels that is cut off, that fills the memory, or that PDF/A has no place for.

    Source: ISO 19005-3, 6.2.4 (no colours of a printing press where the page is sRGB).
    """
    from PIL import Image

    most, larger = limits.picture_megapixels * MB, f"{SMALLER} Or {RAISE.format(setting='picture_megapixels')}."
    try:
        with warnings.catch_warnings(), _to_the_end():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # the limit here is the narrower one
            image = Image.open(io.BytesIO(content), formats=("PNG", "JPEG"))
            wide, high = image.size
            if wide * high <= most:
                image.load()
    except Image.DecompressionBombError:
        raise CannotDo(f"The {what} has too many pixels.", larger) from None
    except Exception:  # whatever Pillow stumbles over in broken bytes
        raise CannotDo(f"The {what} is damaged or cut off: it cannot be read to its end.", "Save it anew.") from None
    if wide * high > most:
        million = limits.picture_megapixels
        raise CannotDo(f"The {what} has {wide:,} × {high:,} pixels; {million} million are the most.", larger)
    if image.mode not in _MODES:
        raise CannotDo(
            f"The {what} has colours of another kind than screens have ({image.mode}).",
            "Save it as RGB or grey, 8 bits a colour.",
        )


@contextmanager
def _to_the_end() -> Iterator[None]:
    """A stretch in which a cut picture is a fault, also once the renderer was imported, which has Pillow fill it up."""
    from PIL import ImageFile

    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before
