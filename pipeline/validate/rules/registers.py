"""Rules for registers: a mix that is more than the whole, a green whose size contradicts its area."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

import polars as pl

from pipeline.common.closest import offered
from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.money import plain
from pipeline.store.register import Register
from pipeline.validate.rules import goals, green_area
from schemas import KINDS
from schemas.codes import fold, spellings
from schemas.construction import LIST

MIX_TOO_MUCH = FaultKind(
    "mix.too_much",
    "Parts of a mix come to more than the whole",
    "Sand and soil come to {value} %.",
    "Write shares by mass that come to at most 100.",
)
LIQUID_BASIS = FaultKind(
    "analysis.liquid",
    "Liquid's analysis by weight or by volume?",
    "The figures of a liquid (“{value}”) are by weight (g in 100 g) or by volume (g in 100 ml); nothing says which.",
    "Write w/w or w/v into analysis_by, as on the label; by weight needs the density too.",
)
SIZE_AND_AREA = FaultKind(
    "area.size",
    "Length, width and area contradict each other",
    "Length times width is {value} m², far from the area given.",
    "Measure again, or leave blank what is not sure; the area is what rates are made from (a tenth apart is "
    "asked about: common practice, no source).",
    severity="warning",
)
CLOSED_BEFORE_LAID = FaultKind(
    "green.closed",
    "Green closed before it was laid",
    "The green was closed on {value} at the latest, before it was laid.",
    "Check laid_on and closed_on.",
)
CONSTRUCTION_UNKNOWN = FaultKind(
    "construction.unknown",
    "Construction in words that stand for no code",
    "“{value}” is no spelling of a known construction: no target made for one construction holds for this green.",
    "Fill in construction_type (docs/codes.md has the list; “other” where none fits). The words stay as they are.",
    severity="warning",
)
CONSTRUCTION_TWICE = FaultKind(
    "construction.twice",
    "Words and code of a construction say two things",
    "The words “{value}” stand for another construction than construction_type gives; the code counts.",
    "Mend the words, or the code.",
    severity="warning",
)
NO_FIRST = FaultKind(
    "register.no_first",
    "Nothing says what held before the first day of a register's row",
    "{green} has no row that holds from the start: that from {value} on is taken for the days before it as well.",
    "Add a row of the same name with valid_from left blank, saying what held before.",
    severity="warning",
)
FROM_THE_START = FaultKind(
    "register.from_start",
    "Row without a day, where later rows have one",
    "The row of {value} has no day, so it changes what held from the start: {changed}.",
    "If it is meant from a day on, take this load back (undo LOAD), give the row its day in valid_from, and load it "
    "again; if it was so from the start, nothing need be done.",
    severity="warning",
)
NO_STATION = FaultKind(
    "green.station",
    "Weather station of which there is no weather",
    "There is no weather of a station “{value}”{closest}.",
    "Write the name as in the weather files; nothing need be done if its weather is still to be loaded.",
    severity="warning",
)
ENDS_SWAPPED = FaultKind(
    "target.ends",
    "Lower end of a target above its upper end",
    "The lower end {value} lies above the upper end {high}.",
    "Swap the two, or blank the one that is not meant; a target may have one end alone.",
)
ROUNDING = 0.5
"""Percent that rounded shares of a mix may come to above 100."""
PARTS = ("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct")
"""What a label gives in percent."""
AREA_APART = 0.10
"""Share by which length × width may differ from the area: common practice, no source."""


def check_material(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of materials that single fields cannot show."""
    total = pl.col("sand_pct") + pl.col("soil_pct")
    unsaid = (pl.col("form") == "liquid") & pl.any_horizontal(pl.col(PARTS) > 0) & pl.col("analysis_by").is_null()
    return concat(
        [
            MIX_TOO_MUCH.of(records.filter(total > 100 + ROUNDING), "sand_pct", total),
            LIQUID_BASIS.of(records.filter(unsaid), "analysis_by", pl.col("material")),
        ]
    )


def check_days(records: pl.DataFrame, register: Register, kind: str) -> pl.DataFrame:
    """Warnings of first rows for which no row holds from the start."""
    begun = records.filter(pl.col("valid_from").is_null())[kind].to_list()
    dated = records.filter(pl.col("valid_from").is_not_null() & ~pl.col(kind).is_in([*begun, *register.names(kind)]))
    first = dated.sort("valid_from", maintain_order=True).unique(kind, keep="first", maintain_order=True)
    rows = first.sort("line", maintain_order=True).select("line", "valid_from", kind).iter_rows()
    return concat(NO_FIRST.at(line, day.isoformat(), "valid_from", green=name) for line, day, name in rows)


def check_from_start(records: pl.DataFrame, register: Register, kind: str) -> pl.DataFrame:
    """Warnings of rows without a day that change the oldest row of a name, while dated rows hold since.

    A file that holds dated rows of the name as well is a list of them all: nobody takes its first row for today's.
    """
    known = register.by_day.get(kind)
    if known is None or known["valid_from"].null_count() == known.height:
        return no_faults()
    listed_whole = records.filter(pl.col("valid_from").is_not_null())[kind].to_list()
    undated = records.filter(pl.col("valid_from").is_null() & ~pl.col(kind).is_in(listed_whole))
    rows = known.filter(pl.col(kind).is_in(undated[kind].to_list())).sort(
        "valid_from", nulls_last=False, maintain_order=True
    )
    held = rows.partition_by(kind, as_dict=True, maintain_order=True)
    faults = []
    for row in undated.iter_rows(named=True):
        first, *later = held[row[kind],].to_dicts() if (row[kind],) in held else [{}]
        if later and first["valid_from"] is None:
            # of the changed cell, not of valid_from: that column the file may lack, and then nobody could confirm it
            faults += [
                FROM_THE_START.at(row["line"], row[kind], name, changed=said)
                for name, said in _changed(row, first, later, kind)
            ]
    return concat(faults)


def _changed(
    row: Mapping[str, object], first: Mapping[str, object], later: Sequence[Mapping[str, object]], kind: str
) -> Iterator[tuple[str, str]]:
    """Of each field that a row gives anew: its name; its former and new value, and what the dated rows say."""
    for field in KINDS[kind].stored:
        old, new = (_shown(one[field.name]) for one in (first, row))
        if row[field.name] is None or old == new:
            continue
        still = []
        for one in later:
            since, day = _shown(one[field.name]), one["valid_from"]
            # a row that leaves the field blank shows the former value too, and would take the new one
            unsure = f" where that row gives it, {new} where it leaves it blank" if since == old else ""
            still.append(f"{since} from {day} on{unsure}")
        yield field.name, f"{field.name} from {old} to {new}, and it is still {', '.join(still)}"


def _shown(value: object) -> str:
    if value is None:
        return "blank"
    if isinstance(value, Decimal):
        return plain(value)
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def check_target(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Targets that no figure could meet, and those of which two may hold at once."""
    from pipeline.validate.rules import target_names  # what figures there are: only targets ask it

    swapped = records.filter(pl.col("low") > pl.col("high"))
    rows = swapped.select("line", "low", "high").iter_rows()
    ends = [ENDS_SWAPPED.at(line, f"{low:g}", "low", high=f"{high:g}") for line, low, high in rows]
    return concat([*ends, target_names.check(records, register), goals.check_ties(records, register)])


def check_green(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of greens that single fields cannot show."""
    closed = pl.coalesce("closed_by", "closed_on")
    size = pl.col("length_m") * pl.col("width_m")
    apart = (size - pl.col("area_m2")).abs() > AREA_APART * pl.col("area_m2")
    return concat(
        [
            green_area.check(records),
            SIZE_AND_AREA.of(records.filter(apart), "area_m2", size.round(0)),
            CLOSED_BEFORE_LAID.of(records.filter(closed < pl.col("laid_on")), "closed_on", closed),
            *_construction_faults(records),
        ]
    )


def check_stations(records: pl.DataFrame, register: Register) -> pl.DataFrame:
    """Warnings of stations that no weather is of, where there is weather of others."""
    known = register.met.get("station", frozenset())
    unknown = records.filter(pl.col("station").is_not_null() & ~pl.col("station").is_in(sorted(known)))
    names = unknown["station"].unique(maintain_order=True) if known else ()
    return concat(
        NO_STATION.of(unknown.filter(pl.col("station") == name), "station", closest=offered(name, known))
        for name in names
    )


def _construction_faults(records: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Greens whose words for their construction stand for no code, or for another than the one given."""
    known = spellings(LIST)
    worded = records.filter(pl.col("construction").is_not_null())
    by_words = pl.Series([known.get(fold(words)) for words in worded["construction"]], dtype=pl.String)
    yield CONSTRUCTION_UNKNOWN.of(
        worded.filter(by_words.is_null() & worded["construction_type"].is_null()), "construction"
    )
    apart = (by_words != worded["construction_type"]).fill_null(value=False)
    yield CONSTRUCTION_TWICE.of(worded.filter(apart), "construction")
