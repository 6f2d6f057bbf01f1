"""From HTML and its images to the bytes of a PDF (PDF/A-3a and PDF/UA-1), the same for every document.

Same content, same version, same bytes: dates come from the data, fonts from the package, nothing from the clock,
the network or a file outside the templates.
"""

from __future__ import annotations

import gc
import re
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import cache, partial
from pathlib import Path
from typing import Any, Generic, TypeVar

from reports.page import attachments, finish, glossary, links, own_text
from reports.page.attachments import CsvFile
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault, own_file
from reports.page.rendering import BASE, SVG, Image, drawn_whole, fetcher, fonts_of_pages, no_complaint, own_sheet

Content = TypeVar("Content")
TEMPLATES = Path(__file__).parents[1] / "templates"
BORNE = "hash of records"
"""What stands before the hash of its records among a document's keywords (XMP, ISO 16684-1)."""
SHORT_END = 0.15
"""Share of a page: a last page that is filled less holds a few lines alone, some ten of a list."""
OWN_STYLE = "house.css"
"""A stylesheet of this name among a house's own templates is laid over the shipped ones."""
_OBJECT_STREAM = re.compile(rb"/Type /ObjStm[^>]*>>\s*stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
_PAGE_TREE = re.compile(rb"<<[^<>]*/Type /Pages[^<>]*/Count (\d+)")


@dataclass(frozen=True)
class Pages:
    """A document ready to be laid out.

    Attributes:
        html: its HTML.
        images: what draws each picture by the key the HTML asks for.
        page_two: name of the place in it that has to stand on the second page; "" for none.
        first: how closely its first page is set: one that was too full is not tried with the same again.
    """

    html: str
    images: Callable[[], Mapping[str, Image]] = dict
    page_two: str = ""
    first: int = 0


@dataclass(frozen=True)
class Document(Generic[Content]):
    """A kind of document.

    Attributes:
        drafts: from content, names of the attached data, version and house style: the document, each time set more
            closely, the first for whoever has room; a draft is not made before it is needed.
        attached: its data.
        day: the day its records reach.
        most_pages: pages it may have in a house style, one with the words it uses left out.
        styles: stylesheets of the templates folder laid over style.css.
        endings: stylesheets to be tried in turn where a document's last page holds next to nothing: set closer it goes
            without that page, set wider it has more on it.
    """

    drafts: Callable[[Content, Sequence[str], str, HouseStyle], Iterator[Pages]]
    attached: Callable[[Content], Sequence[CsvFile]]
    day: Callable[[Content], date]
    most_pages: Callable[[Content, HouseStyle], int]
    styles: tuple[str, ...] = ()
    endings: tuple[str, ...] = ()

    def html(self, content: Content, *, version: str, house: HouseStyle = PLAIN) -> str:
        """The first draft as HTML without style."""
        names = [file.name for file in self.attached(content)]
        return next(self.drafts(content, names, version, house)).html

    def render(self, content: Content, *, version: str, house: HouseStyle = PLAIN, head: str = "") -> bytes:
        """The document as a PDF (PDF/A-3a and PDF/UA-1), its data attached as CSV.

        It is the first draft that is short enough, or else the last. What it takes to make it again is attached too.

        Args:
            content: everything the document says.
            version: version of the calculation, attached.
            house: the workspace's own style.
            head: hash of the records behind it, by which it can be found in their store's chain; "" for none.

        Raises:
            RenderingFault: the renderer complained, or something outside the document was asked for.
        """
        attached = self.attached(content)
        drafts = self.drafts(content, [file.name for file in attached], version, house)
        moment = moment_of(self.day(content))
        renderer = fonts_of_pages()
        from weasyprint.urls import FatalURLFetchingError

        gc.disable()
        try:
            with no_complaint(house), drawn_whole(house) as drawn:
                sheets = [*(_sheet_of(name, house) for name in ("style.css", *self.styles)), *_house_sheets(house)]
                endings = [_sheet_of(name, house) for name in self.endings]
                document = _laid_out(renderer, drafts, (sheets, endings), self.most_pages(content, house), house, drawn)
                files = attachments.in_order((attachments.about(version, moment), *attached))
                if head:
                    document.metadata.keywords = [f"{BORNE} {head}"]
                made = _written(document, files, moment)
                del document
        except FatalURLFetchingError as fault:
            raise RenderingFault(str(fault)) from fault
        finally:
            gc.enable()
            gc.collect()
            _spare_the_collector()
        return made


def moment_of(day: date) -> datetime:
    """The time written into a document: the start of the day its records reach, in UTC."""
    return datetime.combine(day, time(), UTC)


@cache
def _spare_the_collector() -> None:
    """Spare the collector what stands after the first document (libraries, fonts, stylesheets).

    Measured: it halves the time of collecting after a document, which is a tenth of the document's.
    """
    gc.freeze()


def page_count(made: bytes) -> int:
    """Pages of a PDF that ``render`` made: the Count of its page tree, which stands in an object stream."""
    for found in _OBJECT_STREAM.finditer(made):
        objects = zlib.decompress(found[1])
        if counted := _PAGE_TREE.search(objects):
            return int(counted[1])
    raise AssertionError("WeasyPrint writes its page tree another way now")


@cache
def _sheet(name: str) -> Any:
    """A shipped stylesheet, parsed once for the process."""
    from weasyprint import CSS

    return CSS(TEMPLATES / name, font_config=fonts_of_pages())


def _sheet_of(name: str, house: HouseStyle) -> Any:
    """A shipped stylesheet in the colours of the house."""
    from weasyprint import CSS

    if not house.colours:
        return _sheet(name)
    return CSS(string=house.recoloured((TEMPLATES / name).read_text("utf-8")), base_url=str(TEMPLATES / name),
               font_config=fonts_of_pages())  # fmt: skip


def _house_sheets(house: HouseStyle) -> list[Any]:
    """Paper size, and the stylesheet of the house's own."""
    from weasyprint import CSS

    found = []
    if house.paper != "A4":
        size = house.paper.lower()
        sizes = f"@page {{ size: {size}; }} @page across {{ size: {size} landscape; }}"
        found.append(CSS(string=sizes, font_config=fonts_of_pages()))
    own = own_file(house.templates, OWN_STYLE) if house.templates else None
    if own:
        found.append(own_sheet(own, house))
    return found


@dataclass(frozen=True)
class _LaidOut:
    """A draft as it was laid out: WeasyPrint's page and pages, and whether its contents are shown."""

    page: Any
    html: str
    document: Any
    shown: bool


def _laid_out(
    renderer: Any,
    drafts: Iterable[Pages],
    styles: tuple[list[Any], list[Any]],
    most_pages: int,
    house: HouseStyle,
    drawings: dict[str, Image] | None = None,
) -> Any:
    """The pages, set as openly as their number allows, and so that the last is worth its paper where that can be.

    Where none is short enough, as with a long text of the house's own, the most open one of the fewest pages is taken:
    set more closely it would say less on as many.

    Args:
        renderer: the font configuration.
        drafts: the document, each time set more closely.
        styles: its stylesheets, and those to be tried in turn where the last page holds next to nothing.
        most_pages: pages it may have.
        house: the workspace's own style.
        drawings: takes the pictures of the draft that is laid out.
    """
    from weasyprint import HTML

    of_house = _of_house(house)
    sheets, endings = styles
    long = [*sheets, _sheet_of("contents.css", house)]
    kept: _LaidOut | None = None
    document: Any = None
    too_full: set[int] = set()
    fits: int | None = None
    said: tuple[str, Mapping[str, Image]] | None = None
    for draft in drafts:
        if draft.first in too_full:
            continue
        if fits not in (None, draft.first):
            break  # its first page is one page, and a closer one would make the others no fewer
        drawn = {key: _recoloured(image, house) for key, image in draft.images().items()}
        if said == (draft.html, drawn):
            continue  # set more closely it is the same, as where a longer list would have been cut
        said = draft.html, drawn
        if drawings is not None:
            drawings.clear()
            drawings.update({**drawn, **of_house})
        page = HTML(string=draft.html, base_url=BASE, url_fetcher=fetcher({**drawn, **of_house}, house))
        lay = partial(_pages, page, renderer, (sheets, long))
        most = most_pages + own_text.pages_of(draft.html) + (glossary.SECTION in draft.html)
        document, shown = links.laid_out(lay, draft.html, document, most)
        one_page = _first_is_one(document, draft.page_two)
        if kept is None or fits is None or (one_page and len(document.pages) < len(kept.document.pages)):
            kept = _LaidOut(page, draft.html, document, shown)
        if not one_page:
            too_full.add(draft.first)
            continue
        fits = draft.first
        if len(document.pages) <= most:
            break
    assert kept, "a document has a draft at least"
    return _ended(kept, renderer, (sheets, long), endings, most_pages)


def _ended(
    kept: _LaidOut, renderer: Any, styles: tuple[list[Any], list[Any]], endings: list[Any], most_pages: int
) -> Any:
    """The pages of the draft that is kept, with its contents where it wants them, and a last page worth its paper."""
    document, shown = kept.document, kept.shown
    if not shown and links.wanted(kept.html, document):
        document, shown = _pages(kept.page, renderer, styles, True), True
    for ending in endings if _ends_short(document) else ():
        closer = [*styles[0], ending], [*styles[1], ending]
        other = _pages(kept.page, renderer, closer, shown)
        if len(other.pages) <= max(len(document.pages), most_pages) and not _ends_short(other):
            return other
    return document


def _pages(page: Any, renderer: Any, styles: tuple[list[Any], list[Any]], long: bool) -> Any:
    """A document laid out, by the first of two lists of stylesheets, or the second where it is long."""
    return page.render(font_config=renderer, stylesheets=styles[long], pdf_variant="pdf/a-3a")


def _of_house(house: HouseStyle) -> dict[str, Image]:
    """The pictures of the house: its logo, and those that its texts show."""
    found = {own_text.address(name): Image(kind, content) for name, (kind, content) in house.pictures.items()}
    if house.logo:
        found["asset:logo"] = Image(house.logo_type, house.logo)
    return found


def _recoloured(image: Image, house: HouseStyle) -> Image:
    """A drawing in the colours of the house; a photo as it is."""
    if image.kind != SVG or not house.colours:
        return image
    return Image(image.kind, house.recoloured(image.content.decode()).encode())


def _first_is_one(document: Any, page_two: str) -> bool:
    """Whether what has to stand on the second page does: the first page is one page then."""
    return not page_two or (len(document.pages) > 1 and page_two in document.pages[1].anchors)


def _ends_short(document: Any) -> bool:
    """Whether a document of several pages ends with a page that holds next to nothing."""
    return len(document.pages) > 1 and _filled(document.pages[-1]) < SHORT_END


def _filled(page: Any) -> float:
    """The share of a page's height between its margins, down to the last line of text."""
    from weasyprint.formatting_structure.boxes import LineBox

    sheet = page._page_box  # WeasyPrint tells the place of nothing but links another way
    root = sheet.children[0]
    foot = max((box.position_y + box.height for box in root.descendants() if isinstance(box, LineBox)), default=0.0)
    return float((foot - sheet.margin_top) / sheet.height)


def _written(document: Any, attached: Sequence[CsvFile], moment: datetime) -> bytes:
    """The PDF's bytes; written again, a little longer, in the rare case that a stream's end is ambiguous."""
    made = b""
    for padding in range(4):
        made = document.write_pdf(
            pdf_variant="pdf/a-3a",
            attachments=[_attachment(file, moment) for file in attached],  # one is spent when it is written
            finisher=partial(finish.finish, padding=padding),
        )
        if not finish.ambiguous(made):
            break
    return made


def _attachment(file: CsvFile, moment: datetime) -> Any:
    """A file of data; its dates are given, or they would be the clock's."""
    from weasyprint import Attachment

    return Attachment(
        string=file.content,
        name=file.name,
        description=file.description,
        relationship="Data",
        created=moment,
        modified=moment,
    )
