"""``python -m tests.two_at_once.child MODULE:NAME READY GO words...``: a command that waits at a moment of its work.

Just before it first calls that function it writes a byte to the pipe READY, and goes on once one comes from GO.
"""

from __future__ import annotations

import functools
import os
import sys
from importlib import import_module
from typing import Any


def main() -> None:
    """Run the command line."""
    point, ready, go, *words = sys.argv[1:]
    module, _, name = point.partition(":")
    _hold(import_module(module), name, int(ready), int(go))
    sys.argv = ["swardtally", *words]
    from pipeline.cli.app import main as run

    run()


def _hold(module: Any, name: str, ready: int, go: int) -> None:
    plain, waited = getattr(module, name), []

    @functools.wraps(plain)
    def waiting(*args: Any, **more: Any) -> Any:
        if not waited:
            waited.append(True)
            os.write(ready, b".")
            os.read(go, 1)
        return plain(*args, **more)

    setattr(module, name, waiting)


if __name__ == "__main__":
    main()
