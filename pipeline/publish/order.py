"""The order as a command: its files for suppliers, office and van, and what is on order once it is sent."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any

from pipeline.common.file_names import file_stem
from pipeline.common.progress import SILENT, Progress
from pipeline.common.words import listed
from pipeline.plan.ordering.placed import PlacedOrder, nothing_asked
from pipeline.plan.ordering.placing import Request, place_order
from pipeline.plan.purchase.parts import in_currency
from pipeline.publish.branding import house_style_of
from pipeline.publish.seals import refuse_altered, sealed_now
from pipeline.publish.writer import Planned, these, write_documents
from pipeline.workspace.settings import Workspace
from reports.page.house_style import HouseStyle

ORDERED = "ordered.csv"
MOST_OF_NAME = 60
"""Characters of a supplier's name in the name of a file."""
EDITED = "{} {} there with other content, perhaps edited; move {} away, or write over {} with --force"
FORMER = (
    "{} {} of an order that stood there before; move {} away, so that nothing is sent by mistake, or keep {} with "
    "--force"
)


@dataclass(frozen=True)
class WrittenOrder:
    """An order, and what became of its files.

    Attributes:
        order: what they say.
        files: PDFs, CSVs and workbooks; none where no green asks for anything.
        unchanged: whether all stood there already as they would come out.
        fault: why they were not written; "" where they were.
        former: files of an order that stood there before: no part of this one, and not to be sent or loaded.
    """

    order: PlacedOrder
    files: tuple[Path, ...]
    unchanged: bool = False
    fault: str = ""
    former: tuple[Path, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The form of ``order --json``."""
        told = asdict(self.order)
        made = self.order.order
        told["day"] = self.order.day.isoformat()
        told["order"] |= {
            "complete": made.complete,
            "proof": in_currency(made.proof, self.order.currency) if made.suppliers else "",
            "gross": made.gross,
        }
        files = [str(path) for path in self.files]
        former = [str(path) for path in self.former]
        return {**told, "files": files, "former": former, "unchanged": self.unchanged, "fault": self.fault}


def write_order(
    workspace: Workspace, asked: Request, out: Path | None = None, *, force: bool = False, progress: Progress = SILENT
) -> WrittenOrder:
    """The order that a workspace's records ask for, written in a folder of its own: all of its files or none.

    Files that stand there with other content, and those of suppliers who have no part in this order, are left, unless
    ``force`` is given; even then none is deleted.

    Raises:
        WrongUsage: as :func:`place_order` says.
        CannotDo: likewise; or a setting of the house style names what is not there.
    """
    house = house_style_of(workspace)
    refuse_altered(workspace)
    made = place_order(workspace, asked)
    if nothing_asked(made):
        return WrittenOrder(made, ())
    folder = out or workspace.reports / made.season / made.folder
    tables = _tables(made, house)
    if fault := "" if force else _in_the_way(folder, tables):
        return WrittenOrder(made, (), fault=fault)
    office, van = folder / "order-office.pdf", folder / "order-van.pdf"
    content = partial(_content, made)
    seal = sealed_now(workspace, [one.green for one in made.greens])
    planned = [
        Planned(document, made.season, path, content, beside=these(beside), numbered=f"{made.folder}-{ends}", seal=seal)
        for document, path, beside, ends in (("order-office", office, tables, "office"), ("order-van", van, {}, "van"))
    ]
    written = write_documents(planned, house=house, force=force, workers=1, progress=progress, what="Order")
    faults = [one.fault for one in written if one.fault]
    files = (office, van, *(folder / name for name in sorted(tables)))
    fault, former = (
        "; ".join(dict.fromkeys(faults)),
        tuple(folder / name for name in _there(folder, tables, known=False)),
    )
    return WrittenOrder(made, () if faults else files, all(one.unchanged for one in written), fault, former)


def _content(made: PlacedOrder) -> PlacedOrder:
    return made


def _tables(made: PlacedOrder, house: HouseStyle) -> dict[str, bytes]:
    """The files of suppliers, and what is on order once they are sent, by name."""
    from reports.order.book import supplier_book
    from reports.order.data import ordered_csv, supplier_csv

    found: dict[str, bytes] = {}
    stems = _stems([one.supplier for one in made.order.suppliers])
    for one in made.order.suppliers:
        stem = f"order-to-{stems[one.supplier]}"
        found[f"{stem}.csv"] = supplier_csv(made, one)
        found[f"{stem}.xlsx"] = supplier_book(made, one, house)
    if found:
        found[ORDERED] = ordered_csv(made)
    return found


def _stems(suppliers: Sequence[str]) -> dict[str, str]:
    """How the files of each supplier are called: plain where no other of this order would be called alike."""
    plain = {one: re.sub(r"[^a-z0-9]+", "-", one.lower()).strip("-")[:MOST_OF_NAME] for one in suppliers}
    count = Counter(plain.values())
    return {one: stem if stem and count[stem] == 1 else file_stem(one) for one, stem in plain.items()}


def _in_the_way(folder: Path, tables: dict[str, bytes]) -> str:
    """Why nothing is written: files that were perhaps edited, or would be sent by mistake; "" where there are none."""
    known = _there(folder, tables, known=True)
    edited = [name for name in known if (folder / name).read_bytes() != tables[name]]
    former = _there(folder, tables, known=False)
    return "; ".join([*_told(edited, EDITED, "stands"), *_told(former, FORMER, "is")])


def _there(folder: Path, tables: Mapping[str, bytes], *, known: bool) -> list[str]:
    """Files of orders that stand in a folder, by name: those that this order has too, or those that it has not."""
    names = {path.name for pattern in ("order-to-*", ORDERED) for path in folder.glob(pattern)}
    return sorted(name for name in names if (name in tables) is known)


def _told(names: list[str], said: str, verb: str) -> Iterable[str]:
    if names:
        one = len(names) == 1
        them = "it" if one else "them"
        yield said.format(listed(names), verb if one else {"stands": "stand", "is": "are"}[verb], them, them)
