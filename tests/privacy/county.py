"""The demo county with a word of its own in every field that holds a name, a remark or a price, of two clubs.

Such a word stands nowhere else, so that where it is found it came from that field. What is looked at is one club's
documents; the other club is there to be found in them, or not.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl
from PIL import Image

from pipeline.load.files import load_paths
from pipeline.load.result import FileResult
from pipeline.store.decide import decide
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace, open_workspace

DAY = date(2026, 10, 31)
COSTS = {"ALD": "8642.97", "FEN": "7531.86"}
"""Cost of one work of each club, as it stands nowhere else."""
PRICE, RATE = "27.5537", "26.4519"
"""Price of a pack and of an hour, which are of no club."""
OWN, OTHER = "ALD", "FEN"
"""The club whose documents are looked at, and the other; both are surveyed, both have two greens."""
VISITS = {OWN: "2026-09-16", OTHER: "2026-09-17"}
SORTS = {
    "addressee": "whom a club's documents are for, in the settings",
    "free": "words typed into other fields: references, captions, benchmarks, laboratories, reasons of plans",
    "person": "who did, timed, looked, surveyed or took it",
    "contact": "whom to write to",
    "register": "remarks in the registers of clubs and greens",
    "remark": "remarks on works, tests, readings, pictures, plans, prices, stock, rates",
    "file": "names of the files that records came in",
    "camera": "what a camera writes into a picture",
    "picture": "the name of a picture's file",
    "decided": "who decided, and why",
}


def word(sort: str, club: str, field: str) -> str:
    """The word of a field: one that nobody writes."""
    return f"qz{sort}{club}{field}".lower().replace("_", "")


def words(sort: str, club: str, fields: Mapping[str, str]) -> dict[str, str]:
    """A cell with its word for each field."""
    return {name: f"{text} {word(sort, club, name)}".strip() for name, text in fields.items()}


@dataclass(frozen=True)
class Canaries:
    """A workspace, and what became of the files loaded into it."""

    workspace: Workspace
    loaded: tuple[FileResult, ...]


def made(demo: Workspace, folder: Path) -> Canaries:
    """The workspace, in a folder whose name holds a word of its own."""
    home = folder / "qzmachineuser" / "county"
    shutil.copytree(demo.folder, home, ignore=shutil.ignore_patterns("reports", "done"))
    workspace = open_workspace(home)
    _addressed(home / "settings.toml")
    inbox = home / "inbox"
    files = list(_files(inbox, workspace))
    loaded = load_paths(workspace, files, today=DAY)
    refused = next(one for one in loaded if "jobs" in one.file and OTHER.lower() in one.file)
    decide(workspace, "aside", [refused.file], word("decided", OTHER, "why"), word("decided", OTHER, "who"))
    return Canaries(workspace, tuple(loaded))


def _addressed(settings: Path) -> None:
    """Have the documents of both clubs be for somebody."""
    text = settings.read_text("utf-8")
    shipped = "prepared_for_club = {}"
    assert shipped in text, f"the settings no longer say {shipped}"
    lines = ", ".join(f'{club} = "{word("addressee", club, "line")}"' for club in (OWN, OTHER))
    settings.write_text(text.replace(shipped, f"prepared_for_club = {{ {lines} }}"), "utf-8")


def _files(inbox: Path, workspace: Workspace) -> Iterator[Path]:
    """Files of records, each with a word in its name; of the county's own, and of each of the two clubs."""
    inbox.mkdir(exist_ok=True)
    with Store(workspace.store, read_only=True) as store:
        registers = {kind: store.current(kind) for kind in ("club", "green")}
    for club in (OWN, OTHER):
        green = f"{club}-1"

        def file(kind: str, rows: list[dict[str, str]], club: str = club) -> Path:
            path = inbox / f"{kind}_{word('file', club, kind)}.csv"
            path.write_bytes(pl.DataFrame(rows).write_csv().encode())
            return path

        told = words("contact", club, {"contact": "The secretary"}) | words("register", club, {"note": "Asked twice."})
        yield file("clubs", [_row(registers["club"], "club", club) | told])
        told = words("register", club, {"note": "Gate code"})
        yield file("greens", [_row(registers["green"], "green", green) | told])
        yield from _records(file, club, green)
        yield _pictures(inbox, club, green, file)


def _row(register: pl.DataFrame, key: str, name: str) -> dict[str, str]:
    row = register.filter(pl.col(key) == name).row(0, named=True)
    left_out = {"load_id", "file", "line", "written", "ended_by"}
    return {field: str(value) for field, value in row.items() if value is not None and field not in left_out}


def _records(file, club: str, green: str) -> Iterator[Path]:  # type: ignore[no-untyped-def]
    said = lambda kind: words("remark", club, {"note": f"of {kind}"})  # noqa: E731
    person = lambda field: words("person", club, {field: ""})  # noqa: E731
    free = lambda *fields: words("free", club, dict.fromkeys(fields, ""))  # noqa: E731
    job = {"date": "2026-08-11", "green": green, "operation": "scarifying", "depth_mm": "3", "hours": "2.5"}
    job |= {"cost": COSTS[club], **free("reference")}
    yield file("jobs", [job | person("logged_by") | said("job"),
                        job | {"date": "2026-08-32"} | person("logged_by") | said("job")])  # fmt: skip
    test = {
        "date": "2026-08-12",
        "green": green,
        "analyte": "ph",
        "value": "6.1",
        "unit": "ph",
        **free("lab", "sample"),
    }
    yield file("soil", [test | said("soil")])
    speed = {"date": "2026-08-13", "green": green, "device": "timed_bowl", "value": "11.7", "unit": "s"}
    yield file("speeds", [speed | person("observer") | said("speed")])
    visit = VISITS[club]
    seen = {"date": visit, "green": green, "observed": "moss", "survey": "V-26", "place": "F9", "x_m": "3", "y_m": "4"}
    seen |= {"method": "estimate", "value": "2", "unit": "%"}
    yield file("observations", [seen | person("observer") | said("observation")])
    level = {
        "date": visit,
        "green": green,
        "survey": "L-26",
        "point": "99-1",
        "x_m": "3",
        "y_m": "4",
        "z_mm": "1490",
        **free("benchmark", "instrument"),
    }
    yield file("levels", [level | person("observer") | said("level")])
    plan = {"programme": "2027", "green": green, "operation": "scarifying", "reference": "q1", "times": "1",
            "window_from": "2027-03-15", "window_to": "2027-03-21", "depth_mm": "2", **free("basis")}  # fmt: skip
    yield file("programme", [plan | said("plan")])
    yield file("calendar", [{"club": club, "from_day": "2027-03-25", "to_day": "2027-03-25", "occasion": "closed",
                             **free("title"), **said("calendar")}])  # fmt: skip
    price = {"material": "spring granular 9-4-6 + 2 Fe", "supplier": "county merchant", "pack_kg": "25", "price": PRICE}
    if club == OWN:  # what is of no club: once
        since = {"holds_from": "2026-10-02"}
        yield file("prices", [price | since | {"from_packs": "1", "carriage": "18.5", **said("price")}])
        stock = {"material": price["material"], "depot": "north yard", "counted_on": "2026-10-20"}
        yield file("stock", [stock | {"packs": "2", "pack_kg": "25", **said("stock")}])
        yield file("rates", [{"rate_of": "labour", "amount": RATE, **since, **said("rate")}])


def _pictures(inbox: Path, club: str, green: str, file) -> Path:  # type: ignore[no-untyped-def]
    """A picture with a name, a place and a maker in it, and the file that tells of it."""
    name = f"{word('picture', club, 'name')}.jpg"
    told = Image.Exif()
    told[0x010E] = word("camera", club, "description")
    told[0x013B] = word("camera", club, "artist")
    told.get_ifd(0x8825)[1] = "N"
    held = io.BytesIO()
    picture = Image.radial_gradient("L").convert("RGB")
    picture.info["comment"] = word("camera", club, "comment").encode()
    picture.save(held, "JPEG", exif=told, comment=word("camera", club, "comment").encode())
    (inbox / name).write_bytes(held.getvalue())
    row = {
        "date": VISITS[club],
        "green": green,
        "picture": name,
        "survey": "V-26",
        **words("free", club, {"caption": "North corner"}),
    }
    return file("photos", [row | words("person", club, {"taken_by": ""}) | words("remark", club, {"note": ""})])  # type: ignore[no-any-return]
