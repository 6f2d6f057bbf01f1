"""Several operations in one cell: a record each, and of which of them the line's other columns speak."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.profiles.style import Refused, Style
from pipeline.standardise.cells.coded import PART_OF_GREEN
from pipeline.standardise.cells.crew_words import OPERATIONS
from pipeline.standardise.cells.distinct import Cells, missing_out, plain
from pipeline.standardise.several.parted import Parted
from pipeline.standardise.several.said import (
    BLADED,
    GONE_OVER,
    HOLED,
    MOWN,
    PUTS_ON,
    TAKES_OFF,
    Piece,
    operations_in_words,
    pieces_said,
)
from schemas.codes import fold, spellings
from schemas.job import OF_ONE_OPERATION

OF_WHICH = FaultKind(
    "operation.of_which",
    "Column of a line with several operations",
    "{column}: “{value}” stands on a line of several operations ({operations}): it may be of one of them or of all "
    "together.",
    "Give each operation a line of its own, or write it beside its operation in the cell (scarified x2, dressed 1.5t)"
    "{more}.",
)
OF_ALL = FaultKind(
    "operation.of_all",
    "Hours or cost of several operations together",
    "{column}: “{value}” is of {operations} together. It stands with {first} alone, so that it counts once: the total "
    "is right, and what each operation took is not known.",
    "Give each operation a line of its own where its own figure is wanted.",
    "warning",
)
SAID_BY_BOTH = FaultKind(
    "operation.amount_twice",
    "Amount in the operation's cell and in a column of its own",
    "{column}: “{value}” stands beside an amount in the operation's cell (“{said}”): they may be one amount or two.",
    "Keep one of the two.",
)

AMOUNTS = frozenset({"quantity", "mass_kg", "volume_l", "packs", "rate", "rate_g_m2", "rate_ml_m2"})
WHOLE = ("hours", "people", "cost", "trigger_hours", "vibration_m_s2")
"""What a line says of all the work together."""
_OF: dict[str, frozenset[str]] = {
    **dict.fromkeys((*AMOUNTS, "material", "tray_g", "tray_cm2"), PUTS_ON),
    **dict.fromkeys(("tine_mm", "tine_basis", "tine_wall_mm", "spacing_along_mm", "spacing_across_mm", "holes"), HOLED),
    **dict.fromkeys(("blade_mm", "blade_spacing_mm"), BLADED),
    **dict.fromkeys(("cut_height_mm", "clippings_g_m2"), MOWN),
    **dict.fromkeys(("debris", "debris_l", "debris_kg"), TAKES_OFF),
    "depth_mm": BLADED | HOLED,
    "passes": GONE_OVER,
    **dict.fromkeys((*WHOLE, "treated_area_m2"), frozenset()),
}
"""The operations that a column can be of; a field that is not named here holds for the whole line."""
assert set(_OF) == set(OF_ONE_OPERATION), "a field is of one operation or of the line, and both rooms say which"


def operations_parted(
    source: Cells, others: Mapping[str, Cells], words: Collection[str], style: Style, whole: str
) -> Parted:
    """The lines of a job log as a record for each operation that their cells name.

    Args:
        source: the cells that say what was done.
        others: the cells of every other field, as they stand on the lines.
        words: spellings that the profile declares: such a cell is one operation, as it says.
        style: how values are written.
        whole: "first": hours, people and cost of a line stand with its first operation; "": they are refused.
    """
    table, faults = _table(source, words, style)
    lines = pl.DataFrame({"row": pl.int_range(len(source.cells), eager=True), "cell": source.cells})
    records = lines.join(table, on="cell", how="left", maintain_order="left_right")
    records = records.with_columns(
        pl.when(pl.col("piece").is_null()).then("cell").otherwise("text").alias("text"),
        pl.len().over("row").alias("count"),
    )
    keep = {}
    for name, cells in others.items():
        if name in _OF:
            keep[name], found = _whose(name, cells, records, style, whole)
            faults += found
    rows = records["row"]
    faults += _said_by_both({name: cells for name, cells in others.items() if name in AMOUNTS}, keep, records, style)
    changed = records["piece"].is_not_null()
    added = {name: records[name] for name in _ADDED if records[name].null_count() < records.height}
    return Parted(
        rows,
        {"operation": records["text"]},
        {"operation": pl.select(pl.when(changed).then(records["cell"])).to_series()},
        added,
        keep,
        concat(faults),
    )


_ADDED = (
    "passes",
    "depth_mm",
    "cut_height_mm",
    "spacing_along_mm",
    "blade_spacing_mm",
    "material",
    "quantity",
)  # fmt: skip
"""Fields that an amount beside an operation may fill."""
_TABLE = {"cell": pl.String, "piece": pl.Int64, "text": pl.String, **dict.fromkeys(_ADDED, pl.String)}


def _table(source: Cells, words: Collection[str], style: Style) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """The pieces of each distinct cell that has some, and what is said of the others; one that is refused is blank."""
    known = {*spellings(OPERATIONS), *map(fold, words)}
    rows: list[tuple[object, ...]] = []
    faults = []
    for text in source.cells.drop_nulls().unique(maintain_order=True):
        bare = plain(text)
        if fold(bare) in known or style.is_missing(bare):
            continue
        here = source.where(source.cells == text)
        try:
            pieces = pieces_said(bare)
        except Refused as refused:
            problem = refused.problem
            faults.append(problem.kind.frame(here.lines, here.cells, here.header, **dict(problem.facts)))
            rows.append((text, 0, None, *[None] * len(_ADDED)))
            continue
        rows += [(text, at, one.operation, *map(one.fields.get, _ADDED)) for at, one in enumerate(pieces)]
        faults += [_of_part(here, one) for one in pieces if one.part]
    return pl.DataFrame(rows, schema=_TABLE, orient="row"), faults


def _of_part(here: Cells, piece: Piece) -> pl.DataFrame:
    facts = {"operation": operations_in_words([piece.operation]), "part": piece.part}
    return PART_OF_GREEN.frame(here.lines, here.cells, here.header, **facts)


def _whose(
    name: str, cells: Cells, records: pl.DataFrame, style: Style, whole: str
) -> tuple[pl.Series, list[pl.DataFrame]]:
    """Whether the line's cell of this field is each record's, and what is said where it is none's, or of all."""
    texts = missing_out(cells.cells, style.also_missing(cells.missing))
    told = records.select(
        "row", "piece", "cell", "text", "count",
        takes=pl.col("text").is_in(sorted(_OF[name])).fill_null(value=False),
        line=cells.lines[records["row"]],
        value=texts[records["row"]],
    ).with_columns(takers=pl.col("takes").sum().over("row"))  # fmt: skip
    told = told.with_columns(alone=pl.col("count") == 1, first=(pl.col("piece") == 0).fill_null(value=False))
    owned = pl.col("alone") | (pl.col("takes") & (pl.col("takers") == 1))
    in_doubt = told.filter(pl.col("first") & ~pl.col("alone") & (pl.col("takers") != 1) & pl.col("value").is_not_null())
    kind = OF_WHICH
    if whole == "first" and name in WHOLE:
        owned, kind = owned | pl.col("first"), OF_ALL
    faults = []
    for (cell,), some in in_doubt.partition_by("cell", as_dict=True, maintain_order=True).items():
        operations = told.filter(pl.col("row") == some["row"][0])["text"].to_list()
        facts = {
            "operations": operations_in_words(operations),
            "first": operations_in_words(operations[:1]),
            "more": _MORE if name in WHOLE else "",
        }
        assert cell is not None
        faults.append(kind.frame(some["line"], some["value"], cells.header, **facts))
    return told.select(owned).to_series(), faults


_MORE = (
    '; or, where it is of all together, say whole = "first" under [several.operation] in the profile: it then counts '
    "once, with the first of them"
)


def _said_by_both(
    amounts: Mapping[str, Cells], keep: Mapping[str, pl.Series], records: pl.DataFrame, style: Style
) -> list[pl.DataFrame]:
    """The fault of each line whose operation says an amount that a column of its own says too."""
    faults = []
    for name, cells in amounts.items():
        texts = missing_out(cells.cells, style.also_missing(cells.missing))[records["row"]]
        both = keep[name] & texts.is_not_null() & records["quantity"].is_not_null()
        lines = cells.lines[records["row"]]
        for said in records["quantity"].filter(both).unique(maintain_order=True):
            here = both & (records["quantity"] == said)
            faults.append(SAID_BY_BOTH.frame(lines.filter(here), texts.filter(here), cells.header, said=said))
    return faults
