"""Programmes of the year ahead as a person reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pipeline.cli.narrow import narrowed
from pipeline.cli.printing.table import table
from pipeline.cli.terminal import err, out
from pipeline.common.money import plain, rounded
from pipeline.common.words import counted, often, period
from pipeline.plan.programme import PARTS
from schemas.codes import code_list

if TYPE_CHECKING:
    from pipeline.plan.entries import Entry
    from pipeline.plan.programme import Programme, Schools
    from pipeline.publish.priced import PricedDocument
    from pipeline.publish.programme import WrittenProgramme

_HEADERS = ("when", "work", "amount", "material", "why")


def programme(done: WrittenProgramme, *, quiet: bool) -> None:
    """The lines of each green, what was left out, cautions, and the files."""
    for one in done.programmes:
        _lines(one)
        if not quiet:
            for left in one.left_out:
                err(f"{one.place.green}: not planned: {left.operation.replace('_', ' ')} of {left.source}: {left.why}.")
    if not quiet:
        if open_ := sum(line.times is None for one in done.programmes for line in one.entries):
            verb = "leaves" if open_ == 1 else "leave"
            err(f"{counted(open_, 'line')} {verb} open how often: hours, amount and cost are not known until times is "
                "filled in.")  # fmt: skip
        for text in dict.fromkeys(text for one in done.programmes for text in one.cautions):
            err(f"Caution: {text}")
    if done.fault:
        err(f"Not written: {done.fault}.")
        return
    for path in done.files:
        out(str(path))
    if done.unchanged and not quiet:
        err("The files would come out the same and were left as they are.")


def priced(done: PricedDocument, *, quiet: bool) -> None:
    """The price, what it is without, and the files of the document."""
    made = done.programme
    price, hours = made.quotation, made.hours
    known = (
        "not known" if hours.value is None else f"{rounded(hours.value, 1):,}{f' ({hours.said})' if hours.said else ''}"
    )
    out(f"Hours: {known}")
    with_vat = f"; with VAT of {plain(price.vat_pct)} %: {price.total:,}" if price.vat_pct is not None else ""
    priced_ = price.before_vat or not price.without
    out(f"Price in {made.currency}: {f'{price.before_vat:,} without VAT{with_vat}' if priced_ else 'not known'}")
    if not quiet:
        for one in price.without:
            err(f"The price is without {one}.")
    if done.written.fault:
        err(f"Not written: {done.written.path}: {done.written.fault}.")
    for path in done.files:
        out(str(path))


def schools(found: Schools) -> None:
    """The templates to choose from, on standard error: nothing was made."""
    for part, ones in found.items():
        err(f"{PARTS[part][:1].upper()}{PARTS[part][1:]}:")
        for one, unsaid in ones:
            school = f"{one.school} ({unsaid})" if unsaid else one.school
            err(f"  {one.name}: {one.title}. School: {school}. Source: {one.source}.")


def _lines(one: Programme) -> None:
    out(f"{one.place.green}, season {one.season.name}: {counted(len(one.entries), 'line')}")
    if not one.entries:
        return
    labels = {name: code.label for name, code in code_list("operation").items()}
    rows = [
        (period(line.work.first, line.work.last), labels[line.work.operation], amount(line), line.work.material,
         line.work.basis)
        for line in one.entries
    ]  # fmt: skip
    table(*narrowed(_HEADERS, rows, (), {"why", "material"}))


def amount(line: Entry) -> str:
    """How much in all, in words: a mass, a volume or a number of times; why it is not known."""
    work = line.work
    if line.lacking or work.size is None:
        return f"not known: {line.lacking or 'none is given'}"
    times = f" in {counted(round(line.times), 'time')}" if line.times and line.times > 1 else ""
    if work.unit == "times":
        return often(round(work.size))
    if work.unit == "kg" and work.size >= 1000:
        return f"{work.size / 1000:.3g} t{times}"
    return f"{work.size:,.4g} {work.unit}{times}"
