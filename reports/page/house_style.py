"""The house style a workspace may set: whose name stands on the pages, their paper, and templates of its own."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Literal

from markupsafe import Markup

from pipeline.common.places import resolved

Paper = Literal["A4", "Letter"]
Units = Literal["metric", "US"]
FOR_CLIENTS = ("condition", "summary", "handout", "survey", "comparison", "programme")
"""Documents that a club is given: at their head stands who prepared them for whom."""


_MARKS = " /.,:;_–-"
_DAY_AND_MARKS = re.compile(rf"[{_MARKS}]*{{issued}}[{_MARKS}]*")


class RenderingFault(Exception):
    """A page could not be made as it must be: a missing glyph or asset, or any complaint of the renderer."""


@dataclass(frozen=True)
class HouseStyle:
    """How a workspace's documents look beyond the shipped style; as it stands, nobody's name is on them.

    Attributes:
        name: name of who made the report, printed at the head of the first page; "" for none.
        address: one line below it.
        prepared_by: who stands as "Prepared by" on a condition report; "" for the name.
        prepared_for: whom it is for; "" leaves a line to fill in.
        prepared_for_club: the same by the code of the club, of those that have a line of their own.
        issued_on: the day it is issued, as printed; "" likewise. Nothing is taken from a clock.
        logo: bytes of a PNG, JPEG or SVG image, drawn at the head of the first page; empty for none.
        logo_type: its media type, such as "image/png".
        paper: paper size.
        units: units of display; the store and the attached data stay in SI.
        left_out: parts not printed, as the settings name them. Page one, the figures, cautions, notes on the
            records and the disclaimer always stand.
        short: the condition report on two pages instead of five.
        glossary: whether documents that explain their words end with a page of them (:mod:`reports.page.glossary`).
        every_figure: the condition report prints figures without a target too, however many.
        templates: folder whose templates stand before the shipped ones; None for none.
        number: of the report, as the settings write it: ``{file}`` and ``{issued}`` stand for the name of the PDF
            without its ending and the day of issue (ISO 8601). "" for none.
        file: name of the PDF without its ending.
        issued_iso: the day of issue, ISO 8601; "" for none.
        colours: the house's colour for each of the palette's that it replaces, both "#rrggbb".
        signatures: who signs at the end of a document, by its kind.
        texts: own texts as HTML by the names of their files (:mod:`reports.page.own_text`).
        pictures: media type and bytes of the pictures that they show, by name.
    """

    name: str = ""
    address: str = ""
    prepared_by: str = ""
    prepared_for: str = ""
    prepared_for_club: Mapping[str, str] = field(default_factory=dict)
    issued_on: str = ""
    logo: bytes = b""
    logo_type: str = ""
    paper: Paper = "A4"
    units: Units = "metric"
    left_out: tuple[str, ...] = ()
    short: bool = False
    every_figure: bool = False
    glossary: bool = False
    templates: Path | None = None
    number: str = ""
    file: str = ""
    issued_iso: str = ""
    colours: Mapping[str, str] = field(default_factory=dict)
    signatures: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    texts: Mapping[str, Markup] = field(default_factory=dict)
    pictures: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)

    @property
    def report_number(self) -> str:
        """The number of the report as printed; "" for none. A day of issue that is not given leaves no marks behind."""
        pattern = self.number if self.issued_iso else _DAY_AND_MARKS.sub(" ", self.number).strip(_MARKS)
        return pattern.replace("{file}", self.file).replace("{issued}", self.issued_iso).strip()

    @property
    def has_own_files(self) -> bool:
        """Whether anything that somebody made is drawn: a template, a stylesheet, a text's picture, a logo."""
        return self.templates is not None or bool(self.logo)

    def of(self, file: str, club: str) -> HouseStyle:
        """The style of one document: the name of its PDF without its ending, and whom a club's is for."""
        return replace(self, file=file, prepared_for=self.prepared_for_club.get(club, self.prepared_for))

    def issue(self, document: str) -> tuple[str, ...]:
        """What is printed of a document's issue where it has no lines to fill in: who, for whom, when, number."""
        for_client = document in FOR_CLIENTS
        told = (
            ("Prepared by: ", self.prepared_by if for_client else ""),
            ("For: ", self.prepared_for if for_client else ""),
            ("Issued on: ", self.issued_on),
            ("No. ", self.report_number),
        )
        return tuple(words + value for words, value in told if value)

    def recoloured(self, drawn: str) -> str:
        """A stylesheet or a drawing with the house's colours in the place of the palette's."""
        if not self.colours:
            return drawn
        return re.sub("|".join(self.colours), lambda found: self.colours[found[0].lower()], drawn, flags=re.IGNORECASE)

    @property
    def shown(self) -> dict[str, str | bool]:
        """What a template knows of it: plain values, of the logo whether there is one; it is drawn as "asset:logo"."""
        words = {
            "name": self.name,
            "address": self.address,
            "prepared_by": self.prepared_by or self.name,
            "prepared_for": self.prepared_for,
            "issued_on": self.issued_on,
            "report_number": self.report_number,
            "paper": self.paper,
            "units": self.units,
        }
        return words | {"logo": bool(self.logo), "short": self.short}

    @property
    def mark(self) -> str:
        """What of the house a document's bytes depend on, in 64 characters: settings, logo, templates of its own."""
        found = sha256(repr((self.name, self.address, self.logo_type, self.paper, self.units)).encode())
        found.update(repr((self.prepared_by, self.prepared_for, self.issued_on)).encode())
        found.update(repr((sorted(self.left_out), self.short, self.every_figure, self.glossary)).encode() + self.logo)
        found.update(repr(sorted(self.prepared_for_club.items())).encode())
        found.update(repr((self.number, sorted(self.colours.items()), sorted(self.signatures.items()))).encode())
        for name, path in own_files(self.templates) if self.templates else ():
            found.update(name.encode() + path.read_bytes())
        return found.hexdigest()


PLAIN = HouseStyle()
"""The shipped style, unbranded."""


def own_file(folder: Path, name: str) -> Path | None:
    """A file among a house's own templates; None where there is none.

    Raises:
        RenderingFault: a link leads out of the folder.
    """
    path = folder / name
    if not path.is_file():
        return None
    if not resolved(path).is_relative_to(resolved(folder)):
        raise RenderingFault(f"{folder.name}/{name} leads out of the folder {folder.name}; copy the file into it.")
    return path


def place_of(folder: Path, words: str) -> str:
    """File and line among a house's own templates that hold some words; "" where none does."""
    for name, path in own_files(folder):
        for number, line in enumerate(path.read_text("utf-8", "replace").splitlines(), start=1):
            if words in line:
                return f"{folder.name}/{name}, line {number}"
    return ""


def unused_files(folder: Path, names: Collection[str]) -> list[str]:
    """Files of a house's own that stand before none of these names and that no other file of it names.

    Hidden files are passed over: systems make them.
    """
    own = {name: path.read_bytes() for name, path in own_files(folder) if not path.name.startswith(".")}
    return [
        name
        for name in own
        if name not in names and not any(name.encode() in text for other, text in own.items() if other != name)
    ]


def own_files(folder: Path) -> Iterator[tuple[str, Path]]:
    """Every file of the folder with its name in it, in order; what a link leads out to is none."""
    root = resolved(folder)
    for path in sorted(folder.rglob("*")):
        if path.is_file() and resolved(path).is_relative_to(root):
            yield path.relative_to(folder).as_posix(), path
