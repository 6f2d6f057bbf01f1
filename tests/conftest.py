"""What many tests share: workspaces, a small county, and the open data files beside the checkout."""

from __future__ import annotations

import gc
import os
import pickle
import shutil
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from shutil import copyfile
from typing import Any

import pytest
import typer.main
from hypothesis import is_hypothesis_test, settings

from pipeline.cli import terminal
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.proof.seals import salts_of_a_demo
from pipeline.store.shared import attach_to_read
from pipeline.store.store import Store
from pipeline.store.tables_between import FORMER, take_over
from pipeline.survey.condition_survey import ConditionSurvey
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.laid import laid, patched
from tests.no_network.guard import refuse_network
from tests.outside_checks import SORTS, sort_of
from tests.shared.fixtures import postgres, shared_stores, workspace_with
from tests.thorough import FUZZ, THOROUGH, left_out, thorough

__all__ = ["postgres", "shared_stores"]

# The ordinary run tries the same examples each time, so that it is green each time; ``make fuzz`` draws at random.
# A shared machine may stall any single example; the time limit is the whole test's.
settings.register_profile("ordinary", deadline=None, derandomize=True, database=None)
settings.register_profile("fuzz", deadline=None, print_blob=True)
settings.load_profile("fuzz" if FUZZ else "ordinary")

refuse_network()

# A person's process makes the tree of commands once; without this each call within a test would make it anew.
typer.main.get_command = cache(typer.main.get_command)  # type: ignore[assignment]

ROOT = Path(__file__).parents[1]
TODAY = date(2026, 11, 1)

CLUBS = "club,name,region\nALD,Alder Brook Bowls Club,Ostershire\n"
GREENS = "green,club,name,area_m2,shape,laid_on,aliases\nALD-1,ALD,Main green,1600,flat,1926-05-01,Alder Brook\n"
MATERIALS = (
    "material,sort,form,analysis,analysis_basis,mix,bulk_density_t_m3,pack,price,release_weeks\n"
    "spring granular 11-5-5 + 8 Fe,fertiliser,solid,11-5-5 + 8 Fe,oxide,,,25 kg,31.5,6\n"
    "70/30 sand and soil,top dressing,solid,,,70/30,1.5,,,\n"
)
REGISTERS = {"clubs.csv": CLUBS, "greens.csv": GREENS, "materials.csv": MATERIALS}

Load = Callable[..., FileResult]


LEFT_OUT = pytest.StashKey[int]()
"""How many tests the ordinary run left out."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what is thorough, note what each test is held against, multiply the examples in ``make fuzz``."""
    out = [] if THOROUGH else left_out(items)
    config.stash[LEFT_OUT] = len(out)
    if out:
        config.hook.pytest_deselected(items=out)
        ids = {id(one) for one in out}
        items[:] = [one for one in items if id(one) not in ids]
    for item in items:
        if sort := sort_of(item.own_markers):
            item.user_properties.append(("outside", sort))
    for test in property_tests(items) if FUZZ else ():
        own = test._hypothesis_internal_use_settings
        test._hypothesis_internal_use_settings = settings(own, max_examples=own.max_examples * FUZZ)


def pytest_collection_finish() -> None:
    """What was imported and collected stays to the end: looking through it for waste is a tenth of a short test."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)  # as the command line does


def property_tests(items: Iterable[pytest.Item]) -> Iterator[Any]:
    """The functions of the tests that Hypothesis draws examples for."""
    for item in items:
        function = getattr(item, "obj", None)
        if function is not None and is_hypothesis_test(function):
            yield getattr(function, "__func__", function)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how many checks that passed held the tool against something outside it, by sort."""
    done = [one for one in terminalreporter.stats.get("passed", []) if one.when == "call"]
    count = Counter(value for one in done for name, value in one.user_properties if name == "outside")
    by_sort = ", ".join(f"{count[sort]:,} {sort}" for sort in SORTS)
    terminalreporter.write_line(f"Checks against something outside: {count.total():,} of {len(done):,} ({by_sort}).")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A process of the run tells the one that reports how many tests it left out; all of them leave out the same."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["left_out"] = session.config.stash.get(LEFT_OUT, 0)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take the number from the process that has ended."""
    told = getattr(node, "workeroutput", {}).get("left_out", 0)
    node.config.stash[LEFT_OUT] = max(node.config.stash.get(LEFT_OUT, 0), told)


@pytest.hookimpl(trylast=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Say in the last lines of the run how many tests were left out or skipped, and why."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter and not hasattr(config, "workerinput") else []
    reasons = Counter(str(one.longrepr[2]).removeprefix("Skipped: ") for one in skipped)
    if reasons:
        reporter.write_line("Skipped: " + "; ".join(f"{count}, because {why}" for why, count in reasons.items()))
    if reporter and not hasattr(config, "workerinput") and (count := config.stash.get(LEFT_OUT, 0)):
        reporter.write_line(f"Left out: {count:,}, more cases of what was tested; make thorough runs them.")


@pytest.fixture(scope="session")
def soffice() -> str:
    """The spreadsheet program; the test is skipped where there is none, and fails where CI is set."""
    found = shutil.which("soffice")
    if found is None:
        said = "LibreOffice Calc (soffice) is not installed"
        pytest.fail(f"{said}, and CI runs every test") if os.environ.get("CI") == "true" else pytest.skip(said)
    return found


@pytest.fixture
def outside_data() -> Path:
    """Folder of open data files that lie beside the checkout; the test is skipped where it is absent."""
    folder = Path(os.environ.get("OUTSIDE_DATA", ROOT.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip(f"open data files are not at {folder}; set OUTSIDE_DATA to the folder that holds them")
    return folder


@pytest.fixture(autouse=True, scope="session")
def _known_salts() -> Iterator[None]:
    """What tests hold of documents has the hash of their records, and so their salts."""
    with salts_of_a_demo():
        yield


@pytest.fixture(autouse=True)
def _no_workspace_named() -> Iterator[None]:
    """A command run within a test names its workspace in what is printed; the next test starts without one."""
    yield
    terminal.name_workspace(Path(), ())


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test of a module marked ``both_stores`` is run on a store in a file and on a shared one."""
    mark = metafunc.definition.get_closest_marker("both_stores")
    if mark is None or "workspace" not in metafunc.fixturenames:
        return
    ordinary = metafunc.function.__name__ in mark.kwargs["ordinary"]
    if metafunc.definition.get_closest_marker("in_a_file") is None:
        shared = pytest.param("shared", marks=() if ordinary else thorough)
        metafunc.parametrize("kept", ["file", shared], indirect=True)


@pytest.fixture
def kept(request: pytest.FixtureRequest) -> str:
    """How the store of the test's workspace is kept: in a file, or shared."""
    return str(getattr(request, "param", "file"))


@pytest.fixture
def workspace(tmp_path: Path, registers: tuple[Path, Path], kept: str, request: pytest.FixtureRequest) -> Workspace:
    """An empty workspace."""
    folder = tmp_path / "workspace"
    if kept == "shared":
        return workspace_with("county" if "county" in request.fixturenames else "empty", folder, request)
    folder.mkdir()
    make_workspace(folder)
    copyfile(registers[0], folder / "store.duckdb")
    return open_workspace(folder)


@pytest.fixture
def load(workspace: Workspace, tmp_path: Path, request: pytest.FixtureRequest) -> Load:
    """Loads a text (or bytes) as a file of that name into the workspace; ``tests.laid`` says when it is copied."""

    def _load(name: str, content: str | bytes, **options: object) -> FileResult:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        if patched(request.node.funcargs.get("monkeypatch")) or not isinstance(workspace.store, Path):
            return load_paths(workspace, [path], today=TODAY, **options)[0]  # type: ignore[arg-type]
        return laid(workspace, path, today=TODAY, **options)

    return _load


@pytest.fixture(scope="session")
def registers(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """An empty store, and one with the registers of the small county; copied, for making one takes half a second."""
    folder = tmp_path_factory.mktemp("registers")
    make_workspace(folder)
    workspace = open_workspace(folder)
    with Store(workspace.store):
        pass
    empty = folder / "empty.duckdb"
    copyfile(workspace.store_file, empty)
    for name, text in REGISTERS.items():
        (folder / name).write_text(text, "utf-8")
        assert not load_paths(workspace, [folder / name], today=TODAY)[0].failed
    return empty, workspace.store_file


@pytest.fixture
def county(load: Load, workspace: Workspace, registers: tuple[Path, Path]) -> Load:
    """A workspace with one club, one green and two materials; loads further files into it."""
    if isinstance(workspace.store, Path):  # a shared one was made so
        copyfile(registers[1], workspace.store)
    return load


def put_store(path: Path, workspace: Workspace) -> None:
    """Have the store of a workspace be a copy of this one, in whatever way it is kept."""
    if isinstance(workspace.store, Path):
        copyfile(path, workspace.store)
    else:
        with Store(workspace.store) as store:
            attach_to_read(store.con, path, FORMER)
            with store.transaction() as con:
                take_over(con)


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """A folder that all processes of the run share."""
    base = tmp_path_factory.getbasetemp()
    return base if worker_id == "master" else base.parent


@pytest.fixture(scope="session")
def demo_county(shared_folder: Path) -> Workspace:
    """The demo county, loaded once for all processes of the run: to be read, never written."""
    from pipeline.cli.demo import DEMO_DAY, FOLDERS, demo_workspace

    folder = shared_folder / "demo-county"

    def make() -> None:
        workspace = demo_workspace(folder)
        with as_file(files("demo_data")) as source:
            for name in FOLDERS:
                load_paths(workspace, [source / name], today=DEMO_DAY)

    once(folder, make)
    return open_workspace(folder)


@pytest.fixture(scope="session")
def demo_seasons(shared_folder: Path, demo_county: Workspace) -> tuple[GreenSeason, ...]:
    """Every green of the demo county in its latest season, by code, made once for all processes of the run."""
    from pipeline.indicators.base.reading import read_records
    from pipeline.indicators.base.records import latest_season
    from pipeline.season.green import green_season

    folder = shared_folder / "demo-seasons"

    def make() -> None:
        with Store(demo_county.store, read_only=True) as store:
            records = read_records(store)
        span = latest_season(records, demo_county)
        assert span is not None
        seasons = tuple(green_season(records, green, span, demo_county) for green in records.greens["green"].sort())
        (folder / "seasons").write_bytes(pickle.dumps(seasons))

    once(folder, make)
    found: tuple[GreenSeason, ...] = pickle.loads((folder / "seasons").read_bytes())  # noqa: S301 (our own, just made)
    return found


@pytest.fixture(scope="session")
def demo_surveys(shared_folder: Path, demo_county: Workspace) -> tuple[ConditionSurvey, ...]:
    """The last survey of every surveyed green of the demo county, made once for all processes of the run."""
    from pipeline.survey.build import last_surveys

    folder = shared_folder / "demo-surveys"
    once(folder, lambda: (folder / "surveys").write_bytes(pickle.dumps(tuple(last_surveys(demo_county)))))
    found: tuple[ConditionSurvey, ...] = pickle.loads((folder / "surveys").read_bytes())  # noqa: S301 (our own, just made)
    return found


def once(folder: Path, make: Callable[[], object], seconds: int = 200) -> None:
    """Makes what is to lie in a folder, in the first process of the run that asks; the others wait until it is done."""
    try:
        folder.mkdir()
    except FileExistsError:
        until = time.monotonic() + seconds
        while not (folder / "done").exists():
            assert time.monotonic() < until, f"the process that makes {folder.name} has not finished"
            time.sleep(0.2)
        return
    make()
    (folder / "done").touch()
