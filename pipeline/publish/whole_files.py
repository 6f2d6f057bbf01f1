"""Files that stand whole or not at all, however many belong together."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path


def write_whole(files: Mapping[Path, bytes]) -> None:
    """Write files that belong together: all stand with this content, or each is as it was before.

    Only a machine that stops between the last steps, which are renames, can part them.
    """
    fresh = {target: target.with_name(f".{target.name}.{os.getpid()}") for target in files}
    before: dict[Path, bytes | None] = {}
    try:
        for target, content in files.items():
            target.parent.mkdir(parents=True, exist_ok=True)
            fresh[target].write_bytes(content)
        for target, made in fresh.items():
            former = target.read_bytes() if target.exists() else None
            made.replace(target)
            before[target] = former
    except BaseException:
        for target, former in before.items():
            with suppress(OSError):
                target.unlink() if former is None else target.write_bytes(former)
        raise
    finally:
        for made in fresh.values():
            with suppress(OSError):
                made.unlink(missing_ok=True)


def sha256_of(contents: Iterable[bytes]) -> str:
    """SHA-256 of the files of one document, one after the other."""
    found = sha256()
    for content in contents:
        found.update(content)
    return found.hexdigest()
