"""Several greens in one cell: a record each, and what of the line's amounts each has."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

import polars as pl

from pipeline.common.faults import FaultKind, concat
from pipeline.common.words import listed
from pipeline.profiles.style import Style
from pipeline.standardise.cells.distinct import Cells, missing_out, plain
from pipeline.standardise.several.parted import Parted
from schemas import Kind

if TYPE_CHECKING:
    from pipeline.profiles.parts import Several

NO_SEVERAL_GREENS = FaultKind(
    "green.several",
    "Several greens that cannot be told apart",
    "{column}: “{value}” is parted into {greens}: {why}.",
    "Write each green once, with one mark between two of them.",
)
ONE_AND_SEVERAL = FaultKind(
    "green.one_and_several",
    "Word for one green and for several",
    "{column}: “{value}” is {green} by the register of greens, and {greens} by [several.green] of the profile.",
    "Take it out of one of the two: the aliases of the register, or words under [several.green].",
)
OF_WHICH_GREEN = FaultKind(
    "green.of_which",
    "Amount on a line of several greens",
    "{column}: “{value}” stands on a line of several greens ({greens}): it may be what each of them had, or "
    "all of them together.",
    'Say in the profile which it is, under [several.green]: whole = "each", or whole = "shared" (shared out by area); '
    "or give each green a line of its own.",
)
NO_AREA = FaultKind(
    "green.no_area",
    "Amount that cannot be shared out",
    "The profile says that amounts of a line of several greens are shared out by area, and the register has no area of "
    "{value}.",
    "Measure it and put its area into the register of greens, or give each green a line of its own.",
)

_SHARED = (
    "mass_kg", "volume_l", "packs", "holes", "treated_area_m2", "debris_l", "debris_kg", "hours", "trigger_hours",
    "cost",
)  # fmt: skip
"""What adds up over greens, of a job; a rate holds for each of them."""
_SHORTHAND = ("quantity", "debris")


def greens_parted(
    source: Cells,
    others: Mapping[str, Cells],
    said: Several,
    declared: Mapping[str, str],
    style: Style,
    kind: Kind,
) -> Parted:
    """The lines of a file as a record for each green that their cells name.

    Args:
        source: the cells that say which green.
        others: the cells of every other field, as they stand on the lines.
        said: what the profile says of such cells.
        declared: other names of greens: such a cell is one green.
        style: how values are written.
        kind: kind of record.
    """
    parts, faults = _parts(source, said, declared, style)
    lines = pl.DataFrame({"row": pl.int_range(len(source.cells), eager=True), "cell": source.cells})
    table = pl.DataFrame(
        {"cell": list(parts), "parts": list(parts.values())}, schema={"cell": pl.String, "parts": pl.List(pl.String)}
    )
    records = lines.join(table, on="cell", how="left", maintain_order="left")
    own = pl.when(pl.col("parts").is_null()).then(pl.concat_list("cell")).otherwise("parts")
    records = records.with_columns(own.alias("text")).explode("text", empty_as_null=True, keep_nulls=True)
    if not said.whole:
        several = pl.select(pl.when(source.cells.is_in(list(parts))).then(source.cells)).to_series()
        doubtful = (*_SHARED, *_SHORTHAND, kind.value_field)
        faults += [in_doubt(cells, several, style) for name, cells in others.items() if name in doubtful]
    changed = pl.when(pl.col("parts").is_not_null()).then("cell")
    return Parted(
        records["row"],
        {"green": records["text"]},
        {"green": records.select(changed).to_series()},
        faults=concat(faults),
    )


def _parts(
    source: Cells,
    said: Several,
    declared: Mapping[str, str],
    style: Style,
) -> tuple[dict[str, list[str | None]], list[pl.DataFrame]]:
    """The greens of each distinct cell that names several; one that is refused is blank."""
    marks = re.compile("|".join(re.escape(mark) for mark in sorted(said.between, key=len, reverse=True)) or r"(?!)")
    meant = {plain(word).casefold(): list(greens) for word, greens in said.words.items()}
    found: dict[str, list[str | None]] = {}
    faults = []
    for text in source.cells.drop_nulls().unique(maintain_order=True):
        bare = plain(text)
        if style.is_missing(bare):
            continue
        if text in declared:
            if several := meant.get(bare.casefold()):
                here = source.where(source.cells == text)
                facts = {"green": declared[text], "greens": listed(several)}
                faults.append(ONE_AND_SEVERAL.frame(here.lines, here.cells, here.header, **facts))
            continue
        parts = meant.get(bare.casefold()) or [part.strip() for part in marks.split(bare)]
        if len(parts) < 2:
            continue
        why = "one of them is blank" if not all(parts) else "one stands twice" if len(set(parts)) < len(parts) else ""
        if why:
            here = source.where(source.cells == text)
            shown = listed([f"“{part}”" for part in parts])
            faults.append(NO_SEVERAL_GREENS.frame(here.lines, here.cells, here.header, greens=shown, why=why))
        found[text] = [None] if why else list(parts)
    return found, faults


def in_doubt(cells: Cells, greens: pl.Series, style: Style) -> pl.DataFrame:
    """The fault of each figure on a line of several greens (null on other lines)."""
    texts = missing_out(cells.cells, style.also_missing(cells.missing))
    faults = []
    for text in greens.filter(texts.is_not_null()).drop_nulls().unique(maintain_order=True):
        here = (greens == text).fill_null(value=False) & texts.is_not_null()
        faults.append(OF_WHICH_GREEN.frame(cells.lines.filter(here), texts.filter(here), cells.header, greens=text))
    return concat(faults)


def shared_out(records: pl.DataFrame, areas: pl.Series) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The records with each green's share, by area, of what adds up on a line of several; and what is said of others.

    Args:
        records: jobs; those of one line and operation are the greens of one cell.
        areas: each one's area, m², null where the register has none.
    """
    one_job = [name for name in ("line", "cell", "operation") if name in records.columns]
    told = records.with_columns(areas.alias("area"), pl.len().over(one_job).alias("greens"))
    several = pl.col("greens") > 1
    lacks = told.filter(several & pl.col("area").is_null())
    share = pl.when(several).then(pl.col("area") / pl.col("area").sum().over(one_job)).otherwise(1.0)
    names = [name for name in _SHARED if name in records.columns]
    shared = told.with_columns(share.alias("share")).with_columns(
        pl.when(several).then(pl.col(name) * pl.col("share")).otherwise(name).alias(name) for name in names
    )
    return shared.select(records.columns), NO_AREA.of(lacks, "green")
