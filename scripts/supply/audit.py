"""``make audit``: known vulnerabilities of the locked libraries, as pip-audit finds them.

A library that could not be looked up is not a library without vulnerabilities: pip-audit itself ends well where its
service knows nothing of anything, so its answer is read here, library by library.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scripts.supply.lock import LOCK, locked

CLEAN, FOUND, NOT_ASKED = 0, 1, 3
"""Exit codes: all looked up and nothing known; something is known; not all could be looked up."""
SERVICES = ("pypi", "osv")
"""Asked in this order, until one answers of every library."""
SECONDS = 600
"""How long one service may take."""

Run = Callable[[str], Mapping[str, Any]]
"""Asks a service; gives pip-audit's answer as its JSON has it, {} where there was none."""


@dataclass(frozen=True)
class Audit:
    """What one service said.

    Attributes:
        service: its name.
        known: "library version: identifiers" of each library with a known vulnerability.
        unknown: names of the libraries it could not look up.
    """

    service: str
    known: Sequence[str]
    unknown: Sequence[str]


def audit_of(service: str, answer: Mapping[str, Any], names: Sequence[str]) -> Audit:
    """An answer read: a library that it leaves out or skips was not looked up."""
    told = {one["name"].lower().replace("_", "-"): one for one in answer.get("dependencies", ())}
    known = [
        f"{name} {one['version']}: {', '.join(flaw['id'] for flaw in one['vulns'])}"
        for name, one in told.items()
        if one.get("vulns")
    ]
    return Audit(service, known, [name for name in names if "vulns" not in told.get(name, {})])


def audits(run: Run, names: Sequence[str]) -> Iterator[Audit]:
    """What each service says, until one could look up every library."""
    for service in SERVICES:
        found = audit_of(service, run(service), names)
        yield found
        if not found.unknown:
            return


def lines_and_code(found: Sequence[Audit], count: int) -> tuple[list[str], int]:
    """What is printed, and the exit code."""
    known = sorted({line for one in found for line in one.known})
    unknown = set.intersection(*(set(one.unknown) for one in found))
    asked = ", ".join(one.service for one in found)
    lines = [f"Known vulnerability: {line}" for line in known]
    if unknown:
        listed = "none of them" if len(unknown) == count else f"all but {', '.join(sorted(unknown))}"
        lines.append(
            f"Not audited: of {count} locked libraries {listed} could be looked up (asked: {asked}). The service of "
            "vulnerabilities could not be reached, or does not know them. Run make audit where it can be reached."
        )
        return lines, FOUND if known else NOT_ASKED
    lines.append(f"{count} locked libraries looked up ({asked}): {len(known) or 'no'} with a known vulnerability.")
    return lines, FOUND if known else CLEAN


def asker(program: Path) -> Run:
    """Asks by the pip-audit program; the lock goes in as it is, so that nothing is resolved or installed."""

    def run(service: str) -> Mapping[str, Any]:
        command = [str(program), "--requirement", str(LOCK), "--require-hashes", "--disable-pip", "--format", "json"]
        command += ["--vulnerability-service", service, "--progress-spinner", "off"]
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)  # noqa: S603 (fixed words)
            answer: Mapping[str, Any] = json.loads(done.stdout)
        except (ValueError, subprocess.TimeoutExpired):  # a service that cannot be reached ends pip-audit in a trace
            return {}
        return answer

    return run


def main(program: str) -> int:
    """Exit code of ``python -m scripts.supply.audit PIP-AUDIT``."""
    names = sorted({one.name for one in locked() if one.here})
    lines, code = lines_and_code(list(audits(asker(Path(program)), names)), len(names))
    sys.stdout.write("\n".join(lines) + "\n")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
