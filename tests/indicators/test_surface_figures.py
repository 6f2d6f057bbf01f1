"""Green speed: seconds at 27 m, spread and evenness, worked by hand; fewer seconds is a slower green."""

from __future__ import annotations

import pytest

from tests.indicators.figures import Figures, lines, names, of

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
    assert one.note == "One day only: no interval. 1 of 2 bowls give no distance; 27 m is taken."
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
