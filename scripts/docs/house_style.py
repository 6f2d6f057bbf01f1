"""The house style: scale, palette, marks and rules of the pages, and how a workspace changes them."""

from __future__ import annotations

import re
from pathlib import Path

from pipeline.common.grouped import grouped
from pipeline.first_page.deciders import decides
from reports.page import bounds
from reports.page.charts import palette
from reports.page.figures import MARKS, WAYS
from schemas.codes import code_list
from scripts.docs import markdown as md

TEMPLATES = Path(__file__).parents[2] / "reports" / "templates"

OPENING = """\
All documents are set in one hand: quiet, unbranded, readable by eye and by machine. They are PDF/A-3a (to be kept) and
PDF/UA-1 (to be read aloud), their data attached as CSV. ![Pages of the demo](contact-sheet.png)"""

SCALE = """\
## Type and space

One typeface, Inter (SIL Open Font License), bundled, so that every machine sets the same page. Sizes in points: 27 for
the name of the green, 13 for the club and headings, 11 for what matters, 9.5 for text and tables, 8.5 for small print
and the heads of tables, nothing below 8 (`make type-sizes` prints what the demo has); a report with much to say steps
down once or twice rather than growing a page. Page one of the condition report is larger: 20 for the verdict, 17 for
sums, 11 for its blocks, 9.5 for labels. Figures in columns are tabular. A4 or Letter, margins 16 to 18 mm. Space comes
in steps of 1.2 mm."""

PALETTE = """\
## Palette

Few colours, told apart by lightness, so that a grey print loses nothing and no kind of colour blindness either. No
colour carries a meaning by itself: every state has its word and its mark, every line its dash or its label. Contrast on
white is the ratio of WCAG 2.2; text has 4.5 at least."""

STANDING = """\
## A value against its target

The target is a block, the value a dot, its interval a dark line, on a scale of its own; beside it stands in words where
the value lies. There is no gauge and no traffic light: below and above are neither good nor bad before somebody has
said what they mean for this green."""

RULES = """\
## Words and numbers

- UK English. Dates as 15 March 2026, units parted by a thin space, thousands by a comma, a true minus.
- A number has the digits its uncertainty carries, no more. Where there is an interval it is printed.
- Missing is “not recorded”, never 0. “Less than” stays less than. What cannot be compared says so.
- Sentences on figures are made by rules that are written down (`reports/condition/wording.py`, `reports/summary/` and
  `reports/round_up/` likewise): which figure gives which sentence, and never a word beyond it.
- Every figure has a number that leads to how it was made, and to file and line of each record behind it. The number is
  a link, and a line of the methods leads back. A document of more than four pages has its contents, with pages,
  tagged as such (TOC and TOCI).

## Charts

Points and their intervals are drawn, never a bare line. Small multiples share one scale. Labels stand beside the thing
they name, so there is no legend. What was measured another way is hollow and says so. Text is text, and each chart has
an alternative text that says what it shows. No gradient, no third dimension."""

FIRST = """\
## Page one of the condition report

What was found, what to do, by when, for how much: one page, whatever there is to say ([pages and what was read from
them](first-pages.md)).

- **Verdict**, two short sentences at most. A value under a warning comes first (“Check one entry first.”). Else how the
  green plays, by its speed and the evenness of its rinks; then the gravest finding beyond doubt that asks for works;
  with nothing off “Sound.” Nothing recorded, no target set, or nothing that can be judged is said in its place. The
  line below counts the checks: figures that have a target. One that rests on an entry under a warning waits: it is
  neither on target nor off.
- **What was spent**, as the log gives it. A sum that is not of every job says of how many it is, and is set beside no
  other; a budget (the upper end of a target of `cost` or `cost_m2`) stands in the place of last season.
- **What we found**: at most three, by the [rules of findings](findings.md); what may be chance comes last. Whether it
  changed is what the test of a change says, else last season’s figure stands there.
- **What to do**: the lines of the [due list](year-ahead.md) over the season that is due, works of one operation
  together, with the number of the finding they answer. Costs are those of the due list, by rates and prices, rounded to
  tens, and the sum is that of what is printed. A finding whose works no line asks for is told as often as this season.
  What depends on a doubtful entry waits, without a figure. Of what may be a plant protection product neither name nor
  amount is printed.
- **Entries to check**: framed over the full width where one is under a warning, with what a judged figure would be
  without it; else a quiet box with rows that are rejected and not corrected, and what the law wants on record of a
  spray and the log lacks.
- **Six measures**, the same on every report, each on a scale of its own: block, the target; dot, the figure with its
  interval; ring, last season; cross, a figure that rests on an entry to be checked. Beside them a small map of the
  levels, or what was not measured.

Where there is more than one page holds, small lines and space go first, then routine works are folded into one row,
then the third finding, last the map (`reports/condition/first/level.py`).

Who decides is common practice, no source; `[decides]` in [settings](settings.md) says otherwise for a workspace. A
licensed person decides about what may be a plant protection product, whatever the settings say."""

HANDOUT = """\
## The handout of a meeting

`swardtally report --club ALD --only handout` writes one page for a club's meeting (`report --club` and `--all` write it
with the rest, for a club with one green too): of each green what page one of its condition report says in the same
words, at most two findings; what was spent on all of them; and one table of what to do, what the committee decides
first, each with a box for yes and no. An entry under a warning heads the page.

- **Sums** are of unrounded figures, with pennies where whole pounds would not add up; one that is not of every job says
  of how many. Costs to come are rounded to tens as on page one, and the sum is that of what is printed.
- **One page** for up to four greens, A4 or Letter: lines to write on go first, then small lines and space, then routine
  of the greenkeeper’s is told as “And 3 more in the report”, with its cost, then type steps down, 9 points at the least
  (`reports/handout/level.py`). A warning or a question for the committee is never dropped: where there are more than a
  page holds, or a text of the house’s own is long, there is a second page.
- **The e-mail** stands beside it as `ALD-handout-2026.txt`: plain text, a line for the subject, a place for the
  greeting, a paragraph a green, and the names of the PDFs that `report --club` writes for the club. It has the
  handout’s words, and no figure that the handout lacks. Nothing is sent: a person writes the greeting, attaches the
  files and sends it."""

OWN = """\
## A style of your own

`[house]` in [settings](settings.md) puts a name, an address and a logo on the first page, takes A4 or Letter, metric or
US units for display, the short form, and leaves parts out. Page one, the figures, cautions, notes on the records and
the disclaimer always stand. `prepared_by` and `prepared_for` stand at the head of every document that a club is given,
and so does the day of issue that `--issued` of `report`, `survey` and `compare` is given; on a condition report what is
not given is a line to fill in. A club that is written to by another name has a line of its own in
`prepared_for_club`, by its code in the register of clubs; a code that no club has stops the command. No day is taken
from a clock.

```toml
[house]
name = "Vale Grounds"
address = "2 Mill Lane, Ostershire"
prepared_by = "A. Field"
prepared_for = "The committee"
prepared_for_club = { ALD = "The committee of Alder Brook", BRA = "The secretary" }
report_number = "VG {file}"
colours = { accent = "#5a2d82" }
signatures = { survey = ["Surveyor", "For the club"], programme = ["For the contractor", "For the club"] }
```

- **US units**: with `units = "US"` every quantity that a document prints follows, warnings, cautions and reasons too. A
  quantity has the digits that hide no more than two of its steps in SI, and no more of them than it has there (four at
  the least). These stay: names of layers (0–20 mm), sieves and particles, instruments (a 2.25 kg hammer) and methods
  (burned at 440 °C; 27 m of a timed bowl), for they name what was done; words of sources, rules of law and notes of
  the user's own, for they are quoted (in a programme as “Note in the programme: …”); cells of rejected rows, for they
  stand so in the file; units of laboratories (meq/100 g), vibration (m/s²) and green speed (s). Attached data, files
  to load back and the terminal stay in SI.
- **Report number**, at the head of every document: `{file}` must stand in it, for the name of the PDF without its
  ending (“VG ALD-1-condition-2026”; of an order “order-2026-10-20-office”), so that no two documents of a workspace
  share one; `{issued}` stands for the day of issue, and for nothing where none is given (the price of
  a programme always has one).
- **Colours**: `accent` in the place of ACCENT of the palette, `text` in the place of INK. One whose contrast on white
  or on the ground of boxes is under 4.5 is refused before anything is written.
- **Signatures**: who signs at the end of a document; each has a line for name, signature and date.
- **Logo**: as a picture of a text, below.
- **Words**: with `glossary = true` condition reports, season summaries and surveys end with those words of
  [the glossary](glossary.md) that they use. They may take a page on top of those that the document may have.
- **Own text**: a Markdown file in `pages/`, named by document and place: `survey-opening.md` stands behind what comes
  first in a survey (“What matters”; of a condition report at the head of page two, for page one is one page),
  `survey-closing.md` before its signatures. `every-closing.md` stands in every document that has no text of its own
  there; an empty file of its own leaves it out. Documents are the names below without their ending, but for `paper`:
  a form has no room for one. A text may have headings, lists and quotes (eight deep at most), emphasis, tables (of ten
  columns at most) and pictures of the folder `pages/`, with words that say what each shows; a link is printed as its
  words and its address; HTML stays text. What cannot be printed as it is meant is refused with file and line: a row
  with more cells than its table has columns, a letter that the typeface lacks. The consultant’s own text of a visit,
  `surveys/ALD-1-2026-09-16.md`, is written the same way, its pictures beside it.
- **Pictures** are PNG or JPEG, in RGB or grey, of 25 million pixels at most, or SVG; 1 MB at most. A drawing may hold
  shapes and text: one that runs a script, or asks for a file, an address or a picture, is refused, and so is a picture
  that is cut off.
- **Long texts**: a text that fills more than half a page adds its pages to those that a document may have.

```markdown
# Before you read on

All levels were taken on **one morning**, by [our method](vale-grounds.example/levels).

| Rink | Walked on |
| --- | --- |
| 3 | yes |

![The gate in the north-east corner, 2.1 m wide](gate.png)
```

A template in the workspace's folder `pages/` stands before the shipped one of its name. It can take the shipped one and
replace blocks of it:

```jinja
{% extends "shipped/condition.html.j2" %}
{% block due %}
<h2>What we plan</h2>
{{ super() }}
{% endblock %}
```

`pages/house.css` is laid over the shipped stylesheets. Nobody's name but the house's stands on a page, in a document's
properties or in its attachments; `about.csv`, attached, has the version of the calculation.

A template gets plain values alone: texts, numbers, lists and records of them, listed by contract in [values of the
templates](page-values.md). It may use Jinja's statements and filters, but not `attr`, `center`, `format`, `indent`,
`pprint` and `random`, and of a text only what reads it (`upper`, `replace`, `split` …). It prints texts and numbers, no
list or record as a whole. A page may take FILLING MB of memory to fill, and MOST MB and SECONDS seconds to make; a file
of `pages/` may have 1 MB. Nothing outside `pages/` and
the shipped templates is read, links that lead out of the folder are not followed, nothing is fetched: a picture beside
the logo, the charts and those of texts is refused. Every template has the blocks `closing` and `words` too. A template
that cannot be read, fills a block that there is not, writes beside its blocks, asks for what is not there or not its to
have, or makes the renderer complain, is named in one sentence with file, line and reason where they are known, and no
file is written."""


def page() -> str:
    """docs/house-style.md."""
    from pipeline.publish.pool import SECONDS_FOR_ONE

    own = OWN
    for word, limit in (("FILLING", bounds.FILLING_MB), ("MOST", bounds.MOST_MB), ("SECONDS", SECONDS_FOR_ONE)):
        own = own.replace(word, f"{limit:,g}")
    colours = [
        (md.code(str(getattr(palette, name))), f"{palette.contrast(getattr(palette, name), palette.WHITE):.1f}", use)
        for name, use in palette.USES.items()
    ]
    marks = [(" or ".join(WAYS.values()) if word == "off" else mark, word) for word, mark in MARKS.items()]
    return md.page(
        "House style",
        OPENING,
        SCALE,
        PALETTE,
        md.table(("colour", "contrast on white", "used for"), colours),
        STANDING,
        md.table(("mark", "standing"), marks),
        RULES,
        FIRST,
        md.table(("who decides", "works"), _deciders()),
        HANDOUT,
        own,
        md.table(("template", "blocks"), [(md.code(name), md.codes(blocks)) for name, blocks in templates().items()]),
    )


def _deciders() -> list[tuple[str, str]]:
    """Who decides about which works, in the order of work."""
    by = grouped(code_list("operation"), lambda name: decides([name], {}))
    return [(who, md.codes(names)) for who, names in by.items()]


def templates() -> dict[str, list[str]]:
    """Every template of a document and its blocks, in the order of the page."""
    found = {}
    for path in sorted(TEMPLATES.glob("*.html.j2")):
        source = path.read_text("utf-8")
        if source.startswith("{% extends"):
            found[path.name] = re.findall(r"{% block (\w+) %}", source)
    return found
