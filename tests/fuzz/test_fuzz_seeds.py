"""The seeds of every target, in the ordinary run: what was found once does not come back."""

from __future__ import annotations

import gc
import random

import pytest

from tests.fuzz.drive import Driver, changed, found, modules, place_of
from tests.fuzz.target import SEEDS, Target, bytes_of, line_of
from tests.thorough import THOROUGH

TARGETS = {one.name: one for _, targets in modules() for one in targets}
SLOW = {"rows": 6, "loads": 2, "columns": 40, "amounts": 10, "drawings": 12, "styles": 8, "templates": 60}
"""Seeds that the ordinary run takes of a target that takes long; it takes all of the others."""


@pytest.mark.parametrize("name", TARGETS)
def test_the_seeds_of_a_target_hold(name: str) -> None:
    """Each is a form that people write, or an input that something did not hold for."""
    target = TARGETS[name]
    seeds = target.seeds()
    assert len(seeds) >= 2
    step = 1 if THOROUGH or name not in SLOW else max(1, len(seeds) // SLOW[name])
    gc.disable()  # the bound of a page's time ends what runs just then, and be it somebody's note of a collection
    try:
        for seed in seeds[::step]:
            target.run(seed)
    finally:
        gc.enable()


def test_every_file_of_seeds_has_its_target() -> None:
    assert {path.stem for path in SEEDS.glob("*")} == set(TARGETS)
    for target in TARGETS.values():
        assert found(target.name, _nothing) is target
        assert all(bytes_of(line_of(seed)) == seed for seed in target.seeds())


def _nothing() -> object:
    from contextlib import nullcontext

    return nullcontext()


def test_what_does_not_hold_is_kept_with_its_shortest_input(tmp_path: object) -> None:
    """The driver goes on after a find, tells two places apart and keeps the shorter input of one."""

    def odd(data: bytes) -> None:
        if b"a" in data:
            raise ValueError("a")
        assert b"b" not in data

    driver = Driver(Target("odd", "", odd), "random", 1e9, tmp_path / "odd.json")  # type: ignore[operator]
    for data in (b"xxa", b"xa", b"c", b"b", b"xxxxa"):
        driver(data)
    assert driver.sum.inputs == 5
    assert (
        sorted(one.said for one in driver.sum.finds.values()) == ["AssertionError: ", "ValueError: a"]
        or len(driver.sum.finds) == 2
    )
    assert {"eGE=", "Yg=="} == {one.data for one in driver.sum.finds.values()}


def test_an_input_that_hangs_is_a_find(tmp_path: object) -> None:
    def hanging(_: bytes) -> None:
        while True:
            try:
                sum(range(1000))
            except Exception:  # noqa: S112 - as code that is tried may have it
                continue

    driver = Driver(Target("odd", "", hanging, seconds=0.05), "random", 1e9, tmp_path / "odd.json")  # type: ignore[operator]
    driver(b"x")
    assert [one.said for one in driver.sum.finds.values()] == ["Hang: more than 0.05 s"]


def dice(seed: int) -> random.Random:
    return random.Random(seed)  # noqa: S311 - it makes inputs


def test_changes_differ_and_repeat() -> None:
    seeds, words = [b"2026-03-15", b"15 Mar 26"], [b"kg"]
    made = [changed(dice(number), seeds, words) for number in range(200)]
    assert made == [changed(dice(number), seeds, words) for number in range(200)]
    assert len(set(made)) > 150


def test_a_place_names_file_line_and_function() -> None:
    try:
        TARGETS["toml"].run(None)  # type: ignore[arg-type]
    except Exception as fault:
        place = place_of(fault)
    assert place.startswith("AttributeError at pipeline/common/toml.py:") and place.endswith(" toml_of")
