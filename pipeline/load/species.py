"""What is said of species whose readings stand in several files: they add up at one place, and are averaged without."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted
from pipeline.indicators.base.species import PLACE, WHOLE_PCT
from pipeline.load.matched import Matched
from pipeline.standardise.observed import is_share_of_ground
from pipeline.store.layout import Connection
from schemas import Kind
from schemas.codes import code_list
from schemas.observation import OBSERVATION

ADDED_TO = FaultKind(
    "count.other_file",
    "Species of one place in two files",
    "{what}: “{value}” here and “{other}” in line {old_line} of {file} are of one place and day, and add up to "
    "{total} % (in this file: {places}).",
    "If they are two species, nothing need be done; if they are one under two names, or one was corrected, take the "
    "load that is wrong back (undo LOAD).",
    severity="warning",
)
AVERAGED_WITH = FaultKind(
    "count.other_file_apart",
    "Species without a place in two files",
    "{what}: “{value}” here and “{other}” in line {old_line} of {file} are of one day and name no place: they are "
    "averaged as readings of several places.",
    "If they are of one place, take both loads back (undo LOAD), write into `place` of each line where it was read, "
    "and load them again; species of one place add up.",
    severity="warning",
)


def added_to(con: Connection, kind: Kind, columns: Mapping[str, str], matched: Matched) -> pl.DataFrame:
    """Warnings of incoming observations beside which another load's species of the same class stand, after ``match``.

    One a class, file and way of being put together, at its first line. What the file itself holds of the other load is
    told within the file.

    Args:
        con: connection inside the transaction of the load.
        kind: kind of record; of another than observations there are none.
        columns: field → the column a person sees.
        matched: what ``match`` found.
    """
    if kind.name != OBSERVATION.name or not matched.met:
        return no_faults()
    given = matched.fields
    column = columns.get("observed", "observed")
    mine = {name: f'i."{name}"' if name in given else "NULL" for name in (*PLACE, "species_named", "value")}
    same = " AND ".join(f'k."{name}" IS NOT DISTINCT FROM {mine[name]}' for name in PLACE)
    nameless = " AND ".join(f"{mine[name]} IS NULL" for name in ("place", "x_m", "y_m"))
    shares = ", ".join(f"'{name}'" for name in code_list("observation") if is_share_of_ground(name))
    sql = (
        f"SELECT i.line, i.observed, {mine['species_named']}, {mine['value']}, k.species_named, k.value, "  # noqa: S608 (names from KINDS)
        f"k.line, l.file, {nameless} FROM incoming AS i JOIN history.observation AS k ON {same} "
        "JOIN meta.load AS l ON l.load_id = k.load_id "
        f"WHERE i.status IN ('new', 'supersedes') AND i.observed IN ({shares}) AND k.ended_by IS NULL "
        f"AND k.species_named IS DISTINCT FROM {mine['species_named']} AND {mine['value']} + k.value IS NOT NULL "
        "AND k.rowid NOT IN (SELECT e.old FROM ending AS e WHERE e.old IS NOT NULL) "
        "AND k.rowid NOT IN (SELECT u.old FROM incoming AS u WHERE u.status = 'unchanged') "
        "ORDER BY i.line, i.record, k.load_id, k.line"
    )
    met = pl.DataFrame(con.execute(sql).fetchall(), schema=_MET, orient="row")
    return concat(
        _fault(part, str(what), str(file), column, nameless=bool(nameless))
        for (what, file, nameless), part in met.group_by("what", "file", "nameless", maintain_order=True)
    )


_MET = {
    "line": pl.Int64, "what": pl.String, "species": pl.String, "value": pl.Float64, "other": pl.String,
    "more": pl.Float64, "old_line": pl.Int64, "file": pl.String, "nameless": pl.Boolean,
}  # fmt: skip


def _fault(part: pl.DataFrame, what: str, file: str, column: str, *, nameless: bool) -> pl.DataFrame:
    """The warning of one class and file, with its first line's facts."""
    first, label = part.row(0, named=True), code_list("observation")[what].label
    facts = {"what": label, "other": first["other"] or label, "old_line": first["old_line"], "file": file}
    if nameless:
        return AVERAGED_WITH.at(first["line"], first["species"] or label, column, **facts)
    total = f"{min(first['value'] + first['more'], WHOLE_PCT):.3g}"
    places = counted(part["line"].n_unique(), "line")
    return ADDED_TO.at(first["line"], first["species"] or label, column, total=total, places=places, **facts)
