"""Text as a terminal may get it: what it would obey is written out, and so are remarks of the libraries.

Names of files and cells come from anybody: an escape sequence in one of them could clear a screen, hide a line or turn
round what stands beside it.
"""

from __future__ import annotations

import re
import sys
import warnings
from contextlib import suppress
from typing import TextIO

_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters but tab and line feed, marks that turn the direction of writing, and halves of characters.

Source: Unicode Standard Annex 9, table 4 (directional formatting characters); C0 and C1 controls of ISO/IEC 6429.
"""


def shown(text: str) -> str:
    r"""The text with every character that a terminal would obey as \u and its number; lines and tabs stay."""
    return _OBEYED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def one_line(text: str) -> str:
    """The same, on one line: a name with a line feed in it may not look like two lines of ours."""
    return shown(text).replace("\n", "\\u000a").replace("\t", "\\u0009")


def take_warnings() -> None:
    """Have what Python and the libraries warn of printed as one line of this form, in this process."""
    warnings.showwarning = _warned


def _warned(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: TextIO | None = None,
    line: str | None = None,
) -> None:
    with suppress(OSError, ValueError, AttributeError):  # nowhere to say it
        sys.stderr.write(f"{category.__name__}: {one_line(str(message))} ({one_line(filename)}, line {lineno})\n")
