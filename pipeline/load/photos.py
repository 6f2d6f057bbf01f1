"""Photos beside a CSV: looked at with care, set upright, made small, stripped of metadata, and kept with the record.

The small copy is a column of the record, not a file of its own: so a load with its pictures is one transaction,
``undo`` takes both back, every version keeps its picture, and a store that is copied is whole. A picture of 1,200
pixels is some hundreds of kilobytes.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import replace
from pathlib import Path

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.limits import MB, RAISE, STANDARD, Limits
from pipeline.common.places import resolved
from pipeline.standardise.frame import Standard

LONGEST_PX = 1200
"""Longer side of the copy, pixels: 180 to the inch over the width of a page of A4."""
QUALITY = 85
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")

PHOTO_MISSING = FaultKind(
    "photo.missing",
    "Photo not there",
    "There is no picture “{value}” beside the file.",
    "Put it there (the path counts from the folder of the CSV), and load the file again.",
)
PHOTO_OUTSIDE = FaultKind(
    "photo.outside",
    "Photo outside the folder of its file",
    "“{value}” leads out of the folder of the file.",
    "Put the picture beside the CSV or in a folder below it, and write the path from there.",
)
PHOTO_LARGE = FaultKind(
    "photo.large",
    "Photo too large a file",
    "“{value}” has more than {most} MB.",
    f"Save it smaller (the report needs no more than 1,200 pixels), or {RAISE}.",
)
PHOTO_PIXELS = FaultKind(
    "photo.pixels",
    "Photo with too many pixels",
    "“{value}” has more than {most} million pixels.",
    f"Save it smaller (the report needs no more than 1,200 pixels), or {RAISE}.",
)
PHOTO_BROKEN = FaultKind(
    "photo.broken",
    "Not a picture, or a broken one",
    "“{value}” cannot be read as a picture: {why}.",
    "Open it in a picture viewer and save it as JPEG or PNG.",
)


class Unusable(Exception):
    """A picture that cannot be kept: the fault and its facts."""

    def __init__(self, fault: FaultKind, **facts: object) -> None:
        super().__init__(fault.code)
        self.fault, self.facts = fault, facts


def with_pictures(standard: Standard, folder: Path, limits: Limits = STANDARD) -> Standard:
    """The photos of a CSV in this folder with the small copy of each picture, and a fault for each that is none."""
    pictures: list[bytes | None] = []
    faults, bad = [no_faults()], []
    for record, line, name in standard.records.select("record", "line", "picture").iter_rows():
        picture = None
        if name is not None and record not in standard.rejected:
            try:
                picture = small_copy(_bytes_of(folder, name, limits), limits)
            except Unusable as unusable:
                faults.append(unusable.fault.at(line, name, "picture", **unusable.facts))
                bad.append(record)
        pictures.append(picture)
    records = standard.records.with_columns(pl.Series("jpeg", pictures, dtype=pl.Binary))
    rejected = pl.concat([standard.rejected, pl.Series(bad, dtype=standard.rejected.dtype)]).unique(maintain_order=True)
    found = concat(faults).with_columns(pl.col("column").replace(dict(standard.columns)))
    return replace(standard, records=records, rejected=rejected, faults=concat([standard.faults, found]))


def _bytes_of(folder: Path, name: str, limits: Limits) -> bytes:
    """The bytes of a picture in the folder of its CSV or below it."""
    inside = resolved(folder)
    try:
        path = resolved(inside / name.replace("\\", "/"))
        if not path.is_relative_to(inside):
            raise Unusable(PHOTO_OUTSIDE)
        if not path.is_file():
            raise Unusable(PHOTO_MISSING)
        with path.open("rb") as source:
            data = source.read(limits.photo_mb * MB + 1)
    except (OSError, ValueError):  # no right to read it, a name no file can have
        raise Unusable(PHOTO_MISSING) from None
    if len(data) > limits.photo_mb * MB:
        raise Unusable(PHOTO_LARGE, most=limits.photo_mb, setting="photo_mb")
    return data


def small_copy(data: bytes, limits: Limits = STANDARD) -> bytes:
    """JPEG of at most 1,200 pixels a side, upright, in RGB, without metadata: the same bytes for the same picture.

    A colour profile goes with the metadata; transparent parts become white.
    """
    from PIL import Image, ImageFile

    many = Unusable(PHOTO_PIXELS, most=limits.photo_megapixels, setting="photo_megapixels")
    allowed, most = ImageFile.LOAD_TRUNCATED_IMAGES, Image.MAX_IMAGE_PIXELS  # the renderer sets the first for all
    ImageFile.LOAD_TRUNCATED_IMAGES, Image.MAX_IMAGE_PIXELS = False, limits.photo_megapixels * MB
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a decoder's remarks on odd metadata, which is thrown away
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _small_copy(data)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise many from None
    except Unusable:
        raise
    except Exception as error:  # whatever a decoder makes of any bytes at all, it is the file's fault
        raise Unusable(PHOTO_BROKEN, why=_why(error)) from None
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES, Image.MAX_IMAGE_PIXELS = allowed, most


def _small_copy(data: bytes) -> bytes:
    from PIL import Image, ImageOps

    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        if image.mode.startswith("I"):  # 16 bits a pixel: the upper eight are what is seen
            image = image.point(lambda level: level / 256).convert("L")  # type: ignore[assignment]  # noqa: PLW2901
        image.thumbnail((LONGEST_PX, LONGEST_PX))
        upright = ImageOps.exif_transpose(image).convert("RGBA")
    clean = Image.new("RGB", upright.size, "white")  # a new picture has no metadata to write
    clean.paste(upright, mask=upright.getchannel("A"))
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _why(error: Exception) -> str:
    from PIL import UnidentifiedImageError

    if isinstance(error, UnidentifiedImageError):
        return f"it is none of {', '.join(FORMATS)}"
    text = str(error).strip().rstrip(".").split("\n")[0]
    return text[:80] or type(error).__name__
