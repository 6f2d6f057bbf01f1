"""Findings of one topic told as one: what rules find of the same thing is one finding with several signs."""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.common.grouped import grouped
from pipeline.findings.findings import Finding


def by_topic(found: Iterable[Finding]) -> tuple[tuple[Finding, ...], ...]:
    """The findings with those of one topic together, each topic where the first of it stands; others by themselves."""
    return tuple(tuple(one) for one in grouped(found, lambda f: f.rule.topic or f"rule {f.rule.id}").values())
