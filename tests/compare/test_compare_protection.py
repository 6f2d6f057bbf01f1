"""Disclosure control: thresholds, remainders, and what all clubs but one can find out of the last."""

from __future__ import annotations

import dataclasses
from itertools import combinations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pipeline.compare import protection
from pipeline.compare.build import comparison
from pipeline.compare.comparison import Comparison
from pipeline.compare.county import County, Member
from pipeline.compare.figures import Figure
from pipeline.indicators.families import DESCRIBED
from reports.comparison.data import csv_files
from tests.compare import counties
from tests.compare.counties import DRESSED, OM, SPEED, Drawn
from tests.thorough import examples, thorough

TOPICS = (OM, SPEED, DRESSED)


def club_of(members: dict[str, Member]) -> dict[str, str]:
    return {green: member.club for green, member in members.items()}


def paths(members: dict[str, Member]) -> dict[str, protection.Path]:
    return {green: member.path for green, member in members.items()}


@settings(max_examples=examples(50, 150))
@given(counties.members(most=60))
def test_nothing_too_small_is_shown_or_had_by_adding_and_subtracting(members: dict[str, Member]) -> None:
    """Greens in exactly the same shown groups cannot be told apart by sums; each such class is large enough.

    Any sum over greens that can be had from sums over shown groups has one weight for all greens of a class, since
    they lie in the same groups. So what can be had is made of whole classes, whatever is added and subtracted.
    """
    clubs = club_of(members)
    shown = protection.publishable(paths(members), clubs)
    classes: dict[tuple[protection.Path, ...], set[str]] = {}
    for green in members:
        classes.setdefault(tuple(p for p, greens in shown.items() if green in greens), set()).add(green)
    for place, greens in classes.items():
        if place:
            assert len(greens) >= 5
            assert len({clubs[green] for green in greens}) >= 2


@settings(max_examples=examples(20, 60))
@given(counties.members(least=5, most=12))
def test_no_small_group_lies_in_the_span_of_those_shown(members: dict[str, Member]) -> None:
    """The same by linear algebra, not by the argument above: sums of up to four greens against the span."""
    shown = protection.publishable(paths(members), club_of(members))
    if not shown:
        return
    order = sorted(members)
    rows = np.array([[green in greens for green in order] for greens in shown.values()], float)
    rank = np.linalg.matrix_rank(rows)
    for size in (1, 2, 3, 4):
        for chosen in combinations(range(len(order)), size):
            wanted = np.zeros(len(order))
            wanted[list(chosen)] = 1
            assert np.linalg.matrix_rank(np.vstack([rows, wanted])) > rank


def test_a_small_remainder_withholds_a_group_that_would_be_large_enough() -> None:
    """Seven greens, five of them on sand: seven less five would be two."""
    members = {
        f"G{i}": Member("", f"C{i % 3}", ("flat", "North", "sand" if i < 5 else "soil", "bent")) for i in range(7)
    }
    shown = protection.publishable(paths(members), club_of(members))
    assert set(shown) == {("flat",), ("flat", "North")}
    more = members | {f"S{i}": Member("", f"C{i % 3}", ("flat", "North", "soil", "bent")) for i in range(3)}
    assert ("flat", "North", "sand") in protection.publishable(paths(more), club_of(more))


def test_five_greens_of_one_club_are_not_shown() -> None:
    members = {f"G{i}": Member("", "C0", ("flat",)) for i in range(5)}
    assert not protection.publishable(paths(members), club_of(members))


def outputs(county: County, but: str) -> list[tuple[Comparison, tuple[bytes, ...]]]:
    """Everything the association and every club but one are given."""
    clubs = sorted({member.club for member in county.members.values()} - {but})
    regions = sorted({member.path[1] for member in county.members.values()})
    made = [comparison(county), *(comparison(county, region=region) for region in regions)]
    made += [comparison(county, club=club, club_name=club) for club in clubs]
    return [(one, tuple(file.content for file in csv_files(one))) for one in made]


def elsewhere(drawn: Drawn, greens: set[str], share: float) -> Drawn:
    """The same figures, but those of these greens moved within their steps, with their errors as they go with them."""
    return {
        green: [
            (topic, counties.elsewhere_in_its_step(topic, value, share) if green in greens else value, error)
            for topic, value, error in found
        ]
        for green, found in drawn.items()
    }


@settings(max_examples=examples(8, 25), phases=[Phase.explicit, Phase.reuse, Phase.generate])  # shrinking takes minutes
@given(st.data())
@thorough
def test_attack_all_clubs_but_one_cannot_tell_the_last_closer_than_its_step(data: st.DataObject) -> None:
    """Whatever is computed from all the others' outputs: they are the same for any figures within the steps.

    Two counties that differ only in the last club's figures, each moved anywhere within its rounding step, give the
    association and every other club the same outputs to the last byte. So nothing made of them tells the two apart.
    """
    members = data.draw(counties.members(least=8, most=16))
    now = data.draw(counties.drawn_figures(sorted(members), TOPICS))
    before = data.draw(counties.drawn_figures(sorted(members), TOPICS))
    last = members[max(members)].club
    theirs = {green for green, member in members.items() if member.club == last}
    share = data.draw(st.floats(0.001, 0.999))
    real = outputs(counties.county(members, now, before), last)
    other = counties.county(members, elsewhere(now, theirs, share), elsewhere(before, theirs, 1 - share))
    assert outputs(other, last) == real


def test_attack_by_trial_on_one_green_of_its_own_club() -> None:
    """The others try every value the last green may have and keep those that fit all they were given.

    Twelve greens of known figures and the last club's one. What fits is never less than the step of 0.5 %, less twice
    the distance of the trials.
    """
    members = {f"G{i:02}": Member("", f"C{i // 3}", ("flat", "North", "soil", "bent")) for i in range(13)}
    draw = np.random.default_rng(4)
    values = draw.uniform(4, 8, 13)
    for true in (4.1, 6.2):
        known = {f"G{i:02}": [(OM, float(v), 0.07)] for i, v in enumerate(values)}

        def seen(value: float, known: Drawn = known) -> list[tuple[Comparison, tuple[bytes, ...]]]:
            return outputs(counties.county(members, known | {"G12": [(OM, value, 0.07)]}, {}), "C4")

        given_out = seen(true)
        tried = np.arange(true - 0.6, true + 0.6, 0.1)
        fits = [value for value in tried if seen(float(value)) == given_out]
        assert max(fits) - min(fits) >= 0.5 - 2 * 0.1


def test_the_attack_would_find_an_unprotected_figure(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without rounding, the same trial pins the last green down: the test above can fail."""
    monkeypatch.setattr(protection, "rounded", lambda value, _step: value)
    members = {f"G{i:02}": Member("", f"C{i // 3}", ("flat", "North", "soil", "bent")) for i in range(7)}
    known: Drawn = {f"G{i:02}": [(DRESSED, 2.0 + i, None)] for i in range(6)}

    def seen(value: float) -> list[tuple[Comparison, tuple[bytes, ...]]]:
        return outputs(counties.county(members, known | {"G06": [(DRESSED, value, None)]}, {}), "C2")

    assert seen(4.2) != seen(4.25)


def test_no_output_names_a_green_or_club_of_another() -> None:
    """Names, codes and exact figures of others are nowhere in what the association or a club is given."""
    members = {
        f"G{i:02}": Member(f"Name-of-{i}", f"CLUB{i // 2}", ("flat", "North", "soil", "bent")) for i in range(12)
    }
    now = {green: [(OM, 5.0 + i / 7, 0.07)] for i, green in enumerate(members)}
    made = counties.county(members, now, now)
    for reader in ("", "CLUB3"):
        done = comparison(made, club=reader, club_name=reader)
        text = str(dataclasses.asdict(done)) + b"".join(file.content for file in csv_files(done)).decode("utf-8-sig")
        for green, member in members.items():
            if member.club != reader or not reader:
                assert member.name not in text
                assert green not in text
                assert member.club not in text
                assert repr(now[green][0][1])[:7] not in text or float(now[green][0][1]) in (5.0, 6.0)
    assert len(comparison(made, club="CLUB3").own) == 2


def test_extremes_are_rounded_outwards() -> None:
    assert protection.outward(4.5, 8.0, 0.5) == (4.0, 8.0)
    assert protection.outward(0.5, 0.5, 0.5) == (0.0, 1.0)
    assert protection.outward(-0.3, 0.3, 0.1) == pytest.approx((-0.4, 0.4))


def test_an_error_that_is_a_share_does_not_tell_where_in_its_step_a_figure_lies() -> None:
    """3.76 % and 4.24 % of two cores each: the same error, though 14 % of them rounded by itself would differ."""
    of = [protection.rounded_error(0.099 * v, v, 0.5, relative=True) for v in (3.76, 4.24)]
    assert of[0] == of[1]
    by_itself = [protection.rounded_error(0.099 * v, v, 0.5, relative=False) for v in (3.76, 3.80)]
    assert by_itself[0] != by_itself[1]


def test_figures_hold_what_they_are_tested_with() -> None:
    """The steps of the tests are those of the tool."""
    from pipeline.compare.figures import _topic

    for topic in TOPICS:
        real = _topic(DESCRIBED[topic.name], topic.band, topic.method)
        assert real == topic
    assert Figure(OM, 1.0).sd is None
