"""Photos beside a CSV: upright, small, without a trace of where and by whom; whatever the bytes, fault or picture."""

from __future__ import annotations

import io
import zlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from pipeline.load import photos as photo
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.store import Store
from pipeline.store.undo import undo
from pipeline.workspace.settings import Workspace, open_workspace
from tests.conftest import Load
from tests.thorough import examples

HEAD = "date,green,picture,caption,taken_by\n"
SECRET = b"Ostershire Works Yard"


def drawn(width: int = 160, height: int = 80) -> Image.Image:
    """A picture whose left third is red and the rest blue."""
    image = Image.new("RGB", (width, height), (20, 20, 200))
    ImageDraw.Draw(image).rectangle((0, 0, width // 3, height), fill=(200, 20, 20))
    return image


def saved(image: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)  # type: ignore[arg-type]
    return out.getvalue()


def with_metadata(orientation: int) -> bytes:
    """A JPEG with GPS, a name, a comment and an orientation."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x013B] = SECRET.decode()
    exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 24.0, 36.0), 3: "W", 4: (1.0, 30.0, 0.0)})
    return saved(drawn(), exif=exif, comment=SECRET, quality=95)


def small(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(photo.small_copy(data)))


def segments(jpeg: bytes) -> set[int]:
    """Markers of a JPEG's segments up to its picture."""
    found, at = set(), 2
    while jpeg[at + 1] != 0xDA:
        found.add(jpeg[at + 1])
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found


def test_no_place_no_name_and_no_comment_is_left() -> None:
    """A phone writes where the picture was taken; a club's report must not."""
    data = with_metadata(1)
    assert SECRET in data
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825), "the picture that goes in has GPS"
    copy = photo.small_copy(data)
    assert SECRET not in copy
    assert not Image.open(io.BytesIO(copy)).getexif()
    metadata = {0xE1, 0xE2, 0xED, 0xFE}  # EXIF and XMP, colour profile, IPTC, comment
    assert 0xE1 in segments(data)
    assert not segments(copy) & metadata


@pytest.mark.parametrize(("orientation", "size", "red"), [
    (1, (160, 80), "left"), (3, (160, 80), "right"), (6, (80, 160), "top"), (8, (80, 160), "bottom"),
])  # fmt: skip
def test_a_picture_taken_sideways_is_set_upright(orientation: int, size: tuple[int, int], red: str) -> None:
    """The turn stands in the metadata that is thrown away (EXIF 2.3, tag 274), so it has to be done before."""
    copy = small(with_metadata(orientation))
    assert copy.size == size
    wide, high = size
    places = {"left": (5, high // 2), "right": (wide - 5, high // 2), "top": (40, 5), "bottom": (40, high - 5)}
    reddest = max(places, key=lambda place: copy.getpixel(places[place])[0])  # type: ignore[index]
    assert reddest == red


def test_a_large_picture_is_made_small_and_a_small_one_is_left() -> None:
    assert small(saved(drawn(3000, 1500))).size == (1200, 600)
    assert small(saved(drawn(1500, 3000))).size == (600, 1200)
    assert small(saved(drawn(40, 20))).size == (40, 20)


def test_the_same_picture_gives_the_same_bytes() -> None:
    """A report made twice must be the same bytes twice."""
    data = with_metadata(6)
    assert photo.small_copy(data) == photo.small_copy(data)


def _shades() -> Image.Image:
    return Image.fromarray(np.linspace(0, 65535, 64 * 64).reshape(64, 64).astype(np.uint16))


@pytest.mark.parametrize(("image", "kind"), [
    (drawn().convert("CMYK"), "JPEG"), (drawn().convert("L"), "PNG"), (drawn().convert("P"), "PNG"),
    (drawn().convert("1"), "PNG"), (drawn(), "WEBP"), (drawn(), "TIFF"), (_shades(), "PNG"),
    (Image.new("RGBA", (50, 50), (10, 200, 10, 0)), "PNG"), (Image.new("LA", (50, 50), (10, 0)), "PNG"),
], ids=["cmyk", "grey", "palette", "bits", "webp", "tiff", "grey16", "transparent", "grey-transparent"])  # fmt: skip
def test_every_kind_of_picture_becomes_an_rgb_jpeg(image: Image.Image, kind: str) -> None:
    copy = small(saved(image, kind))
    assert (copy.format, copy.mode, copy.size) == ("JPEG", "RGB", image.size)
    if "A" in image.mode:
        assert copy.getpixel((20, 20)) == (255, 255, 255), "what is transparent is paper, not black"
    if image.mode.startswith("I"):
        dark, light = copy.getpixel((5, 2)), copy.getpixel((60, 62))
        assert dark[0] < 20, "sixteen bits are not cut off at eight"  # type: ignore[index]
        assert light[0] > 235  # type: ignore[index]


def bomb() -> bytes:
    """A PNG of 30,000 × 30,000 pixels in a few kilobytes."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return len(body).to_bytes(4, "big") + name + body + zlib.crc32(name + body).to_bytes(4, "big")

    side = (30_000).to_bytes(4, "big")
    head = chunk(b"IHDR", side + side + b"\x08\x00\x00\x00\x00")
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(3_000_000))) + chunk(b"IEND", b"")


BROKEN = [
    (b"", "photo.broken", "cannot be read as a picture: it is none of JPEG, PNG, WEBP, TIFF."),
    (b"date,green\n", "photo.broken", "cannot be read as a picture: it is none of JPEG, PNG, WEBP, TIFF."),
    (b"%PDF-1.7 not a picture", "photo.broken", "cannot be read as a picture: it is none of JPEG, PNG, WEBP, TIFF."),
    (saved(drawn(400, 400), quality=95)[:2000], "photo.broken", "cannot be read as a picture: "),
    (bomb(), "photo.pixels", "has more than 80 million pixels."),
]


@pytest.mark.parametrize(("data", "code", "message"), BROKEN, ids=["empty", "text", "pdf", "cut off", "bomb"])
def test_what_is_no_picture_is_a_fault_of_its_line(
    county: Load, tmp_path: Path, data: bytes, code: str, message: str
) -> None:
    (tmp_path / "a.jpg").write_bytes(data)
    (tmp_path / "good.jpg").write_bytes(saved(drawn()))
    result = county("photos.csv", f"{HEAD}2026-09-16,ALD-1,a.jpg,,\n2026-09-16,ALD-1,good.jpg,,\n")
    ((line, column, found, severity, said),) = faults(result)
    assert (line, column, found, severity) == (2, "picture", code, "error")
    assert said.startswith(f"“a.jpg” {message}")
    assert (result.counts.loaded, result.counts.rejected) == (1, 1)


def test_half_a_picture_is_broken_also_where_pages_have_been_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Guards against the renderer, which lets half pictures through for the whole process once it is imported."""
    from PIL import ImageFile

    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    with pytest.raises(photo.Unusable):
        photo.small_copy(saved(drawn(400, 400), quality=95)[:2000])
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def faults(result: FileResult) -> list[tuple[int, str, str, str, str]]:
    return result.faults.select("line", "column", "code", "severity", "message").rows()


def test_a_picture_just_within_and_one_beyond_the_limits(workspace: Workspace, county: Load, tmp_path: Path) -> None:
    """The limits are looked at before the picture is unpacked, and the hint names the one that allows more."""
    text = f"{HEAD}2026-09-16,ALD-1,a.jpg,,\n"
    data = saved(drawn(1001, 1000))
    (tmp_path / "a.jpg").write_bytes(data)

    def loaded(limits: str) -> FileResult:
        (workspace.folder / "settings.toml").write_text(f"[limits]\n{limits}\n")
        return load_paths(open_workspace(workspace.folder), [tmp_path / "photos.csv"])[0]

    county("photos.csv", text)
    few = loaded("photo_megapixels = 1")
    assert [one[2] for one in faults(few)] == ["photo.pixels"]
    assert "raise photo_megapixels under [limits]" in few.faults["hint"][0]
    (tmp_path / "a.jpg").write_bytes(data + bytes(1_000_001 - len(data)))
    assert [one[2] for one in faults(loaded("photo_mb = 1"))] == ["photo.large"]
    (tmp_path / "a.jpg").write_bytes(data + bytes(1_000_000 - len(data)))
    assert [one[2] for one in faults(loaded("photo_mb = 1\nphoto_megapixels = 2"))] == ["load.rejects_stale"]


@pytest.mark.parametrize(("name", "code"), [
    ("none.jpg", "photo.missing"), ("photos", "photo.missing"), ("x" * 300, "photo.missing"),
    ("../outside.jpg", "photo.outside"), ("photos/../../outside.jpg", "photo.outside"),
    ("/etc/hostname", "photo.outside"),
    ("link.jpg", "photo.outside"),
])  # fmt: skip
def test_a_path_leads_to_a_picture_beside_the_file_or_nowhere(
    county: Load, tmp_path: Path, name: str, code: str
) -> None:
    """A CSV from anyone must not bring a file of the machine into a report."""
    (tmp_path / "photos").mkdir()
    outside = tmp_path.parent / "outside.jpg"
    outside.write_bytes(saved(drawn()))
    (tmp_path / "link.jpg").symlink_to(outside)
    result = county("photos.csv", f"{HEAD}2026-09-16,ALD-1,{name},,\n")
    assert [(one[0], one[2]) for one in faults(result)] == [(2, code)]


def test_a_backslash_is_a_folder_too(county: Load, tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(saved(drawn()))
    assert county("photos.csv", f"{HEAD}2026-09-16,ALD-1,photos\\a.jpg,,\n").counts.loaded == 1


def _kept(workspace: Workspace) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows("SELECT * FROM history.photo ORDER BY ALL")


def test_a_picture_that_changed_replaces_and_undo_brings_the_former_back(
    county: Load, workspace: Workspace, tmp_path: Path
) -> None:
    """The CSV is the same bytes: only the picture beside it tells."""
    text = f"{HEAD}2026-09-16,ALD-1,a.jpg,Moss,someone\n"
    (tmp_path / "a.jpg").write_bytes(saved(drawn()))
    assert county("photos.csv", text).counts.loaded == 1
    before = _kept(workspace)
    assert county("photos.csv", text).counts.unchanged == 1
    assert _kept(workspace) == before
    (tmp_path / "a.jpg").write_bytes(saved(drawn().rotate(180)))
    again = county("photos.csv", text)
    assert again.counts.superseded == 1
    assert len(_kept(workspace)) == 2
    undo(workspace, again.load_id or 0)
    assert _kept(workspace) == before


@settings(max_examples=examples(20, 60))
@given(st.data())
def test_whatever_the_bytes_a_picture_or_a_fault(data: st.DataObject) -> None:
    """A decoder may stumble over anything; a person is told which picture, never shown a traceback."""
    whole = bytearray(data.draw(st.sampled_from([saved(drawn()), saved(drawn(), "PNG"), saved(drawn(), "TIFF")])))
    for place, byte in data.draw(st.lists(st.tuples(st.integers(0, len(whole) - 1), st.integers(0, 255)), max_size=8)):
        whole[place] = byte
    cut = data.draw(st.integers(0, len(whole)))
    try:
        copy = photo.small_copy(bytes(whole[:cut] if data.draw(st.booleans()) else whole))
    except photo.Unusable as unusable:
        assert unusable.fault in {photo.PHOTO_BROKEN, photo.PHOTO_PIXELS}
    else:
        assert max(Image.open(io.BytesIO(copy), formats=("JPEG",)).size) <= photo.LONGEST_PX
