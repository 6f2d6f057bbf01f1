"""What the records of greens come to, as far as a target or the last works ask for something by it (grain: green).

Frames are made, joined and grouped over many greens at once; what comes out are plain values and rows of each, for a
frame that is asked green by green costs a hundred times what is asked of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import polars as pl

from pipeline.indicators.base.green_records import GreenRecords
from pipeline.indicators.base.periods import LAST
from pipeline.indicators.base.rows import Row, Rows, no_lines
from pipeline.indicators.feeding import nutrients
from pipeline.indicators.play.surface import timed
from pipeline.indicators.works import dressing
from pipeline.plan.together import Together, by_number
from pipeline.workspace.settings import Season

OF_JOB = ("load_id", "line")
OF_DRESSING = (*OF_JOB, "kg_m2", "given_kg", "dry_kg", "dried")
OF_FEED = (*OF_JOB, "date", "material", "n_pct", "nitrogen", "release_weeks", "pack_kg")


@dataclass(frozen=True)
class Logged:
    """What the log of a season says towards one of its targets.

    Attributes:
        applied: what is put on, in the target's unit, as far as it is known; None where nothing is.
        uncounted: jobs whose amount is not known.
        rows: the jobs it is made from.
    """

    applied: float | None
    uncounted: int
    rows: Sequence[Row]


@dataclass(frozen=True)
class Facts:
    """What the records of a green come to in a season, and the last works on it whenever they were.

    Attributes:
        dressed: dressing of the season.
        fed: nitrogen of the season.
        any_job: whether a job of the season is logged.
        outside: rows in no figure that may be of the season (``GreenRecords.rejected_here``).
        last_dressing: what was put on last.
        last_feeds: feeds of the last day on which nitrogen was put on; none where there was none.
        fed_since: whether something was fed after that day whose nitrogen is not known.
        solid: the last solid feed; None where there was none.
        sampled: first and last day that the last sample of organic matter can be of; None where there is none.
        timed: whether a bowl was timed in the season of the records.
    """

    dressed: Logged
    fed: Logged
    any_job: bool
    outside: Sequence[dict[str, Any]]
    last_dressing: dressing.LastDressing | None
    last_feeds: Sequence[Row]
    fed_since: bool
    solid: Row | None
    sampled: tuple[date, date] | None
    timed: bool


def facts(records: Sequence[GreenRecords], seasons: Sequence[Season]) -> tuple[Facts, ...]:
    """What the records of each green come to: ``seasons`` are those whose targets are to be met, one of each."""
    if not records:
        return ()
    asked = Together([of_season(*one) for one in zip(records, seasons, strict=True)])
    known = Together([replace(one, as_of=one.last_day) for one in records])
    feeds = nutrients.fed(known)
    lacking = nutrients.uncounted(known, feeds)
    alike = all(one.applications is own.applications for one, own in zip(asked.each, known.each, strict=True))
    fed = _fed(asked, feeds if alike else nutrients.fed(asked), lacking if alike else None)
    before = known.where(dressing.dressings(known), pl.col("date") <= pl.col("as_of"))
    last = dressing.last_dressings(known.each, before)
    dressed = _dressed(asked)
    any_job = set(asked.in_season(asked.jobs)["of"])
    outside, samples, bowls = _outside(asked), latest_samples(known), _timed(known, records)
    last_feeds, since, solid = _last_feeds(known, feeds, lacking)
    return tuple(
        Facts(dressed[of], fed[of], of in any_job, outside.get(of, ()), last.get(of), last_feeds.get(of, ()),
              of in since, solid.get(of), samples.get(of), of in bowls)
        for of in range(len(records))
    )  # fmt: skip


def of_season(records: GreenRecords, season: Season) -> GreenRecords:
    """The records of a green as a season's targets are met by them, whichever day they were of."""
    return replace(records, season=season, as_of=season.end).counting


def _dressed(asked: Together) -> list[Logged]:
    rows = by_number(asked.in_season(dressing.dressings(asked)), *OF_DRESSING)
    return [_of_dressings(rows.get(of, [])) for of in range(len(asked.each))]


def _of_dressings(rows: Sequence[Row]) -> Logged:
    return Logged(dressing.applied_kg_m2(Rows(0, rows, no_lines)), sum(row["kg_m2"] is None for row in rows), rows)


def _fed(asked: Together, feeds: pl.DataFrame, lacking: pl.DataFrame | None) -> list[Logged]:
    rows = by_number(asked.in_season(feeds), *OF_FEED)
    lacking = nutrients.uncounted(asked, feeds) if lacking is None else lacking
    short = dict(asked.in_season(lacking).group_by("of", maintain_order=True).len().iter_rows())
    return [_of_feeds(rows.get(of, []), short.get(of, 0)) for of in range(len(asked.each))]


def _of_feeds(rows: Sequence[Row], uncounted: int) -> Logged:
    applied = nutrients.applied_kg_ha(nutrients.NITROGEN, Rows(0, rows, no_lines))
    return Logged(applied, uncounted, [row for row in rows if (row["nitrogen"] or 0.0) > 0])


def _outside(asked: Together) -> dict[int, list[dict[str, Any]]]:
    """Rows in no figure that may be of each season; of a green with jobs of a period as its records tell it."""
    plain = [one.rejected.clear() if one.periods["job"].height else one.rejected for one in asked.each]
    here = (pl.col("first") <= pl.col("looked_until")) & (pl.col("last") >= pl.col("season_start"))
    whenever = pl.col("first").is_null() | pl.col("last").is_null()
    found = by_number(asked.where(asked.numbered(plain), whenever | here), *plain[0].columns)
    own = {of: one.rejected_here for of, one in enumerate(asked.each) if one.periods["job"].height}
    return found | own


def _last_feeds(
    known: Together, feeds: pl.DataFrame, lacking: pl.DataFrame
) -> tuple[dict[int, list[dict[str, Any]]], set[int], dict[int, dict[str, Any]]]:
    """Feeds of the last day with nitrogen; greens fed with something not known since; the last solid feed."""
    past = known.where(feeds, pl.col("date") <= pl.col("as_of"))
    with_nitrogen = past.filter(pl.col("nitrogen") > 0)
    last = with_nitrogen.filter(pl.col("date") == pl.col("date").max().over("of"))
    days = last.group_by("of", maintain_order=True).agg(pl.col("date").max().alias("day"))
    since = lacking.join(days, on="of", how="inner", maintain_order="left_right").filter(
        pl.col("date") > pl.col("day")
    )["of"]
    solid = past.filter((pl.col("n_pct") > 0) & (pl.col("form").fill_null("solid") == "solid"))
    solid = solid.group_by("of", maintain_order=True).last()
    solids = {of: rows[0] for of, rows in by_number(solid, *OF_FEED).items()}
    return by_number(last, *OF_FEED), set(since), solids


def latest_sample(known: GreenRecords) -> tuple[date, date] | None:
    """First and last day that the last sample of organic matter up to ``as_of`` can be of; None where there is none."""
    return latest_samples(Together([known])).get(0)


def latest_samples(known: Together) -> dict[int, tuple[date, date]]:
    """The same of each of some greens that has one."""
    rows = known.numbered(
        pl.concat([one.frames["soil_test"], one.periods["soil_test"]])
        if one.periods["soil_test"].height
        else one.frames["soil_test"]
        for one in known.each
    )
    rows = known.where(rows.filter(pl.col("analyte") == "organic_matter"), pl.col("as_of") >= LAST)
    order = ("of", LAST, "date", "file", "line")
    last = (
        rows.with_columns(LAST.alias("until"))
        .sort(*order, maintain_order=True)
        .group_by("of", maintain_order=True)
        .last()
    )
    return {of: (first, until) for of, first, until in last.select("of", "date", "until").iter_rows()}


def _timed(known: Together, records: Sequence[GreenRecords]) -> set[int]:
    """Greens of which a bowl was timed in the season of their records."""
    bowls = timed(known.frames["green_speed"])
    return set(known.where(bowls, pl.col("date").is_between("season_start", "as_of"))["of"])
