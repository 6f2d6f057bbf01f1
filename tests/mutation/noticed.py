"""``python -m tests.mutation.noticed``: a handful of changes that once went unnoticed; names those that do again."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import NamedTuple

import pytest

from tests.mutation.run import ROOT, verdict, with_tests

TESTS = "tests/agronomy/test_agronomy_borders.py"


class Known(NamedTuple):
    """A change by hand: a piece of a module that stands there once, what it is changed into, and who must notice."""

    module: str
    old: str
    new: str
    test: str


KNOWN = (
    Known("evaporation", "minimum(solar_mj_m2 / clear_sky_mj_m2, 1.0)", "(solar_mj_m2 / clear_sky_mj_m2)", "more_sun"),
    Known("soil.soil", "math.floor(mg_l + 0.5)", "mg_l", "whole_number"),
    Known("levels.lows", "depth > tolerance_mm + 1e-9", "depth >= tolerance_mm", "ground_on_the_tolerance"),
    Known("levels.level_change", "here = here[back == here]", "pass", "others_nearest"),
    Known("surface", "deviation <= tolerance_mm + 1e-9", "deviation < tolerance_mm", "point_on_the_tolerance"),
    Known("soil.particle_size", "whole * 1.01", "whole * 1.10", "sieves_may_hold"),
    Known("green_speed", "> STIMP_SERIES_SPREAD_MM + ROUNDING_MM", ">= STIMP_SERIES_SPREAD_MM", "eight_inches"),
    Known("green_speed", "> STIMP_WAYS_APART_MM + ROUNDING_MM", ">= STIMP_WAYS_APART_MM", "eight_inches"),
)


def source_of(module: str) -> str:
    """The text of a module of the trade."""
    return (ROOT / "pipeline" / "agronomy" / f"{module.replace('.', '/')}.py").read_text("utf-8")


def unnoticed(tests: list[pytest.Item]) -> Iterator[str]:
    """Changes their test does not fail on; and the tests, should they fail on the code as it stands."""
    if verdict("pipeline.agronomy.surface", source_of("surface"), tests, whole=False) != "survived":
        yield "the code as it stands fails"
    for one in KNOWN:
        changed = source_of(one.module).replace(one.old, one.new)
        its = [test for test in tests if one.test in test.name]
        if verdict(f"pipeline.agronomy.{one.module}", changed, its, whole=False) != "killed":
            yield f"{one.module}: {one.old} → {one.new}"


def main() -> int:
    """Try them; 1 where one goes unnoticed."""
    found: list[str] = []
    code = with_tests([TESTS], lambda tests: found.extend(unnoticed(list(tests.values()))))
    sys.stdout.write("".join(f"not noticed: {one}\n" for one in found))
    return code or int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
