"""Whether this machine has what loading and rendering need, and what a workspace waits for."""

from __future__ import annotations

import platform
import sys
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.common.refusal import CannotDo, OlderLayout
from pipeline.common.words import counted, listed

if TYPE_CHECKING:
    from datetime import datetime

    from pipeline.store.store import Store
    from pipeline.workspace.settings import Workspace

PACKAGES = ("duckdb", "polars", "pandera", "jinja2", "weasyprint", "vl-convert-python", "scipy", "typer")


@dataclass(frozen=True)
class Check:
    """One thing looked at: whether it is fine, what was found, and what to do where it is not."""

    what: str
    fine: bool
    found: str
    hint: str = ""

    def as_json(self) -> dict[str, Any]:
        """The check's part of ``doctor --json``."""
        return asdict(self)


def examine() -> list[Check]:
    """Every check, in the order a person would mend them."""
    checks = [
        Check("Python 3.11 or newer", sys.version_info >= (3, 11), platform.python_version(), "Install Python 3.11.")
    ]
    for name in PACKAGES:
        try:
            checks.append(Check(name, True, version(name)))
        except PackageNotFoundError:
            checks.append(Check(name, False, "not installed", "make setup"))
    return [*checks, _pango()]


def _pango() -> Check:
    """Pango, which lays the text of a page out, found by making a page."""
    try:
        import weasyprint

        made = bool(weasyprint.HTML(string="<p>a</p>").write_pdf())
    except OSError as error:
        return Check("Pango (text layout)", False, str(error).splitlines()[0], pango_hint())
    return Check("Pango (text layout)", made, "a page was made")


def pango_hint() -> str:
    """The command that installs Pango on this platform."""
    return {
        "Linux": "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
        "Darwin": "brew install pango",
        "Windows": "pacman -S mingw-w64-ucrt-x86_64-pango (in MSYS2)",
    }.get(platform.system(), "Install Pango 1.44 or newer with HarfBuzz-Subset.")


def look_at(folder: Path) -> list[Check]:
    """The checks of a workspace; where its settings or its store cannot be read, what rests on them is left out."""
    from pipeline.store.decisions import now
    from pipeline.store.store import Store
    from pipeline.workspace.settings import open_workspace

    try:
        here = open_workspace(folder)
    except CannotDo as error:
        return [Check("Workspace", False, error.message, error.hint)]
    checks = [Check("Workspace", True, str(folder.absolute())), _profiles(here)]
    if not here.store.exists():
        return [*checks, Check("Store", True, "none yet; the first load makes it")]
    try:
        with Store(here.store, read_only=True) as store:
            held = [_clock(store, now()), _rows(store)]
        readable = Check("Store", True, f"{here.store.name} can be read")
        return [*checks, readable, *held, _records(here), _figures(here), _rejected(here)]
    except CannotDo as error:
        return [*checks, Check("Store", False, error.message, error.hint)]


def brought_up(folder: Path) -> str:
    """What became of a workspace's store that was to be brought up to this version's layout.

    Raises:
        CannotDo: the folder is no workspace or has no store, or the store cannot be written.
    """
    from pipeline.cli.figures_up import figures_not_up
    from pipeline.figures.refresh import keep_up
    from pipeline.store.store import Store
    from pipeline.workspace.settings import open_workspace

    here = open_workspace(folder)
    try:
        with Store(here.store, read_only=True):
            said = f"The store {here.store.name} has this version's layout already"
    except OlderLayout:
        said = f"The store {here.store.name} was brought up to the layout of this version"
    with Store(here.store):  # takes away as well what one has left that was killed on the way
        pass
    try:
        keep_up(here)
    except CannotDo as error:
        return f"{said}; {figures_not_up(error.message)}"
    return f"{said}."


def _clock(store: Store, at: datetime) -> Check:
    """Whether this machine's time is after that of every load; what is past can no longer be mended and is told."""
    from pipeline.store.clock import latest, minute, set_back, told

    last = latest(store)
    if last and at < last.at:
        said = f"it is {minute(at)} UTC by this machine, and {last.words} lies ahead"
        hint = "Look at date and time of this machine: dates that it takes to be still to come are refused."
        return Check("Clock", False, said, hint)
    return Check("Clock", True, told(set_back(store)) or "every load came after the one before it")


def _rows(store: Store) -> Check:
    """Whether there are as many rows as the loads have brought."""
    from pipeline.store.balance import imbalances

    if found := [str(one) for one in imbalances(store)]:
        hint = "Write nothing more. swardtally verify names what differs; restore makes the store of a backup."
        return Check("Rows", False, "; ".join(found), hint)
    return Check("Rows", True, "counted, gone through and by the ledger the same")


def _profiles(here: Workspace) -> Check:
    """Source profiles: whether each can be read, and whether a person has decided every "?" in it."""
    from pipeline.load.files import undecided_profiles

    try:
        waiting = undecided_profiles(here)
    except CannotDo as error:
        return Check("Source profiles", False, error.message, error.hint)
    if waiting:
        hint = f"Open each in {here.profiles} and decide every “?”; until then files that it fits are refused."
        return Check("Source profiles", False, f"“?” stands in {listed(sorted(waiting))}", hint)
    return Check("Source profiles", True, counted(len(list(here.profiles.glob("*.toml"))), "profile"))


def _records(here: Workspace) -> Check:
    """Records, ledger and originals: whether they are what the chain of hashes says."""
    from pipeline.verify.verify import verify

    found = verify(here, quick=True)
    if found.whole:
        return Check("Records", True, f"{counted(found.loads, 'load')} as they were loaded")
    first, *rest = found.alterations
    more = f" And {len(rest)} more." if rest else ""
    return Check("Records", False, f"{first.message}{more}", "swardtally verify names each difference.")


def _figures(here: Workspace) -> Check:
    """Figures in the store: whether they are of its records, settings and this version."""
    from pipeline.figures.state import standing

    found = standing(here)
    number = counted(found.seasons, "season of a green", "seasons of greens")
    if not found.stale:
        return Check("Figures", True, number)
    hint = "show and report make theirs from the records; the next load, undo or decision brings these up."
    return Check("Figures", False, f"{number}: {found.stale}", hint)


def _rejected(here: Workspace) -> Check:
    """Rejected rows that nobody has mended or set aside yet."""
    from pipeline.indicators.base.open_matters import open_matters

    waiting = sum(one.sort == "rejected" for one in open_matters(here))
    if not waiting:
        return Check("Rejected rows", True, "none")
    hint = "swardtally status lists them with what to do."
    return Check("Rejected rows", False, f"{counted(waiting, 'row')} outside the store", hint)
