"""Figures in the store: what stands there and since when, every view with its columns, and questions asked with SQL."""

from __future__ import annotations

from pipeline.store.figure_views import VIEWS
from scripts.docs import markdown as md

OPENING = """\
The store holds the figures of every green beside its records, from the season of its first record to that of its last,
each with its unit, interval, target, method and the lines of the files behind it. They are one DuckDB file with the
rest: `store.duckdb` opens in any program that reads DuckDB 1.4 or later, read-only is enough.

A load, a load taken back and a decision bring up what they touched before they end. A figure that is not of the records
as they are is shown by no view: should bringing up fail, the views of figures are empty until the next load, undo or
decision, and `show`, `report` and `compare` make their figures from the records; the views of changes alone go on
telling what came out before. One thing no view can see: settings that were edited since; `swardtally status` says so.
The column `data_version` is a mark of the records and settings that a figure was made from, and the next load, undo or
decision brings all figures up to what the settings say then; `show`, `report` and `compare` follow them at once.

A green's last day counted (`as_of`) is the last day of the season, where the green or its weather station has a record
of that day or of a later one; else it is the day of their latest record. Records of other greens do not move it."""

QUESTIONS = """\
## Asked with SQL

```sql
-- What stands in the top layer, and how sure is it?
SELECT green, organic_matter_pct, low, high, standing FROM organic_matter WHERE season = '2026' AND band = '0–20 mm';

-- The mean nitrogen of each club, of figures that are not in question
SELECT g.club, avg(n.nitrogen_kg_ha) FROM nitrogen_by_season AS n JOIN green AS g ON g.green = n.green
WHERE n.season = '2026' AND NOT n.in_question GROUP BY g.club;

-- Where is organic matter falling?
SELECT green, band, value, note FROM figure
WHERE season = '2026' AND indicator = 'organic_matter_trend_pct_year' AND verdict = 'falling';

-- Which lines of which files is a figure made of?
SELECT file, line, in_question FROM figure_evidence
WHERE green = 'ALD-1' AND season = '2026' AND indicator = 'nitrogen_kg_ha' ORDER BY file, line;
```

`value` is NULL where the records cannot carry a figure: the note says why, and it is not zero. `in_question` is true
where the figure rests on an entry under a warning or a rejected row may belong to it; leave such figures out, or look
at `swardtally status` first. Names of indicators and their units are those of [indicators](indicators.md)."""


CHANGES = """\
## What changed

`swardtally changed` says which figures the last load, undo or decision made otherwise, from what to what, and because
of which lines of which files; `--since 12` what load (or decision) 12 and all that came after it changed, `--since
2026-09-14` what came on that day (UTC) or later. Over several loads it is what a figure was before them and what it
is now: one that came back to what it was is left out.

A figure has changed where its value, its unit, its interval, what is said of it (its standing, the verdict on a
change over time), the ends of its target, or the mark that it is in question is another. Another number of records,
method or note alone is no change. What differs by less than is printed is counted and not listed; `--json` lists it.
A season's first figures are one line, and so is a season that has none any more.

It is kept each time figures are brought up, for what a load had brought is gone once it is taken back; only deleting
the store loses it. Where a figure rests on other lines than before, these are named, with the load they came by. Where
the lines are the same, the reason is what the refresh was due to: a load of a register or of targets, a decision,
settings that were edited, another version of the program. Where it was due to several, each that may have a part is
named, for none of them can be ruled out; beside lines these are registers, targets, decisions, settings, the program.
Settings alone have no day: a change by them is listed with the day that follows.

```sql
-- Which figures left their target, and when?
SELECT refresh, due_to, green, season, label, was_value, now_value, now_unit FROM figure_change
WHERE was_standing = 'within' AND now_standing IN ('below', 'above') ORDER BY refresh, green;

-- Because of which lines?
SELECT way, file, first_line, last_line, load_id FROM figure_change_evidence
WHERE refresh = 2 AND green = 'ALD-1' AND season = '2026' AND indicator = 'nitrogen_kg_ha';
```

`way` is `came` (a line the figure rests on now), `went` (one it rested on), `questioned` (one that puts it in
question now) or `answered` (one that did)."""


def page() -> str:
    """The page of the views of figures."""
    parts = [OPENING, QUESTIONS, CHANGES]
    for name, (comment, columns, _) in VIEWS.items():
        rows = [(f"`{column}`", text) for column, text in columns.items()]
        parts += [f"## {name}", comment, md.table(("column", "what it is"), rows)]
    return md.page("Figures in the store", *parts)
