"""What ``requirements.lock`` holds, and which of it the product itself needs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path

from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

LOCK = Path(__file__).parents[2] / "requirements.lock"


@dataclass(frozen=True)
class Locked:
    """One pinned library.

    Attributes:
        name: its name, canonical.
        version: its version.
        marker: of which machines it holds, "" for all.
        hashes: SHA-256 of each of its files.
        text: its lines of the lock.
    """

    name: str
    version: str
    marker: str
    hashes: tuple[str, ...]
    text: str

    @property
    def here(self) -> bool:
        """Whether it holds of this machine."""
        return not self.marker or Marker(self.marker).evaluate()


def locked(path: Path = LOCK) -> tuple[Locked, ...]:
    """Every entry, in the order of the lock."""
    return tuple(_entry(text) for text in re.split(r"(?m)^(?=[A-Za-z0-9])", path.read_text("utf-8")) if text.strip())


def _entry(text: str) -> Locked:
    wanted = Requirement(text.partition("\\")[0].partition("--hash")[0].strip())
    (pin,) = wanted.specifier
    assert pin.operator == "==", text
    hashes = tuple(re.findall(r"--hash=sha256:([0-9a-f]{64})", text))
    return Locked(canonicalize_name(wanted.name), pin.version, str(wanted.marker or ""), hashes, text)


def runtime_names(project: str = "swardtally") -> frozenset[str]:
    """Canonical names of all libraries the product needs on this machine, with what those need in turn."""
    found: set[str] = set()
    waiting = [(project, frozenset[str]())]
    while waiting:
        name, extras = waiting.pop()
        for one in _needs(name, extras):
            if (needed := canonicalize_name(one.name)) not in found:
                found.add(needed)
                waiting.append((needed, frozenset(one.extras)))
    return frozenset(found)


def _needs(name: str, extras: frozenset[str]) -> Iterator[Requirement]:
    """What a distribution needs here; nothing where it is not installed, for then this machine does not need it."""
    try:
        told = requires(name) or ()
    except PackageNotFoundError:
        return
    for one in map(Requirement, told):
        if one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in (*extras, "")):
            yield one
