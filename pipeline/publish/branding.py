"""The house style a workspace's documents are set in, from its settings, its logo and its own templates."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.common.closest import offered
from pipeline.common.refusal import CannotDo
from pipeline.workspace.settings import SETTINGS, Workspace
from reports.page import text
from reports.page.document import OWN_STYLE, TEMPLATES
from reports.page.house_style import HouseStyle, unused_files

MOST_LOGO_BYTES = 1_000_000
_STARTS = ((b"\x89PNG\r\n\x1a\n", "image/png"), (b"\xff\xd8\xff", "image/jpeg"))


def house_style_of(workspace: Workspace, *, short: bool = False, issued_on: date | None = None) -> HouseStyle:
    """The house style of a workspace.

    Args:
        workspace: the workspace.
        short: asks for the short form whatever the settings say.
        issued_on: the day printed as that of issue; None for none.

    Raises:
        CannotDo: the logo is not there, too large, or no picture; the folder of templates leads out of the workspace.
    """
    told = workspace.settings.house
    logo, kind = _logo(workspace, told.logo) if told.logo else (b"", "")
    return HouseStyle(
        name=text.clean(told.name),
        address=text.clean(told.address),
        prepared_by=text.clean(told.prepared_by),
        prepared_for=text.clean(told.prepared_for),
        issued_on=text.day(issued_on) if issued_on else "",
        logo=logo,
        logo_type=kind,
        paper=told.paper,
        units=told.units,
        left_out=told.leave_out,
        short=short or told.short,
        every_figure=told.untargeted_figures == "printed",
        templates=_templates(workspace),
    )


def _templates(workspace: Workspace) -> Path | None:
    """The folder of the workspace's own templates; None where it has none."""
    pages = workspace.pages
    if not pages.is_dir():
        return None
    if not pages.resolve().is_relative_to(workspace.folder.resolve()):
        raise CannotDo(f"The folder {pages.name} leads out of the workspace.", "Copy the templates into it.")
    _refuse_idle(pages)
    return pages


def _refuse_idle(pages: Path) -> None:
    """Refuse a file among the workspace's own templates that no document takes: its name is misspelt."""
    shipped = {path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*") if path.is_file()}
    for name in unused_files(pages, {*shipped, OWN_STYLE}):
        raise CannotDo(
            f"No document uses {pages.name}/{name}{offered(name, [*shipped, OWN_STYLE])}.",
            "Give it the name of the shipped template it stands before, or name it in one of your own; else take it "
            "out of the folder. docs/house-style.md lists the names.",
        )


def _logo(workspace: Workspace, name: str) -> tuple[bytes, str]:
    folder = workspace.folder.resolve()
    path = (folder / name).resolve()
    if not path.is_relative_to(folder):
        raise CannotDo(f"The logo {name} lies outside the workspace.", f"Copy it into {folder} and name it from there.")
    if not path.is_file():
        raise CannotDo(f"The logo {name} is not there.", f"Mend logo under [house] in {SETTINGS}, or leave it empty.")
    if path.stat().st_size > MOST_LOGO_BYTES:
        raise CannotDo(f"The logo {name} is larger than 1 MB.", "Save a smaller copy; 1,000 pixels across are plenty.")
    content = path.read_bytes()
    for start, kind in _STARTS:
        if content.startswith(start):
            return content, kind
    if b"<svg" in content[:2000]:
        return content, "image/svg+xml"
    raise CannotDo(f"The logo {name} is not a PNG, JPEG or SVG picture.", "Save it as one of these.")
