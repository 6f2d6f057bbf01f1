"""The catalogue of everything that can be wrong with a file."""

from __future__ import annotations

import pkgutil
from importlib import import_module
from itertools import groupby

import pipeline
from pipeline.common.faults import FaultKind, catalogue
from scripts.docs import markdown as md

OPENING = """\
What a file can have wrong with it. An **error** rejects the row (or the whole file, where it concerns no single
line); a **warning** lets the row in and says what looks odd; a **note** tells what was done. Rejected rows stand in
`rejected/` with their original cells and the columns `line`, `code`, `message` and `hint`: mended in a spreadsheet,
the same file loads. Words in braces are filled in from the file: `{value}` is the cell as written."""

WHAT = {
    "amount": "amounts of material",
    "analysis": "labels of fertilisers",
    "area": "areas",
    "bytes": "the file's bytes",
    "choice": "words from a list",
    "code": "codes and numbers kept as text",
    "correction": "corrections of known mistakes in a source",
    "date": "dates",
    "decision": "decisions about lines",
    "depth": "depths",
    "dose": "doses",
    "file": "the file as a whole",
    "flag": "yes and no",
    "header": "headers",
    "key": "the same record twice",
    "load": "loading",
    "mix": "sand and soil mixes",
    "number": "numbers",
    "profile": "source profiles",
    "rate": "rates",
    "read": "reading the table",
    "reference": "names of clubs, greens and materials",
    "row": "the shape of rows",
    "shorthand": "what a crew writes in one cell",
    "speed": "green speeds",
    "text": "texts",
    "unit": "units",
    "value": "values",
    "workbook": "workbooks",
}


def page() -> str:
    """docs/faults.md."""
    parts = []
    for stage, kinds in groupby(every_kind(), key=lambda kind: kind.code.partition(".")[0]):
        title = f"## {stage}: {WHAT[stage]}" if stage in WHAT else f"## {stage}"
        rows = [(md.code(k.code), k.severity, k.title, k.template, _braced(k.hint)) for k in kinds]
        parts += [title, md.table(("code", "severity", "what", "message", "what to do"), rows)]
    return md.page("Faults", OPENING, *parts)


def _braced(hint: str) -> str:
    """A hint as it is shown: braces are doubled where they are a profile's and nothing is filled in."""
    return hint.replace("{{", "{").replace("}}", "}")


def every_kind() -> list[FaultKind]:
    """Every kind of fault, by code, whichever module of pipeline defines it."""
    for module in pkgutil.walk_packages(pipeline.__path__, "pipeline."):
        if not module.name.endswith("__main__"):
            import_module(module.name)
    return list(catalogue())
