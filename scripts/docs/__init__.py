"""Pages of docs/ that are made from the code, so that they cannot say anything else than it does."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from scripts.docs import (
    codes,
    commands,
    corrections,
    decisions,
    faults,
    figures,
    findings,
    glossary,
    house_style,
    indicators,
    licences,
    method,
    outside,
    page_values,
    profiles,
    records,
    settings,
    templates,
)

FOLDER = Path(__file__).parents[2] / "docs"

PAGES: dict[str, Callable[[], str]] = {
    "records.md": records.page,
    "codes.md": codes.page,
    "faults.md": faults.page,
    "indicators.md": indicators.page,
    "figures.md": figures.page,
    "findings.md": findings.page,
    "profiles.md": profiles.page,
    "corrections.md": corrections.page,
    "decisions.md": decisions.page,
    "commands.md": commands.page,
    "templates.md": templates.page,
    "settings.md": settings.page,
    "house-style.md": house_style.page,
    "page-values.md": page_values.page,
    "glossary.md": glossary.page,
    "method.md": method.page,
    "outside-checks.md": outside.page,
    "licences.md": licences.page,
}
"""File name to what writes it."""


def write_pages(folder: Path = FOLDER) -> list[Path]:
    """Write every page.

    Returns:
        The files written, in order.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, make in PAGES.items():
        path = folder / name
        path.write_text(make(), "utf-8", newline="\n")
        written.append(path)
    return written
