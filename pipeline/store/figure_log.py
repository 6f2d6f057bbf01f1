"""Tables of the log of figures: which came out otherwise each time they were brought up, and what that was due to.

They stand in ``meta``, for they do not follow from the records: what a load had brought is gone once it is taken back.
No clock is read for them; when something came, ``meta.load``, ``meta.undone`` and ``meta.decision`` know by its number.
"""

from __future__ import annotations

from pipeline.store.derived import DERIVED, Columns

CAUSES = {
    "load": "a load",
    "undo": "a load taken back",
    "decision": "a decision",
    "decision taken back": "a decision taken back",
    "settings": "settings were changed",
    "version": "another version of the program",
    "anew": "all figures were made anew, and what was there before is not known",
}
"""What a change of figures can be due to."""
WAYS = {
    "came": "a line it rests on now",
    "went": "a line it rested on",
    "questioned": "a line that puts it in question now",
    "answered": "a line that put it in question",
}
"""How a line has part in a change."""
FIELDS = (
    "value", "unit", "low", "high", "standing", "verdict", "target_low", "target_high", "in_question", "decimals",
    "reached", "so_far", "unsure",
)  # fmt: skip
"""What is kept of a figure before and after; it has changed where one of them has."""

_KEY: Columns = (
    ("refresh", "BIGINT NOT NULL", "which time it was, ascending"),
    ("green", "VARCHAR NOT NULL", "green"),
    ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
)


def _both() -> Columns:
    """The columns of a figure before and after, as the table of figures declares them."""
    declared = {name: (kind.removesuffix(" NOT NULL"), comment) for name, kind, comment in DERIVED["figure"][1]}
    return tuple(
        (f"{side}_{name}", declared[name][0], f"{declared[name][1]}, {when}")
        for side, when in (("was", "as it was"), ("now", "as it came out"))
        for name in FIELDS
    )


LOG: dict[str, tuple[str, Columns]] = {
    "refresh": (
        "One time the figures were brought up (grain: refresh).",
        (
            ("refresh", "BIGINT NOT NULL", "which time it was, ascending"),
            ("upto", "BIGINT NOT NULL", "largest number of a load or decision by then"),
        ),
    ),
    "refresh_cause": (
        "One thing that a refresh was due to (grain: refresh, cause and number).",
        (
            ("refresh", "BIGINT NOT NULL", "which time it was"),
            ("cause", "VARCHAR NOT NULL", f"one of: {', '.join(CAUSES)}"),
            ("number", "BIGINT", "number of the load or decision; NULL of anything else"),
        ),
    ),
    "season_changed": (
        "One green's season that got its first figures, or has none any more (grain: refresh, green and season).",
        (
            *_KEY,
            ("came", "BOOLEAN NOT NULL", "whether it got its first figures"),
            ("figures", "BIGINT NOT NULL", "how many it has now, or had"),
            ("as_of", "DATE NOT NULL", "last day counted"),
        ),
    ),
    "figure_changed": (
        "One figure of one green in one season that a refresh made otherwise (grain: refresh, green, season, indicator "
        "and band). Of a season's first figures there is none, unless it had figures once before.",
        (
            *_KEY,
            ("indicator", "VARCHAR NOT NULL", "machine name (docs/indicators.md)"),
            ("band", "VARCHAR NOT NULL", "depth, analyte, material or method it is of"),
            ("place", "BIGINT NOT NULL", "its place among the figures of the season"),
            ("label", "VARCHAR NOT NULL", "what a reader calls it"),
            *_both(),
            ("was_as_of", "DATE", "last day counted before; NULL where the season had no figures"),
            ("now_as_of", "DATE", "last day counted now; NULL where it has none"),
            ("lines", "VARCHAR NOT NULL", "key of the lines by which it differs; empty where they are the same"),
        ),
    ),
    "figure_changed_line": (
        "One run of lines by which figures differ from what they were (grain: key, way, file, load and first line).",
        (
            ("key", "VARCHAR NOT NULL", "what changed figures name them by"),
            ("way", "VARCHAR NOT NULL", f"one of: {', '.join(WAYS)}"),
            ("kind", "VARCHAR NOT NULL", "kind of record"),
            ("load_id", "BIGINT NOT NULL", "load that brought them"),
            ("file", "VARCHAR NOT NULL", "file as the person named it"),
            ("first_line", "BIGINT NOT NULL", "first line of the run"),
            ("last_line", "BIGINT NOT NULL", "last line of it"),
        ),
    ),
}
"""Tables of the log, in schema ``meta``: comment, and columns with name, type and comment."""
