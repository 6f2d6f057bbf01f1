"""One target in a process of its own: ``python -m tests.fuzz.drive NAME SECONDS SEED FOLDER``.

With atheris (coverage-guided) where it can be imported, else with mutations of the seeds drawn at random.
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from tests.fuzz.target import Target
from tests.fuzz.target import folder as files_of_process

MODULES = ("values", "said", "tables", "pages")
"""Modules of targets: a process imports that of its own alone."""
ROOT = Path(__file__).parents[2]
MOST_MB = 400
"""Memory that one input may add to a process, MB."""
WATCHED = ("pipeline", "schemas", "reports")


class Hang(BaseException):
    """An input takes too long; no ``except Exception`` of what is tried may take it for its own."""


@dataclass
class Find:
    """A promise that did not hold: where, what was said, and the shortest input seen."""

    place: str
    said: str
    data: str


@dataclass
class Sum:
    """What a run of a target came to."""

    name: str
    engine: str
    inputs: int = 0
    seconds: float = 0.0
    peak_mb: float = 0.0
    slowest: float = 0.0
    finds: dict[str, Find] = field(default_factory=dict)


def modules() -> Iterator[tuple[str, tuple[Target, ...]]]:
    """Every module of targets with its targets."""
    for name in MODULES:
        yield name, import_module(f"tests.fuzz.{name}").TARGETS


class Driver:
    """Tries inputs on a target and keeps count.

    Args:
        target: what is tried.
        engine: its name, for the sum.
        seconds: when to stop.
        out: the file for the sum.
    """

    def __init__(self, target: Target, engine: str, seconds: float, out: Path) -> None:
        self.target, self.out, self.limit = target, out, seconds
        self.sum = Sum(target.name, engine)
        self.begun = time.monotonic()

    def __call__(self, data: bytes) -> None:
        """Try one input; what does not hold is noted, and the next one goes on."""
        before, began = _peak(), time.process_time()
        try:
            with limited(self.target.seconds):
                self.target.run(data)
        except (Exception, Hang) as fault:  # whatever it is, it is a find
            self._note(fault, data)
        grown = _peak() - before
        if grown > MOST_MB:
            self._note(MemoryError(f"{grown:.0f} MB"), data)
        self.sum.slowest = max(self.sum.slowest, time.process_time() - began)
        self.sum.inputs += 1
        if self.sum.inputs % 64 == 0 or self.target.share >= 3:
            self.stop_in_time()

    def stop_in_time(self) -> None:
        """End the process with its sum written, where the time is up."""
        if time.monotonic() - self.begun > self.limit:
            self.end()

    def end(self) -> NoReturn:
        """Write the sum and end: the engine knows no other way back."""
        self.sum.seconds, self.sum.peak_mb = time.monotonic() - self.begun, _peak()
        self.out.write_text(json.dumps(asdict(self.sum)), "utf-8")
        sys.stderr.flush()
        shutil.rmtree(files_of_process(), ignore_errors=True)
        os._exit(0)

    def _note(self, fault: BaseException, data: bytes) -> None:
        place, said = place_of(fault), f"{type(fault).__name__}: {fault}"[:600]
        known = self.sum.finds.get(place)
        coded = base64.b64encode(data).decode()
        if known is None or len(data) < len(base64.b64decode(known.data)):
            self.sum.finds[place] = Find(place, said, coded)
            self.out.with_suffix(".finds.json").write_text(json.dumps(asdict(self.sum)), "utf-8")


def place_of(fault: BaseException) -> str:
    """Where something did not hold: sort of fault, and file and line of the innermost place that is ours."""
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [one for one in frames if Path(one.filename).is_relative_to(ROOT) and "/.venv/" not in one.filename]
    ours = [one for one in ours if not one.filename.endswith("drive.py")] or ours
    last = ours[-1] if ours else None
    where = f"{Path(last.filename).relative_to(ROOT)}:{last.lineno} {last.name}" if last else "nowhere of ours"
    return f"{type(fault).__name__} at {where}"


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """A stretch that ends with ``Hang`` after so much processor time."""

    def stop(*_: object) -> None:
        raise Hang(f"more than {seconds:g} s")

    signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


def _peak() -> float:
    """Most memory that this process had, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def found(name: str, importing: Callable[[], contextlib.AbstractContextManager[Any]]) -> Target:
    """The target of a name, its code imported within a context that watches it."""
    for module in MODULES:
        if re.search(rf'Target\(\s*"{name}"', (Path(__file__).parent / f"{module}.py").read_text("utf-8")):
            with importing():
                targets = import_module(f"tests.fuzz.{module}").TARGETS
            return next(one for one in targets if one.name == name)
    raise SystemExit(f"there is no target {name}")


def main(name: str, seconds: str, seed: str, folder: str) -> None:
    """Drive one target."""
    out = Path(folder) / f"{name}.json"
    try:
        import atheris
    except ImportError:
        target = found(name, contextlib.nullcontext)
        by_chance(Driver(target, "random", float(seconds), out), int(seed))
    else:
        target = found(name, lambda: atheris.instrument_imports(include=list(WATCHED)))
        by_coverage(atheris, Driver(target, "atheris", float(seconds), out), int(seed), Path(folder) / name)


def by_coverage(atheris: Any, driver: Driver, seed: int, corpus: Path) -> None:
    """Inputs that reach new code are kept and changed further."""
    corpus.mkdir(parents=True, exist_ok=True)
    for number, one in enumerate(driver.target.seeds()):
        (corpus / f"seed-{number}").write_bytes(one)
    words = corpus.with_suffix(".dict")
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in driver.target.words if word), "utf-8")
    options = [
        "fuzz", str(corpus),
        f"-seed={seed}", f"-dict={words}", f"-max_len={driver.target.most}", "-rss_limit_mb=0",
        "-timeout=1000", f"-artifact_prefix={corpus.parent}/", "-report_slow_units=0", "-len_control=20",
    ]  # fmt: skip
    atheris.Setup(options, driver)
    atheris.Fuzz()
    driver.end()


def _escaped(word: str) -> str:
    """A word as libFuzzer's dictionaries have it."""
    return "".join(f"\\x{byte:02X}" for byte in word.encode("utf-8", "surrogateescape"))


def by_chance(driver: Driver, seed: int) -> None:
    """Seeds, each changed a few times at random; nothing is known of what they reach."""
    dice = random.Random(seed)  # noqa: S311 - it makes inputs
    seeds = driver.target.seeds() or [b""]
    words = [word.encode("utf-8", "surrogateescape") for word in driver.target.words]
    for one in seeds:
        driver(one)
    while True:
        driver(changed(dice, seeds, words)[: driver.target.most])
        driver.stop_in_time()


def changed(dice: random.Random, seeds: Sequence[bytes], words: Sequence[bytes]) -> bytes:
    """A seed after one to six accidents."""
    data = dice.choice(seeds)
    for _ in range(dice.randint(1, 6)):
        at, to = sorted((dice.randint(0, len(data)), dice.randint(0, len(data))))
        how = dice.randrange(6)
        if how == 0:
            data = data[:at] + data[to:]
        elif how == 1:
            data = data[:to] + data[at:]
        elif how == 2 and words:
            data = data[:at] + dice.choice(words) + data[at:]
        elif how == 3:
            other = dice.choice(seeds)
            data = data[:at] + other[dice.randint(0, len(other)) :]
        elif how == 4:
            data = data[:at] + dice.randbytes(dice.randint(1, 4)) + data[at:]
        else:
            data = data[:at] + bytes([dice.choice(b" .,-/:0123456789abcxX%")]) + data[at + 1 :]
    return data


if __name__ == "__main__":
    main(*sys.argv[1:])
