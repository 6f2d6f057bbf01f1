"""Commands on copies of a workspace: a backup, whether it is as it was written, and a workspace made of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli import terminal
from pipeline.cli.options import DONE, FAULTS, HERE, JsonOption, QuietOption, WorkspaceOption, give, one_folder, say
from pipeline.common.refusal import WrongUsage

if TYPE_CHECKING:
    from pipeline.workspace.settings import Workspace


def backup(
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="DIR",
            help="Folder of the backups: a new one, or one that holds some. Without it: the folder beside the "
            "workspace that is named like it, with -backup. With --check also the manifest of one backup.",
        ),
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Write nothing: look whether every file there is as it was written.")
    ] = False,
    part: Annotated[
        list[str] | None,
        typer.Option(
            "--part",
            metavar="PATH",
            help="With --check: look at this part alone, such as tables or workspace/profiles; may be given again.",
        ),
    ] = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write a backup as plain files with their hashes: tables, loaded files, settings, all that a person wrote.

    What is there already is not written again; each backup is one manifest, and restore takes any. Nothing can be
    loaded meanwhile. Documents (PDF) are left out: they are made anew. Links are not followed, but named.

    Example: swardtally backup /mnt/disk/ostershire --workspace ostershire
    """
    from pipeline.cli.printing import copies
    from pipeline.copies.backup import back_up, beside
    from pipeline.copies.check import check as look_at
    from pipeline.workspace.settings import open_workspace

    if part and not check:
        raise WrongUsage("--part goes with --check.", "A backup takes all of the workspace.")
    if check:
        checked = look_at(folder or beside(workspace), part or [])
        give(checked, copies.checked, as_json=as_json, quiet=quiet)
        return DONE if checked.fine else FAULTS
    opened = open_workspace(workspace)
    changed = _changed_behind(opened)
    made = back_up(opened, folder)
    give(made, copies.backup, as_json=as_json, quiet=quiet)
    if changed:
        say(
            False,
            f"{changed} The backup holds it as it is, earlier ones as it was. swardtally verify names each difference.",
        )
    return FAULTS if made.left_out or changed else DONE


def _changed_behind(here: Workspace) -> str:
    """What is said where something was changed by another way than loading; "" where nothing was found.

    A store of an older layout has nothing to be held against here.
    """
    from pipeline.common.refusal import OlderLayout
    from pipeline.store.store import Store
    from pipeline.verify.found import found_altered, in_short

    if not here.store.exists():
        return ""
    try:
        with Store(here.store, read_only=True) as store:
            found = found_altered(store)
    except OlderLayout:
        return ""
    return in_short(found) if found else ""


def restore(
    backup: Annotated[
        Path,
        typer.Argument(
            metavar="BACKUP", help="Folder of backups, of which the last one is taken, or the manifest of another."
        ),
    ],
    folder: Annotated[
        Path | None, typer.Argument(metavar="DIR", help="Folder of the workspace; a new one, or an empty one.")
    ] = None,
    named: Annotated[
        Path | None, typer.Option("--workspace", "-w", metavar="DIR", help="The same, as other commands take it.")
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Make the workspace of a backup in a place that holds nothing: the same records, settings and files.

    Every file is held against its hash first; what is damaged is named, and nothing is made then.

    Example: swardtally restore /mnt/disk/ostershire again
    """
    from pipeline.cli.printing import copies
    from pipeline.copies.restore import restore as make

    where = one_folder(folder, named, "swardtally restore BACKUP DIR")
    made = make(backup, where)
    terminal.name_workspace(where, ["status", "verify"])
    give(made, copies.restored, as_json=as_json, quiet=quiet)
    return DONE


def copy(
    source: Annotated[
        str, typer.Argument(metavar="FROM", help="The store to copy: its file, or the address of a shared one.")
    ],
    target: Annotated[
        str, typer.Argument(metavar="TO", help="A file that is not there yet, or the address of a new shared store.")
    ],
    files: Annotated[
        Path | None,
        typer.Option("--files", metavar="DIR", help="Folder in which the shared store keeps its files."),
    ] = None,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Copy a store from its file into one that several offices share, or back; rows and hashes are held against it.

    The store copied from stays as it is. Then name the copy in settings.toml, as store and store_files.

    Example: swardtally copy ostershire/store.duckdb "ducklake:postgres:host=db dbname=greens" --files /srv/greens
    """
    from pipeline.cli.printing import copies
    from pipeline.copies.between import copy_store
    from pipeline.workspace.shared import place_of

    give(copy_store(place_of(source, files), place_of(target, files)), copies.copied, as_json=as_json, quiet=quiet)
    return DONE
