"""What a person's process begins with: Ctrl-C is told in a sentence also while modules are read and as it ends."""

from __future__ import annotations

import os
import signal
import sys

_CANNOT = 3
"""As in ``options``, which is not read yet."""


def run() -> None:
    """Run the command line in a process of its own."""
    # What is installed beside could else have a say in what settings mean, and every command would look for it.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        from pipeline.cli.app import main
        from pipeline.common.shown_text import take_warnings

        take_warnings()
        main()
    except KeyboardInterrupt:
        _say(b"Stopped. What was not finished was not kept.\n")
        sys.exit(_CANNOT)
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is done and told; what is left is to end


def _say(text: bytes) -> None:
    try:
        os.write(2, text)
    except OSError:
        return
