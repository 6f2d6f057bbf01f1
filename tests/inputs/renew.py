"""Prints what a case comes to now (``python -m tests.inputs.renew again/withdrawn``), or writes the folder's README.

What is printed is what the program does, which is not always what it should do: hold it against the case's own
sentence before it goes into ``expected.json``.
"""

from __future__ import annotations

import json
import sys
import tempfile
from itertools import groupby
from pathlib import Path

from tests.inputs.cases import Case, all_cases, outcome
from tests.inputs.harness import FOLDER, bench

README = FOLDER / "README.md"

HEAD = """\
# Inputs as they really come

A folder a kind of trouble, in it a folder a case: the files to load in the order of their names, a `profile.toml` where
the source needs one, and `expected.json` with what should come of it: the kind of record, what became of the rows
(counts that are not named are 0), every fault with its line and column (`says`: what its words must hold) and, where
it matters, fields of the records then in force, in the order of loads and lines. `with` holds the options of the
load. The registers of `county/` are loaded before each case; the day is 1 November 2026.

Bytes matter here: `.gitattributes` keeps line ends as they are, and some files hold NULs, odd byte-order marks or
bytes of other encodings. Look at them with `od -c`, and do not save them from an editor.

The answers are not copied from the program. Where a value can be read two ways and nothing declared settles it, the
right answer is to refuse it and to name both readings; what is missing is not zero; "less than" is not a number; and
what is merely odd is kept and asked about. `python -m tests.inputs.renew CASE` prints what a case comes to now;
`python -m tests.inputs.renew --readme` writes this page from the sentences in `expected.json`.
"""


def readme(cases: list[Case]) -> str:
    """The README of the folder: one line a case."""
    parts = [HEAD]
    for trouble, some in groupby(cases, key=lambda case: case.trouble):
        lines = [f"- `{case.folder.name}`: {case.expected['why']}\n" for case in some]
        parts.append(f"\n## {trouble.replace('_', ' ').capitalize()}\n\n{''.join(lines)}")
    return "".join(parts)


def _show(case: Case) -> None:
    with tempfile.TemporaryDirectory() as folder, bench(Path(folder)) as county, county.rehearsal() as here:
        results = case.load(here)
        for path, result in zip(case.files, results, strict=True):
            sys.stdout.write(f"{path.name} {json.dumps(outcome(result), indent=1, ensure_ascii=False)}\n")
            for fault in result.as_json()["faults"]:
                sys.stdout.write(f"  {fault['message']} {fault['hint']}\n")
        kind = results[-1].kind
        for record in here.records(kind) if kind else []:
            sys.stdout.write(f"{ {name: value for name, value in record.items() if value is not None} }\n")


def main(words: list[str]) -> None:
    """Print the cases named, or write the README."""
    cases = all_cases()
    if words == ["--readme"]:
        README.write_text(readme(cases), "utf-8")
        return
    for case in cases:
        if case.name in words:
            _show(case)


if __name__ == "__main__":
    main(sys.argv[1:])
