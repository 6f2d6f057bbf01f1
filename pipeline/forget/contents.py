"""A person's name out of the bytes of a file: a text in its encoding, or a workbook that is an archive of XML."""

from __future__ import annotations

import io
import re
import sys
import zipfile
from collections.abc import Iterable

from pipeline.forget.person import Person

ARCHIVE = b"PK"
BINARY = b"\xd0\xcf\x11\xe0"
"""First bytes of a workbook of the old format, whose texts cannot be replaced by others of another length."""
MARKUP = (".xml", ".rels", ".vml", ".txt")
_ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "cp1252", "latin-1")
_DECLARED = re.compile(rb"\s*<\?xml[^>]*encoding=[\"']([A-Za-z0-9._-]+)")
_REFERENCE = re.compile(r"&#(x[0-9a-fA-F]{1,6}|[0-9]{1,7});")
_THEN = (1980, 1, 1, 0, 0, 0)
"""Time of every part of an archive that is written anew: the same name gone makes the same bytes."""


class CannotRedact(Exception):
    """The name stands in bytes from which it cannot be taken."""


def gone_from_bytes(content: bytes, person: Person, encodings: Iterable[str] = ()) -> bytes:
    """The bytes with the token in place of the name; the very same bytes where it does not stand in them.

    Args:
        content: the bytes of a file.
        person: who is to be forgotten.
        encodings: those the text may be in, the likeliest first; the usual ones are tried after them.

    Raises:
        CannotRedact: the name stands in a workbook of the old format.
    """
    if content.startswith(ARCHIVE):
        return _archive(content, person)
    if content.startswith(BINARY):
        return _binary(content, person)
    legible = False  # in every encoding: what one reads as blanks between letters is the name in another
    for encoding in dict.fromkeys((*encodings, *_ENCODINGS)):
        try:
            text = content.decode(encoding)
            if text.encode(encoding) != content:
                continue
            legible = True
            gone = person.gone_from(text)
            if gone != text:
                content = gone.encode(encoding)
        except (UnicodeError, LookupError):
            continue
    if not legible:
        raise CannotRedact
    return content


def _archive(content: bytes, person: Person) -> bytes:
    """A workbook whose XML holds the name is packed anew; anything else in it stays as it is."""
    made, changed = io.BytesIO(), False
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
            for info in old.infolist():
                part = old.read(info)
                if info.filename.lower().endswith(MARKUP):
                    gone = _markup(part, person)
                    changed, part = changed or gone != part, gone
                fresh = zipfile.ZipInfo(info.filename, _THEN)
                fresh.compress_type = info.compress_type
                new.writestr(fresh, part)
    except (zipfile.BadZipFile, UnicodeError, LookupError, NotImplementedError, RuntimeError):
        raise CannotRedact from None
    return made.getvalue() if changed else content


def _markup(content: bytes, person: Person) -> bytes:
    """XML without the name, also where letters of it stand as their numbers (XML 1.0, section 4.1)."""
    declared = _DECLARED.match(content)
    encoding = declared[1].decode() if declared else "utf-8-sig"
    text = content.decode(encoding)
    plain = _REFERENCE.sub(_letter, text)
    gone = person.gone_from(plain)
    return content if gone == plain else gone.encode(encoding, "xmlcharrefreplace")


def _letter(found: re.Match[str]) -> str:
    """A letter that stands as its number; what is no letter stays so, for it may be part of the markup."""
    number = int(found[1][1:], 16) if found[1].startswith("x") else int(found[1])
    return chr(number) if number < sys.maxunicode and chr(number).isalpha() else found[0]


def _binary(content: bytes, person: Person) -> bytes:
    if any(person.stands_in(content.decode(encoding, "replace")) for encoding in ("latin-1", "utf-16-le")):
        raise CannotRedact
    return content
