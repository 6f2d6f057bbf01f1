"""``python -m tests.mutation [MODULE ...]``: change the code, see whether a test notices, write docs/mutation.md.

Without a module, all of ``pipeline/agronomy`` and ``pipeline/statistics``. Results go line by line into
``.mutation/results.jsonl`` beside the checkout's other working files, where a later run of a module replaces its own.
"""

from __future__ import annotations

import json
import sys
from typing import TextIO

import pytest

from tests.mutation.mutants import ROOT, Mutant, mutants
from tests.mutation.reach import TESTS, Reach, measure, statement
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
        names: modules.
        reach: which tests reach which line.
        out: where each result goes, a line of JSON.
    """

    def __init__(self, names: list[str], reach: Reach, out: TextIO) -> None:
        self.names, self.reach, self.out = names, reach, out

    def __call__(self, tests: dict[str, pytest.Item]) -> None:
        """Try every mutant; the tests of a module must pass on it as it stands, started in the same two ways."""
        for name in self.names:
            as_it_stands = (ROOT / f"{name.replace('.', '/')}.py").read_text("utf-8")
            own = self._of(tests, name, None)
            for whole in (False, True):
                assert verdict(name, as_it_stands, own, whole=whole, seconds=600) == "survived", f"{name}, {whole=}"
            for mutant in mutants(name):
                self._try(mutant, self._of(tests, name, mutant.line))

    def _of(self, tests: dict[str, pytest.Item], name: str, line: int | None) -> list[pytest.Item]:
        return [tests[one] for one in self.reach.tests(name, line) if one in tests]

    def _try(self, mutant: Mutant, tests: list[pytest.Item]) -> None:
        whole = statement(mutant.module, mutant.line) is None
        said = verdict(mutant.module, mutant.source, tests, whole=whole)
        keys = {"module": mutant.module, "line": mutant.line, "change": mutant.change, "nth": mutant.nth}
        self.out.write(json.dumps(keys | {"verdict": said, "tests": len(tests)}, ensure_ascii=False) + "\n")
        self.out.flush()
        if not said.startswith("killed"):
            sys.stdout.write(f"{said}: {mutant.module}:{mutant.line} {mutant.change}\n")
            sys.stdout.flush()


def main(names: list[str]) -> int:
    """Run the mutation."""
    WORK.mkdir(exist_ok=True)
    data = WORK / "reach"
    measure(data)
    names = names or modules()
    path = WORK / "results.jsonl"
    kept = path.read_text("utf-8").splitlines() if path.exists() else []
    kept = [line for line in kept if json.loads(line)["module"] not in names]
    with path.open("w", encoding="utf-8") as out:
        out.writelines(f"{line}\n" for line in kept)
        return with_tests(TESTS, Trial(names, Reach(data), out))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
