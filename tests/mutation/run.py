"""Runs tests on a changed module, each change in a process of its own forked from one that has all tests collected."""

from __future__ import annotations

import gc
import os
import signal
import sys
from collections.abc import Callable, Collection, Iterable, Sequence
from functools import cached_property
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from importlib.util import spec_from_loader
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Literal

import pytest
from _pytest.main import pytest_runtestloop as run_items

ROOT = Path(__file__).parents[2]
QUIET = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:cov", "--tb=no", "-n", "0", "-o", "timeout=0"]
QUIET += ["-o", "filterwarnings="]  # what was loaded before pytest cannot be rewritten, which it warns of

LATE = ("scipy.interpolate", "scipy.ndimage", "scipy.optimize", "scipy.spatial", "scipy.special", "scipy.stats")
"""What the code imports only when it needs it: loaded once before the first fork instead of after each."""

Verdict = Literal["killed", "survived", "killed: endless", "not reached"]


def verdict(module: str, source: str, tests: Sequence[pytest.Item], *, whole: bool, seconds: int = 60) -> Verdict:
    """Whether one of the tests fails on the changed module: "killed", or "survived".

    Args:
        module: dotted name of the changed module.
        source: its text as changed.
        tests: collected tests of a session that runs.
        whole: True where what is changed runs when the module is loaded: then all that is ours is loaded anew.
        seconds: what takes longer than this is taken for endless.
    """
    if not tests:
        return "not reached"
    child = os.fork()
    if child == 0:
        os._exit(_silent(_anew if whole else _in_place, module, source, tests, seconds))
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        return "killed: endless" if os.WTERMSIG(status) == signal.SIGALRM else "killed"
    return "survived" if os.WEXITSTATUS(status) == 0 else "killed"


Run = Callable[[str, str, Sequence[pytest.Item]], int]


def _silent(run: Run, module: str, source: str, tests: Sequence[pytest.Item], seconds: int) -> int:
    """Exit code of a run; what it prints goes nowhere, and a changed module may stop it in any way."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.alarm(seconds)
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    try:
        return run(module, source, tests)
    except BaseException:
        return 1


def _in_place(module: str, source: str, tests: Sequence[pytest.Item]) -> int:
    """Put the changed bodies into the functions that are loaded, and run the tests as collected."""
    loaded = sys.modules[module]
    changed = {"__name__": module, "__file__": loaded.__file__}
    exec(compile(source, str(loaded.__file__), "exec", dont_inherit=True), changed)  # noqa: S102 — our own text
    for name, new in changed.items():
        put_in_place(vars(loaded).get(name), new)
    session = tests[0].session
    session.items[:] = tests
    try:
        run_items(session)
    except session.Failed:
        return 1
    return int(session.testsfailed > 0)


def put_in_place(old: object, new: object) -> None:
    """Give a function, or each function of a class, the body of another, so that whoever holds it has the new one."""
    if isinstance(old, FunctionType) and isinstance(new, FunctionType):
        old.__code__, old.__defaults__, old.__kwdefaults__ = new.__code__, new.__defaults__, new.__kwdefaults__
    elif isinstance(old, type) and isinstance(new, type) and old.__module__ == new.__module__:
        for name, member in vars(new).items():
            put_in_place(vars(old).get(name), member)
    elif isinstance(old, property) and isinstance(new, property):
        put_in_place(old.fget, new.fget)
    elif isinstance(old, cached_property) and isinstance(new, cached_property):
        put_in_place(old.func, new.func)
    for inner in ("__wrapped__", "__func__"):
        if type(old) is type(new) and hasattr(old, inner):
            put_in_place(getattr(old, inner), getattr(new, inner))
    if hasattr(old, "cache_clear"):
        old.cache_clear()


class Changed(MetaPathFinder, Loader):
    """Gives one module from a text instead of its file."""

    def __init__(self, module: str, source: str) -> None:
        self.module, self.source = module, source
        self.path = ROOT / f"{module.replace('.', '/')}.py"

    def find_spec(self, name: str, path: object, target: object = None) -> ModuleSpec | None:
        """The spec of the changed module, none of any other."""
        return spec_from_loader(name, self, origin=str(self.path)) if name == self.module else None

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed text under the file's own name."""
        module.__file__ = str(self.path)
        exec(compile(self.source, str(self.path), "exec", dont_inherit=True), vars(module))  # noqa: S102 — our own text


class Only:
    """Of the tests found, leaves those named."""

    def __init__(self, wanted: Collection[str]) -> None:
        self.wanted = wanted

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Leave those named."""
        items[:] = [one for one in items if one.nodeid in self.wanted]


def _anew(module: str, source: str, tests: Sequence[pytest.Item]) -> int:
    """Forget all that is ours, and run the tests from the start with the changed module."""
    for name, one in list(sys.modules.items()):
        if str(getattr(one, "__file__", None) or "").startswith(f"{ROOT}/"):
            del sys.modules[name]
    sys.meta_path.insert(0, Changed(module, source))
    files = dict.fromkeys(one.nodeid.partition("::")[0] for one in tests)
    return int(pytest.main([*QUIET, *files], plugins=[Only({one.nodeid for one in tests})]))


class Collected:
    """Hands the collected tests to a function instead of running them.

    Args:
        use: gets the tests by node id.
    """

    def __init__(self, use: Callable[[dict[str, pytest.Item]], None]) -> None:
        self.use = use

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """In the place of running them."""
        for name in LATE:
            import_module(name)
        gc.collect()
        gc.freeze()  # a fork copies what it touches, and collecting touches all
        self.use({one.nodeid: one for one in session.items})
        return True


def with_tests(paths: Iterable[str], use: Callable[[dict[str, pytest.Item]], None]) -> int:
    """Collect the tests of files or folders once and hand them over; pytest's exit code."""
    return int(pytest.main([*QUIET, "-s", *paths], plugins=[Collected(use)]))
