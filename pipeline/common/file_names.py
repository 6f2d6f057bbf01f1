"""Names of files: the one rule for those that stand for a code of a club, a green or a region, and for patterns."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from hashlib import sha256

MOST_PLAIN, MOST_READABLE = 80, 40
"""Characters of a code that is a name as it stands, and those left to read of one that is not: a file system takes 255
bytes, a name may hold two of them, and the kind of document, its day and a temporary ending come on top."""
_PLAIN = re.compile(r"[A-Z0-9]+(?:-[A-Z0-9]+)*")
_DEVICE = r"CON|PRN|AUX|NUL|COM[0-9¹²³]|LPT[0-9¹²³]|CONIN\$|CONOUT\$"
"""Names of devices to Windows, whatever ending follows (Microsoft's documentation "Naming Files, Paths, and
Namespaces")."""
_TAKEN = re.compile(rf"{_DEVICE}|ALL|COMPARISON-.*")
"""The same, and words that names of comparisons begin with or hold."""
_UNSAFE = re.compile(r"""[<>:"/\\|?*\x00-\x1f\x7f-\x9f\ud800-\udfff]|^[-.~ ]""")
"""What some file system, or a shell, takes for something else than a letter of a name."""
LONGEST_STEM = 200
"""Bytes of a name that are kept: file systems allow 255 in all, and endings come on top."""


def fits_any(name: str, patterns: Iterable[str]) -> bool:
    """Whether a name of a file or sheet fits one of these patterns (``*``, ``?``), without regard to capitals."""
    return any(fnmatchcase(name.casefold(), pattern.casefold()) for pattern in patterns)


def safe_stem(name: str) -> str:
    """The start of a file's name that every file system takes, as near to a name that a person gave as can be.

    Two names may come to one: whoever writes the file looks whether it is another's.
    """
    stem = _UNSAFE.sub("_", unicodedata.normalize("NFC", name))
    stem = f"_{stem}" if re.fullmatch(_DEVICE, stem.partition(".")[0].strip(), re.IGNORECASE) else stem
    return stem.encode("utf-8", "replace")[-LONGEST_STEM:].decode(errors="ignore") or "_"


def same_file(name: str) -> str:
    """What two names have in common that some file system takes for one: capitals and composed letters do not count."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def last_part(file: str) -> str:
    """A file's name without its folders, whichever way these are parted."""
    return file.replace("\\", "/").rsplit("/", 1)[-1]


def without_ending(file: str) -> str:
    """A file's name without its folders, its ending and its capitals: one file saved as a sheet of another sort."""
    name = last_part(file).casefold()
    return name.rpartition(".")[0] or name


def whose_of(name: str, held: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """The files whose rejected rows a file holds, and, where one of these held such rows itself, whose those were.

    ``held`` says of files of rejected rows, by their name without ending, whose rows each took.
    """
    found: dict[str, None] = {}
    names = [name]
    while names:
        fresh = [file for file in held.get(without_ending(names.pop()), ()) if file not in found]
        found |= dict.fromkeys(fresh)
        names += fresh
    return tuple(found)


def file_stem(code: str) -> str:
    """The start of a file's name that no other code has, whatever the file system makes of capitals or accents.

    Capital letters, digits and single hyphens between them stand as they are: "ALD-1". Of any other code letters and
    digits are kept to be read, and a mark of the whole follows: "Z 1" and "Z-1" are two greens, and so are "ald-1" and
    "ALD-1", which Windows would take for one file.
    """
    if len(code) <= MOST_PLAIN and _PLAIN.fullmatch(code) and not _TAKEN.fullmatch(code):
        return code
    readable = re.sub(r"[^A-Za-z0-9]+", "-", code)[:MOST_READABLE].strip("-") or "code"
    return f"{readable}_{sha256(code.encode('utf-8', 'surrogatepass')).hexdigest()[:16]}"


def former_stem(code: str) -> str:
    """What ``file_stem`` gave before capitals counted; texts that a person laid beside such a name are looked for."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", code).strip("-") or "green"
    return plain if plain == code else f"{plain}-{sha256(code.encode('utf-8', 'surrogatepass')).hexdigest()[:6]}"
