"""A club's report holds no other club's name or figure: text, metadata, attachments, over the whole demo county."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from importlib.resources import files

import pikepdf
import polars as pl
import pypdfium2
import pytest

from pipeline.indicators.base.green_season import Evidence, GreenSeason
from pipeline.indicators.base.reading import read_records
from pipeline.indicators.base.records import Records
from pipeline.publish.pool import renderer_of
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from reports.condition import render as condition
from reports.page.attachments import csv_files
from schemas import KINDS
from tests.thorough import THOROUGH, beyond

CLUBS = pl.read_csv(files("demo_data").joinpath("registers", "clubs.csv").read_bytes())["club"].to_list()
PRINTED = ("ALD-2", "MOS-1")
"""Greens of two clubs whose PDF is made; of the others the HTML and the attachments it is made from."""


@pytest.fixture(scope="module")
def records(demo_county: Workspace) -> Records:
    with Store(demo_county.store, read_only=True) as store:
        return read_records(store)


def names_of(records: Records, club: str) -> set[str]:
    """Names and codes of a club and its greens, and what crews call them; one ordinary word tells nobody."""
    row = records.clubs.filter(pl.col("club") == club).row(0, named=True)
    found = {club, row["name"]}
    for green in records.greens.filter(pl.col("club") == club).iter_rows(named=True):
        found |= {green["green"], *(green["aliases"] or "").split("|")}
        if len(green["name"].split()) > 1:
            found.add(green["name"])
    return {name for name in found if name}


def of_others(records: Records, club: str) -> set[str]:
    """Names of all other clubs, without those that stand in its own ("Main green" is many a club's)."""
    own = " ".join(names_of(records, club)) + " ".join(records.greens.filter(pl.col("club") == club)["name"])
    others = {name for one in records.clubs["club"] if one != club for name in names_of(records, one)}
    return {name for name in others if not told(name, own)}


def told(name: str, text: str) -> bool:
    """Whether a name stands in a text as a whole."""
    return name in text and re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text) is not None


def leaks(names: set[str], text: str) -> list[str]:
    """The names that stand in the text, whatever spaces it has."""
    even = re.sub(r"\s+", " ", text)
    return sorted(name for name in names if told(name, even))


def attached(season: GreenSeason) -> str:
    return "\n".join(f"{one.name} {one.description} {one.content.decode('utf-8-sig')}" for one in csv_files(season))


def owners(records: Records) -> dict[tuple[str, int, str], set[str]]:
    """Greens that each line of each file speaks of."""
    frames = {kind.name: records.frames[kind.name] for kind in KINDS.values() if kind.of_green}
    found: dict[tuple[str, int, str], set[str]] = {}
    for kind, frame in frames.items():
        for file, line, green in frame.select("file", "line", "green").drop_nulls().iter_rows():
            found.setdefault((file, line, kind), set()).add(green)
    return found


def places(season: GreenSeason) -> Iterator[Evidence]:
    """Every line the report rests on."""
    for one in (*season.indicators, *season.cautions):
        yield from one.evidence
    yield from (work.evidence for work in season.works)


@pytest.mark.parametrize("club", CLUBS)
@beyond(1)
def test_no_report_of_a_club_tells_of_another(
    records: Records, demo_seasons: tuple[GreenSeason, ...], club: str
) -> None:
    by_line = owners(records)
    forbidden = of_others(records, club)
    assert len(forbidden) > 30  # or the list itself has gone wrong
    own = [one for one in demo_seasons if one.club == club]
    assert own
    for made in own:
        green = made.green
        assert not leaks(forbidden, condition.html(made, version="0")), green
        assert not leaks(forbidden, repr(made)), green
        assert not leaks(forbidden, attached(made)), green
        for place in places(made):
            # a line of a wide sheet may speak of several greens
            assert green in by_line.get((place.file, place.line, place.kind), {green}), place
        for table in made.records:
            for column, wanted in (("green", {green, None}), ("club", {club})):
                if column in table.columns:
                    assert {row[table.columns.index(column)] for row in table.rows} <= wanted, table.kind
            private = {field.name for field in KINDS[table.kind].fields if field.private}
            assert not private & set(table.columns)


def test_no_pdf_tells_of_another_club_where_a_reader_does_not_look(
    records: Records, demo_seasons: tuple[GreenSeason, ...]
) -> None:
    for made in (one for one in demo_seasons if one.green in PRINTED[: 2 if THOROUGH else 1]):
        green = made.green
        forbidden = of_others(records, made.club)
        pdf = renderer_of("condition")(made, version="0")
        with pypdfium2.PdfDocument(pdf) as document:
            text = "\n".join(document[i].get_textpage().get_text_bounded() for i in range(len(document)))
        with pikepdf.open(io.BytesIO(pdf)) as document:
            text += "\n".join(str(value) for value in document.docinfo.values())
            text += document.Root.Metadata.read_bytes().decode()
            for name, item in document.attachments.items():
                text += f"\n{name} {item.description}\n" + item.get_file().read_bytes().decode("utf-8-sig")
        assert made.club_name in text
        assert not leaks(forbidden, text), green


def test_a_name_of_another_club_would_be_found(records: Records) -> None:
    # guards against a search that can find nothing
    others = of_others(records, "ALD")
    assert leaks(others, "sampled beside BRA-1, Bramfold\u00a0Park Bowls Club") == [
        "BRA-1",
        "Bramfold Park",
        "Bramfold Park Bowls Club",
    ]
    assert leaks(others, "the BRAs of brambles; Main green, ALD-1") == []
