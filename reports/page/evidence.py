"""How each figure was made and from which lines of which files, as printed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.common.grouped import grouped
from pipeline.common.words import line_ranges
from pipeline.indicators.base.green_season import Evidence, Indicator, SourceFile
from reports.page import text

MOST_SOURCES = 20


@dataclass(frozen=True)
class MethodLine:
    """One way of making figures, the figures it made, what they rest on and whose target they stand against.

    Attributes:
        refs: the numbers of these figures, in ranges.
        numbers: each of the numbers.
    """

    refs: str
    method: str
    records: str
    targets: str
    numbers: tuple[str, ...]


@dataclass(frozen=True)
class SourceLine:
    """One file that figures come from."""

    file: str
    kind: str
    rows: str
    lines: str
    loaded_on: str
    sha256: str


def method_lines(pairs: tuple[tuple[int, Indicator], ...], ranges: int) -> tuple[MethodLine, ...]:
    """One line for every method sentence, in the order of the first figure it made."""
    groups = grouped(pairs, lambda pair: made_by(pair[1]))
    return tuple(_method_line(method, members, ranges) for method, members in groups.items())


def made_by(one: Indicator) -> str:
    """How a figure was made, as its line says it; "" where that is not stated."""
    return text.sentence(text.clean(one.method))


def _method_line(method: str, members: list[tuple[int, Indicator]], ranges: int) -> MethodLine:
    sources = dict.fromkeys(text.clean(i.target_source) for _, i in members if i.target_source)
    return MethodLine(
        refs=line_ranges((ref for ref, _ in members), text.MOST_RANGES),
        method=method or "How it was made is not stated.",
        records=_records(members, ranges),
        targets="; ".join(sources),
        numbers=tuple(dict.fromkeys(str(ref) for ref, _ in members)),
    )


def _records(members: list[tuple[int, Indicator]], ranges: int) -> str:
    """Where the records of figures stand; "" where they stand with another figure, as the method then says."""
    evidence = {e for _, i in members for e in i.evidence}
    return "" if not evidence and any(i.n for _, i in members) else where(evidence, ranges)


def where(evidence: Iterable[Evidence], ranges: int) -> str:
    """Files with their lines in compact ranges: "jobs.csv lines 3–5, 9; soil.csv line 2".

    Past so many ranges of a file the rest of its lines is counted, with the attachment that holds it.
    """
    parts = []
    for file, places in grouped(sorted(evidence), lambda place: place.file).items():
        lines = {place.line for place in places}
        noun = "line" if len(lines) == 1 else "lines"
        told = line_ranges(lines, ranges)
        rest = "" if told == line_ranges(lines) else " in indicators.csv"
        parts.append(f"{text.name(file)} {noun} {told}{rest}")
    return "; ".join(parts) or "no record"


def source_lines(sources: tuple[SourceFile, ...], most_text: int = 160) -> tuple[SourceLine, ...]:
    """The files in the order given; past ``MOST_SOURCES`` they are left to the attachment.

    A list of lines longer than ``most_text`` ends between two of its ranges, and says where the others are.
    """
    return tuple(
        SourceLine(
            text.name(s.file),
            text.clean(s.kind.replace("_", " "), 40),
            text.count(s.rows, "row"),
            _first_ranges(s.lines, most_text),
            text.clean(s.loaded_on, 40),
            s.sha256[:12],
        )
        for s in sources[:MOST_SOURCES]
    )


def _first_ranges(lines: str, most: int) -> str:
    """A list of ranges of lines as far as it fits, and how many more stand in notes.csv."""
    every = lines.split(", ")
    kept: list[str] = []
    for one in every:
        if kept and len(", ".join((*kept, one))) > most:
            break
        kept.append(text.clean(one, 40))
    left = len(every) - len(kept)
    return ", ".join(kept) + (f" and {text.count(left, 'further range')} in notes.csv" if left else "")
