"""The comparison as CSV: the figures of the pages and no others, so that nothing more can be worked out of them."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.common.words import difference_unit
from pipeline.compare.comparison import Comparison, Topic
from reports.page.attachments import Cell, CsvFile, csv_bytes

TOPIC = ("indicator", "label", "band", "method", "unit", "rounding_step")
GROUP_COLUMNS = (
    *TOPIC, "group", "region", "season", "greens", "clubs", "lowest", "lower_quartile", "median", "upper_quartile",
    "highest", "mean", "spread_between_greens", "questioned",
)  # fmt: skip
OWN_COLUMNS = (
    *TOPIC, "green", "green_name", "value", "low", "high", "group", "greens", "estimate", "estimate_low",
    "estimate_high", "place_from", "place_to", "funnel", "funnel_low", "funnel_high", "questioned",
)  # fmt: skip
CHANGE_COLUMNS = (
    *TOPIC, "group", "region", "from_season", "to_season", "greens", "clubs", "mean_change", "low", "high",
    "lower_quartile", "median", "upper_quartile", "questioned",
)  # fmt: skip
SEASONS_COLUMNS = (
    *TOPIC, "group", "first_season", "last_season", "seasons", "greens", "clubs", "change_a_season", "low", "high",
    "refused", "questioned",
)  # fmt: skip
ASSOCIATION_COLUMNS = (
    *TOPIC, "programme", "group", "greens_changed", "greens_unchanged", "difference", "low", "high", "text",
)  # fmt: skip


def csv_files(comparison: Comparison) -> tuple[CsvFile, ...]:
    """The comparison's tables, in order of their names; the reader's own greens only where there is a reader."""
    files = [
        CsvFile(
            "associations.csv",
            "What went with a change of programme",
            csv_bytes(ASSOCIATION_COLUMNS, _with(comparison)),
        ),
        CsvFile("changes.csv", "Year on year of the same greens", csv_bytes(CHANGE_COLUMNS, _changes(comparison))),
        CsvFile(
            "groups.csv", "Every group of like greens that may be shown", csv_bytes(GROUP_COLUMNS, _groups(comparison))
        ),
    ]
    if comparison.club:
        files.append(
            CsvFile("own.csv", "The club's own greens among their like", csv_bytes(OWN_COLUMNS, _own(comparison)))
        )
    words = "Steady change over the seasons, of the like greens of all regions"
    files.append(CsvFile("seasons.csv", words, csv_bytes(SEASONS_COLUMNS, _over_seasons(comparison))))
    return tuple(files)


def _topic(topic: Topic) -> tuple[Cell, ...]:
    return (topic.name, topic.label, topic.band, topic.method, topic.unit, topic.step)


def _difference(topic: Topic) -> tuple[Cell, ...]:
    """The same, the unit that of a difference: percentage points for percent."""
    return (topic.name, topic.label, topic.band, topic.method, difference_unit(topic.unit), topic.step)


def _yes(questioned: bool) -> str:
    """Whether a figure, or one of a group, rests on an entry to be checked."""
    return "yes" if questioned else "no"


def _short(value: float | None, topic: Topic) -> float | None:
    """A figure to a hundredth of what its step can carry: the last bits of a division are no figures."""
    return None if value is None else round(value, topic.decimals + 2)


def _groups(comparison: Comparison) -> Iterator[tuple[Cell, ...]]:
    for c in comparison.cells:
        ends = (c.low, c.quarter, c.median, c.three_quarters, c.high, c.mean, c.spread)
        figures = (_short(end, c.topic) for end in ends)
        yield (*_topic(c.topic), c.group, c.region, c.season, c.n, c.clubs, *figures, _yes(c.questioned))


def _own(comparison: Comparison) -> Iterator[tuple[Cell, ...]]:
    for o in comparison.own:
        group: tuple[Cell, ...] = (o.cell.group, o.cell.n) if o.cell else (None, None)
        figure = (_short(end, o.topic) for end in (o.value, o.low, o.high))
        estimate = (_short(end, o.topic) for end in (o.estimate, o.estimate_low, o.estimate_high))
        limits = (_short(end, o.topic) for end in (o.funnel_low, o.funnel_high))
        place = (o.place_low, o.place_high)
        told = (*figure, *group, *estimate, *place, o.funnel, *limits, _yes(o.questioned))
        yield (*_topic(o.topic), o.green, o.green_name, *told)


def _changes(comparison: Comparison) -> Iterator[tuple[Cell, ...]]:
    for c in comparison.changes:
        found = (c.mean, c.low, c.high, c.quarter, c.median, c.three_quarters)
        ends = (_short(end, c.topic) for end in found)
        yield (*_difference(c.topic), c.group, c.region, c.before, c.season, c.n, c.clubs, *ends, _yes(c.questioned))


def _over_seasons(comparison: Comparison) -> Iterator[tuple[Cell, ...]]:
    for c in comparison.over_seasons:
        ends = (_short(end, c.topic) for end in (c.slope, c.low, c.high))
        told = (c.seasons[0], c.seasons[-1], len(c.seasons), c.n, c.clubs, *ends, c.refused, _yes(c.questioned))
        yield (*_difference(c.topic), c.group, *told)


def _with(comparison: Comparison) -> Iterator[tuple[Cell, ...]]:
    for a in comparison.associations:
        counts = (a.n_changed, a.n_unchanged) if a.value is not None else (None, None)
        ends = (_short(end, a.topic) for end in (a.value, a.low, a.high))
        yield (*_difference(a.topic), a.programme, a.group, *counts, *ends, a.text)
