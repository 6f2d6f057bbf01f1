"""Figures in the store: what stands there and since when, every view with its columns, and questions asked with SQL."""

from __future__ import annotations

from pipeline.store.figure_views import VIEWS
from scripts.docs import markdown as md

OPENING = """\
The store holds the figures of every green and season beside its records, each with its unit, interval, target, method
and the lines of the files behind it. They are one DuckDB file with the rest: `store.duckdb` opens in any program that
reads DuckDB 1.4 or later, read-only is enough.

A load, a load taken back and a decision bring up what they touched before they end. A figure that is not of the records
as they are is shown by no view: should bringing up fail, the views of figures are empty until the next load, undo or
decision, and `show`, `report` and `compare` make their figures from the records. One thing no view can see: settings
that were edited since; `swardtally status` says so. The column `data_version` is a mark of records and settings
together, and the next load brings all figures up to what the settings say then; `show`, `report` and `compare` follow
them at once.

A green's last day counted (`as_of`) is the season's last day, once a record of its own or of its weather station lies
on or past it; else the last day one of these speaks of. No other green's records move it."""

QUESTIONS = """\
## Asked with SQL

```sql
-- What stands in the top layer, and how sure is it?
SELECT green, organic_matter_pct, low, high, standing FROM organic_matter WHERE season = '2026' AND band = '0–20 mm';

-- The mean nitrogen of each club
SELECT g.club, avg(n.nitrogen_kg_ha) FROM nitrogen_by_season AS n JOIN green AS g ON g.green = n.green
WHERE n.season = '2026' GROUP BY g.club;

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


def page() -> str:
    """The page of the views of figures."""
    parts = [OPENING, QUESTIONS]
    for name, (comment, columns, _) in VIEWS.items():
        rows = [(f"`{column}`", text) for column, text in columns.items()]
        parts += [f"## {name}", comment, md.table(("column", "what it is"), rows)]
    return md.page("Figures in the store", *parts)
