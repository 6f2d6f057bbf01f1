"""Forms as files: workbooks to fill in, paper to write on, rejected rows to mend."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.common.processes import in_order
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.whole_files import write_whole
from pipeline.forms.description import FORMS, Form, form_of
from pipeline.forms.filled import blank_form
from pipeline.forms.mending import mending_workbook
from pipeline.forms.workbook import Names, form_workbook
from pipeline.load.ledger import tool_version
from pipeline.load.mend import NothingToMend, rejects_files, rows_to_mend
from pipeline.profiles.profile import kind_named
from pipeline.publish.branding import house_style_of
from pipeline.publish.pool import SECONDS_FOR_ONE, WARM
from pipeline.store.register import Register
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.page import bounds
from reports.page.house_style import HouseStyle, RenderingFault

FOLDER = "forms"
"""Folder of a workspace that forms are written to."""


@dataclass(frozen=True)
class WrittenForm:
    """What became of one file.

    Attributes:
        path: the file.
        same: whether it stood there already as it would come out.
        fault: why it was not written though it should be, "" where it was.
        nothing: why there was nothing to write, "" where there was.
        left: which rows it should hold and does not, and why; "" where it holds them all.
    """

    path: Path
    same: bool = False
    fault: str = ""
    nothing: str = ""
    left: str = ""

    def as_json(self) -> dict[str, Any]:
        """The file's part of ``forms --json``."""
        said = {"fault": self.fault, "nothing": self.nothing, "left": self.left}
        return {"path": str(self.path), "unchanged": self.same, **said}


def forms_named(names: Sequence[str], kinds: Sequence[str]) -> list[Form]:
    """The forms of these names, and those of these kinds with every field; all that are shipped where none is named.

    Raises:
        WrongUsage: there is no such form or kind.
    """
    known = {form.name: form for form in FORMS}
    for name in names:
        if name not in known:
            raise WrongUsage(
                f"There is no form “{name}”.", f"Forms are {', '.join(known)}; or name a kind with --kind."
            )
    chosen = [known[name] for name in names] if names or kinds else list(FORMS)
    return [*chosen, *(form_of(kind) for name in kinds if (kind := kind_named(name)))]


def write_forms(
    workspace: Workspace, names: Sequence[str] = (), kinds: Sequence[str] = (), out: Path | None = None
) -> list[WrittenForm]:
    """Write forms as workbooks, and each once more as a PDF to be written on by hand.

    A form that somebody has filled in is never written over.

    Raises:
        WrongUsage: there is no such form or kind.
        CannotDo: the store cannot be read, a page of the house's own not be printed, or a file not be written.
    """
    registered = registered_names(workspace)
    folder, house = out or workspace.folder / FOLDER, house_style_of(workspace)
    files: dict[Path, bytes] = {}
    forms = forms_named(names, kinds)
    printed = _on_paper(forms, registered, house)
    for form in forms:
        files[folder / f"{form.name}.xlsx"] = form_workbook(form, registered)
        files[folder / f"{form.name}.pdf"] = printed[form.name]
    filled = [path for path in files if path.suffix == ".xlsx" and path.exists() and not blank_form(path)]
    return _written(files, dict.fromkeys(filled, "something is filled in there; load it, or move it away"))


def _on_paper(forms: Sequence[Form], registered: Names, house: HouseStyle) -> dict[str, bytes]:
    """Forms to be written on by hand, by their names; with something of the house's own, in a process beside this one.

    Raises:
        CannotDo: a template or a stylesheet of the house's own cannot be printed, or takes too much for it.
    """
    tasks = [_Sheet(form, registered, house) for form in forms]
    workers = 2 if house.has_own_files else 1
    with closing(in_order(_printed, tasks, workers, WARM)) as made:
        files = {}
        for form, (content, fault) in zip(forms, made, strict=True):
            if fault:
                raise CannotDo(
                    f"The form {form.name} cannot be printed: {fault.rstrip('.')}.",
                    "Mend what it names in the folder pages, or take it out of there.",
                )
            files[form.name] = content
        return files


@dataclass(frozen=True)
class _Sheet:
    """A form to be printed, with the words of its lists, in a house's style."""

    form: Form
    registered: Names
    house: HouseStyle


def _printed(sheet: _Sheet) -> tuple[bytes, str]:
    """A form as a PDF, or why it cannot be printed."""
    from reports.paper.render import paper

    try:
        with bounds.bounded(SECONDS_FOR_ONE, bounds.MOST_MB if sheet.house.has_own_files else None):
            return paper(sheet.form, sheet.registered, version=tool_version(), house=sheet.house), ""
    except (RenderingFault, TimeoutError, bounds.TooMuchMemory) as fault:
        return b"", str(fault)


def write_rejected(workspace: Workspace, today: date) -> list[WrittenForm]:
    """Write the rejected rows of the workspace as workbooks to mend, each beside its CSV.

    A workbook that was changed since it was written is never written over.

    Raises:
        CannotDo: the store cannot be read, or a file not written.
    """
    names = registered_names(workspace)
    files, told, left = {}, {}, {}
    nothing = []
    with Store(workspace.store, read_only=True) as store:
        for csv in rejects_files(workspace):
            target = csv.with_suffix(".xlsx")
            rows = rows_to_mend(workspace, store, csv, today)
            if isinstance(rows, NothingToMend):
                fault, reason = (rows.reason, "") if rows.fault else ("", rows.reason)
                nothing.append(WrittenForm(target, fault=fault, nothing=reason))
            else:
                files[target], left[target] = mending_workbook(rows, names), rows.left
    for path, content in files.items():
        if path.exists() and path.read_bytes() != content:
            told[path] = "it stands there with other content, perhaps mended; load it, or delete it"
    written = [replace(one, left="" if one.fault else left[one.path]) for one in _written(files, told)]
    return sorted([*written, *nothing], key=lambda one: one.path)


def _written(files: Mapping[Path, bytes], told: Mapping[Path, str]) -> list[WrittenForm]:
    """Write files, but those of which something is told; those that would come out the same are left."""
    same = {path for path, content in files.items() if path.exists() and path.read_bytes() == content}
    fresh = {path: content for path, content in files.items() if path not in same and path not in told}
    try:
        write_whole(fresh)
    except OSError as error:
        where = error.filename or "the forms"
        raise CannotDo(
            f"{where} could not be written: {error.strerror or error}.", "Close it where it is open, and make room."
        ) from error
    return [WrittenForm(path, path in same, "" if path in same else told.get(path, "")) for path in files]


def registered_names(workspace: Workspace) -> Names:
    """What the registers of the workspace offer; nothing where it has no store yet."""
    if not workspace.store.exists():
        return Names()
    with Store(workspace.store, read_only=True) as store:
        return names_of(store.register(workspace.settings.season_start))


def names_of(register: Register) -> Names:
    """The registers' names as a form offers them, each with its code behind; greens that were given up are left out."""
    clubs = dict(register.clubs.select("club", "name").iter_rows())
    played = register.greens.filter(register.greens["closed_on"].is_null())
    greens = [
        (code, _named((clubs.get(club) or club, name), code))
        for code, club, name in played.select("green", "club", "name").iter_rows()
    ]
    return Names(
        greens=tuple(sorted(greens, key=lambda pair: (pair[1].casefold(), pair[0]))),
        clubs=tuple(sorted(((code, _named((name,), code)) for code, name in clubs.items()), key=lambda pair: pair[1])),
        materials=tuple(sorted(register.materials["material"], key=lambda name: (name.casefold(), name))),
    )


def _named(names: Iterable[str | None], code: str) -> str:
    said = ", ".join(" ".join(name.split()) for name in names if name)
    return f"{said} ({code})" if said else code
