"""Pictures of a workspace: one that a page would show otherwise than it is meant is refused, and it is said why."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import pytest
from PIL import Image, ImageFile

from pipeline.common.refusal import CannotDo
from pipeline.publish.pictures import picture, texts_of

SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 9 9">{}</svg>'
BOMB = '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>' + SVG.format("<text>&b;</text>")


LAUGHS = "<g id='a0'><rect/></g>" + "".join(
    f"<g id='a{i + 1}'>" + f"<use href='#a{i}'/>" * 10 + "</g>" for i in range(7)
)
LAUGHS += "<use href='#a7'/>"
"""Ten million rectangles in two kilobytes."""


def drawn(mode: str = "RGB", kind: str = "PNG", size: tuple[int, int] = (40, 20)) -> bytes:
    made = io.BytesIO()
    Image.new(mode, size).save(made, kind)
    return made.getvalue()


def of_size(wide: int, high: int) -> bytes:
    """A PNG that says it has so many pixels and holds none (PNG specification, third edition, 11.2.1)."""
    head = struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*one) for one in ((b"IHDR", head), (b"IDAT", b""), (b"IEND", b"")))


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


@pytest.mark.parametrize(
    ("name", "content", "kind"),
    [
        *((f"{mode}.png", drawn(mode), "image/png") for mode in ("1", "L", "LA", "P", "RGB", "RGBA")),
        ("grey.jpg", drawn("L", "JPEG"), "image/jpeg"),
        ("plain.svg", SVG.format('<rect width="9" height="9" fill="url(#a)"/>').encode(), "image/svg+xml"),
        (
            "again.svg",
            SVG.format("<g id='a'><a href='#a'><rect/></a></g>" + "<use href='#a'/>" * 900).encode(),
            "image/svg+xml",
        ),
        ("inner.svg", SVG.format('<use xlink:href="#a"/><text>Gate</text>').encode(), "image/svg+xml"),
    ],
)
def test_what_can_be_drawn_is_taken_as_it_is(tmp_path: Path, name: str, content: bytes, kind: str) -> None:
    (tmp_path / name).write_bytes(content)
    assert picture(tmp_path, name, f"picture {name}", "the folder") == (kind, content)


@pytest.mark.parametrize(
    ("name", "content", "reason"),
    [
        ("half.png", drawn(size=(300, 300))[:90], "is damaged or cut off"),
        ("half.jpg", drawn("RGB", "JPEG", (300, 300))[:400], "is damaged or cut off"),
        ("large.png", of_size(12_000, 12_000), "has 12,000 × 12,000 pixels; 25 million are the most"),
        ("huge.png", of_size(60_000, 60_000), "too many pixels"),
        ("deep.png", drawn("I;16"), "colours of another kind than screens have (I;16)"),
        ("press.jpg", drawn("CMYK", "JPEG"), "colours of another kind than screens have (CMYK)"),
        ("words.svg", b"words", "line 1: it is no drawing that can be read"),
        ("page.svg", b"<html><svg></svg></html>", "it begins with <html>"),
        ("open.svg", SVG.format("<g>").encode(), "it is no drawing that can be read"),
        ("bomb.svg", BOMB.encode(), "line 1: it declares entities"),
        ("run.svg", SVG.format("\n<script>x()</script>").encode(), "line 2: <script>: it runs a script"),
        ("click.svg", SVG.format('<rect onclick="x()"/>').encode(), "onclick: it runs a script"),
        ("away.svg", SVG.format('<use href="file:///x#a"/>').encode(), "asks for 'file:///x#a', which is not part"),
        ("link.svg", SVG.format('<a xlink:href="//x.example"/>').encode(), "asks for '//x.example'"),
        ("fill.svg", SVG.format('<rect style="fill:url( http://x.example/#g )"/>').encode(), "'http://x.example/#g'"),
        ("style.svg", SVG.format("<style>@import 'a.css';</style>").encode(), "asks for \"'a.css'\""),
        ("photo.svg", SVG.format('<image href="data:image/png;base64,AA"/>').encode(), "shows a picture of its own"),
        ("nested.svg", SVG.format("<g>" * 101 + "</g>" * 101).encode(), "more than 100 deep"),
        ("itself.svg", SVG.format("\n<g id='a'><use href='#a'/></g>").encode(), "line 2: it is drawn within itself"),
        (
            "round.svg",
            SVG.format("<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>").encode(),
            "within itself",
        ),
        ("mask.svg", SVG.format("<mask id='m'><rect mask='url(#m)'/></mask>").encode(), "is drawn within itself"),
        ("laughs.svg", SVG.format(LAUGHS).encode(), "it comes to more than 50,000 elements"),
        (
            "room.svg",
            b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9"/>',
            "line 1: viewBox is '0 0 9', and no four",
        ),
        ("letter.svg", b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9s9 9"/>', "viewBox is '0 0 9s9 9'"),
        ("flat.svg", b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 0"/>', "no four numbers"),
        ("empty.svg", SVG.format("<rect mask='url()m)'/>").encode(), "asks for ''"),
        (
            "letters.svg",
            SVG.format("<text>a 😀</text>").encode(),
            "typeface of the documents has no “😀” (U+1F600)",
        ),
        ("sheet.svg", ('<?xml-stylesheet href="a.css"?>' + SVG.format("")).encode(), "asks for a stylesheet"),
    ],
)
def test_what_a_page_would_show_otherwise_is_refused(tmp_path: Path, name: str, content: bytes, reason: str) -> None:
    """A cut picture came out blank, what an SVG fetches was left out, and colours of a press broke PDF/A-3a."""
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CannotDo) as told:
        picture(tmp_path, name, f"picture {name}", "the folder")
    assert f"picture {name}" in told.value.message and reason in told.value.message
    assert told.value.hint


def test_a_cut_picture_is_refused_after_the_renderer_was_imported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """WeasyPrint has Pillow fill up what is cut off, for the whole process."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    (tmp_path / "half.png").write_bytes(drawn(size=(300, 300))[:90])
    with pytest.raises(CannotDo, match="is damaged or cut off"):
        picture(tmp_path, "half.png", "logo half.png", "the workspace")
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def test_a_name_with_a_space_or_an_accent_is_found(tmp_path: Path) -> None:
    """The parser writes such letters as escapes, and the picture was said not to be there."""
    (tmp_path / "the gâte.png").write_bytes(drawn())
    made, found = texts_of(tmp_path, {"due-closing.md": "![The gate](<the gâte.png>)"}, "h2")
    assert list(found) == ["the gâte.png"]
    assert 'src="asset:own/the%20g%C3%A2te.png"' in made["due-closing.md"]


def test_a_picture_whose_name_no_file_can_have_is_not_there(tmp_path: Path) -> None:
    """A name of 300 letters is longer than names of files are, and ended in a traceback."""
    with pytest.raises(CannotDo, match="line 1: there is no picture"):
        texts_of(tmp_path, {"due-closing.md": f"![The gate]({'a' * 300}.png)"}, "h2")
