"""Decisions about two lines or a rejected row: the rule of likely doubles, every key, and an example that is read."""

from __future__ import annotations

import tomllib

from pipeline.load.key_changed import SEVERAL
from pipeline.load.read_otherwise import MOST_OF_IT
from pipeline.store.decisions import DECIDED, Decision, Place, decisions_of
from pipeline.store.doubles import SAME_WITHIN, WORK
from schemas import KINDS
from scripts.docs import markdown as md
from scripts.docs.typewords import limits, type_words

OPENING = """\
Two people may write down one job, and then it counts twice; or two crews may each have done half, and then one of them
is missing. No program can tell: it asks, and a person decides. `swardtally status` lists every two lines that are open,
with the commands that close them; until then figures that would change carry their mark, and the two lines stand among
what is to be checked first."""

COMMANDS = """\
```
swardtally decide one  log.csv:12 crew.csv:3 --why "both wrote it down" --who office
swardtally decide two  log.csv:12 crew.csv:3 --why "half each" --who office
swardtally decide aside log.csv:7 --why "typed anew in crew.csv" --who office
```

Of `one` the line named first counts, the other no longer does: it stays in the store, out of force, and
`swardtally history --green` shows it as counted once. What only the second said (its hours, a note) counts no more
either: where two people worked on one job, correct the hours of the line that counts. Of `two` both count. `aside` is
about a rejected row that came in another way or is not wanted: it stands in no report any more, nor in `status`. A
file's name without a line stands for all that is open between the two files, or for all rejected rows of the file.

Two lines that nothing was asked about can be decided in the same way, so long as they are of one green, day and
operation."""

KEPT = """\
## What is kept

A decision is written to `decisions/decided.toml` of the workspace, with its reason and its name; other files beside it
are read too. The store follows from them: the same files and decisions make the same store, in whatever order the files
are loaded. A record is known again by its file and by what it says; the line tells apart those that say the same. Where
no line says that any more (it was corrected, or the file came again with other words), the decision is not followed:
loading warns of it, and `status` lists it. Nothing is decided about what nobody has seen.

`swardtally undo` with the decision's number takes it back: its entry leaves the file, both lines stand as before, and
`swardtally history` keeps it with the day it was taken back. An entry deleted by hand is taken back with the next
load."""

TWO_FILES = """\
## What two files say of one record

Two jobs with the same day, green, operation, material, reference and name are one record to the store: the file that
came last stands (`record.other_file`, where it says something else) or it counts once (`record.said_twice`). Both wait
for a decision too. `one` keeps what counts now. `two` lets both count: the record comes in by itself when its file is
loaded again (after its first load was taken back, where it had taken the other's place); `decide` prints the
commands. `two` is refused of records that stand once only (a green, a material, a soil test): both in force would
double the figures. What changed on a day gets a row with that day under `from` instead."""

VERSIONS = """\
## What a file says otherwise than before

A row whose day, green, number or layer was corrected in its file is another record, and the former one stays in force
beside it. Where a file comes again (under the same name, whatever its folder) and a new row says all that a row said
which the file no longer holds, but for one such field, it is asked about (`record.key_changed`): `one` with the line
first that counts (of two lines of one place, `one FILE:LINE FILE:LINE`, the later counts), `two` where both are true,
and undo of the later load where the former was right. FILE FILE without lines decides all of a list whose head was
corrected.

Exports that grow, or show the last weeks alone, are not asked about. Where other rows of the former version stand in
the file, the new row must be where the former was, counted from the rows about it, or the former be of a day between
the file's first and last. Where none stands, every row must have changed in one way (one value to another, or the same
days of another year), and these be at least {most:.0%} of what was held ({source}). So it is asked as well where one
file is written over day by day with the very same work. A file of another name must agree in all its rows, with at
least {several} different results ({source}). A month and its first day share a key: there the later row takes the place
of the former, and loading warns of it (`load.other_days`). In registers nothing is decided: loading warns
(`register.key_changed`), and the load that brought the former row is taken back."""

RULE = """\
## What is a likely double

Two jobs in force of one green, day and operation, where nothing that is said of the work differs:

- They were written by two hands: they differ in who wrote them (`logged_by`), in their number (`reference`) or in the
  spelling of the material. Two lines of one file that agree in all three are two jobs: one person wrote both down. So
  are two lines of one file under one person's name that he gave two numbers.
- The materials may be one: they are the same, or spelt alike with the same figures in their names and not both in the
  register, or one of them is blank.
- The amounts are the same, in whatever units (mass, volume, packs of the register, a rate over the area), but for
  rounding ({share} %: common practice, no source), or one of them is missing.
- What was done agrees where both say it: {work},
  and the basis of the tines. Parts of the green of other sizes are two jobs; of the same size they are asked about, for
  two crews may have written down the same half.
- Hours, and what was taken off, tell two jobs apart only of work that opens nothing and puts nothing on, such as
  mowing: that is done twice on a day, and two keepers give each his own time. A green scarified once is often logged by
  two with their own hours.

A job known to its month, its year or some days alone may be one with a job of any day in it, where it opens the surface
or puts something on and all of the above holds but for who wrote it. What is done every few days is not asked about: a
month's entry of mowing beside one day's says nothing.

Each is asked about once, beside the earliest line it may be one with. What follows from the records goes with them:
when one of the two is corrected or its load taken back, nothing is asked any more.

Only jobs are asked about. Readings repeat by design: two observers who time bowls one after the other have two
readings, also where they agree, and quadrats, drops and rinks are told apart by their place; more of them make a mean
better. Of other kinds a second record of one key is a fault, or takes the first one's place."""

KEYS = {
    "decided": "what was decided: " + "; ".join(f"`{name}` ({what})" for name, what in DECIDED.items()),
    "kind": "kind of record",
    "record": "the line that counts, or that was rejected",
    "other": "the other line; not of `aside`",
    "why": "the reason",
    "who": "who says so",
}
OF_A_LINE = {
    "file": "name of the file, as it is shown when loaded, or its last part",
    "line": "line of the record, as a text editor counts it",
    "says": "field = what it says, in the store's units (of a rejected row: column = cell); all of it must still be so",
}
EXAMPLE = """\
[[decision]]
decided = "one"
kind = "job"
record = { file = "log.csv", line = 12, says = { date = "2026-03-02", green = "ALD-1", operation = "scarifying" } }
other = { file = "crew.csv", line = 3, says = { date = "2026-03-02", green = "ALD-1", operation = "scarifying" } }
why = "both wrote it down"
who = "office, 9 March 2026"
"""


def page() -> str:
    """docs/decisions.md."""
    decisions_of(tomllib.loads(EXAMPLE), "decided.toml")
    job = KINDS["job"].by_name
    work = ", ".join((job[name].label or name.removesuffix("_mm").replace("_", " ")).lower() for name in WORK)
    rule = RULE.format(share=f"{100 * SAME_WITHIN:g}", work=work)
    tables = [_table(Decision, KEYS), "`record` and `other` are tables of:", _table(Place, OF_A_LINE)]
    example = ["For example, in `decisions/decided.toml`:", md.block(EXAMPLE, "toml")]
    versions = VERSIONS.format(most=MOST_OF_IT, several=SEVERAL, source="common practice, no source")
    return md.page("Decisions", OPENING, COMMANDS, rule, TWO_FILES, versions, KEPT, *tables, *example)


def _table(model: type[Decision] | type[Place], keys: dict[str, str]) -> str:
    """A line a key; the test of the page holds that none is left out."""
    assert set(keys) == set(model.model_fields) - {"source"}, "a key is not described"
    rows = []
    for name, meaning in keys.items():
        field = model.model_fields[name]
        words = ", ".join(part for part in (type_words(field.annotation), limits(field)) if part)
        rows.append((md.code(name), words, "needed" if field.is_required() else "", meaning))
    return md.table(("key", "type", "needed", "meaning"), rows)
