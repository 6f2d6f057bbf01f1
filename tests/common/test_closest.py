"""The names offered for one that is not known: the same whatever order they are held in."""

from __future__ import annotations

from itertools import permutations

from pipeline.common.closest import closest, offered


def test_equally_near_names_come_by_name_whatever_the_order_they_are_held_in() -> None:
    """A set was walked as its hashes fell: two runs offered two orders."""
    found = {tuple(closest("bad", names)) for names in permutations(("bat", "ban", "bar", "bag"))}
    assert found == {("bag", "ban", "bar")}
    assert offered("bad", {"bat", "ban", "bar", "bag"}) == "; closest: bag, ban, bar"


def test_the_nearer_name_comes_first_all_the_same() -> None:
    assert closest("mowing", ["moling", "mowing green", "aerating"]) == ["moling", "mowing green"]
