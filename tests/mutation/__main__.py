"""``python -m tests.mutation [--again] [--share N] [MODULE ...]``: change the code, see whether a test notices.

Without a module, all of ``pipeline/agronomy`` and ``pipeline/statistics``. Results go line by line into
``.mutation/results.jsonl`` beside the checkout's other working files, where a later run of a module replaces its own;
docs/mutation.md is written from them. ``--share 3`` tries every third mutant of a module in the order of its lines,
``--again`` those alone that no test noticed before.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TextIO

import pytest

from tests.mutation.mutants import ROOT, Mutant, mutants
from tests.mutation.page import PAGE, page
from tests.mutation.reach import TESTS, Reach, measure
from tests.mutation.run import verdict, with_tests

WORK = ROOT / ".mutation"
PACKAGES = ("pipeline/agronomy", "pipeline/statistics")


def modules() -> list[str]:
    """Every module that is changed, by name."""
    paths = (path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py")))
    return [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in paths if path.name != "__init__.py"]


class Trial:
    """Tries mutants on the tests that reach them.

    Args:
        wanted: mutants by module.
        reach: which tests reach which line.
        out: where each result goes, a line of JSON.
    """

    def __init__(self, wanted: dict[str, list[Mutant]], reach: Reach, out: TextIO) -> None:
        self.wanted, self.reach, self.out = wanted, reach, out

    def __call__(self, tests: dict[str, pytest.Item]) -> None:
        """Try every mutant, once all tests have passed on a module as it stands, started in the same two ways."""
        every = list(tests.values())
        for whole in (False, True):
            first = next(iter(self.wanted))
            assert verdict(first, source_of(first), every, whole=whole, seconds=1800) == "survived", f"{whole=}"
        for name, some in self.wanted.items():
            files = self.reach.files(name)
            own = [one for test, one in tests.items() if test.partition("::")[0] in files]
            for mutant in some:
                near = [tests[one] for one in self.reach.tests(name, mutant.line) if one in tests]
                self._try(mutant, near, own)

    def _try(self, mutant: Mutant, near: list[pytest.Item], own: list[pytest.Item]) -> None:
        """What runs when the module is loaded (a constant, a default) is tried on all tests of its files."""
        said = verdict(mutant.module, mutant.source, near or own, whole=not near)
        self.out.write(json.dumps(key_of(mutant) | {"verdict": said}, ensure_ascii=False) + "\n")
        self.out.flush()
        if not said.startswith("killed"):
            sys.stdout.write(f"{said}: {mutant.module}:{mutant.line} {mutant.change}\n")
            sys.stdout.flush()


def source_of(module: str) -> str:
    """The text of a module as it stands."""
    return (ROOT / f"{module.replace('.', '/')}.py").read_text("utf-8")


def key_of(mutant: Mutant) -> dict[str, object]:
    """What tells a mutant from the others, in a result."""
    return {"module": mutant.module, "line": mutant.line, "change": mutant.change, "nth": mutant.nth}


def main(arguments: list[str]) -> int:
    """Run the mutation."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("modules", nargs="*", default=modules())
    parser.add_argument("--share", type=int, default=1)
    parser.add_argument("--again", action="store_true")
    asked = parser.parse_args(arguments)
    WORK.mkdir(exist_ok=True)
    if not fresh(WORK / "reach"):
        measure(WORK / "reach")
    path = WORK / "results.jsonl"
    before = [json.loads(line) for line in path.read_text("utf-8").splitlines()] if path.exists() else []
    alive = {(one["module"], one["change"], one["nth"]) for one in before if not one["verdict"].startswith("killed")}
    wanted = {name: mutants(name)[:: asked.share] for name in asked.modules}
    if asked.again:
        every = {name: mutants(name) for name in asked.modules}
        wanted = {name: [m for m in some if (m.module, m.change, m.nth) in alive] for name, some in every.items()}
        wanted = {name: some for name, some in wanted.items() if some}
    redone = {(m.module, m.change, m.nth) for some in wanted.values() for m in some}
    kept = [
        one
        for one in before
        if (one["module"], one["change"], one["nth"]) not in redone and (asked.again or one["module"] not in wanted)
    ]
    with path.open("w", encoding="utf-8") as out:
        out.writelines(json.dumps(one, ensure_ascii=False) + "\n" for one in kept)
        code = with_tests(TESTS, Trial(wanted, Reach(WORK / "reach"), out))
    write_page()
    return code


def fresh(measured: Path) -> bool:
    """Whether no code and no test was written since it was measured which tests reach which line."""
    files = (path for folder in (*PACKAGES, *TESTS) for path in (ROOT / folder).rglob("*.py"))
    return measured.exists() and measured.stat().st_mtime > max(path.stat().st_mtime for path in files)


def write_page() -> None:
    """Write docs/mutation.md from all results of changes that the code as it stands still has."""
    results = [json.loads(line) for line in (WORK / "results.jsonl").read_text("utf-8").splitlines()]
    tried = [name for name in modules() if any(one["module"] == name for one in results)]
    now = {name: mutants(name) for name in tried}
    there = {(m.module, m.change, m.nth) for some in now.values() for m in some}
    kept = [
        one | {"of": len(now[one["module"]])} for one in results if (one["module"], one["change"], one["nth"]) in there
    ]
    PAGE.write_text(page(kept, [name for name in modules() if name not in tried]), "utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
