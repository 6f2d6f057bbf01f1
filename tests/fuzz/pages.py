"""What pages are made of: templates and stylesheets of a house's own, its texts and drawings; made, or refused."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from pipeline.common.own_text import MOST_TEXT
from pipeline.common.refusal import CannotDo
from pipeline.publish.drawings import refuse_drawing
from reports.page import bounds, own_text, templating
from reports.page.document import _house_sheets
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault
from reports.page.rendering import BASE, SVG, Image, complaining, drawn_whole, fetcher, fonts_of_pages
from tests.fuzz.target import Target, folder, text_of

OTHER = "the-words-of-another-file"
_SENTENCE = re.compile(r"pages/[^\n]+\.", re.DOTALL)


@cache
def _house() -> HouseStyle:
    """Pages of a house beside a file that they must not reach, and links to it."""
    pages = folder() / "pages"
    pages.mkdir()
    (pages.parent / "secret.txt").write_text(OTHER, "utf-8")
    (pages / "linked.txt").symlink_to(pages.parent / "secret.txt")
    return HouseStyle(name="Vale Grounds", templates=pages)


@cache
def _values() -> dict[str, Any]:
    """What a template of a report is given."""
    from reports.condition import render as condition
    from tests.reports import sample

    kept: dict[str, Any] = {}

    def keeping(name: str, house: HouseStyle, given: dict[str, Any]) -> str:
        kept.update(given)
        return filled(name, house, given)

    filled = templating._filled
    templating._filled = keeping
    try:
        condition.html(sample.empty(), version="1")
    finally:
        templating._filled = filled
    return kept


def template(data: bytes) -> None:
    """A page, or one sentence with the template's name; nothing of another file, nothing but in bounds."""
    house = _house()
    assert house.templates is not None
    (house.templates / "condition.html.j2").write_bytes(data)
    try:
        with bounds.bounded(1.0, 300):
            made = templating._filled("condition.html.j2", house, _values())
    except templating.TemplateFault as fault:
        assert _SENTENCE.fullmatch(str(fault)), str(fault)
        made = str(fault)
    except RenderingFault as fault:
        made = str(fault)
    except TimeoutError:
        return
    assert OTHER not in made, made[:300]
    assert "object at 0x" not in made, made[:300]


def style(data: bytes) -> None:
    """A stylesheet of the house's own lays out a page, or is complained of in sentences."""
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError

    house = _house()
    assert house.templates is not None
    (house.templates / "house.css").write_bytes(data)
    try:
        with bounds.bounded(1.5, 300), complaining() as complaints:
            sheets = _house_sheets(house)
            page = HTML(string=PAGE, base_url=BASE, url_fetcher=fetcher({}, house))
            page.render(font_config=fonts_of_pages(), stylesheets=sheets)
        assert not any(OTHER in line for line in complaints)
    except (RenderingFault, FatalURLFetchingError, TimeoutError, bounds.TooMuchMemory):
        return
    finally:
        (house.templates / "house.css").unlink()


PAGE = "<html lang=en><head><title>t</title></head><body><h1>a</h1><ol><li>b</ol><table><tr><td>c</table><p>d</body>"


def text(data: bytes) -> None:
    """A text of a house's own is HTML of text, tables and its pictures alone, or refused with its line."""
    said = text_of(data)[:MOST_TEXT]
    try:
        made = str(own_text.html_of(said, pictures={"gate.png"}))
    except own_text.OwnTextFault as fault:
        assert str(fault).startswith("line ") and fault.hint, str(fault)
        return
    names = set(re.findall(r"<(\w+)", made))
    assert names <= ALLOWED, names
    assert set(re.findall(r'src="([^"]*)"', made)) <= {"asset:own/gate.png"}, made
    bare = re.sub(r'="[^"]*"', "=", made.replace('style="text-align:', '="'))  # what stands in quotes is no attribute
    assert not re.search(r"<[^>]*\s(?:on\w+|href|style)=", bare), made
    own_text.pages_of(made)


ALLOWED = frozenset(
    {
        "h3",
        "p",
        "ul",
        "ol",
        "li",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "em",
        "strong",
        "blockquote",
        "code",
        "pre",
    }
) | {"br", "hr", "img"}


def drawing(data: bytes) -> None:
    """A drawing is refused in a sentence, or the renderer draws it."""
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError

    try:
        refuse_drawing(data, "picture x.svg")
    except CannotDo as fault:
        assert fault.message.startswith("The picture x.svg, line ") and fault.hint, fault.message
        return
    images = {"asset:own/x.svg": Image(SVG, data)}
    try:
        with bounds.bounded(1.5, 300), complaining(), drawn_whole(PLAIN) as drawings:
            drawings.update(images)
            page = HTML(string='<img src="asset:own/x.svg" alt="x" style="width:9cm">', base_url=BASE,
                        url_fetcher=fetcher(images, PLAIN))  # fmt: skip
            page.render(font_config=fonts_of_pages()).write_pdf()
    except (RenderingFault, FatalURLFetchingError, TimeoutError, bounds.TooMuchMemory):
        return


JINJA = (
    "{{ ", " }}", "{% ", " %}", "{# ", " #}", "extends ", "include ", "import ", "from ", " as m", "block ",
    "endblock", "for x in ", "endfor", "if ", "endif", "macro m(x)", "endmacro", "call m()", "endcall", "set ns.x = ",
    "set x = ", "endset", "namespace(x='')", "filter ", "endfilter", "loop", "self", "caller()", "varargs", "kwargs",
    "super()", "recursive", "report", "house", "own", "colour", "attached", "glossary", "range(99999)", "dict(a=1)",
    "cycler(1)", "joiner()", ".__class__", "['__class__']", ".__init__", ".__globals__", "._", "|attr('__class__')",
    "|map(attribute='__class__')", "|list", "|join", "|safe", "|replace('', 'xx')", "|batch(9999999999, 'x')",
    "|slice(9999999999)", "|round(9999999999, 'ceil')", "|tojson", "|xmlattr", "|urlize", "|wordwrap(1)",
    "|groupby('label')", "|sort(attribute='x')", "|format", ".format(1)", " ~ ", " + ", " * ", " ** ", " % ", " // ",
    " in ", " is ", "not ", "'../secret.txt'", "'linked.txt'", "'x'", "9999999999", "'shipped/condition.html.j2'",
    "'macros.html.j2'", "[", "]", "(", ")", ".", ",", "\\", "\n",
)  # fmt: skip
CSS = (
    "p { ", " }", "@page { ", "@import ", "@font-face { ", "@counter-style x { ", "@media print { ", "content: ",
    "counter(page)", "url(file:///etc/hostname)", "url(x.png)", "url('data:,x')", "src: local('x')", "size: ",
    "width: ", "font-size: ", "0.0001px", "1e9px", "9999999999", "columns: 999", "display: grid; ",
    "grid-template-columns: repeat(9999, 1fr); ", "display: flex; ", "float: left; ", "position: absolute; ",
    "counter-reset: a 999999999; ", "system: additive; ", "symbols: 'x'; ", "::before", "h1", "li", "td", "attr(",
    "calc(", ")", "transform: rotate(1deg); ", "linear-gradient(", "red", "break-before: page; ", "string-set: a ",
    "bookmark-level: 1; ", "leader('.')", "target-counter(", "#", "var(--x)", "--x: var(--x); ", "margin: -1e9px; ",
    "column-count: 2; ", "nth-child(2n+1)", ":has(", ":is(", ":not(", "hyphens: auto; ", "quotes: 'a' 'b'; ", "\n",
)  # fmt: skip
MARKDOWN = (
    "# ", "## ", "* ", "1. ", "> ", "| a | b |\n| --- | --- |\n| c | d |\n", "```\n", "`", "**", "_",
    "[x](javascript:alert(1))", "![x](gate.png)", "![](gate.png)", "![x](../secret.png)", "<b>", "<script>",
    "<img src=x onerror=x>", "&lt;", "&#128512;", "&#0;", "http://x.example", "<http://x.example>",
    "[x]: data:text/html,x\n", "[x]", "\\", "---\n", "\t", "\n", "\n\n", "    ", "é", "\u202e",
)  # fmt: skip
DRAWN = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">', "</svg>", "<g id='a'>", "</g>", "<use href='#a'/>",
    "<rect width='9' height='9'/>", "<path d='M0 0L9 9z'/>", "<text>x</text>", "<defs>", "</defs>",
    "<pattern id='p' width='1' height='1'>", "</pattern>", "fill='url(#p)'", "<clipPath id='c'>", "<mask id='m'>",
    "<marker id='k'>", "<linearGradient id='l' spreadMethod='repeat' x2='1e-9'>", "<stop offset='0'/>",
    "</linearGradient>", "transform='scale(1e9)'", "<style>", "</style>", "u\\72l(file:///x)",
    "<!DOCTYPE svg [<!ENTITY a 'x'>]>", "&a;", "<image href='x'/>", "<symbol id='s'>", "<tspan x='1 2 3'>", "NaN",
    "1e400", "-1", "%", "em", "<filter id='f'>", "<feOffset/>", "style='",
)  # fmt: skip

TARGETS = (
    Target("templates", "a template makes a page or is told of in a sentence, and reads nothing else", template, JINJA,
           share=3, seconds=5, most=300),
    Target("styles", "a stylesheet lays out a page or is complained of", style, CSS, share=1.5, seconds=8, most=300),
    Target("texts", "a house's own text is text, tables and its pictures, or refused", text, MARKDOWN, share=1.5,
           most=600),
    Target("drawings", "a drawing is refused or drawn", drawing, DRAWN, share=2, seconds=8, most=600),
)  # fmt: skip
