"""A club's season put together from the seasons of its greens."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pipeline.common.grouped import grouped
from pipeline.indicators.base.green_season import Caution, GreenSeason
from pipeline.summaries.club_season import KEY_FIGURES, ClubSeason, Days, SharedText, Topic
from pipeline.summaries.effort import by_operation, effort, place_of, total_effort


def club_season(seasons: Sequence[GreenSeason]) -> ClubSeason:
    """The summary of one club's season.

    Args:
        seasons: the club's greens, all of one club and one season; at least one.
    """
    assert seasons, "a club without a green has no season"
    assert len({(one.club, one.season) for one in seasons}) == 1, "greens of one club and one season"
    greens = tuple(replace(one, records=()) for one in sorted(seasons, key=lambda one: one.green))
    first = greens[0]
    efforts = tuple(effort(one.works) for one in greens)
    return ClubSeason(
        club=first.club,
        club_name=first.club_name,
        region=first.region,
        season=first.season,
        season_start=first.season_start,
        season_end=first.season_end,
        as_of=max(one.as_of for one in greens),
        currency=first.currency,
        greens=greens,
        topics=tuple(_with_band(topic, greens) for topic in KEY_FIGURES),
        efforts=efforts,
        total=total_effort(efforts),
        calendar=tuple(sorted(_days(greens), key=lambda days: place_of(days.operation))),
        cautions=_cautions((one.green, caution) for one in greens for caution in one.cautions),
        notes=_once((one.green, n.text, n.severity) for one in greens for n in one.data_notes),
        known_to=max((one.known_to for one in greens if one.known_to), default=None),
        look=first.look,
    )


def _with_band(topic: Topic, greens: Sequence[GreenSeason]) -> Topic:
    """The topic in the band that most greens have a value in; the first named (the shallowest) where several do."""
    bands = Counter(i.band for one in greens for i in one.indicators if i.name == topic.name and i.value is not None)
    return replace(topic, band=bands.most_common(1)[0][0]) if bands else topic


def _days(greens: Iterable[GreenSeason]) -> Iterator[Days]:
    for one in greens:
        for operation, works in by_operation(one.works).items():
            yield Days(operation, one.green, tuple(work.date for work in works if not work.date_to), effort(works),
                       sum(work.date_to is not None for work in works))  # fmt: skip


def _cautions(said: Iterable[tuple[str, Caution]]) -> tuple[SharedText, ...]:
    """Cautions with the greens they are raised for, in the order first raised; of one sort the gravest stands.

    Each green's figures apart would print the lesser as if it were all there is, and the page cuts the list short.
    """
    alike = grouped(said, lambda one: (one[1].sort or one[1].text, one[1].source))
    return tuple(_gravest(members) for members in alike.values())


def _gravest(members: Sequence[tuple[str, Caution]]) -> SharedText:
    green, worst = max(members, key=lambda member: member[1].degree)
    return SharedText(
        worst.text, worst.source, tuple(dict.fromkeys(code for code, _ in members)), green if worst.sort else ""
    )


def _once(said: Iterable[tuple[str, str, str]]) -> tuple[SharedText, ...]:
    """Texts with the greens they are said of, each once, in the order first said."""
    return tuple(
        SharedText(text, source, tuple(dict.fromkeys(green for green, *_ in same)))
        for (text, source), same in grouped(said, lambda one: one[1:]).items()
    )
