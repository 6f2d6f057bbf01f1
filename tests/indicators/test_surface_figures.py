"""Green speed: seconds at 27 m, spread and evenness, worked by hand; fewer seconds is a slower green."""

from __future__ import annotations

import pytest

from tests.indicators.figures import Figures, lines, names, of
from tests.outside_checks import outside

SPEED = "date,green,rink,value,unit,distance_m\n"


def bowls(*rows: tuple[str, str, float]) -> str:
    return SPEED + "".join(f"{day},ALD-1,{rink},{value},s,27\n" for day, rink, value in rows)


def test_mean_of_days_and_spread_of_bowls(figures: Figures) -> None:
    """Days of mean 12 and 14: mean 13, sd √2, 95 % ± 12.706 × √2 / √2 (t table, 1 df); all four bowls: sd 1.291."""
    done = figures(
        green_speed=bowls(
            ("2026-06-20", "1", 11.5), ("2026-06-20", "1", 12.5), ("2026-07-20", "1", 13.5), ("2026-07-20", "1", 14.5)
        )
    )
    one = of(done, "speed_s")
    assert (one.value, one.n, one.standing) == (13.0, 4, "within")
    assert (one.low, one.high) == (pytest.approx(13 - 12.706, abs=1e-3), pytest.approx(13 + 12.706, abs=1e-3))
    assert lines(one) == [2, 3, 4, 5]
    assert of(done, "speed_sd_s").value == pytest.approx((5 / 3) ** 0.5)
    assert "speed_range_s" not in names(done), "one rink says nothing on evenness"
    assert [(sample.value, sample.n) for sample in done.series[-1].samples] == [(12.0, 2), (14.0, 2)]


def test_distance_is_corrected_to_27_m(figures: Figures) -> None:
    """12 s over 30 m is 12 × √(27/30) = 11.384 s over 27 m; no distance given is taken as 27 m and said."""
    done = figures(green_speed=SPEED + "2026-06-20,ALD-1,1,12,s,30\n2026-06-20,ALD-1,1,12,s,\n")
    one = of(done, "speed_s")
    assert one.value == pytest.approx((11.3842 + 12) / 2, abs=1e-4)
    assert one.note == (
        "One day only: no interval. 1 of 2 bowls give no distance; 27 m is taken. "
        "1 of 2 bowls stopped more than 1 m from 27 m; corrected."
    )
    assert (one.low, one.high) == (None, None)


def test_evenness_is_between_rinks_of_the_same_day(figures: Figures) -> None:
    """Rinks at 12 and 14 s, then at 9 and 11 s after rain: 2 s apart on both days, however the days differ."""
    rows = [("2026-06-20", "1", 12.0), ("2026-06-20", "2", 14.0), ("2026-07-20", "1", 9.0), ("2026-07-20", "2", 11.0)]
    one = of(figures(green_speed=bowls(*rows)), "speed_range_s")
    assert (one.value, one.standing) == (pytest.approx(2.0), "above")
    assert one.note == "Slowest rink 1, fastest rink 2; at least 2 bowls a rink."


def test_a_day_with_one_rink_says_nothing_on_evenness(figures: Figures) -> None:
    """Rink 1 timed alone on a second day has nothing to be compared with; it may not halve the difference."""
    rows = [("2026-06-20", "1", 12.0), ("2026-06-20", "2", 14.0), ("2026-07-20", "1", 9.0), ("2026-07-21", "1", 10.0)]
    one = of(figures(green_speed=bowls(*rows)), "speed_range_s")
    assert one.value == pytest.approx(2.0)
    assert (one.n, lines(one)) == (2, [2, 3])


def test_stimpmeter_is_kept_apart(figures: Figures) -> None:
    """A ball's distance is never turned into a bowl's seconds; 10 ft are kept as 3.048 m."""
    done = figures(green_speed=SPEED + "2026-06-20,ALD-1,1,10,ft,\n2026-06-20,ALD-1,1,12,s,27\n")
    assert (of(done, "speed_s").value, of(done, "speed_s").n) == (12.0, 1)
    texts = [note.text for note in done.data_notes]
    assert "1 reading by stimpmeter are kept apart: they are never turned into seconds." in texts


def test_nothing_timed_is_asked_for(figures: Figures) -> None:
    """No reading is no figure, and the next thing to do."""
    done = figures(job="date,green,operation\n2026-03-10,ALD-1,mowing\n")
    assert "speed_s" not in names(done)
    assert any(one.what == "Time bowls" for one in done.due)
    since = figures(green_speed=bowls(("2026-10-20", "1", 12.5)))
    assert "speed_s" not in names(since)
    assert not any(one.what == "Time bowls" for one in since.due), "timed since, after the season"


DIRECTED = "date,green,rink,direction,value,unit,distance_m,observer\n"


def directed(*rows: tuple[str, str, float, float, str]) -> str:
    return DIRECTED + "".join(f"2026-06-20,ALD-1,{rink},{way},{t},s,{d},{who}\n" for rink, way, t, d, who in rows)


@outside("figure", "Oxford Croquet, lawn speed: 35 yd in 12 s is 0.486 per s²")
def test_deceleration_and_coefficient(figures: Figures) -> None:
    """35 in 12 s is 0.486 per s² (croquet pages on lawn speed, in yards); over 9.81 m/s² it is 0.0496."""
    done = figures(green_speed=directed(("1", "N", 12, 35, "")))
    one = of(done, "deceleration_m_s2")
    assert (one.value, one.n, lines(one)) == (pytest.approx(0.486, abs=5e-4), 1, [2])
    assert of(done, "rolling_coefficient").value == pytest.approx(0.0496, abs=5e-5)


def test_hands_are_compared_on_their_rink(figures: Figures) -> None:
    """Forehand 12 and backhand 12.6 on rink 1, 10 and 10.6 on rink 2, however written: 0.6 s apart; N says no hand."""
    rows = [("1", "forehand", 12.0), ("1", "BH", 12.6), ("2", "FH", 10.0), ("2", "backhand", 10.6), ("3", "N", 16.0)]
    done = figures(green_speed=directed(*((rink, way, t, 27, "") for rink, way, t in rows)))
    one = of(done, "speed_hands_s")
    assert (one.value, one.n, one.note) == (pytest.approx(0.6), 4, "Slower on the forehand.")
    assert lines(one) == [2, 3, 4, 5]


def test_a_point_of_the_compass_is_no_hand_and_one_timer_has_no_spread(figures: Figures) -> None:
    """N and S are ways of play; two people who timed different ways cannot be compared."""
    made = names(figures(green_speed=directed(("1", "N", 12, 27, "one"), ("1", "S", 13, 27, "two"))))
    assert not made & {"speed_hands_s", "speed_timers_s"}


def test_timers_are_compared_where_the_record_names_two(figures: Figures) -> None:
    """Two stopwatches on one rink and direction, 12.0 and 13.2 s: 1.2 s apart, over the 1 s of the timing rule."""
    done = figures(green_speed=directed(("1", "N", 12.0, 27, "one"), ("1", "N", 13.2, 27, "two")))
    one = of(done, "speed_timers_s")
    assert (one.value, one.standing) == (pytest.approx(1.2), "above")
    assert not [word for word in ("one", "two") if word in one.note.split()], "nobody who timed is named"


def test_bowls_that_stop_far_from_27_m_are_told(figures: Figures) -> None:
    """The timing rule counts bowls within 1 m of the jack: 28 m is within, 28.1 m is not."""
    done = figures(green_speed=directed(("1", "N", 12, 28, ""), ("1", "S", 12, 28.1, "")))
    assert "1 of 2 bowls stopped more than 1 m from 27 m; corrected." in of(done, "speed_s").note


def rolled(*rows: tuple[str, str, float]) -> str:
    return SPEED.replace("rink,", "rink,direction,") + "".join(
        f"2026-06-20,ALD-1,{rink},{way},{feet},ft,\n" for rink, way, feet in rows
    )


@outside("figure", "a golf course's maintenance notes 2014: 10 ft 11 in")
def test_stimpmeter_mean_and_slope_correction(figures: Figures) -> None:
    """9 ft up and 14 ft down: mean 11.5 ft, corrected 10.957 ft (a golf course's maintenance notes 2014)."""
    balls = [("1", way, feet) for way, feet in (("N", 9), ("S", 14)) for _ in range(3)]
    done = figures(green_speed=rolled(*balls))
    assert of(done, "stimp_m").value == pytest.approx(11.5 * 0.3048)
    assert of(done, "stimp_level_m").value == pytest.approx(10.957 * 0.3048, abs=2e-4)
    assert of(done, "stimp_m").note == "In 1 of 1: the two ways differ by more than 457 mm (18 in)."
    assert not {name for name in names(done) if name.startswith(("speed_", "deceleration", "rolling"))}


def test_stimpmeter_one_way_is_no_reading(figures: Figures) -> None:
    """Balls rolled one way carry no figure; those of another rink still do, with the rule they break."""
    done = figures(green_speed=rolled(("1", "N", 9)))
    one = of(done, "stimp_m")
    assert (one.value, one.n, one.note) == (None, 0, "1 ball left out: not rolled two ways on one rink.")
    both = figures(green_speed=rolled(("1", "N", 9), ("2", "N", 8), ("2", "S", 8.5)))
    assert of(both, "stimp_m").value == pytest.approx(8.25 * 0.3048)
    assert of(both, "stimp_m").note == (
        "In 1 of 1: a series is not of three balls. 1 ball left out: not rolled two ways on one rink."
    )
