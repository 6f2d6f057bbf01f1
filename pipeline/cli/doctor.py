"""Whether this machine has what loading and rendering need."""

from __future__ import annotations

import platform
import sys
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

PACKAGES = ("duckdb", "polars", "pandera", "jinja2", "weasyprint", "vl-convert-python", "scipy", "typer")


@dataclass(frozen=True)
class Check:
    """One thing looked at: whether it is fine, what was found, and what to do where it is not."""

    what: str
    fine: bool
    found: str
    hint: str = ""

    def as_json(self) -> dict[str, Any]:
        """The check's part of ``doctor --json``."""
        return asdict(self)


def examine() -> list[Check]:
    """Every check, in the order a person would mend them."""
    checks = [
        Check("Python 3.11 or newer", sys.version_info >= (3, 11), platform.python_version(), "Install Python 3.11.")
    ]
    for name in PACKAGES:
        try:
            checks.append(Check(name, True, version(name)))
        except PackageNotFoundError:
            checks.append(Check(name, False, "not installed", "make setup"))
    return [*checks, _pango()]


def _pango() -> Check:
    """Pango, which lays the text of a page out, found by making a page."""
    try:
        import weasyprint

        made = bool(weasyprint.HTML(string="<p>a</p>").write_pdf())
    except OSError as error:
        return Check("Pango (text layout)", False, str(error).splitlines()[0], pango_hint())
    return Check("Pango (text layout)", made, "a page was made")


def pango_hint() -> str:
    """The command that installs Pango on this platform."""
    return {
        "Linux": "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
        "Darwin": "brew install pango",
        "Windows": "pacman -S mingw-w64-ucrt-x86_64-pango (in MSYS2)",
    }.get(platform.system(), "Install Pango 1.44 or newer with HarfBuzz-Subset.")
