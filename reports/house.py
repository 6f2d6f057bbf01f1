"""The house style a workspace may set: whose name stands on the pages, their paper, and templates of its own."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Literal

Paper = Literal["A4", "Letter"]
Units = Literal["metric", "US"]

SECTIONS = ("facts", "charts", "works", "due", "methods", "sources")
"""Parts of a condition report that may be left out. What matters, the figures, cautions, notes on the records and the
disclaimer always stand."""


@dataclass(frozen=True)
class House:
    """How a workspace's documents look beyond the shipped style; as it stands, nobody's name is on them.

    Attributes:
        name: name of who made the report, printed at the foot of the first page; "" for none.
        address: one line below it.
        logo: bytes of a PNG, JPEG or SVG image, drawn at the head of the first page; empty for none.
        logo_type: its media type, such as "image/png".
        paper: paper size.
        units: units of display; the store and the attached data stay in SI.
        left_out: parts not printed, of ``SECTIONS``.
        short: the condition report on two pages instead of four.
        templates: folder whose templates stand before the shipped ones; None for none.
    """

    name: str = ""
    address: str = ""
    logo: bytes = b""
    logo_type: str = ""
    paper: Paper = "A4"
    units: Units = "metric"
    left_out: tuple[str, ...] = ()
    short: bool = False
    templates: Path | None = None

    @property
    def mark(self) -> str:
        """What of the house a document's bytes depend on, in 64 characters: settings, logo, templates of its own."""
        found = sha256(repr((self.name, self.address, self.logo_type, self.paper, self.units)).encode())
        found.update(repr((sorted(self.left_out), self.short)).encode() + self.logo)
        for path in sorted(self.templates.rglob("*")) if self.templates else ():
            if path.is_file():
                found.update(path.name.encode() + path.read_bytes())
        return found.hexdigest()


PLAIN = House()
"""The shipped style, unbranded."""
