"""What the renderer may reach (a document's own pictures alone), and what it complains of, in a sentence."""

from __future__ import annotations

import logging
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from pipeline.common.words import listed
from reports.page import bounds, fonts, own_text
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault, place_of

BASE = "asset:"
SVG = "image/svg+xml"
NO_PART = "which is not part of the document."
MOST_WHY = 160
"""Characters that are told of what a library says."""
_AT = re.compile(r" at (\d+):\d+")
"""Line and column of a stylesheet in a complaint of the renderer."""


@dataclass(frozen=True)
class Image:
    """A picture of a page: its media type and its bytes."""

    kind: str
    content: bytes


@cache
def fonts_of_pages() -> Any:
    """The font configuration, made once for the process."""
    fonts.prepare()
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


def _asked(url: str, house: HouseStyle) -> str:
    """What is said of an address that a page asks for, with the file and line of the house's that names it."""
    place = place_of(house.templates, url.removeprefix(BASE)) if house.templates else ""
    return f"{f'{place}: ' if place else ''}the page asks for {url[:80]!r}, {NO_PART}"


def made_with(house: HouseStyle) -> str:
    """The house's own templates and stylesheets, where a complaint may be of one of them; "" for none."""
    if house.templates is None:
        return ""
    names = sorted(path.name for path in house.templates.iterdir() if path.suffix in (".j2", ".css"))
    return f" (made with {listed(names)} of the folder {house.templates.name})" if names else ""


def fetcher(images: Mapping[str, Image], house: HouseStyle) -> Any:
    """A fetcher that knows the given keys and stops the rendering at anything else."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    class OnlyOurs(URLFetcher):  # type: ignore[misc, unused-ignore]  # weasyprint has no types
        """Serves pictures of this document and nothing else."""

        def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> Any:
            """The picture behind a key."""
            if url not in images:
                said = _asked(url, house)
                logging.getLogger("weasyprint").error(said)  # inside a drawing the error itself is swallowed
                raise FatalURLFetchingError(said)
            return URLFetcherResponse(url, images[url].content, {"Content-Type": images[url].kind})

    return OnlyOurs()


class _Complaints(logging.Handler):
    """Every warning of the renderer, kept."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the message."""
        self.lines.append(record.getMessage())


@contextmanager
def complaining() -> Iterator[list[str]]:
    """A stretch of rendering, and every warning of the renderer in it."""
    handler, logger = _Complaints(), logging.getLogger("weasyprint")
    before = logger.propagate
    logger.addHandler(handler)
    logger.propagate = False
    try:
        yield handler.lines
    finally:
        logger.removeHandler(handler)
        logger.propagate = before


@contextmanager
def no_complaint(house: HouseStyle) -> Iterator[None]:
    """A stretch of rendering, in a house's style, after which any warning is a fault."""
    with complaining() as complaints, warnings.catch_warnings():
        # WeasyPrint 70 leaves the file of its colour profile for the collector to close
        warnings.simplefilter("ignore", ResourceWarning)
        yield
    if complaints:
        asked = [line for line in complaints if line.endswith(NO_PART)]
        raise RenderingFault("; ".join(dict.fromkeys(asked or complaints)) + ("" if asked else made_with(house)))


@contextmanager
def drawn_whole(house: HouseStyle) -> Iterator[dict[str, Image]]:
    """A stretch of rendering that is given the pictures it draws; what the renderer gives up on is told of.

    Raises:
        RenderingFault: a drawing, or a page with something of the house's own, cannot be drawn.
    """
    drawings: dict[str, Image] = {}
    try:
        yield drawings
    except (RenderingFault, TimeoutError, bounds.TooMuchMemory):
        raise
    except Exception as fault:
        culprit = next((key for key, one in drawings.items() if one.kind == SVG and not _can_be_drawn(one)), "")
        if culprit:
            name = unquote(culprit.removeprefix(own_text.PICTURE).removeprefix(BASE))
            raise RenderingFault(f"the drawing {name} cannot be drawn: {_why(fault)}.") from fault
        if isinstance(fault, AssertionError) or not made_with(house):
            raise  # ours, or of the content
        raise RenderingFault(f"a page cannot be drawn: {_why(fault)}{made_with(house)}.") from fault


def _can_be_drawn(image: Image) -> bool:
    """Whether the renderer draws a drawing by itself."""
    from weasyprint import HTML

    page = HTML(string='<img src="asset:x" alt="x">', base_url=BASE, url_fetcher=fetcher({"asset:x": image}, PLAIN))
    try:
        page.render(font_config=fonts_of_pages()).write_pdf()
    except (TimeoutError, bounds.TooMuchMemory):
        raise
    except Exception:  # whatever it stumbles over
        return False
    return True


def _why(fault: Exception) -> str:
    """What a library says of what it cannot read or draw, on one line."""
    return " ".join(f"{type(fault).__name__}: {fault}".split())[:MOST_WHY].rstrip(".")


def own_sheet(own: Path, house: HouseStyle) -> Any:
    """The stylesheet of a house's own, parsed.

    Raises:
        RenderingFault: it cannot be read, or something in it is complained of.
    """
    from weasyprint import CSS
    from weasyprint.urls import FatalURLFetchingError

    written = _own_style(own)
    try:
        with complaining() as complaints:
            made = CSS(string=written, base_url=BASE, font_config=fonts_of_pages(), url_fetcher=fetcher({}, house))
    except (FatalURLFetchingError, TimeoutError, bounds.TooMuchMemory):
        raise
    except Exception as fault:  # whatever the reader of stylesheets makes of any text at all
        raise RenderingFault(f"{own.parent.name}/{own.name} cannot be read: {_why(fault)}.") from fault
    if complaints and not any(line.endswith(NO_PART) for line in complaints):
        raise RenderingFault("; ".join(_placed(line, own) for line in dict.fromkeys(complaints)))
    return made


def _placed(complaint: str, own: Path) -> str:
    """A complaint of a stylesheet of the house's own, its line before it: the renderer says "at 3:5" within it."""
    place, name = _AT.search(complaint), f"{own.parent.name}/{own.name}"
    said = _AT.sub("", complaint).rstrip(".")
    return f"{name}, line {place[1]}: {said}" if place else f"{name}: {said}"


def _own_style(path: Path) -> str:
    """The stylesheet of a house's own.

    Raises:
        RenderingFault: it is not UTF-8.
    """
    try:
        return path.read_text("utf-8")
    except UnicodeDecodeError as fault:
        raise RenderingFault(f"{path.parent.name}/{path.name} is not UTF-8 (byte {fault.start})") from fault
