"""Parsing by distinct cells: a million rows hold few different texts, and each is parsed once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import polars as pl

from pipeline.common.faults import FAULT_SCHEMA, FaultKind, concat, no_faults
from pipeline.profiles.style import Problem, Refused, Understood

Parse = Callable[[str, list[Problem]], Sequence[object]]
"""Takes a cell and a list to put warnings and notes in; gives the values, or raises ``Refused``."""


def understood(
    lines: pl.Series, cells: pl.Series, header: str, schema: Mapping[str, type[pl.DataType]], parse: Parse
) -> Understood:
    """What a column's cells are understood as; one row a cell, null cells stay null.

    Args:
        lines: physical line of each cell.
        cells: text, null where blank.
        header: column name as the person sees it.
        schema: names and types of the values.
        parse: parses one text.
    """
    texts: list[str] = cells.unique(maintain_order=True).drop_nulls().to_list()
    parsed: list[Sequence[object]] = []
    problems: list[tuple[str, Problem]] = []
    blank = (None,) * len(schema)
    for text in texts:
        notes: list[Problem] = []
        try:
            parsed.append(parse(text, notes))
        except Refused as refused:
            parsed.append(blank)
            notes = [refused.problem]
        problems += [(text, note) for note in notes]
    columns = list(zip(*parsed, strict=True)) if parsed else [()] * len(schema)
    known = pl.DataFrame(
        {
            "cell": pl.Series(texts, dtype=pl.String),
            **{
                name: pl.Series(list(column), dtype=dtype)
                for (name, dtype), column in zip(schema.items(), columns, strict=True)
            },
        }
    )
    rows = pl.DataFrame({"line": lines, "cell": cells})
    values = rows.select("cell").join(known, on="cell", how="left", maintain_order="left").drop("cell")
    return Understood(values, _faults(rows, header, problems))


def _faults(rows: pl.DataFrame, header: str, problems: list[tuple[str, Problem]]) -> pl.DataFrame:
    if not problems:
        return no_faults()
    plain: dict[FaultKind, list[str]] = {}
    told: list[tuple[str, str, str, str, str]] = []
    for text, problem in problems:
        if problem.facts:
            told.append(_told(text, header, problem))
        else:
            plain.setdefault(problem.kind, []).append(text)
    frames = []
    for kind, texts in plain.items():
        some = rows.filter(pl.col("cell").is_in(texts))
        frames.append(kind.frame(some["line"], some["cell"], header))
    if told:
        words = pl.DataFrame(told, schema=["cell", "code", "severity", "message", "hint"], orient="row")
        some = rows.join(words, on="cell", how="inner", maintain_order="left")
        frames.append(some.select(line="line", column=pl.lit(header), value="cell", **{
            name: pl.col(name) for name in ("code", "severity", "message", "hint")
        }).select(list(FAULT_SCHEMA)))  # fmt: skip
    return concat(frames)


def _told(text: str, header: str, problem: Problem) -> tuple[str, str, str, str, str]:
    """The row of a fault frame whose facts belong to one text, as ``FaultKind.frame`` writes it."""
    facts = {"value": text[:120], "column": header, **dict(problem.facts)}
    kind = problem.kind
    return text, kind.code, kind.severity, kind.template.format(**facts), kind.hint.format(**facts)
