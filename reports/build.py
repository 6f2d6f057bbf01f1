"""From a frozen season of a green to the bytes of its condition report.

Same season, same version, same bytes: dates come from the data, fonts from the package, nothing from the clock,
the network or a file outside the templates.
"""

from __future__ import annotations

import gc
import logging
import re
import warnings
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime, time
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from pipeline.indicators.record import GreenSeason
from reports import attachments, charts, finish, fonts, palette, vega, viewmodel
from reports.density import MOST_PAGES, steps_for

TEMPLATES = Path(__file__).parent / "templates"


class RenderingFault(Exception):
    """A page could not be made as it must be: a missing glyph or asset, or any complaint of the renderer."""


_OBJECT_STREAM = re.compile(rb"/Type /ObjStm[^>]*>>\s*stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
_PAGE_TREE = re.compile(rb"<<[^<>]*/Type /Pages[^<>]*/Count (\d+)")
_RANGE = re.compile(r"[\d.,]+–[\d.,]+(?:\u202f[^\s;,<&)]+)?")


def keep_ranges(text: str) -> Markup:
    """The text, escaped, with its ranges of numbers kept on one line: an en dash invites a break."""
    return Markup(_RANGE.sub(r'<span class="nb">\g<0></span>', str(escape(text))))  # noqa: S704 - escaped here


@cache
def _environment() -> Environment:
    """The templates; every value is escaped, an unknown name is an error."""
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["keep"] = keep_ranges
    return environment


@cache
def _renderer() -> tuple[Any, Any]:
    """The font configuration and the parsed stylesheet, made once for the process."""
    fonts.prepare()
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

    configuration = FontConfiguration()
    return configuration, CSS(TEMPLATES / "style.css", font_config=configuration)


def _fetcher(assets: Mapping[str, bytes]) -> Any:
    """A fetcher that knows the given keys and stops the rendering at anything else."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    class OnlyOurs(URLFetcher):  # type: ignore[misc, unused-ignore]  # weasyprint has no types
        """Serves charts of this report and nothing else."""

        def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> Any:
            """The asset behind a "chart:" or "asset:" key."""
            if url not in assets:
                raise FatalURLFetchingError(f"the page asks for {url[:80]!r}, which is not part of the report")
            return URLFetcherResponse(url, assets[url], {"Content-Type": "image/svg+xml"})

    return OnlyOurs()


class _Complaints(logging.Handler):
    """Every warning of the renderer, kept."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Nothing; the message is kept."""
        self.lines.append(record.getMessage())


@contextmanager
def _no_complaint() -> Iterator[None]:
    """A stretch of rendering after which any warning is a fault."""
    handler, logger = _Complaints(), logging.getLogger("weasyprint")
    before = logger.propagate
    logger.addHandler(handler)
    logger.propagate = False
    try:
        with warnings.catch_warnings():
            # WeasyPrint 70 leaves the file of its colour profile for the collector to close
            warnings.simplefilter("ignore", ResourceWarning)
            yield
    finally:
        logger.removeHandler(handler)
        logger.propagate = before
    if handler.lines:
        raise RenderingFault("; ".join(dict.fromkeys(handler.lines)))


def html(green_season: GreenSeason, *, created: datetime | None = None, version: str) -> str:
    """The report as HTML without style, for tests and for templates of one's own."""
    report = viewmodel.view(green_season, created=_moment(green_season, created), version=version)
    return _html(report, charts.chart_groups(green_season))


def _html(report: viewmodel.ConditionReport, groups: tuple[charts.ChartGroup, ...]) -> str:
    attached = sorted(["columns.csv", *attachments.DESCRIBED])
    made: str = (
        _environment()
        .get_template("condition.html.j2")
        .render(report=report, groups=groups, attached=attached, colour=palette)
    )
    return made


def _moment(season: GreenSeason, created: datetime | None) -> datetime:
    """The time written into the document, in UTC: as given, or the start of the day the records reach."""
    if created is None:
        return datetime.combine(season.as_of, time(), UTC)
    assert created.tzinfo is not None, "created must know its time zone"
    return created.astimezone(UTC).replace(microsecond=0)


def render(green_season: GreenSeason, *, created: datetime | None = None, version: str) -> bytes:
    """The condition report as a PDF (PDF/A-3a and PDF/UA-1), its data attached as CSV.

    Args:
        green_season: everything the report says.
        created: time zone aware; the date in the document's properties. None takes the day the records reach.
        version: version of the tool, printed in the foot line.

    Raises:
        RenderingFault: the renderer complained, or something outside the report was asked for.
    """
    _renderer()
    from weasyprint.urls import FatalURLFetchingError

    moment = _moment(green_season, created)
    gc.disable()
    try:
        with _no_complaint():
            document = _laid_out(green_season, moment, version)
            pdf = _written(document, green_season, moment)
    except FatalURLFetchingError as fault:
        raise RenderingFault(str(fault)) from fault
    finally:
        gc.enable()
        gc.collect()
    return pdf


def page_count(pdf: bytes) -> int:
    """Pages of a PDF that ``render`` made: the Count of its page tree, which stands in an object stream."""
    for found in _OBJECT_STREAM.finditer(pdf):
        objects = zlib.decompress(found[1])
        if counted := _PAGE_TREE.search(objects):
            return int(counted[1])
    raise AssertionError("WeasyPrint writes its page tree another way now")


def _laid_out(season: GreenSeason, moment: datetime, version: str) -> Any:
    """The pages, set as openly as four pages allow."""
    from weasyprint import HTML

    configuration, style = _renderer()
    document: Any = None
    for step in steps_for(len(season.indicators)):
        report = viewmodel.view(season, step, created=moment, version=version)
        groups = charts.chart_groups(season, step.chart_height)
        images = {f"chart:{c.key}": vega.svg(c.spec) for group in groups for c in group.charts}
        page = HTML(string=_html(report, groups), base_url="asset:", url_fetcher=_fetcher(images))
        document = page.render(font_config=configuration, stylesheets=[style], pdf_variant="pdf/a-3a")
        if len(document.pages) <= MOST_PAGES:
            break
    return document


def _written(document: Any, season: GreenSeason, moment: datetime) -> bytes:
    """The PDF's bytes; written again, a little longer, in the rare case that a stream's end is ambiguous."""
    pdf = b""
    for padding in range(4):
        pdf = document.write_pdf(
            pdf_variant="pdf/a-3a",
            attachments=_attached(season, moment),
            finisher=partial(finish.finish, padding=padding),
        )
        if not finish.ambiguous(pdf):
            break
    return pdf


def _attached(season: GreenSeason, moment: datetime) -> list[Any]:
    """The data of the report; their dates are given, or they would be the clock's."""
    from weasyprint import Attachment

    return [
        Attachment(
            string=file.content,
            name=file.name,
            description=file.description,
            relationship="Data",
            created=moment,
            modified=moment,
        )
        for file in attachments.csv_files(season)
    ]
