"""Tables of what is made from the records: figures of each green and season, and the lines they rest on.

They follow from the records, settings and code alone and can be made anew at any time; pipeline/figures/ writes and
reads them. The views of ``main`` show them while nothing has been loaded, taken back or decided since they were made.
"""

from __future__ import annotations

Columns = tuple[tuple[str, str, str], ...]

DERIVED: dict[str, tuple[str, Columns]] = {
    "green_season": (
        "One green in one season whose figures stand in the store (grain: green and season).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("season_start", "DATE NOT NULL", "first day of the season"),
            ("season_end", "DATE NOT NULL", "last day of the season"),
            ("as_of", "DATE NOT NULL", "last day counted"),
            ("data_version", "VARCHAR NOT NULL", "mark of the records and settings the figures are made from"),
            ("code_version", "VARCHAR NOT NULL", "mark of the code they are made by"),
            ("green_name", "VARCHAR", "what the green is called"),
            ("club", "VARCHAR", "its club"),
            ("club_name", "VARCHAR", "what the club is called"),
            ("loads", "VARCHAR", "mark of which loads brought its lines"),
            ("rows_sha256", "VARCHAR", "SHA-256 of its rows as they were written; '' where it has no figure"),
        ),
    ),
    "figure": (
        "One figure of one green in one season (grain: green, season, indicator and band).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("place", "BIGINT NOT NULL", "its place among the green's figures of the season, from 1"),
            ("indicator", "VARCHAR NOT NULL", "machine name (docs/indicators.md)"),
            ("band", "VARCHAR NOT NULL", "depth, analyte, material or method it is of; empty where the name says all"),
            ("label", "VARCHAR NOT NULL", "what a reader calls it"),
            ("value", "DOUBLE", "the figure; NULL where the records cannot carry one, and the note says why"),
            ("unit", "VARCHAR NOT NULL", "SI unit as printed; empty for counts and pH"),
            ("low", "DOUBLE", "lower end of the interval that the method names"),
            ("high", "DOUBLE", "upper end of it"),
            ("n", "BIGINT NOT NULL", "records it rests on"),
            ("verdict", "VARCHAR", "of a change over time, whether it is one, and which way"),
            ("verdict_why", "VARCHAR", "what the verdict rests on"),
            ("p", "DOUBLE", "two-sided p of its test"),
            ("p_adjusted", "DOUBLE", "the same among all changes of the green and season"),
            ("standing", "VARCHAR NOT NULL", "within, below or above its target, or why it is not held against one"),
            ("target_low", "DOUBLE", "lower end of the target in force"),
            ("target_high", "DOUBLE", "upper end of it"),
            ("target_source", "VARCHAR NOT NULL", "who says so"),
            ("method", "VARCHAR NOT NULL", "how it was made"),
            ("note", "VARCHAR NOT NULL", "what must be known beside it"),
            (
                "in_question",
                "BOOLEAN NOT NULL",
                "whether it rests on an entry under a warning, or lacks a rejected row",
            ),
            ("family", "VARCHAR NOT NULL", "the table of the report it stands in"),
            ("decimals", "BIGINT NOT NULL", "digits after the point that its uncertainty carries"),
            ("reached", "BOOLEAN NOT NULL", "whether the upper end of its target is missed as soon as it is reached"),
            ("so_far", "BOOLEAN NOT NULL", "whether it is a total within its target of a season that still runs"),
            ("unsure", "DOUBLE", "of a laboratory's reading, how far another laboratory's may lie from it"),
            ("basis", "VARCHAR", "laboratory method as JSON"),
            ("amounts", "VARCHAR", "the quantities in its texts as JSON, for other units"),
            ("doubts", "VARCHAR", "what its making itself puts in question, as JSON"),
            ("evidence", "VARCHAR NOT NULL", "key of the lines it rests on"),
            ("questioned", "VARCHAR NOT NULL", "key of the lines that put it in question; empty for none"),
        ),
    ),
    "evidence": (
        "One line of a user's file that figures rest on (grain: key and line).",
        (
            ("key", "VARCHAR NOT NULL", "what figures name them by: lines that several figures rest on stand once"),
            ("place", "BIGINT NOT NULL", "its place among the lines of the key, from 1"),
            ("kind", "VARCHAR NOT NULL", "kind of record"),
            ("load_id", "BIGINT NOT NULL", "load that brought it"),
            ("file", "VARCHAR NOT NULL", "file as the person named it"),
            ("line", "BIGINT NOT NULL", "line of the file"),
        ),
    ),
    "compared": (
        "One figure of one green in one season as it is compared with other greens' (grain: green, season, indicator, "
        "band and method).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("place", "BIGINT NOT NULL", "its place among them, from 1"),
            ("indicator", "VARCHAR NOT NULL", "machine name (docs/indicators.md)"),
            ("band", "VARCHAR NOT NULL", "depth; empty where the name says all"),
            ("method", "VARCHAR NOT NULL", "what must be the same for two figures to be compared"),
            ("value", "DOUBLE NOT NULL", "the figure; of samples of this season alone"),
            ("low", "DOUBLE", "lower end of its 95 % interval"),
            ("high", "DOUBLE", "upper end of it"),
            ("sd", "DOUBLE", "its standard error; NULL where it is a sum of records, or not known"),
            ("sampled", "BOOLEAN NOT NULL", "whether it is a sample, which has an error even where that is not known"),
            ("questioned", "BOOLEAN NOT NULL", "whether it rests on an entry to be checked"),
        ),
    ),
    "question": (
        "One entry of a user's file to check first, of one green and season (grain: green, season, line and message).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("place", "BIGINT NOT NULL", "its place among them, from 1"),
            ("text", "VARCHAR NOT NULL", "what is to be checked"),
            ("rejected", "BOOLEAN NOT NULL", "whether it is a rejected row"),
            ("labels", "VARCHAR NOT NULL", "labels of the figures that rest on it, or that it may belong to, as JSON"),
            ("kind", "VARCHAR NOT NULL", "kind of record"),
            ("load_id", "BIGINT NOT NULL", "load that brought it"),
            ("file", "VARCHAR NOT NULL", "file as the person named it"),
            ("line", "BIGINT NOT NULL", "line of the file"),
        ),
    ),
    "note": (
        "One thing to know about the records of one green and season (grain: green, season and note).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("place", "BIGINT NOT NULL", "its place among those of its sort, from 1; those of laboratories stand last"),
            ("severity", "VARCHAR NOT NULL", "note or warning"),
            ("topic", "VARCHAR NOT NULL", "rejected, material, laboratory or empty: what it is about"),
            ("text", "VARCHAR NOT NULL", "the note, in SI units"),
        ),
    ),
    "season_mark": (
        "One season and the mark of what the notes on laboratories were made of (grain: season).",
        (
            ("season", "VARCHAR NOT NULL", "season, named by the year it ends in"),
            ("mark", "VARCHAR NOT NULL", "mark of the organic matter of all greens up to its end, settings and code"),
        ),
    ),
    "green_mark": (
        "One green and the mark of all that its figures can rest on, as they were made (grain: green).",
        (
            ("green", "VARCHAR NOT NULL", "green"),
            ("mark", "VARCHAR NOT NULL", "mark of its records, registers, targets and faults"),
        ),
    ),
    "state": (
        "What the figures were made for (grain: one row, none before they are made).",
        (
            ("records", "VARCHAR NOT NULL", "state of the records, as meta tells it"),
            ("settings_version", "VARCHAR NOT NULL", "mark of the settings"),
            ("code_version", "VARCHAR NOT NULL", "mark of the code"),
        ),
    ),
}
"""Tables of schema ``derived``: comment, and columns with name, type and comment."""

RECORDS = (
    "(SELECT concat_ws('/', (SELECT coalesce(max(load_id), 0) FROM meta.load), (SELECT count(*) FROM meta.load), "
    "(SELECT count(*) FROM meta.undone), (SELECT coalesce(max(decision), 0) FROM meta.decision), "
    "(SELECT count(*) FROM meta.decision WHERE taken_back_at IS NOT NULL)))"
)
"""SQL of the state of the records: it changes with every load, undo and decision."""
FRESH = f"EXISTS (SELECT 1 FROM derived.state AS s WHERE s.records = {RECORDS})"  # noqa: S608 (SQL of ours)
"""SQL of whether the figures are of the records as they are."""
