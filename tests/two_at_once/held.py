"""A command in a process of its own, held at a moment of its work until it is let go."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from tests.conftest import ROOT

LOAD_WRITES = "pipeline.load.loading:write_records"
"""A load in its transaction: what it matched is not written yet."""
FIGURES_ARE_MADE = "pipeline.figures.refresh:state_of"
"""The refresh after a load, with the store open for writing."""
REPORT_READS = "pipeline.publish.documents:first_pages"
"""A report with the store open for reading."""
REPORT_WRITES = "pipeline.publish.pool:write_whole"
"""A report whose pages are laid out, just before its first file is written; in this process (``--workers 1``)."""
LIST_IS_WRITTEN = "pipeline.publish.render_cache:write_whole"
"""A report whose documents are written, just before the list of them is."""
PROFILE_IS_WRITTEN = "pipeline.draft.build:_write"
"""A draft of a source profile that has found its name free."""
UNDO_WRITES = "pipeline.store.undo:lift"
"""Taking back, in its transaction."""
STORE_IS_MADE = "pipeline.store.checkpoint:taking_its_place"
"""A load that has found no store, and is about to make one."""
DECISIONS_ARE_READ = "pipeline.store.decide:read_decisions"
"""A decision, before it knows which there are."""
DEMO_CLAIMS = "pipeline.cli.demo:_claim"
"""The demo, which has found its folder empty."""
DEMO_BEGINS = "pipeline.cli.demo:demo_workspace"
"""The demo, which has begun to write."""


@dataclass
class Held:
    """A command that waits; ``let_go`` ends it and says what became of it."""

    process: subprocess.Popen[str]
    go: int
    done: list[tuple[int, str, str]] = field(default_factory=list)

    @property
    def in_use(self) -> str:
        """What another command says where this one holds the store."""
        return (
            f"The store store.duckdb is in use by another program (process {self.process.pid}).\n"
            "Close that program, or wait until it has finished, and try again. Nothing was changed.\n"
        )

    def let_go(self) -> tuple[int, str, str]:
        """Exit code, standard output and standard error."""
        if not self.done:
            os.write(self.go, b".")
            out, err = self.process.communicate()
            self.done.append((self.process.returncode, out, err))
        return self.done[0]


@contextmanager
def held(point: str, *words: object) -> Iterator[Held]:
    """A command held at a moment of its work, during the block; let go at its end at the latest.

    Args:
        point: one of those above.
        words: of the command line.

    Raises:
        AssertionError: it ended before it came to that moment.
    """
    (ready, tell), (wait, go) = os.pipe(), os.pipe()
    command = [sys.executable, "-m", "tests.two_at_once.child", point, str(tell), str(wait), *map(str, words)]
    process = subprocess.Popen(
        command, pass_fds=(tell, wait), cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    os.close(tell)
    os.close(wait)
    try:
        came = os.read(ready, 1)
        assert came, f"it ended before {point}: {process.communicate()}"
        one = Held(process, go)
        yield one
        one.let_go()
    finally:
        process.kill()
        process.communicate()
        os.close(ready)
        os.close(go)
