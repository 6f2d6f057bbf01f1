"""``python -m tests.fuzz [--minutes N] [--jobs N] [--keep] [NAME ...]``: every target, and a table of what came of it.

Each target is a process of its own (:mod:`tests.fuzz.drive`), with a share of the time. What was found lies in
``.fuzz`` beside the checkout's other working files, the shortest input of each find in the table. ``--keep`` adds some
of the inputs that reached new code to the seeds.
"""

from __future__ import annotations

import argparse
import base64
import json
import re
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from tests.fuzz.drive import ROOT, modules
from tests.fuzz.target import SEEDS, Target, bytes_of, line_of

WORK = ROOT / ".fuzz"
MOST_KEPT, LONGEST_KEPT = 40, 120
"""Inputs that ``--keep`` adds to the seeds of a target, and the longest of them, bytes."""
_COVERED = re.compile(r"cov: (\d+)")


def main(arguments: Sequence[str]) -> int:
    """Run the targets; 1 where something was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("names", nargs="*")
    parser.add_argument("--minutes", type=float, default=38.0)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seed", type=int, default=int(time.time()) % 2**31)
    parser.add_argument("--keep", action="store_true")
    asked = parser.parse_args(arguments)
    every = [one for _, targets in modules() for one in targets]
    wanted = [one for one in every if not asked.names or one.name in asked.names]
    if unknown := set(asked.names) - {one.name for one in every}:
        parser.error(f"there is no target {', '.join(sorted(unknown))}; targets are {', '.join(o.name for o in every)}")
    WORK.mkdir(exist_ok=True)
    whole = asked.minutes * 60 * min(asked.jobs, len(wanted)) / sum(one.share for one in wanted)
    began = time.monotonic()
    longest_first = sorted(wanted, key=lambda one: -one.share)
    with ThreadPoolExecutor(asked.jobs) as jobs:
        sums = dict(zip((one.name for one in longest_first), jobs.map(
            lambda one: _driven(one, whole * one.share, asked.seed), longest_first), strict=True))  # fmt: skip
    for line in told([sums[one.name] for one in wanted], time.monotonic() - began, asked.seed):
        sys.stdout.write(f"{line}\n")
    if asked.keep:
        for one in wanted:
            keep(one, WORK / one.name)
    return int(any(one["finds"] or one["ended"] for one in sums.values()))


def _driven(target: Target, seconds: float, seed: int) -> dict[str, Any]:
    """The sum of one target's process."""
    out, log = WORK / f"{target.name}.json", WORK / f"{target.name}.log"
    out.unlink(missing_ok=True)
    sys.stderr.write(f"{target.name}: {seconds:.0f} s\n")
    with log.open("w") as said:
        call = [sys.executable, "-m", "tests.fuzz.drive", target.name, str(seconds), str(seed), str(WORK)]
        done = subprocess.run(call, stderr=said, stdout=said, check=False, cwd=ROOT)
    text = log.read_text("utf-8", "replace")
    covered = [int(one) for one in _COVERED.findall(text)]
    early = {
        "name": target.name,
        "engine": "",
        "inputs": 0,
        "seconds": 0.0,
        "peak_mb": 0.0,
        "slowest": 0.0,
        "finds": {},
    }
    found: dict[str, Any] = json.loads(out.read_text("utf-8")) if out.exists() else early
    ended = "" if out.exists() else f"ended early ({done.returncode}): {text[-300:]}"
    return {**found, "covered": (covered[0], covered[-1]) if covered else None, "ended": ended, "about": target.about}


def told(sums: Sequence[dict[str, Any]], seconds: float, seed: int) -> Iterator[str]:
    """The sum as a table, then each find with its input."""
    reached = "branches reached"
    yield f"{'target':<12}{'inputs':>11}{'seconds':>9}{'a second':>10}  {reached:<20}  slowest   memory  finds"
    for one in sums:
        rate = one["inputs"] / one["seconds"] if one["seconds"] else 0
        first, last = one["covered"] or (0, 0)
        reached = f"{first:,} → {last:,}" if last else "not measured"
        yield (
            f"{one['name']:<12}{one['inputs']:>11,}{one['seconds']:>9.0f}{rate:>10,.0f}  {reached:<20}"
            f"{one['slowest']:>7.2f} s{one['peak_mb']:>6.0f} MB  {len(one['finds']) or 'none'}{one['ended']}"
        )
    count, finds = sum(one["inputs"] for one in sums), sum(len(one["finds"]) for one in sums)
    engines = ", ".join(sorted({one["engine"] for one in sums if one["engine"]}))
    spent = f"{seconds / 60:.1f} minutes ({engines}, seed {seed})"
    yield f"{count:,} inputs of {len(sums)} targets in {spent}: {finds} finds"
    for one in sums:
        for find in one["finds"].values():
            yield f"\n{one['name']}: {find['place']}\n  {find['said']}\n  input: {base64.b64decode(find['data'])!r}"


def keep(target: Target, corpus: Path) -> None:
    """Add some of the inputs that reached new code to the seeds of a target, shortest first."""
    path = SEEDS / f"{target.name}.txt"
    known = {bytes_of(line) for line in path.read_text("utf-8").splitlines()} if path.exists() else set()
    new = {one.read_bytes() for one in corpus.glob("*") if one.stat().st_size <= LONGEST_KEPT} - known
    some = sorted(new, key=lambda one: (-len(one), one))[: MOST_KEPT * 4 : 4]
    path.write_text("".join(f"{line}\n" for line in sorted(map(line_of, {*known, *some}))), "utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
