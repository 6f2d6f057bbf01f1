"""Everything that a file says, wherever in it: what is printed, attached, noted about it, or packed away."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator

import pikepdf
import pypdfium2

_BETWEEN = re.compile(r"[\s\x00\x02\u00ad\ufffe-]+")
"""What may stand within a word on a page or in a text of two bytes a letter: breaks, hyphens, zero bytes."""


def even(text: str) -> str:
    """A text in which a word is found wherever a line was broken in it."""
    return _BETWEEN.sub("", text).lower()


def everything(content: bytes) -> str:
    """All texts of a file, evened: of a PDF each page, object and stream unpacked; of a workbook each part."""
    return even("\n".join(_texts(content)))


def _texts(content: bytes) -> Iterator[str]:
    if content.startswith(b"%PDF"):
        yield from _of_pdf(content)
    elif content.startswith(b"PK\x03\x04"):
        with zipfile.ZipFile(io.BytesIO(content)) as held:
            for one in held.infolist():
                yield f"{one.filename} {one.comment.decode('latin-1')}"
                yield from _texts(held.read(one))
    else:
        yield content.decode("latin-1")
        yield content.decode("utf-8", "replace")


def _of_pdf(content: bytes) -> Iterator[str]:
    yield content.decode("latin-1")
    with pypdfium2.PdfDocument(content) as document:
        for i in range(len(document)):
            yield document[i].get_textpage().get_text_bounded()
    with pikepdf.open(io.BytesIO(content)) as document:
        for one in document.objects:
            yield from _of_object(one, 0)


def _of_object(one: object, deep: int) -> Iterator[str]:
    """Names, strings and streams of an object; what it refers to is an object of its own in the file's list."""
    if isinstance(one, pikepdf.Stream):
        yield from _of_stream(one)
        one = one.stream_dict if hasattr(one, "stream_dict") else one
    if isinstance(one, pikepdf.String):
        yield str(one)
        yield bytes(one).decode("latin-1")
    elif isinstance(one, pikepdf.Name):
        yield str(one)
    elif isinstance(one, pikepdf.Array) and deep < 40:
        for inner in one:
            if not getattr(inner, "is_indirect", False):
                yield from _of_object(inner, deep + 1)
    elif isinstance(one, pikepdf.Dictionary) and deep < 40:
        for name, inner in one.items():
            yield name
            if not getattr(inner, "is_indirect", False):
                yield from _of_object(inner, deep + 1)


def _of_stream(one: pikepdf.Stream) -> Iterator[str]:
    yield one.read_raw_bytes().decode("latin-1")
    try:
        content = one.read_bytes()
    except pikepdf.PdfError:  # a picture, whose own bytes were read above
        return
    yield from _texts(content)
