"""What ``verify`` and ``prove`` found, as a person reads it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from pipeline.cli.terminal import err, out
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted, line_ranges, listed
from pipeline.forget.forget import Forgotten
from pipeline.publish.prove import Proof
from pipeline.verify.differences import Difference
from pipeline.verify.verify import Verified
from schemas import KINDS

MOST = 10
"""Differences of one load that are listed; more are counted, and --json has all."""
NOT_PROVED = (
    "What this does not prove: that the files said what was done on the green, or when they were loaded. Nobody has "
    "witnessed the chain but those who hold a document that bears one of its hashes; whoever can write to the store "
    "can make a whole new chain, and only such a document tells."
)


def verified(found: Verified, *, quiet: bool) -> None:
    """What differs, then what was looked at."""
    for one in found.alterations:
        out(one_line(one.message))
    for (load_id, file), some in groupby(found.differences, key=lambda one: (one.load_id, one.file)):
        _of_load(load_id, file, list(some))
    for number, why in found.unread:
        out(one_line(f"Load {number} could not be read again: {why}."))
    if quiet:
        return
    if not found.whole:
        err(_what_to_do(found))
        return
    again = (
        f"; {counted(found.read_again, 'original')} read again, and every row is as it was" if found.read_again else ""
    )
    out(f"{counted(found.loads, 'load')}: the chain of hashes is whole, and the store is what it covers{again}.")
    if found.head:
        out(f"Head of the chain, after {counted(found.entries, 'entry', 'entries')}: {found.head}")
    for entry in sorted({entry for _, entry in found.redacted}):
        loads = [number for number, by in found.redacted if by == entry]
        out(
            f"Redacted by entry {entry}, where a person was forgotten: {'load' if len(loads) == 1 else 'loads'} "
            f"{_numbers(loads)}. Dates, codes and amounts are as they were loaded, free words and originals as they "
            "stood after that."
        )
    if found.carried:
        out(
            f"Of {counted(len(found.carried), 'load')} ({_numbers(found.carried)}) no original was kept: they came "
            "before this version. What the store held of them when the chain began has not changed since."
        )
    err(NOT_PROVED)


def _of_load(load_id: int, file: str, found: Sequence[Difference]) -> None:
    out(one_line(f"Load {load_id} ({file}), store against original:"))
    for one in found[:MOST]:
        out(one_line(f"  {_said(one)}"))
    if len(found) > MOST:
        out(f"  and {len(found) - MOST} more: --json lists all.")


def _said(one: Difference) -> str:
    line = f"line {one.line}: " if one.line is not None else ""
    if one.what in KINDS and not one.name:
        there = "is in the store and not in the original" if one.original is None else "is not in the store any more"
        return f"{line}{one.what.replace('_', ' ')} {one.stored or one.original} {there}"
    stored, original = (_value(value) for value in (one.stored, one.original))
    if one.what == "warning":
        return f"{line}{one.name}: the store says {stored}, the original {original}"
    return f"{line}{one.name} is {stored}, and was loaded as {original}"


def _value(value: str | None) -> str:
    return "nothing" if value is None else f"“{value}”" if not value.replace(".", "", 1).isdigit() else value


def _what_to_do(found: Verified) -> str:
    other = [number for number in found.other_version if number in {one.load_id for one in found.differences}]
    if other:
        return (
            f"Loads {_numbers(other)} were read by another version of swardtally: what differs may be a value that "
            "this version reads otherwise. Verify with that version to tell."
        )
    return (
        "The store was changed by another way than loading, or is damaged. Nothing was mended. Restore a backup "
        "from before (swardtally restore BACKUP DIR, then verify -w DIR), or load the original files into a new "
        "workspace; until then no report is written of it."
    )


def _numbers(loads: Iterable[int]) -> str:
    return line_ranges(set(loads))


def proved(found: Proof, *, quiet: bool) -> None:
    """What became of the records behind a document, whether its pages are known, and where its hash stands."""
    which = found.document or "The hash"
    if found.entry is None:
        out(one_line(f"{found.document} bears {found.head}." if found.document else f"The hash is {found.head}."))
        out("No entry of this store's chain has that hash: it is of another store, or of a chain that is gone.")
        err("Ask whoever wrote the document to prove it with their store, or restore a backup from before its day.")
        return
    _since(which, found)
    if found.document:
        out(one_line(_pages(found)))
    of_load = f", load {found.load_id} ({found.file})" if found.load_id is not None else ""
    out(one_line(f"Hash: {found.head}, the head after entry {found.entry} of {found.entries}{of_load}."))
    if found.records:
        out(f"In the store by then: {listed([_counted(kind, count) for kind, count in found.records])}.")
    if not quiet:
        err(NOT_PROVED)


def _since(which: str, found: Proof) -> None:
    altered = found.alterations
    if not altered:
        out(one_line(f"{which}: none of the records that were loaded by then was altered since."))
    else:
        out(one_line(f"{which}: of what was loaded by then, this was altered since:"))
    for one in altered[:MOST]:
        out(one_line(f"  {one.message}"))
    if len(altered) > MOST:
        out(f"  and {len(altered) - MOST} more: --json lists all.")
    if altered:
        err("swardtally verify names each difference.")
    if found.taken_back:
        loads = [f"{n} ({file})" for n, file in zip(found.taken_back, found.taken_back_files, strict=True)]
        out(one_line(f"Taken back since: {'load' if len(loads) == 1 else 'loads'} {listed(loads)}."))
    if found.redacted:
        out(
            f"A person's name was taken since out of {'load' if len(found.redacted) == 1 else 'loads'} "
            f"{_numbers(found.redacted)}; dates, codes and amounts are as they were."
        )


def _pages(found: Proof) -> str:
    if found.as_written:
        return f"The pages: byte for byte what was written here last as {found.written_file} in the reports."
    if found.as_written is False:
        return f"The pages: not what was written here last. {found.written_file} was changed after it was written."
    return (
        "The pages: not known to be as they were written. No document in the reports has these bytes; this may be an "
        "earlier one, or one that somebody changed. Compare its figures with those of one written now."
    )


def _counted(kind: str, count: int) -> str:
    return counted(count, kind.replace("_", " "), KINDS[kind].title if kind in KINDS else "")


def forgotten(found: Forgotten, *, quiet: bool, dry_run: bool) -> None:
    """What was changed, and what is left for a person to do."""
    would = "would be " if dry_run else ""
    texts = sum(found.texts.values())
    out(f"{counted(texts, 'cell')} of the store {would}changed, and {counted(found.originals, 'original or rule')}.")
    for file in found.files:
        out(one_line(f"{would.capitalize()}{'w' if dry_run else 'W'}ritten anew: {file}"))
    if found.dropped:
        out(
            f"The original of {'load' if len(found.dropped) == 1 else 'loads'} {_numbers(found.dropped)} "
            f"{would}dropped: the name could not be taken out of it. The records stand."
        )
    out(f"In place of the name {'would stand' if dry_run else 'stands'}: {found.token}")
    for file in found.left:
        out(one_line(f"Still bears the name, and is yours to change or delete: {file}"))
    if quiet:
        return
    if found.left:
        err(
            "Do not load these files again before the name is out of them: it would come back, and the same work "
            "would count twice."
        )
    err("Documents already written and backups were not looked into: delete those that may bear the name.")
    if dry_run:
        err("Nothing was changed. Without --dry-run it cannot be taken back.")
