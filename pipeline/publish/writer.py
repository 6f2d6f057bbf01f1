"""The one way from content to files: what would come out the same is left, the rest is rendered and written whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pipeline.common.marks import mark
from pipeline.common.processes import processes
from pipeline.common.progress import SILENT, Progress
from pipeline.indicators.base.green_season import NO_SEAL, Seal
from pipeline.publish.pool import Outcome, Task, render_many
from pipeline.publish.render_cache import RenderCache, Rendered, code_mark
from reports.page.house_style import HouseStyle


@dataclass(frozen=True)
class Written:
    """One document: where it is, whether it was left as it is, or what went wrong with it."""

    document: str
    green: str
    club: str
    season: str
    path: Path
    pages: int
    unchanged: bool = False
    fault: str = ""

    def as_json(self) -> dict[str, Any]:
        """The document's part of ``report --json``."""
        return {**asdict(self), "path": str(self.path)}


def these(files: Mapping[str, bytes]) -> Callable[[Any], Mapping[str, bytes]]:
    """Files beside a document that are known before its content is, by their names in its folder."""
    return lambda _: files


_NOTHING = these({})


@dataclass(frozen=True)
class Planned:
    """A document to be made: its content is put together when it is needed, not before.

    Attributes:
        document: which kind, as ``renderer_of`` knows it.
        season: name of its season.
        path: the PDF.
        content: gives its frozen content.
        green: code of the green it is about; "" for several.
        club: code of the club it is about; "" for several.
        state: mark of everything that the content is made of; "" where the content itself must be looked at to know.
        beside: gives, of the content, other files that stand or fall with the PDF, by their names in its folder.
        numbered: what stands for it in the number of the report; "" for the name of the PDF.
        seal: last load that touched it, where its content does not say so itself.
    """

    document: str
    season: str
    path: Path
    content: Callable[[], Any]
    green: str = ""
    club: str = ""
    state: str = ""
    beside: Callable[[Any], Mapping[str, bytes]] = _NOTHING
    numbered: str = ""
    seal: Seal = NO_SEAL

    @property
    def name(self) -> str:
        """What it is about, for faults."""
        return self.green or self.club or self.document

    def written(self, pages: int, *, unchanged: bool = False, fault: str = "") -> Written:
        """What became of it."""
        return Written(self.document, self.green, self.club, self.season, self.path, pages, unchanged, fault)


def write_documents(
    planned: Sequence[Planned],
    *,
    house: HouseStyle,
    force: bool = False,
    workers: int = 0,
    progress: Progress = SILENT,
    what: str = "Reports",
) -> list[Written]:
    """What became of each document, in the order planned; one that fails does not stop the rest.

    Args:
        planned: the documents; each path once.
        house: the house style they are set in.
        force: write again what would come out the same.
        workers: processes; 0 takes one a core.
        progress: shows how far it is.
        what: what the bar is of.
    """
    for folder in {one.path.parent for one in planned}:
        folder.mkdir(parents=True, exist_ok=True)
    done = _Writing(planned, house, force).documents(processes(len(planned), workers))
    place = {one.path: i for i, one in enumerate(planned)}
    return sorted(progress.over(done, len(planned), what), key=lambda one: place[one.path])


class _Writing:
    """Documents rendered or left as they are, each noted in the list of its folder when it is done."""

    def __init__(self, planned: Sequence[Planned], house: HouseStyle, force: bool) -> None:
        self.planned, self.house, self.force = planned, house, force
        self.caches = {folder: RenderCache(folder) for folder in {one.path.parent for one in planned}}
        self.style = mark(house.mark, code_mark())
        self._unchanged: list[Written] = []

    def documents(self, workers: int) -> Iterator[Written]:
        """An entry for every document, as each is done."""
        by_path = {one.path: one for one in self.planned}
        contents: dict[Path, tuple[str, tuple[str, ...]]] = {}
        tasks = self._tasks(contents)
        for outcome in render_many(tasks, workers=workers, version=version("swardtally"), house=self.house):
            yield from self._left()
            yield self._written(by_path[outcome.target], contents.pop(outcome.target), outcome)
        yield from self._left()
        for found in self.caches.values():
            found.save()

    def _left(self) -> Iterator[Written]:
        """The documents found unchanged since this was last asked."""
        found, self._unchanged = self._unchanged, []
        yield from found

    def _tasks(self, contents: dict[Path, tuple[str, tuple[str, ...]]]) -> Iterator[Task]:
        """What has to be rendered; what is found unchanged on the way is kept aside.

        Of each, ``contents`` takes the mark of its content and the names of the files beside it.
        """
        for one in self.planned:
            cache, state = self.caches[one.path.parent], self._state(one)
            if state and not self.force and (held := cache.by_store(one.path, state)):
                self._unchanged.append(one.written(held.pages, unchanged=True))
                continue
            content = one.content()
            seal = getattr(content, "seal", one.seal).head
            told = mark(content, seal, self.style)
            if not self.force and (held := cache.by_content(one.path, told)):
                cache.note(one.path, replace(held, store=state))
                self._unchanged.append(one.written(held.pages, unchanged=True))
                continue
            beside = one.beside(content)
            contents[one.path] = told, tuple(beside)
            yield Task(one.name, one.document, content, one.path, one.club, beside, one.numbered, seal)

    def _state(self, one: Planned) -> str:
        return mark(one.state, self.style) if one.state else ""

    def _written(self, one: Planned, made_of: tuple[str, tuple[str, ...]], done: Outcome) -> Written:
        content, beside = made_of
        if not done.fault:
            held = Rendered(self._state(one), content, done.sha256, done.pages, beside)
            self.caches[one.path.parent].note(one.path, held)
        return one.written(done.pages, fault=done.fault)
