"""The command lines that are tried, and the workspaces they are tried in; another command is another line."""

from __future__ import annotations

import io
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

WORKSPACE = "ws"
"""Folder of the workspace, from that which a command is run in."""
BACKUPS, AGAIN = f"{WORKSPACE}-backup", "again"
"""Folder of its backups, and of the workspace that is restored."""
_W = ("-w", WORKSPACE)
FORMER = Path(__file__).parents[1] / "store" / "former"


@dataclass(frozen=True)
class Command:
    """A command line, tried with each of its calls failing.

    Attributes:
        name: what it is called in what is printed.
        line: the words after ``swardtally``.
        start: the workspace it begins with, one of ``STARTS``.
        every: whether each call is made to fail in each way; else each distinct place in the code once a way.
        parted: tables that may stay otherwise where a kill parts files that belong together: decisions are followed as
            they stand in their files, with the next load.
        makes: the workspace that it is about.
        figures: whether figures are brought up after it, as they are; commands of one sort call the very same code for
            it, and it takes half of their time.
        between: command lines whose outcome may stand in its place, each run alone on the start: steps that are whole.
    """

    name: str
    line: tuple[str, ...]
    start: str = "loaded"
    every: bool = False
    between: tuple[tuple[str, ...], ...] = ()
    figures: bool = True
    makes: str = WORKSPACE
    parted: tuple[str, ...] = ()


CREW_LOAD = ("load", "ws/inbox/crew.csv", *_W)
_BACKUP = ("backup", BACKUPS, *_W)
_REPORT = ("report", "--all", "--workers", "1", *_W)
_ASIDE = ("decide", "aside", "crew.csv:4", "--why", "not ours", "--who", "office", *_W)
COMMANDS = (
    Command("load", ("load", "ws/inbox/log.csv", *_W), "registers", every=True),
    Command("load, first", ("load", "ws/inbox/clubs.csv", *_W), "empty", every=True, figures=False),
    Command("load, rejects", CREW_LOAD, every=True, figures=False),
    Command("load, rejects again", CREW_LOAD, "crew changed", every=True, figures=False),
    Command("load, picture", ("load", "ws/inbox/photos.csv", *_W), every=True, figures=False),
    Command("undo", ("undo", "4", *_W), every=True),
    Command("decide", _ASIDE, "crew", every=True, figures=False),
    Command("undo, decision", ("undo", "10", *_W), "decided", every=True, figures=False),
    Command("doctor, former", ("doctor", "--bring-up", *_W), "former", every=True, figures=False),
    Command(
        "load, former", ("load", "ws/inbox/new.csv", *_W), "former", every=True, figures=False,
        between=(("doctor", "--bring-up", *_W),),
    ),
    Command("init", ("init", WORKSPACE), "nothing"),
    Command("profile", ("profile", "ws/inbox/strange.csv", *_W)),
    Command("words", ("words", "ws/inbox/unknown.csv", "--say", "spinning=mowing", *_W)),
    Command("forms", ("forms", *_W)),
    Command("forms, rejected", ("forms", "--rejected", *_W), "crew"),
    Command("show", ("show", "ALD-1", *_W)),
    Command("report", _REPORT),
    Command("survey", ("survey", "ALD-1", "2026-09-16", *_W)),
    Command("compare", ("compare", *_W)),
    Command("programme", ("programme", "ALD-1", "--template", "gma-season", *_W)),
    Command("due", ("due", "--pdf", "--csv", "ws/due.csv", *_W)),
    Command("costs", ("costs", "--csv", "ws/costs.csv", *_W)),
    Command("order", ("order", "--season", "2027", *_W)),
    Command("status", ("status", *_W)),
    Command("changed", ("changed", *_W)),
    Command("history", ("history", *_W)),
    Command("verify", ("verify", *_W)),
    Command("doctor", ("doctor", *_W)),
    Command("backup", _BACKUP, "few files", every=True),
    Command("backup, again", _BACKUP, "more since", every=True),
    Command("backup, check", (*_BACKUP, "--check"), "backed up"),
    Command("restore", ("restore", BACKUPS, AGAIN), "backed up", every=True, figures=False, makes=AGAIN),
    Command("copy", ("copy", "ws/store.duckdb", "ws/copy.duckdb")),
    Command("forget", ("forget", "crew A", "office", *_W), "decided", parted=("meta.decision",)),
    Command("prove", ("prove", "ws/reports/2026/ALD-1-condition-2026.pdf", *_W), "reported"),
)  # fmt: skip
"""Every command that writes, and those that only read: they write nothing that could be left half."""

CLUBS = "club,name,region\nALD,Alder Brook Bowls Club,Ostershire\nBRK,Brackenfield Bowls Club,Ostershire\n"
GREENS = (
    "green,club,name,area_m2,shape,laid_on,aliases\nALD-1,ALD,Main green,1600,flat,1926-05-01,Alder Brook\n"
    "BRK-1,BRK,Top green,1500,flat,1931-05-01,Brackenfield\n"
)
MATERIALS = (
    "material,sort,form,analysis,analysis_basis,mix,bulk_density_t_m3,pack,price,release_weeks,supplier\n"
    "spring granular 11-5-5 + 8 Fe,fertiliser,solid,11-5-5 + 8 Fe,oxide,,,25 kg,31.5,6,Farm store\n"
    "70/30 sand and soil,top dressing,solid,,,70/30,1.5,1 t,90,,Quarry\n"
)
LOG = (
    "date,green,operation,material,quantity,hours,logged_by\n"
    "2026-03-20,ALD-1,feeding,spring granular 11-5-5 + 8 Fe,50 kg,1.5,crew A\n"
    "2026-05-04,ALD-1,mowing,,,1.5,crew A\n"
    "2026-05-11,ALD-1,mowing,,,1.5,crew A\n"
    "2026-09-28,ALD-1,top dressing,70/30 sand and soil,5 t,6,crew A\n"
    "2026-05-05,BRK-1,mowing,,,1.25,crew B\n"
)
SPEEDS = "date,green,value,unit\n2026-05-20,ALD-1,11.2,s\n2026-06-20,ALD-1,11.9,s\n2026-07-20,ALD-1,12.1,s\n"
SEEN = (
    "date,green,observed,value,unit\n2026-09-16,ALD-1,moss,6,%\n2026-09-16,ALD-1,cover,92,%\n"
    "2026-09-16,ALD-1,root depth,80,mm\n"
)
PLAN = (
    "programme,green,operation,material,window_from,window_to,times,mass_kg\n"
    "2027,ALD-1,top_dressing,70/30 sand and soil,2026-11-01,2026-11-30,1,6000\n"
)
CREW = (
    "Day;Place;Work;Time\n04.06.2026;Alder Brook;mowing;1,5\n11.06.2026;Alder Brook;mowing;1,5\n"
    "12.06.2026;Nowhere;mowing;1,5\n13.06.2026;Alder Brook;mowing;15,5x\n18.06.2026;Alder Brook;mowing;1,25\n"
    "19.06.2026;Alder Brook;rolling;99\n"
)
CREW_PROFILE = """name = "crew"
kind = "job"

[match]
headers = ["Day", "Place", "Work", "Time"]

[reading]
delimiter = ";"

[values]
date_order = "dmy"
decimal = ","

[fields]
date = "Day"
green = "Place"
operation = "Work"
hours = "Time"
"""
CORRECTION = """[[correction]]
file = "crew.csv"
where = { "Day" = "19.06.2026" }
column = "Time"
from = "99"
to = "9"
why = "slip of the keyboard"
who = "office"
"""
PRICES = (
    "material,supplier,pack_kg,price,from_packs,carriage,holds_from\n"
    "70/30 sand and soil,Quarry,1000,90,1,40,2026-01-01\n"
)
UNKNOWN = "Day;Place;Work;Time\n25.06.2026;Alder Brook;spinning;1,5\n"
STRANGE = "When;Where;What was done;Took\n04.06.2026;Alder Brook;mowing;1,5\n11.06.2026;Alder Brook;rolling;1,5\n"
PHOTOS = (
    "date,green,picture,caption,taken_by\n"
    "2026-06-02,ALD-1,green.jpg,the green,crew A\n2026-06-03,ALD-1,none.jpg,gone,crew A\n"
)
SHORTER = CREW.replace("13.06.2026;Alder Brook;mowing;15,5x\n", "")


def _picture() -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (64, 32), (20, 120, 20)).save(out, "JPEG")
    return out.getvalue()


def _files(folder: Path, *, crew: str = CREW) -> None:
    """The workspace's own files: what is to be loaded, a profile and a correction."""
    for name, text in {
        "inbox/clubs.csv": CLUBS, "inbox/greens.csv": GREENS, "inbox/materials.csv": MATERIALS, "inbox/log.csv": LOG,
        "inbox/speeds.csv": SPEEDS, "inbox/seen.csv": SEEN, "inbox/plan.csv": PLAN, "inbox/crew.csv": crew,
        "inbox/strange.csv": STRANGE, "inbox/unknown.csv": UNKNOWN, "inbox/prices.csv": PRICES,
        "inbox/photos.csv": PHOTOS, "profiles/crew.toml": CREW_PROFILE, "corrections/crew.toml": CORRECTION,
    }.items():  # fmt: skip
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    (folder / "inbox" / "green.jpg").write_bytes(_picture())


def _former(folder: Path) -> None:
    """A store of a former layout with the files it came from, and one more."""
    import duckdb

    shutil.copytree(FORMER / "files", folder / "inbox", dirs_exist_ok=True)
    (folder / "inbox" / "new.csv").write_text("date,green,operation,hours\n2026-05-04,ALD-1,mowing,1.5\n", "utf-8")
    with duckdb.connect(str(folder / "store.duckdb")) as con:
        con.execute((FORMER / "layout2.sql").read_text("utf-8"))


def _inbox(*names: str) -> list[tuple[str, ...]]:
    return [("load", f"ws/inbox/{name}.csv", *_W) for name in names]


_MADE = [("init", WORKSPACE)]
_LOADED = _inbox("clubs", "greens", "materials", "log", "speeds", "seen", "plan", "prices")
STARTS: dict[str, Sequence[object]] = {
    "nothing": (),
    "empty": (*_MADE, _files),
    "registers": ("empty", *_LOADED[:3]),
    "loaded": ("empty", *_LOADED),
    "crew": ("loaded", CREW_LOAD),
    "crew changed": ("crew", lambda folder: _files(folder, crew=SHORTER)),
    "decided": ("crew", _ASIDE),
    "reported": ("loaded", _REPORT),
    "few files": ("crew", lambda folder: shutil.rmtree(folder / "templates")),
    "backed up": ("few files", _BACKUP),
    "more since": ("backed up", _REPORT, ("undo", "5", *_W)),
    "former": (*_MADE, _former),
}
"""How each workspace is made: another one first, command lines, and functions that are called with its folder."""
