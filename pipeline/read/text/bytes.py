"""A file's bytes as text: encoding, byte-order marks, line ends.

What comes back is UTF-8 with line feed as the only line end, so that line *n* of it is line *n* of the file as a text
editor counts (LF, CRLF and bare CR each end a line; so they do inside quoted cells).
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults

BLANK = "".join(map(chr, [*range(9, 14), *range(28, 33), 0x85, 0xA0, 0x1680, *range(0x2000, 0x200C), 0x2028, 0x2029]))
BLANK += "\u202f\u205f\u3000\ufeff"
"""Characters that are nothing at either end of a cell: spaces of all widths, line ends, zero-width space."""

COUNTED_AT_ONCE = 1_000_000
"""Bytes that are compared at once."""
UNREADABLE = "\ufffd"
"""Stands in the text where a byte could not be read; the row it stands in is rejected."""

EMPTY = FaultKind(
    "bytes.empty",
    "empty file",
    "The file is empty.",
    "Export the file again; if the list really is empty, there is nothing to load.",
)
NOT_TEXT = FaultKind(
    "bytes.not_text",
    "not a table of text",
    "The file is not text: {what}.",
    "Export it as CSV, XLSX or ODS and load that.",
)
UNKNOWN_ENCODING = FaultKind(
    "bytes.unknown_encoding",
    "unknown encoding declared",
    "The profile declares the encoding {encoding}, which is not known.",
    'Write a known name, such as "utf-8", "cp1252" or "utf-16", under encoding in [reading], or leave the line out.',
)
ENCODING_TAKEN = FaultKind(
    "bytes.encoding_taken",
    "encoding taken to be cp1252",
    "The file is not UTF-8 and declares no encoding; it was read as cp1252 (Western European Windows).",
    "Look at the accented letters; if any is wrong, declare the encoding in the profile's [reading].",
    "note",
)
ENCODINGS_MIXED = FaultKind(
    "bytes.encodings_mixed",
    "two encodings in one file",
    "Line {first_utf8} is UTF-8 and line {first_other} is not: each line was read as what it is, UTF-8 or cp1252.",
    "Two exports were probably appended; look at the accented letters, or load the two files one by one.",
    "warning",
)
UNREADABLE_BYTE = FaultKind(
    "bytes.unreadable",
    "character that was lost",
    "The cell holds a character that cannot be read: {value}",
    "Write the cell anew, or declare the file's true encoding in the profile's [reading].",
)
NUL = FaultKind(
    "bytes.nul",
    "NUL byte in a cell",
    "The cell holds a NUL byte, which no table should: {value}",
    "The file was damaged on its way; export it again, or mend the cell.",
)
NUL_TAIL = FaultKind(
    "bytes.nul_tail",
    "file padded with NULs at its end",
    "From here on the file holds nothing but NUL bytes: what should stand there is lost.",
    "The program that wrote it broke off. Export the file again and load that; rows loaded now stay as they are.",
)
MARK_INSIDE = FaultKind(
    "bytes.mark_inside",
    "byte-order mark inside the file",
    "A byte-order mark stands inside the file; it was left out.",
    "Nothing to do; it shows that files were appended here, so check that no export is in twice.",
    "note",
)

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NO_TEXT_ENCODINGS = frozenset(
    {"idna", "mbcs", "oem", "punycode", "raw-unicode-escape", "undefined", "unicode-escape", "utf-7"}
)
_SIGNATURES = ((b"%PDF", "a PDF"), (b"\x89PNG", "a picture"), (b"\xff\xd8\xff", "a picture"), (b"\x1f\x8b", "packed"))
_MARK = "\ufeff".encode()
END_OF_FILE = b"\x1a"
"""Control-Z, with which old programs end a file."""


@dataclass(frozen=True)
class Text:
    """A file as UTF-8 text whose lines end in a line feed.

    Attributes:
        data: the text, UTF-8, without byte-order marks.
        encoding: what the file was read as.
        faults: errors without a line concern the whole file (data is empty then).
    """

    data: bytes
    encoding: str
    faults: pl.DataFrame


def text_of(raw: bytes, declared: str | None = None) -> Text:
    """The text of a file, whatever its bytes are.

    The order of trust: byte-order mark; NULs at every second byte (UTF-16); a declared wide encoding; valid UTF-8;
    the declared encoding; cp1252, with a note. A byte that stands for nothing becomes ``UNREADABLE``.
    """
    if not raw:
        return _refused(EMPTY.at())
    for signature, what in _SIGNATURES:
        if raw.startswith(signature):
            return _refused(NOT_TEXT.at(what=f"it looks like {what} file" if what == "packed" else f"it is {what}"))
    if declared is not None and not _is_known(declared):
        return _refused(UNKNOWN_ENCODING.at(encoding=declared))
    text = _without_padding(_decoded(raw, declared))
    if not re.search(rb"[^\s\0\x1a]", text.data):
        return replace(_refused(EMPTY.at()), encoding=text.encoding)
    if _is_binary(text.data):
        return _refused(NOT_TEXT.at(what="it holds too many control characters"))
    return _without_marks(_with_plain_line_ends(text))


def _decoded(raw: bytes, declared: str | None) -> Text:
    for mark, encoding in _MARKS:
        if raw.startswith(mark):
            return _as_utf8(raw[len(mark) :], encoding)
    wide = _wide_encoding(raw) or _wide_name(declared)
    if wide:
        return _as_utf8(raw, wide)
    if raw.isascii() or _is_utf8(raw):
        return Text(raw, "utf-8", no_faults())
    if declared is not None and codecs.lookup(declared).name != "utf-8":
        return _as_utf8(raw, declared)
    return _line_by_line(raw)


def _as_utf8(raw: bytes, encoding: str) -> Text:
    if codecs.lookup(encoding).name == "utf-8" and _is_utf8(raw):
        return Text(raw, "utf-8", no_faults())
    try:
        return Text(raw.decode(encoding).encode(), encoding, no_faults())
    except (UnicodeError, ValueError):
        return Text(raw.decode(encoding, "replace").encode("utf-8", "replace"), encoding, no_faults())


def _line_by_line(raw: bytes) -> Text:
    """Text of a file that is not UTF-8 and declares nothing: each line as UTF-8 where it is, else as cp1252."""
    lines = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    first_utf8 = first_other = 0
    for number, line in enumerate(lines, 1):
        if line.isascii():
            continue
        if _is_utf8(line):
            first_utf8 = first_utf8 or number
            continue
        first_other = first_other or number
        lines[number - 1] = line.decode("cp1252", "replace").encode()
    if first_utf8:
        note = ENCODINGS_MIXED.at(first_utf8=first_utf8, first_other=first_other)
        return Text(b"\n".join(lines), "utf-8 and cp1252", note)
    return Text(b"\n".join(lines), "cp1252", ENCODING_TAKEN.at())


def _wide_encoding(raw: bytes) -> str | None:
    """UTF-16 told by its NULs: ordinary text has one in nearly every second byte."""
    sample = raw[:4096]
    half = len(sample) // 2
    if half < 2 or len(raw) % 2:
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.6 * half and even < 0.05 * half:
        return "utf-16-le"
    if even > 0.6 * half and odd < 0.05 * half:
        return "utf-16-be"
    return None


def _wide_name(declared: str | None) -> str | None:
    if declared is None:
        return None
    name = codecs.lookup(declared).name
    wide = name.startswith(("utf-16", "utf-32"))
    return f"{name}-le" if wide and name.count("-") == 1 else name if wide else None


def _with_plain_line_ends(text: Text) -> Text:
    if b"\r" not in text.data:
        return text
    data = text.data.replace(b"\r\n", b"\n")
    return replace(text, data=data.replace(b"\r", b"\n") if b"\r" in data else data)


def _without_padding(text: Text) -> Text:
    """The text with one NUL at its end instead of many: it stands for what was lost."""
    bare = text.data.rstrip(b"\0")
    return replace(text, data=bare + b"\0") if len(text.data) - len(bare) > 1 else text


def _without_marks(text: Text) -> Text:
    data = text.data.removeprefix(_MARK).removesuffix(END_OF_FILE)
    if data.isascii() or _MARK not in data:
        return replace(text, data=data)
    lines = pl.Series([data.count(b"\n", 0, at) + 1 for at in _places(data, _MARK)], dtype=pl.Int64).unique().sort()
    notes = MARK_INSIDE.frame(lines, pl.Series([None] * len(lines), dtype=pl.String))
    return replace(text, data=data.replace(_MARK, b""), faults=concat([text.faults, notes]))


def _places(data: bytes, what: bytes) -> Iterator[int]:
    """Where it stands, the first hundred times: a file full of them gets no longer list."""
    at = data.find(what)
    for _ in range(100):
        if at < 0:
            return
        yield at
        at = data.find(what, at + len(what))


def _is_binary(data: bytes) -> bool:
    sample = data[:65536]
    controls = sum(sample.count(bytes([code])) for code in range(32) if code not in b"\t\n\r\x0b\x0c\x1a")
    return controls > 0.05 * len(sample) and controls > 2


def _is_utf8(raw: bytes) -> bool:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _is_known(encoding: str) -> bool:
    try:
        codec = codecs.lookup(encoding)
    except (LookupError, ValueError):
        return False
    return bool(codec._is_text_encoding) and codec.name not in _NO_TEXT_ENCODINGS


def _refused(faults: pl.DataFrame) -> Text:
    return Text(b"", "", faults)


def has_long_line(data: bytes, longest: int) -> bool:
    """Whether a line has more bytes than that."""
    start = 0
    while len(data) - start > longest:
        end = data.rfind(b"\n", start, start + longest + 1)
        if end < 0:
            return True
        start = end + 1
    return False


def count_of(data: bytes, mark: bytes) -> int:
    """How often a byte stands in a text: ``bytes.count`` takes ten times as long over one that stands often."""
    if len(data) < COUNTED_AT_ONCE or len(mark) != 1:
        return data.count(mark)
    import numpy as np

    numbers = np.frombuffer(data, np.uint8)
    parts = range(0, len(data), COUNTED_AT_ONCE)
    return sum(int(np.count_nonzero(numbers[at : at + COUNTED_AT_ONCE] == mark[0])) for at in parts)
