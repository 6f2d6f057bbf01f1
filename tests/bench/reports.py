"""Condition reports of the demo county: against WeasyPrint as it comes, a core's rate, workers, the unchanged, memory.

Beside them, where a report's time goes part by part, so that a goal missed is explained, and how far Typst is ahead.

What a default means here: a new ``FontConfiguration`` and stylesheet for every document, no tags, no attachment, the
collector on, and the charts there already; ours draws every chart.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from importlib.resources import as_file, files
from itertools import cycle, islice
from pathlib import Path
from shutil import copytree
from typing import Any

from pipeline.cli.demo import DEMO_DAY, FOLDERS
from pipeline.common.processes import context
from pipeline.indicators.base.green_season import GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import latest_season
from pipeline.load.files import load_paths
from pipeline.publish.documents import write_reports
from pipeline.publish.pool import WARM, Task, render_many
from pipeline.season.green import green_season
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from reports.condition import render as condition
from reports.page import document, rendering
from reports.page.charts import vega
from reports.page.house_style import PLAIN
from tests.bench import typst_distance
from tests.bench.parts import shares
from tests.bench.reached import row

VERSION = "0"
ROUNDS = 3
GREENS = 4
"""Greens of the demo that are rendered in each round."""
POOLED = 16
"""Reports rendered by one worker and by two."""
FULL = 500
"""Reports rendered by one process in the full bench."""


def measure(many: int = FULL) -> None:
    """Print each target and what was reached; ``many`` reports are rendered to see whether memory grows."""
    say = sys.stdout.write
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        workspace = demo_workspace(folder / "demo")
        seasons = demo_seasons(workspace)
        figures = statistics.median(len(one.indicators) for one in seasons)
        say(f"condition reports of the demo, {figures:.0f} figures each, load of the machine {_load()}\n")
        ratio, rate, bare = against_weasyprint(seasons)
        row("report against WeasyPrint's defaults on the same HTML", ratio, 1.15, "at most")
        row("reports a second and core, warm (CPU time)", rate, 1.5, "at least")
        say(f"  WeasyPrint's defaults alone: {bare:.2f} a second\n")
        say("  shares of a report: ")
        say(", ".join(f"{part} {share:.0%}" for part, share in shares(condition.DOCUMENT, seasons).items()) + "\n")
        ahead = typst_distance.distance(folder)
        told = "not installed here, not measured" if ahead is None else f"{ahead:.1f} times as fast as WeasyPrint"
        say(f"  Typst on a table of 400 cells: {told}\n")
        faster, started = two_workers(seasons, folder)
        row("two workers against one (wall time)", faster, 1.9, "at least")
        say(f"  start of the server they are forked from, once a run: {started:.1f} s\n")
        row("asking for unchanged reports against writing them", unchanged(workspace), 0.02, "at most")
        counts = [n for n in (10, 100, FULL) if n <= many]
        sizes = memory_after(counts)
        shown = ", ".join(f"{size:.0f} MB after {count}" for count, size in zip(counts, sizes, strict=True))
        row(f"memory: {shown}; last against first", sizes[-1] / sizes[0], 1.15, "at most")


def demo_workspace(folder: Path) -> Workspace:
    """A workspace that holds the demo county."""
    folder.mkdir()
    make_workspace(folder)
    with as_file(files("demo_data")) as source:
        copytree(source / "profiles", folder / "profiles", dirs_exist_ok=True)
        workspace = open_workspace(folder)
        for name in FOLDERS:
            load_paths(workspace, [source / name], today=DEMO_DAY)
    return workspace


def demo_seasons(workspace: Workspace, greens: int = GREENS) -> list[GreenSeason]:
    """The latest season of so many greens, spread over the county."""
    with Store(workspace.store, read_only=True) as store:
        records = read_records(store)
    season = latest_season(records, workspace)
    assert season is not None
    every = records.greens["green"].to_list()
    return [green_season(records, green, season, workspace) for green in every[:: len(every) // greens][:greens]]


def against_weasyprint(seasons: Sequence[GreenSeason]) -> tuple[float, float, float]:
    """Ours over theirs, and reports a second of each: medians of rounds in which the two take turns; CPU time."""
    chosen = {one.green: _chosen_draft(one) for one in seasons}  # also warms both
    ratios, ours, theirs = [], [], []
    for turn in range(ROUNDS):
        for one in seasons:
            timed = [
                lambda one=one: _anew(one),
                lambda one=one: _defaults(chosen[one.green]),
            ]
            first = turn % 2
            seconds = {i: _cpu_seconds(timed[i]) for i in (first, 1 - first)}
            ratios.append(seconds[0] / seconds[1])
            ours.append(seconds[0])
            theirs.append(seconds[1])
    return statistics.median(ratios), 1 / statistics.median(ours), 1 / statistics.median(theirs)


def _chosen_draft(season: GreenSeason) -> document.Pages:
    """The draft that the report is made from."""
    kept: list[document.Pages] = []
    made = condition.DOCUMENT

    def drafts(*of: Any) -> Iterator[document.Pages]:
        for draft in made.drafts(*of):
            kept.append(draft)
            yield draft

    replace(made, drafts=drafts).render(season, version=VERSION)
    return kept[-1]


def _anew(season: GreenSeason) -> bytes:
    """The report, none of its charts kept from the round before."""
    vega._svg.cache_clear()
    return condition.render(season, version=VERSION)


def _defaults(pages: document.Pages) -> bytes:
    from weasyprint import CSS, HTML

    html = HTML(string=pages.html, base_url="asset:", url_fetcher=rendering.fetcher(pages.images(), PLAIN))
    made: bytes = html.write_pdf(stylesheets=[CSS(document.TEMPLATES / "style.css")])
    return made


def _cpu_seconds(work: object) -> float:
    assert callable(work)
    start = time.process_time()
    work()
    return time.process_time() - start


def two_workers(seasons: Sequence[GreenSeason], folder: Path) -> tuple[float, float]:
    """Times as fast as one worker, each a new process; and seconds until the first that was ever asked for is there.

    That includes the server which workers are forked from: it starts once, and imports the renderer.
    """
    tasks = [
        Task(f"{one.green} {i}", "condition", one, folder / "pooled" / f"{i}.pdf")
        for i, one in enumerate(islice(cycle(seasons), POOLED))
    ]
    start = time.perf_counter()
    with ProcessPoolExecutor(1, mp_context=context(WARM)) as pool:
        pool.submit(os.getpid).result()
    started = time.perf_counter() - start
    seconds = {}
    for workers in (1, 2):
        start = time.perf_counter()
        done = list(render_many(tasks, workers=workers, version=VERSION, apart=True))
        seconds[workers] = time.perf_counter() - start
        assert not any(one.fault for one in done), done
    return seconds[1] / seconds[2], started


def unchanged(workspace: Workspace) -> float:
    """Seconds of asking for every report of an unchanged store over those of writing them, by one worker each."""
    start = time.perf_counter()
    written = write_reports(workspace, every=True, workers=1)
    middle = time.perf_counter()
    again = write_reports(workspace, every=True, workers=1)
    end = time.perf_counter()
    assert not any(one.fault for one in written)
    assert all(one.unchanged for one in again)
    return (end - middle) / (middle - start)


def memory_after(counts: Sequence[int]) -> list[float]:
    """MB that a process of its own holds after so many reports."""
    code = (
        "import sys; from tests.bench.reports import resident_mb; from reports.condition.render import render; "
        "from tests.reports import sample; seasons = [sample.rich(), sample.no_targets(), sample.many_works()]\n"
        f"for i in range(1, {max(counts)} + 1):\n"
        "    render(seasons[i % 3], version='0')\n"
        f"    if i in {tuple(counts)!r}:\n"
        "        print(resident_mb())\n"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return [float(line) for line in done.stdout.split()]


def resident_mb() -> float:
    """MB this process holds now (where the system tells), or held at most."""
    statm = Path("/proc/self/statm")
    if statm.exists():
        return int(statm.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def _load() -> str:
    return f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores" if hasattr(os, "getloadavg") else "not known"
