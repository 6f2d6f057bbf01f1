"""Rules for observations: counts that fit, shares that fit together, what makes a reading comparable."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from pipeline.common.faults import FaultKind, concat, no_faults
from pipeline.common.words import counted
from pipeline.indicators.base.species import WHOLE_PCT, one_place, shares_of_ground
from pipeline.standardise.observed import made_from_parts
from pipeline.validate.rules.soil import thin, upside_down
from schemas.codes import code_list

MORE_HITS = FaultKind(
    "count.more",
    "More hits than points",
    "{value} hits of fewer points.",
    "Check both counts; a point counts once for one kind.",
)
HALF_A_COUNT = FaultKind(
    "count.half",
    "Half a count",
    "Hits are given without the points looked at, or the other way about.",
    "Write both: a share needs them, and so does its interval.",
)
DIFFERS = FaultKind(
    "observation.differs",
    "Reading and what it is made from contradict each other",
    "The reading of {value} does not fit the counts, ring or depths beside it.",
    "Keep one of the two, or make them agree.",
)
HEAD_RISES = FaultKind(
    "ring.rises",
    "Water that rises in the ring",
    "The water stands at {value} mm in the end, above where it began.",
    "Put the start into head_mm and the end into head_end_mm.",
)
HAMMER_MISSING = FaultKind(
    "hardness.hammer",
    "Hardness without the mass of the hammer",
    "Hardness of {value} g, and nothing says with which hammer.",
    "Write the mass of the hammer into hammer_kg (0.5 and 2.25 kg are usual); without it the reading is comparable "
    "with no other.",
    severity="warning",
)
SHARES_TOO_MUCH = FaultKind(
    "count.shares",
    "Shares of one place come to more than the whole",
    "Species, moss, weeds and bare ground of this place come to {value} %.",
    "If a point may count for several plants (one above another), nothing need be done: shares are kept each for "
    "itself. Else check the counts.",
    severity="warning",
)
ADDED_LINES = FaultKind(
    "count.added",
    "Several readings of one thing at one place",
    "{what}: {count} readings at {place} are added up to {value} %, as of {count} species (in this file: {places}).",
    "If they are readings of one place made again, of which the mean is meant, give each a name of place of its own "
    "(“Q3 again”); if they are species of one kind, nothing need be done.",
    severity="warning",
)
ADDED_COLUMNS = FaultKind(
    "count.columns",
    "Several columns of one thing",
    "{what}: {count} columns of one row are added up to {value} %, as of {count} species (in this file: {places}).",
    "If the columns are readings made again, of which the mean is meant, give each a name of place of its own under "
    "`set` of its [[long]] entry; if they are species of one kind, nothing need be done.",
    severity="note",
)
ADDED_TOO_MUCH = FaultKind(
    "count.over",
    "Readings of one thing come to more than the whole",
    "{what}: the readings of one place come to {value} % together, and count as 100 %.",
    "If they are readings made again, of which the mean is meant, give each a name of place of its own; if they are "
    "species that lie one above another, nothing need be done; else check the counts.",
    severity="warning",
)
SPECIES_NOWHERE = FaultKind(
    "count.species",
    "Several species of one kind without a place",
    "“{value}” and other species of {what} stand in several lines of one day without a place: of one place they add "
    "up, of several their mean is meant.",
    "Write into `place` of each line where it was read (the same name for species of one place).",
)
SPECIES_APART = FaultKind(
    "count.apart",
    "Several species of one kind averaged as several places",
    "“{value}” and other species of {what} stand in several lines of one day without a place, and come to more than "
    "the whole: they are averaged as readings of several places.",
    "Write into `place` of each line where it was read; species of one place then add up.",
    severity="warning",
)
LAYERS_CROSS = FaultKind(
    "core.overlap",
    "Layers of one core overlap",
    "The layer from {value} mm begins above the end of the one over it.",
    "Check the depths of the core.",
    severity="warning",
)
LAYER_ENDS_MISSING = FaultKind(
    "core.ends",
    "Layer of a core without its two ends",
    "A layer of a core needs the depth it begins and the one it ends at; the thickness alone has no place.",
    "Fill in depth_from_mm and depth_to_mm.",
)
PLACE = ["date", "green", "survey", "place", "rink", "x_m", "y_m", "method"]
"""What is the same in the counts of one place."""
THINNEST_PROBE_MM = 20.0
"""Depth of a moisture probe that is asked about below (common practice, no source; rods are 30 mm or longer)."""
ROUNDING_PCT = 1.0
"""Points of a percent that rounded shares may come to above 100, and a rounded share may be off its count."""
ROUNDING = 0.05
"""Share by which a rounded reading may be off what it is made from."""


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of observations that single fields cannot show."""
    value, observed = pl.col("value"), pl.col("observed")
    bare = (observed == "hardness") & pl.col("hammer_kg").is_null() & value.is_not_null()
    endless = (observed == "layer") & (pl.col("depth_from_mm").is_null() | pl.col("depth_to_mm").is_null())
    return concat(
        [
            MORE_HITS.of(records.filter(pl.col("hits") > pl.col("points")), "hits"),
            HALF_A_COUNT.of(records.filter(pl.col("hits").is_null() != pl.col("points").is_null()), "hits"),
            upside_down(records),
            thin(records.filter(observed == "moisture"), THINNEST_PROBE_MM),
            HEAD_RISES.of(records.filter(pl.col("head_end_mm") > pl.col("head_mm")), "head_end_mm"),
            HAMMER_MISSING.of(records.filter(bare), "hammer_kg", value),
            LAYER_ENDS_MISSING.of(records.filter(endless), "depth_to_mm", value),
            _differs(records),
            _shares(records),
            *_added(records),
            *_species_nowhere(records),
            _cores(records),
        ]
    )


def _differs(records: pl.DataFrame) -> pl.DataFrame:
    """Readings that contradict what stands beside them in the same row."""
    if not records.height:
        return no_faults()
    apart = (pl.col("value") - pl.col("made")).abs()
    allowed = pl.max_horizontal(pl.lit(ROUNDING_PCT), ROUNDING * pl.col("made").abs())
    return DIFFERS.of(records.with_columns(made_from_parts()).filter(apart > allowed), "value")


def _shares(records: pl.DataFrame) -> pl.DataFrame:
    """Places where kinds that shut each other out come to more than 100 %, said once at their first line.

    What is one thing at one named place adds up; of places without a name the mean of each kind is taken.
    """
    kinds = [name for name, code in code_list("observation").items() if code.facts.get("exclusive")]
    alone = records.filter(pl.col("observed").is_in(kinds) & pl.col("value").is_not_null())
    each = alone.group_by(one_place(alone).alias("where"), *PLACE, "observed", maintain_order=True)
    whole = each.agg(pl.col("value").sum(), pl.col("line").min())
    means = whole.group_by([*PLACE, "observed"], maintain_order=True).agg(pl.col("value").mean(), pl.col("line").min())
    sums = means.group_by(PLACE, maintain_order=True).agg(pl.col("value").sum(), pl.col("line").min())
    odd = sums.filter(pl.col("value") > 100 + ROUNDING_PCT).sort("line", maintain_order=True)
    return SHARES_TOO_MUCH.of(odd, "value", pl.col("value").round(1))


def _added(records: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Things of which a place has several readings, said once each: they add up, and may not be meant to."""
    known = records.filter(shares_of_ground() & pl.col("value").is_not_null())
    places = known.group_by(one_place(known).alias("where"), "observed", maintain_order=True).agg(
        pl.len().alias("count"), pl.col("line").n_unique().alias("lines"), pl.col("line").first(),
        pl.col("value").sum(), pl.col("place").first(),
    )  # fmt: skip
    for (what,), part in places.filter(pl.col("count") > 1).group_by("observed", maintain_order=True):
        first = part.row(0, named=True)
        over = part.filter(pl.col("value") > 100 + ROUNDING_PCT)
        if over.height:
            row = over.row(0, named=True)
            yield ADDED_TOO_MUCH.at(
                row["line"], f"{row['value']:.1f}", "value", what=code_list("observation")[str(what)].label
            )
            continue
        kind = ADDED_LINES if (part["lines"] > 1).any() else ADDED_COLUMNS
        yield kind.at(
            first["line"],
            f"{first['value']:.3g}",
            "value",
            what=code_list("observation")[str(what)].label,
            count=first["count"],
            place=f"“{first['place']}”" if first["place"] else "this place",
            places=counted(part.height, "place"),
        )


def _species_nowhere(records: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Lines of several species of one kind, day and green that name no place: one place or several, nothing says.

    Refused where the means of the species fit into one whole; what comes to more is of several places, and said.
    """
    nameless = pl.all_horizontal(pl.col("place", "x_m", "y_m").is_null())
    known = records.filter(shares_of_ground() & pl.col("value").is_not_null() & nameless)
    of = [*PLACE, "observed"]
    known = known.filter((pl.col("species_named").n_unique().over(of) > 1) & (pl.col("line").n_unique().over(of) > 1))
    # the whole kind's word beside a species' may be their sum, the rest of them, or another place
    known = known.with_columns(pl.coalesce("species_named", _labels(known["observed"])).alias("species"))
    if known.is_empty():
        return
    means = known.group_by(*of, "species", maintain_order=True).agg(pl.col("value").mean())
    whole = means.group_by(of, maintain_order=True).agg(pl.col("value").sum().alias("whole"))
    known = known.join(whole, on=of, nulls_equal=True, maintain_order="left")
    for (what,), part in known.group_by("observed", maintain_order=True):
        label = code_list("observation")[str(what)].label
        fits = pl.col("whole") <= WHOLE_PCT + ROUNDING_PCT
        yield SPECIES_NOWHERE.of(part.filter(fits), "observed", pl.col("species"), what=label)
        yield SPECIES_APART.of(part.filter(~fits).head(1), "observed", pl.col("species"), what=label)


def _labels(observed: pl.Series) -> pl.Series:
    """What a report calls the things observed."""
    return observed.replace_strict({name: code.label for name, code in code_list("observation").items()})


def _cores(records: pl.DataFrame) -> pl.DataFrame:
    """Layers that begin above the end of the one over them, core by core."""
    place = PLACE[:-1]
    layers = records.filter(pl.col("observed") == "layer").sort("depth_from_mm", "depth_to_mm", maintain_order=True)
    over = pl.col("depth_to_mm").cum_max().shift(1).over(place)
    odd = layers.filter(pl.col("depth_from_mm") < over).sort("line", maintain_order=True)
    return LAYERS_CROSS.of(odd, "depth_from_mm")
