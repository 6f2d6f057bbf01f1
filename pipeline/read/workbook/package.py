"""The packed parts of a workbook, unpacked piece by piece: what a part says of its own size is not believed.

Source: PKWARE APPNOTE.TXT 6.3, 4.3.7 (local header); ECMA-376 part 2 and OASIS OpenDocument 1.3 part 2 (packages).
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable, Iterator
from functools import cached_property
from xml.parsers import expat

from pipeline.common.limits import MB, STANDARD, Deadline, Limits, TooLarge

_PIECE = 1 << 18
_LONGEST = 8_000_000
"""Bytes of one tag beyond which it is no workbook's XML."""
_ENTRY = b"PK\x01\x02"
"""What each entry of an archive's list begins with (APPNOTE.TXT, 4.3.12)."""
_LOCAL = 30
"""Bytes of a local header before the part's name."""


def too_many_bytes(size: int, limits: Limits) -> TooLarge:
    """That a workbook's file is too large."""
    return TooLarge(f"is {size:,} bytes large; {limits.workbook_mb:,} MB are the most", "workbook_mb")


class Damaged(Exception):
    """A workbook that cannot be opened; the text says why."""


class Package:
    """A workbook's file and the parts in it, by name."""

    def __init__(self, raw: bytes, limits: Limits = STANDARD) -> None:
        """Look at the list of parts; nothing is unpacked.

        Raises:
            TooLarge: the file is, or its parts say they are.
            Damaged: it is no archive, or two parts have one name.
        """
        self.limits = limits
        if len(raw) > limits.workbook_mb * MB:
            raise too_many_bytes(len(raw), limits)
        if (parts := raw.count(_ENTRY)) > limits.parts:
            raise TooLarge(f"holds {parts:,} files; {limits.parts:,} are the most", "parts")
        self._raw, self._deadline = raw, Deadline(limits)
        try:
            listed = zipfile.ZipFile(io.BytesIO(raw)).infolist()
        except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
            raise Damaged(str(error) or "it is damaged") from None
        self._parts = {part.filename: part for part in listed}
        if len({name.casefold() for name in self._parts}) < len(listed):
            raise Damaged("it holds two parts of one name")
        xml = [part.file_size for part in self._parts.values() if part.filename.casefold().endswith((".xml", ".rels"))]
        self._refuse_unpacked(sum(xml))

    def _refuse_unpacked(self, size: int) -> None:
        most = self.limits.unpacked_mb
        if size > most * MB:
            raise TooLarge(f"holds {size:,} bytes of cells and words; {most:,} MB are the most", "unpacked_mb")

    @cached_property
    def names(self) -> frozenset[str]:
        """Names of the parts."""
        return frozenset(self._parts)

    def part(self, name: str) -> str:
        """The name as the archive spells it (readers do not mind its case), "" where there is no such part."""
        wanted = name.casefold().replace("\\", "/")
        return next((one for one in self._parts if one.casefold().replace("\\", "/") == wanted), "")

    def pieces(self, name: str) -> Iterator[bytes]:
        """A part's bytes, a piece at a time.

        Raises:
            TooLarge: the part is, or reading takes too long.
            Damaged: the part cannot be unpacked, or is larger than it says.
        """
        part = self._parts[name]
        self._refuse_unpacked(part.file_size)
        start = part.header_offset
        head = self._raw[start : start + _LOCAL]
        if len(head) < _LOCAL or part.flag_bits & 1:
            raise Damaged("it is locked with a password" if part.flag_bits & 1 else "it is cut off")
        begin = start + _LOCAL + int.from_bytes(head[26:28], "little") + int.from_bytes(head[28:30], "little")
        packed = memoryview(self._raw)[begin : begin + part.compress_size]
        size = 0
        for piece in _unpacked(packed, part.compress_type):
            size += len(piece)
            self._deadline.check()
            if size > part.file_size:
                raise Damaged("a part of it is larger than it says")
            yield piece

    def parse(
        self,
        name: str,
        start: Callable[[str, dict[str, str]], None],
        end: Callable[[str], None] | None = None,
        text: Callable[[str], None] | None = None,
    ) -> None:
        """Walk through a part's XML, a piece at a time.

        Args:
            name: the part, as :meth:`part` spells it.
            start: called with name and attributes of each element that begins.
            end: called with the name of each that ends.
            text: called with the text between.

        Raises:
            TooLarge: its elements lie too deep in each other, or reading takes too long.
            Damaged: it is no XML, or such as no workbook holds: with a type of document, or without bounds.
        """
        parser = expat.ParserCreate()
        parser.buffer_text = True
        depth = given = 0

        def deeper(element: str, facts: dict[str, str]) -> None:
            nonlocal depth
            depth += 1
            if depth > self.limits.nested:
                raise TooLarge(f"has elements more than {self.limits.nested:,} deep in each other", "nested")
            start(element, facts)

        def higher(element: str) -> None:
            nonlocal depth
            depth -= 1
            if end:
                end(element)

        parser.StartElementHandler = deeper
        parser.EndElementHandler = higher
        if text:
            parser.CharacterDataHandler = text
        parser.StartDoctypeDeclHandler = _no_doctype
        try:
            for piece in self.pieces(name):
                given += len(piece)
                parser.Parse(piece, False)
                if given - parser.CurrentByteIndex > _LONGEST:
                    raise Damaged("its contents do not fit together")
            parser.Parse(b"", True)
        except expat.ExpatError:
            raise Damaged("its contents do not fit together") from None


def _no_doctype(*_: object) -> None:
    raise Damaged("its contents do not fit together")


def _unpacked(packed: memoryview, how: int) -> Iterator[bytes]:
    if how == zipfile.ZIP_STORED:
        for at in range(0, len(packed), _PIECE):
            yield bytes(packed[at : at + _PIECE])
        return
    if how != zipfile.ZIP_DEFLATED:
        raise Damaged("it is packed in a way that no spreadsheet uses")
    unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
    try:
        for at in range(0, len(packed), _PIECE):
            rest: bytes | memoryview = packed[at : at + _PIECE]
            while rest:
                yield unpacker.decompress(rest, _PIECE)
                rest = unpacker.unconsumed_tail
        yield unpacker.flush()
    except zlib.error:
        raise Damaged("a part of it cannot be unpacked") from None
