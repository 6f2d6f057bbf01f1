"""What WeasyPrint leaves undone for PDF/UA-1 beside PDF/A-3, mended on its object tree before writing.

Each step names what it mends. ISO 14289-1:2014 is PDF/UA-1, ISO 32000-1:2008 is PDF 1.7,
ISO 19005-3:2012 is PDF/A-3.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

_UA_IDENTIFIER = b"""<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name><pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Indicates, which part of ISO 14289 standard is followed</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
</rdf:RDF>"""
_PIXEL = 0.75
"""PDF points in a CSS pixel (CSS Values 4, section 6.2)."""


def finish(document: Any, pdf: Any, padding: int = 0) -> None:
    """Make the PDF object tree conform to PDF/UA-1 as well as PDF/A-3a.

    Args:
        document: WeasyPrint's document, for the heights of its pages.
        pdf: pydyf's object tree, changed in place.
        padding: objects that say nothing, added so that streams written last end otherwise; see ``ambiguous``.
    """
    heights = {page.reference: box.height for page, box in zip(_pages(pdf), document.pages, strict=True)}
    linked = _linked_elements(pdf)
    _identify_as_ua(pdf)
    _scope_table_headers(pdf, linked)
    _index_ids(pdf, linked)
    _tag_contents(pdf, linked)
    _turn_figure_boxes(linked, heights)
    _artefact_margin_boxes(pdf, {element.reference for element in linked})
    _list_attachments_once(pdf)
    _pad(pdf, padding)
    _settle(pdf)


def ambiguous(written: bytes) -> bool:
    """True where the last byte of a stream is a carriage return.

    ISO 32000-1, 7.3.8.1 puts an end-of-line before "endstream"; readers that take CR LF for it count one byte
    too few and find the stream's Length wrong.
    """
    return b"\r\nendstream" in written


def _pages(pdf: Any) -> list[Any]:
    return [_at(pdf, reference) for reference in pdf.page_references]


def _at(pdf: Any, reference: bytes) -> Any:
    """The object that a reference like b"12 0 R" points to."""
    return pdf.objects[int(reference.split()[0])]


def _children(pdf: Any, element: Any) -> list[Any]:
    """Structure elements right below an element; marked-content numbers and annotations left out."""
    found = [_at(pdf, kid) for kid in element["K"] if isinstance(kid, bytes)]
    return [child for child in found if child["Type"] == "/StructElem"]


def _linked_elements(pdf: Any) -> list[Any]:
    """Structure elements that hang on the tree, in reading order."""

    def walk(element: Any) -> Iterator[Any]:
        yield element
        for child in _children(pdf, element):
            yield from walk(child)

    root = _at(pdf, pdf.catalog["StructTreeRoot"])
    return [element for top in _children(pdf, root) for element in walk(top)]


def _identify_as_ua(pdf: Any) -> None:
    """ISO 14289-1, clause 5: the part identifier in XMP, with the extension schema PDF/A asks for it."""
    metadata = _at(pdf, pdf.catalog["Metadata"])
    xml = b"".join(part if isinstance(part, bytes) else str(part).encode() for part in metadata.stream)
    assert b"</rdf:RDF>" in xml, "WeasyPrint writes its XMP another way now"
    metadata.stream = [xml.replace(b"</rdf:RDF>", _UA_IDENTIFIER)]
    metadata.compress = False


def _scope_table_headers(pdf: Any, linked: list[Any]) -> None:
    """ISO 14289-1, clause 7.5: a header cell says whether it heads a row or a column."""
    for row in (element for element in linked if element["S"] == "/TR"):
        cells = _children(pdf, row)
        heads_columns = all(cell["S"] == "/TH" for cell in cells)
        for cell in cells:
            if cell["S"] == "/TH":
                cell["A"]["Scope"] = "/Column" if heads_columns else "/Row"


def _index_ids(pdf: Any, linked: list[Any]) -> None:
    """ISO 32000-1, 14.7.2: elements with an ID are found through the IDTree of the root."""
    import pydyf

    named = {element["ID"].string: element for element in linked if "ID" in element}
    if named:
        names = pydyf.Array()
        for key in sorted(named):
            names.extend([pydyf.String(key), named[key].reference])
        tree = pydyf.Dictionary({"Names": names})
        pdf.add_object(tree)
        _at(pdf, pdf.catalog["StructTreeRoot"])["IDTree"] = tree.reference


def _tag_contents(pdf: Any, linked: list[Any]) -> None:
    """ISO 32000-1, 14.8.4.2: contents are TOC, TOCI and Reference; WeasyPrint tags the list in ``nav`` L, LI and LBody.

    They are known by their place: beside nothing but a heading, and every item of the list begins with a link.
    """
    for around in (element for element in linked if element["S"] == "/NonStruct"):
        heading, *rest = _children(pdf, around) or [None]
        if heading is None or heading["S"] != "/H2" or [one["S"] for one in rest] != ["/L"]:
            continue
        items = _children(pdf, rest[0])
        bodies = [body for item in items for body in _children(pdf, item)]
        if not bodies or any([child["S"] for child in _children(pdf, body)][:1] != ["/Link"] for body in bodies):
            continue
        rest[0]["S"] = "/TOC"
        rest[0].pop("A", None)
        for item in items:
            item["S"] = "/TOCI"
        for body in bodies:
            body["S"] = "/Reference"


def _turn_figure_boxes(linked: list[Any], heights: dict[Any, float]) -> None:
    """ISO 32000-1, 14.8.5.4.3: BBox in points from the page's lower left, not in pixels from its top."""
    import pydyf

    for figure in linked:
        if figure["S"] != "/Figure" or "A" not in figure or "BBox" not in figure["A"]:
            continue
        height = heights[figure["Pg"]]
        left, top, right, bottom = figure["A"]["BBox"]
        corners = (left, height - bottom, right, height - top)
        figure["A"]["BBox"] = pydyf.Array([round(c * _PIXEL, 3) for c in corners])


def _artefact_margin_boxes(pdf: Any, linked: set[Any]) -> None:
    """ISO 14289-1, clause 7.8: running heads and page numbers are pagination artefacts."""
    import pydyf

    numbers = _at(pdf, _at(pdf, pdf.catalog["StructTreeRoot"])["ParentTree"])["Nums"]
    parents = dict(zip(numbers[::2], numbers[1::2], strict=True))
    for page in _pages(pdf):
        slots = parents[page["StructParents"]]
        loose = {i for i, reference in enumerate(slots) if reference not in linked}
        for i in loose:
            slots[i] = "null"
        parts = _at(pdf, page["Contents"]).stream
        for at, part in enumerate(parts):
            if isinstance(part, dict) and part.get("MCID") in loose:
                parts[at - 1] = "/Artifact"
                parts[at] = pydyf.Dictionary({"Type": "/Pagination"})


def _list_attachments_once(pdf: Any) -> None:
    """ISO 19005-3, clause 6.8: each associated file once; WeasyPrint lists it twice."""
    import pydyf

    files = pdf.catalog.get("AF")
    if files:
        pdf.catalog["AF"] = pydyf.Array(dict.fromkeys(files))


def _settle(pdf: Any) -> None:
    """Every object as its bytes: a file with an identifier is otherwise made of them twice, and compressed twice.

    No stream ends with a carriage return: drawings get a line end more, binary ones are left uncompressed.
    """
    import pydyf

    class Settled(pydyf.Object):  # type: ignore[misc, unused-ignore]  # pydyf has no types
        """An object whose bytes are made."""

        data, compressible = b"", True

    pages = {page["Contents"] for page in _pages(pdf)}
    for place, item in enumerate(pdf.objects):
        if item.free == "f":
            continue
        data = item.data
        while isinstance(item, pydyf.Stream) and ambiguous(data):
            if item.reference in pages or item.extra.get("Subtype") == "/Form":
                item.stream.append(b"")
            else:
                item.compress = False
            data = item.data
        settled = Settled()
        settled.number, settled.data, settled.compressible = item.number, data, item.compressible
        pdf.objects[place] = settled


def _pad(pdf: Any, number: int) -> None:
    import pydyf

    for _ in range(number):
        pdf.add_object(pydyf.Dictionary({}))
