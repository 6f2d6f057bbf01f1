"""Whether the records that a command prints or copies are those that were loaded; what is said where they are not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipeline.cli.options import DONE, FAULTS, say

if TYPE_CHECKING:
    from pipeline.workspace.settings import Workspace

PRINTED = "What is printed here may rest on what was changed."
COPIED = "The backup holds it as it is; earlier backups stand as they were."


def changed_behind(here: Workspace) -> str:
    """What was changed by another way than loading, the first of it in a sentence; "" where nothing was found.

    Kept originals are left to ``verify`` and ``doctor``: no figure is read from them. A store of an older layout has
    nothing to be held against here.
    """
    from pipeline.common.refusal import OlderLayout
    from pipeline.store.store import Store
    from pipeline.verify.found import found_altered

    if not here.store.exists():
        return ""
    try:
        with Store(here.store, read_only=True) as store:
            found = found_altered(store, originals=False)
    except OlderLayout:
        return ""
    more = f" And {len(found) - 1} more." if len(found) > 1 else ""
    return f"{found[0].message}{more}" if found else ""


def ended(changed: str, what: str) -> int:
    """The exit code of a command that is done, and a message where something was changed behind the chain."""
    if not changed:
        return DONE
    say(False, f"The store is not what was loaded. {changed} {what} swardtally verify names each difference.")
    return FAULTS
