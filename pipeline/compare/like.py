"""Like with like: the nested groups a green belongs to, from its register."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pipeline.compare.protection import Path
from schemas.codes import code_list
from schemas.construction import construction_of, construction_words

NOT_RECORDED = "not recorded"


def path_of(green: Mapping[str, Any], club: Mapping[str, Any]) -> Path:
    """A green's way to its narrowest group: shape, region, construction, grasses.

    Shape comes first and is never given up: a crown green is no flat one. What is not recorded is a kind of its own.

    Args:
        green: the green's register row.
        club: its club's register row.
    """
    shape = code_list("green_shape")[green["shape"]].label.lower() if green["shape"] else f"shape {NOT_RECORDED}"
    region = club["region"] or f"region {NOT_RECORDED}"
    construction = _plain(_built(green)) or f"construction {NOT_RECORDED}"
    grasses = _plain(green["grasses"]) if green["grasses"] else f"grasses {NOT_RECORDED}"
    return (f"{shape}s" if shape.endswith("green") else shape, str(region), construction, grasses)


def words(path: Path) -> str:
    """A group in words: "flat greens, Ostershire, soil push up"."""
    return ", ".join(path) if len(path) > 1 else f"{path[0]}, all regions"


def region(path: Path) -> str:
    """The group's region; "" where it spans all."""
    return path[1] if len(path) > 1 else ""


def _built(green: Mapping[str, Any]) -> str:
    """How a green is built, by its code so that spellings of one do not part greens; in its own words where none is."""
    code = construction_of(green)
    if code is None or code == "other":
        return construction_words(green)
    return code_list("construction")[code].label


def _plain(text: str) -> str:
    """Free words of a register in one spelling: case and spaces say nothing."""
    return " ".join(text.casefold().split())
