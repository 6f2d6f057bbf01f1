"""The cases of this folder: what lies in each, and what loading it came to."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.load.result import FileResult
from tests.inputs.harness import FOLDER, Bench, profiles_of

NO_INPUT = (".json", ".toml")
COUNTS = ("rows", "loaded", "unchanged", "superseded", "withdrawn", "closed", "rejected", "ignored")


@dataclass(frozen=True)
class Case:
    """One case: a folder with files to load in the order of their names, and ``expected.json``."""

    folder: Path

    @property
    def name(self) -> str:
        """Trouble and case, as the folders are named."""
        return self.folder.relative_to(FOLDER).as_posix()

    @property
    def trouble(self) -> str:
        """The kind of trouble."""
        return self.folder.parent.name

    @property
    def expected(self) -> dict[str, Any]:
        """What should come of it."""
        found: dict[str, Any] = json.loads((self.folder / "expected.json").read_text("utf-8"))
        return found

    @property
    def files(self) -> list[Path]:
        """The files to load, in order."""
        return sorted(path for path in self.folder.iterdir() if path.suffix not in NO_INPUT)

    def load(self, bench: Bench) -> list[FileResult]:
        """The results of its files."""
        profiles = profiles_of(self.folder)
        return [bench.load(path, profiles, **self._options(path.name)) for path in self.files]

    def _options(self, file: str) -> dict[str, Any]:
        options = dict(self.expected["loads"][file].get("with", {}))
        if "complete" in options:
            first, last = options["complete"]
            options["complete"] = (date.fromisoformat(first), date.fromisoformat(last))
        return options


def all_cases() -> list[Case]:
    """Every case, by name."""
    return [Case(path.parent) for path in sorted(FOLDER.glob("*/*/expected.json"))]


def outcome(result: FileResult) -> dict[str, Any]:
    """What a file came to, in the form of ``expected.json``."""
    found = result.as_json()
    faults = [{name: one[name] for name in ("line", "column", "code", "severity")} for one in found["faults"]]
    return {
        "kind": found["kind"],
        "counts": {name: found[name] for name in COUNTS if found[name] or name == "rows"},
        "faults": sorted(faults, key=fault_order),
    }


def fault_order(fault: dict[str, Any]) -> tuple[int, str, str]:
    """Order of faults that does not depend on when each was found."""
    return fault["line"] or 0, fault["code"], fault["column"]
