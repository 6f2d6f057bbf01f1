"""``make no-network``: the demo and every command in processes that have no network at all; exit 1 where one fails.

Linux takes the network of a process away by itself (``unshare --net``: a namespace with no interface that is up); where
it cannot be taken away this says so and ends with 3.
"""

from __future__ import annotations

import shlex
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

UNSHARE = ("unshare", "--map-root-user", "--net")
COMMANDS = (
    "doctor -w demo",
    "status -w demo",
    "load demo/inbox -w demo",
    "show ALD-1 -w demo",
    "history -w demo",
    "changed -w demo",
    "report --club BRA --force -w demo",
    "survey FEN-1 2026-09-17 --force -w demo",
    "compare --club ALD --force -w demo",
    "programme ALD-1 --last-season -w demo",
    "due --pdf -w demo",
    "costs ALD -w demo",
    "order --season 2027 --to clubs -w demo",
    "words demo/inbox/as_it_arrives/jobs_volunteers.csv -w demo",
    "profile demo/inbox/as_it_arrives/jobs_loose_sheet.csv --name loose -w demo",
    "forms crew -w demo",
    "undo 30 -w demo",
    'decide aside jobs_loose_sheet.csv --why "not ours" --who office -w demo',
    "verify -w demo",
    "prove demo/reports/2026/BRA-1-condition-2026.pdf -w demo",
    'forget "crew A" -w demo',
    "backup copies -w demo",
    "restore copies again",
    "copy demo/store.duckdb copy.duckdb",
    "init fresh",
)
"""Every command once, after ``demo``; each ends with 0, or with 1 where it has faults to tell."""


def main() -> int:
    """Exit code."""
    if shutil.which(UNSHARE[0]) is None or _run([*UNSHARE, "true"]).returncode:
        _say("Not run: this system does not let a process give up its network (unshare --net). The suite's own guard")
        _say("(tests/no_network/guard.py) refuses connections of its processes alone.")
        return 3
    return subprocess.run([*UNSHARE, sys.executable, "-m", "tests.no_network", "inside"], check=False).returncode


def inside() -> int:
    """Exit code of the run within; there is no network here, or it ends at once."""
    _without_network()
    program = str(Path(sys.executable).with_name("swardtally"))
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for words in ("demo --out demo --quiet", *COMMANDS):
            started = time.monotonic()
            done = _run([program, *shlex.split(words)], folder)
            wrong = done.returncode not in {0, 1} or "Traceback" in done.stderr
            failed += wrong
            _say(f"{'FAILED' if wrong else done.returncode} in {time.monotonic() - started:5.1f} s: swardtally {words}")
            if wrong:
                _say(done.stderr)
        documents = len(list(Path(folder, "demo").rglob("*.pdf")))
    _say(f"{len(COMMANDS) + 1} commands without a network, {failed} failed; {documents} PDFs made")
    return 1 if failed or not documents else 0


def _without_network() -> None:
    """Stop where a connection could be made after all: even this machine itself must be out of reach."""
    with socket.socket() as one:
        one.settimeout(2)
        reached = one.connect_ex(("127.0.0.1", 9))
    assert reached == 101, f"the network is still there (errno {reached}, wanted 101, ENETUNREACH)"


def _run(command: Sequence[str], folder: str = ".") -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, check=False, cwd=folder, capture_output=True, text=True, stdin=subprocess.DEVNULL)


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(inside() if sys.argv[1:] == ["inside"] else main())
