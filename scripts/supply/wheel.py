"""``make wheel-twice``: wheel and sdist, built twice from two folders under other rules, come out byte for byte alike.

``make wheel-demo``: the wheel, installed beside its locked libraries and nothing else, makes the demo.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from scripts.supply.lock import LOCK
from scripts.supply.runtime import make_runtime

ROOT = LOCK.parent
EPOCH = "1700000000"
"""SOURCE_DATE_EPOCH of both builds: a fixed moment, for what is compared is the bytes and not the date."""
RULES = ((0o022, "UTC", "C.UTF-8"), (0o077, "Asia/Tokyo", "C"))
"""Umask, time zone and locale of the first build and of the second."""
PACKAGES = ("pipeline", "schemas", "reports", "demo_data")
"""What the wheel holds (``tool.hatch.build.targets.wheel`` of pyproject.toml)."""


def sources() -> tuple[Path, ...]:
    """The files of the repository, relative to it, as git has them."""
    told = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True)  # noqa: S607
    return tuple(Path(one) for one in told.stdout.split("\0") if one and (ROOT / one).is_file())


def copy_sources(to: Path) -> None:
    """Copy these into a folder."""
    for one in sources():
        (to / one).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(ROOT / one, to / one)


def builds(folder: Path, kinds: Sequence[str]) -> tuple[Mapping[str, bytes], Mapping[str, bytes]]:
    """What two builds came to, by file name: from two copies in a folder, at one time, under the two `RULES`.

    Args:
        folder: an empty one.
        kinds: of ``wheel`` and ``sdist``.

    Raises:
        AssertionError: a build failed; it says what was printed.
    """
    running, made = [], []
    for number, (umask, zone, locale) in enumerate(RULES, 1):
        copy, out = folder / f"copy-{number}" / ("deeper" * (number - 1)), folder / f"out-{number}"
        old = os.umask(umask)
        try:
            copy_sources(copy)
        finally:
            os.umask(old)
        command = [sys.executable, "-m", "hatchling", "build", "--directory", str(out)]
        command += [part for kind in kinds for part in ("--target", kind)]
        environment = {
            **os.environ,
            "SOURCE_DATE_EPOCH": EPOCH,
            "TZ": zone,
            "LC_ALL": locale,
            "PYTHONHASHSEED": "random",
        }
        running.append(
            subprocess.Popen(  # noqa: S603 (fixed words)
                command,
                cwd=copy,
                env=environment,
                umask=umask,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
        )
        made.append(out)
    for one in running:
        said, _ = one.communicate()
        assert one.returncode == 0, said
    first, second = ({path.name: path.read_bytes() for path in sorted(out.iterdir())} for out in made)
    return first, second


def names_in(wheel: bytes) -> tuple[str, ...]:
    """The files of a wheel, in its order."""
    from io import BytesIO

    with zipfile.ZipFile(BytesIO(wheel)) as held:
        return tuple(held.namelist())


def twice() -> int:
    """Exit code of ``python -m scripts.supply.wheel twice``."""
    with TemporaryDirectory() as folder:
        first, second = builds(Path(folder), ("sdist", "wheel"))
    for name, content in first.items():
        alike = second.get(name) == content
        mark = hashlib.sha256(content).hexdigest()
        sys.stdout.write(f"{name}: {len(content):,} bytes, {'the same twice' if alike else 'NOT the same'} ({mark})\n")
    return 0 if first == second and len(first) == 2 else 1


def demo(folder: Path) -> int:
    """Exit code of ``python -m scripts.supply.wheel demo FOLDER``: that of the demo made by the installed wheel."""
    with TemporaryDirectory() as temporary:
        here = Path(temporary)
        first, _ = builds(here, ("wheel",))
        ((name, content),) = first.items()
        (here / name).write_bytes(content)
        programs = make_runtime(folder, here / name)
        environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
        command = [str(programs / "swardtally"), "demo", "--out", str(here / "demo"), "--quiet"]
        done = subprocess.run(command, cwd=here, env=environment, check=False, capture_output=True, text=True)  # noqa: S603 (fixed words)
        documents = len(list((here / "demo").rglob("*.pdf")))
    failed = [line for line in f"{done.stdout}\n{done.stderr}".splitlines() if "not written" in line]
    sys.stdout.write("".join(f"{line}\n" for line in failed) or done.stderr[-2000:])
    said = f"demo ended with {done.returncode}, {documents} PDFs, {len(failed)} not written"
    sys.stdout.write(f"{name}, installed from the lock: {said}\n")
    return 1 if done.returncode or failed or not documents else 0


if __name__ == "__main__":
    sys.exit(twice() if sys.argv[1] == "twice" else demo(Path(sys.argv[2])))
