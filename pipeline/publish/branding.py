"""The house style a workspace's documents are set in, from its settings, its logo and its own templates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from math import floor
from pathlib import Path
from typing import get_args

from pipeline.common.closest import offered
from pipeline.common.misfits import line_of
from pipeline.common.own_text import read_own_text
from pipeline.common.places import resolved
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import text_of
from pipeline.publish.pictures import is_there, picture, texts_of
from pipeline.store.store import Store
from pipeline.workspace.settings import SETTINGS, DocumentName, HouseStyleSettings, Workspace
from reports.page import own_text, text
from reports.page.charts import palette
from reports.page.document import OWN_STYLE, TEMPLATES
from reports.page.house_style import HouseStyle, own_files, unused_files

MOST_OWN_BYTES = 1_000_000
"""Of a file of the folder of templates: all of them are read whole."""
LEAST_CONTRAST = 4.5
"""Of text on its ground: WCAG 2.2, success criterion 1.4.3 (level AA)."""
COLOURS = {"accent": palette.ACCENT, "text": palette.INK}
"""The palette's colour that each setting replaces."""
DOCUMENTS: tuple[str, ...] = get_args(DocumentName)


def house_style_of(workspace: Workspace, *, short: bool = False, issued_on: date | None = None) -> HouseStyle:
    """The house style of a workspace.

    Args:
        workspace: the workspace.
        short: asks for the short form whatever the settings say.
        issued_on: the day printed as that of issue; None for none.

    Raises:
        CannotDo: the logo or a picture of a text is not there, too large, or no picture; the folder of templates leads
            out of the workspace; a colour is hard to read; a text cannot be printed; a club is not known.
    """
    told = workspace.settings.house
    _refuse_undrawn(workspace, told)
    kind, logo = _logo(workspace, told.logo) if told.logo else ("", b"")
    templates = _templates(workspace)
    texts, pictures = (
        texts_of(templates, dict(_texts(templates)), "h2", workspace.settings.limits) if templates else ({}, {})
    )
    return HouseStyle(
        name=text.clean(told.name),
        address=text.clean(told.address),
        prepared_by=text.clean(told.prepared_by),
        prepared_for=text.clean(told.prepared_for),
        prepared_for_club=_by_club(workspace, told.prepared_for_club),
        issued_on=text.day(issued_on) if issued_on else "",
        logo=logo,
        logo_type=kind,
        paper=told.paper,
        units=told.units,
        left_out=told.leave_out,
        short=short or told.short,
        glossary=told.glossary,
        every_figure=told.untargeted_figures == "printed",
        templates=templates,
        number=text.clean(told.report_number),
        issued_iso=issued_on.isoformat() if issued_on else "",
        colours=dict(_colours(workspace, told.colours.items())),
        signatures={name: tuple(text.clean(who) for who in signers) for name, signers in told.signatures.items()},
        texts=texts,
        pictures=pictures,
    )


def _named(workspace: Workspace, *keys: str) -> str:
    """Where the settings say something of the house style: file, line and key."""
    path = workspace.folder / SETTINGS
    place = ("house", *keys)
    line = line_of(place, text_of(path)) if path.is_file() else 0
    return f"{SETTINGS}{f', line {line}' if line else ''}: {'.'.join(place)}"


def _refuse_undrawn(workspace: Workspace, told: HouseStyleSettings) -> None:
    """Refuse a setting with a character that the typeface cannot draw: a box in its place would hide it.

    Raises:
        CannotDo: one has it.
    """
    plain = ("name", "address", "prepared_by", "prepared_for", "report_number")
    texts: dict[tuple[str, ...], str] = {(key,): getattr(told, key) for key in plain}
    texts |= {("prepared_for_club", code): whom for code, whom in told.prepared_for_club.items()}
    texts |= {("signatures", name): " ".join(signers) for name, signers in told.signatures.items()}
    for keys, said in texts.items():
        if missing := text.not_drawn(said):
            raise CannotDo(
                f"{_named(workspace, *keys)} = {said!r}: the typeface of the documents has no {missing}.",
                "Write it another way.",
            )


def _by_club(workspace: Workspace, told: Mapping[str, str]) -> dict[str, str]:
    """Whom the documents of clubs are for, by the codes of the register.

    Raises:
        CannotDo: a club is in no register: its documents would be for somebody else in silence.
    """
    if not told or not workspace.store.exists():
        return {}
    with Store(workspace.store, read_only=True) as store:
        known = {str(code) for (code,) in store.rows("SELECT club FROM club")}
    for code in told:
        if code not in known:
            raise CannotDo(
                f"{_named(workspace, 'prepared_for_club', code)}: no club of the register has the code {code!r}"
                f"{offered(code, known)}.",
                "Write the code as the register of clubs has it.",
            )
    return {code: text.clean(whom) for code, whom in told.items()}


def _colours(workspace: Workspace, told: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The palette's colours that are replaced, and by what.

    Raises:
        CannotDo: one is hard to read on the grounds that the pages have.
    """
    for name, given in told:
        colour = given.lower()
        for ground, where in ((palette.WHITE, "on white"), (palette.TINT, "on the ground of boxes")):
            found = palette.contrast(colour, ground)
            if found < LEAST_CONTRAST:
                shown = floor(found * 100) / 100
                raise CannotDo(
                    f"{_named(workspace, 'colours', name)} = {given!r} has a contrast of {shown:.2f} {where}; "
                    f"text needs {LEAST_CONTRAST} at least (WCAG 2.2).",
                    "Take a darker one.",
                )
        yield COLOURS[name], colour


def _texts(pages: Path) -> Iterator[tuple[str, str]]:
    """The house's own texts as written, by the names of their files.

    Raises:
        CannotDo: one is not UTF-8, too long, or leads out of the folder.
    """
    for name in own_text.file_names(DOCUMENTS):
        path = pages / name
        if path.is_file():
            yield name, read_own_text(path, f"{pages.name}/{name}", "Shorten it.")


def _templates(workspace: Workspace) -> Path | None:
    """The folder of the workspace's own templates; None where it has none."""
    pages = workspace.pages
    if not pages.is_dir():
        return None
    if not resolved(pages).is_relative_to(resolved(workspace.folder)):
        raise CannotDo(f"The folder {pages.name} leads out of the workspace.", "Copy the templates into it.")
    _refuse_idle(pages)
    return pages


def _refuse_idle(pages: Path) -> None:
    """Refuse a file among the workspace's own templates that no document takes: its name is misspelt."""
    shipped = {path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*") if path.is_file()}
    for name, path in own_files(pages):
        if path.stat().st_size > MOST_OWN_BYTES:
            raise CannotDo(
                f"{pages.name}/{name} is larger than 1 MB.", "Make it smaller, or take it out of the folder."
            )
    names = {*shipped, OWN_STYLE, *own_text.file_names(DOCUMENTS)}
    for name in unused_files(pages, names):
        raise CannotDo(
            f"No document uses {pages.name}/{name}{offered(name, sorted(names))}.",
            "Give it the name of the shipped template it stands before or of a text of your own, or name it in one of "
            "your own; else take it out of the folder. docs/house-style.md lists the names.",
        )


def _logo(workspace: Workspace, name: str) -> tuple[str, bytes]:
    """Media type and bytes of the logo."""
    if not is_there(workspace.folder / name):
        raise CannotDo(f"{_named(workspace, 'logo')}: the logo {name!r} is not there.", "Mend it, or leave it empty.")
    return picture(workspace.folder, name, f"logo {name}", "the workspace", workspace.settings.limits)
