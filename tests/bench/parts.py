"""Where processor time goes, part by part: each part without what it calls of another. Of reports, and for others."""

from __future__ import annotations

import importlib
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from functools import wraps
from operator import attrgetter
from typing import Any
from unittest.mock import patch

from reports.page.document import Document

PARTS = (
    ("reports.page.charts.vega", "svg", "charts (vl-convert)"),
    ("weasyprint", "HTML", "reading of HTML"),
    ("weasyprint.document", "get_all_computed_styles", "styles"),
    ("weasyprint.document", "build_formatting_structure", "boxes"),
    ("weasyprint.document", "layout_document", "layout"),
    ("weasyprint.document", "generate_pdf", "drawing, tags, fonts"),
    ("reports.page.finish", "finish", "finishing for PDF/UA, compression"),
    ("pydyf", "PDF.write", "writing"),
    ("gc", "enable", "collector"),
    ("gc", "collect", "collector"),
)
"""Module, function or method in it, and what its time is called; the rest of a rendering is "other"."""
DRAFTS, ATTACHED, OTHER = "drafts: texts, estimates, HTML", "attached data", "other"


class Clock:
    """Processor time by part, of all threads; the part that was begun last has it."""

    def __init__(self) -> None:
        self.seconds: defaultdict[str, float] = defaultdict(float)
        self._open = [OTHER]
        self._since = time.process_time()

    def _passed(self) -> None:
        now = time.process_time()
        self.seconds[self._open[-1]] += now - self._since
        self._since = now

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """A stretch of a part."""
        self._passed()
        self._open.append(name)
        try:
            yield
        finally:
            self._passed()
            self._open.pop()

    def of(self, function: Callable[..., Any], name: str) -> Callable[..., Any]:
        """The function, its time counted; what it yields is made within it."""

        @wraps(function)
        def timed(*args: Any, **kwargs: Any) -> Any:
            with self.part(name):
                made = function(*args, **kwargs)
                return list(made) if name == "layout" else made

        return timed


def shares(document: Document[Any], contents: list[Any]) -> dict[str, float]:
    """Share of each part in the time of rendering all contents, largest first; charts are all drawn anew."""
    from reports.page.charts import vega

    clock = Clock()

    def drafts(*of: Any) -> Iterator[Any]:
        waiting = document.drafts(*of)
        while True:
            with clock.part(DRAFTS):
                draft = next(waiting, None)
            if draft is None:
                return
            yield draft

    timed = replace(document, drafts=drafts, attached=clock.of(document.attached, ATTACHED))
    with ExitStack() as patches:
        for module, name, part in PARTS:
            function = attrgetter(name)(importlib.import_module(module))
            patches.enter_context(patch(f"{module}.{name}", clock.of(function, part)))
        for content in contents:
            vega._svg.cache_clear()
            timed.render(content, version="0")
    whole = sum(clock.seconds.values())
    return {
        part: clock.seconds[part] / whole for part in sorted(clock.seconds, key=clock.seconds.__getitem__, reverse=True)
    }
