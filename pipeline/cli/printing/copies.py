"""What a backup, the check of backups, and a restore came to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipeline.cli.terminal import err, out
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted, listed

if TYPE_CHECKING:
    from pipeline.copies.backup import Backup
    from pipeline.copies.between import CopiedStore
    from pipeline.copies.check import Checked
    from pipeline.copies.restore import Restored

NEXT = "Documents are written by swardtally report. Next:"
REPAIR = (
    "A new backup into the same folder (swardtally backup DIR) writes anew what the workspace still holds; look again "
    "after it. What is damaged then needs an undamaged copy of the folder."
)
UP = " Its store had an older layout and was brought up to that of this version."


def backup(made: Backup, *, quiet: bool) -> None:
    """The manifest; what it holds, how much of it was new, and what it does not hold."""
    out(one_line(str(made.path)))
    for name in made.left_out:
        err(
            one_line(
                f"Not in the backup: {name}, which is a link or no file. Copy what it leads to into the workspace."
            )
        )
    if quiet:
        return
    held = made.manifest
    of_store = f"{counted(sum(one.rows for one in held.tables), 'row')} of {counted(len(held.tables), 'table')}"
    files = [one for one in held.files if not one.path.startswith("tables/")]
    size, fresh = megabytes(sum(one.bytes for one in held.files)), megabytes(made.written_bytes)
    what = f"{of_store if held.tables else 'no store'}, {counted(len(files), 'file')}, {size}"
    err(f"Backup {held.number}: {what}. Written anew: {fresh}; what was there already is not written again.")
    if made.within:
        err("It lies in the workspace itself: what becomes of the one becomes of the other. Name a folder elsewhere.")


def copied(made: CopiedStore, *, quiet: bool) -> None:
    """Where the copy is; how much of it there is."""
    out(one_line(made.target))
    if not quiet:
        what = f"{counted(sum(made.rows.values()), 'row')} of {counted(len(made.rows), 'table')}"
        err(f"Copied and held against {one_line(made.source)}: {what}, the same rows in the same order.")


def checked(found: Checked, *, quiet: bool) -> None:
    """What is damaged, each file on a line; what was looked at."""
    for message in found.unreadable:
        out(one_line(message))
    for one in found.damages:
        out(one_line(str(one)))
    if not quiet:
        looked_at = f"{counted(found.files, 'file')} of {counted(found.backups, 'backup')}, {megabytes(found.bytes)}"
        wrong = [counted(len(found.damages), "file is damaged", "files are damaged")] if found.damages else []
        wrong += [counted(len(found.unreadable), "manifest cannot be used", "manifests cannot be used")] * bool(
            found.unreadable
        )
        err(f"Looked at {looked_at}: {listed(wrong) if wrong else 'all as they were written'}.")
        if wrong:
            err(REPAIR)


def restored(made: Restored, *, quiet: bool) -> None:
    """The workspace; what it was made of, and what is not as it was."""
    out(one_line(str(made.folder)))
    for name, place in made.changed.items():
        err(
            f"settings.toml named a place outside the workspace as {name}; it names {place} now, where the backup's "
            "files are."
        )
    if made.figures:
        err(f"The records are restored; the figures in the store are not made yet: {made.figures}")
    if not quiet:
        held = made.manifest
        rows = f"{counted(sum(one.rows for one in held.tables), 'row')} of {counted(len(held.tables), 'table')}"
        what = f"{rows if held.tables else 'no store'}, {counted(made.files, 'file')}."
        then = "swardtally verify" if held.tables else "swardtally status"
        err(
            f"Restored from backup {held.number} of {held.made_at}: {what}{UP if made.brought_up else ''} {NEXT} {then}"
        )


def megabytes(count: int) -> str:
    """A number of bytes as a person reads it."""
    return f"{count / 1e6:,.1f} MB" if count >= 100_000 else counted(count, "byte")
