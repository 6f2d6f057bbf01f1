"""Every command with its live help and its example."""

from __future__ import annotations

from collections.abc import Iterator

from typer.testing import CliRunner

from pipeline.cli.app import app
from schemas.kind import ENDINGS
from scripts.docs import markdown as md

WIDTH = 100

OPENING = """\
Results go to standard output, messages and progress to standard error; `--quiet` leaves of the messages those that say
what went wrong, and `--json` prints the result for a program to read. `--workspace DIR` (`-w`) names the workspace, and
commands that are printed to be copied name it too; without it, it is the current folder. A workspace is a folder with a
`settings.toml` or a `store.duckdb`; in any other, commands end with code 3 and make nothing. An option that takes one
value and is given twice is wrong usage.

| exit code | meaning |
| --- | --- |
| 0 | done |
| 1 | done, but rows were rejected, a file was refused, a check failed, or a report or what was to be printed could \
not be written, or figures could not be brought up after a load |
| 2 | wrong usage: an unknown option, kind, profile or green, or a path that does not exist |
| 3 | could not be done (no workspace there, store in use elsewhere or damaged, disk full, settings or profile not \
readable) or stopped by Ctrl-C: nothing was changed, but for files that the same call had loaded before, which the \
message counts |
| 70 | a fault of the program itself, said in two lines with how to report it; `swardtally --trace FILE COMMAND …` \
writes where it happened, and perhaps words of your records, into that file |
| 141 | done, but whoever read the output had gone (`swardtally history \\| head`) |"""

ENDED = "\n".join(f"| `{way}` | records of the store that ended: {what} |" for way, what in ENDINGS.items())

LOAD_JSON = f"""\
## What `load --json` prints

One entry a file. `rows` is `loaded` + `unchanged` + `superseded` + `withdrawn` + `closed` + `rejected` + `ignored`,
always; where it is not, the load stops and nothing is written.

| key | meaning |
| --- | --- |
| `file`, `kind`, `profile` | the file as named, what it was found to hold, the profile used (`""` for none) |
| `rows` | records put forward and lines left out |
| `loaded` | new to the store |
| `unchanged` | the store already held them, in force or as they were before a later file changed them |
{ENDED}
| `rejected` | written to a rejects file with their faults |
| `ignored` | comment, totals and units rows, rows left out by the profile, blank results, true copies |
| `warnings` | faults of severity warning; their records are in |
| `faults` | each with `line`, `column`, `value`, `code`, `severity`, `message`, `hint`: see [faults](faults.md) |"""

SHOW = """\
## What `show` prints

![What show prints of a green of the demo](show.svg)

What is off target and what is close to it stands there whatever its number, and so does what has changed over time.
The rest (on target, too early or too few to say, no clear change, without a target, not known) stands there as long as
the page has about 15 lines; what does not is counted. Headings are those of the condition report. A line is as wide as
the terminal: words wrap, a figure, its unit and its target are never cut; in a file or a pipe each row is one line.

| option | what is printed |
| --- | --- |
| `--all` | every figure by heading, with `n`, the records behind it, and what is said of it; notes on the records |
| `--family NAME` | the figures of one heading so: `soil`, `"green speed"`, in any case |
| `--outside` | only what is off target; with `--all` or `--family` in their form |
| `--names` | beside or below each figure the name that targets, findings and `--evidence` use |
| `--evidence NAME` | one figure: method, target, interval, and every record behind it |
| `--json` | every figure with all that is known of it; narrowed by `--family` and `--outside`, by nothing else |

A `?` stands behind a figure that rests on an entry to be checked. Without `--season` it is the latest season, or the
one just ended while the new one is younger than sixty days; then it says up to when there are newer records. A season
before a green's first record or after its last is refused; of one between them without a record it says so."""

SHOW_JSON = """\
## What `show --json` prints

`green`, `club`, `season` and `indicators`; each of these has `name`, `band`, `value`, `unit`, `low`, `high`, `n`,
`target_low`, `target_high`, `target_source`, `standing`, `judgement`, `verdict`, `method`, `note` and `questioned`.
`null` means that there is none: what is missing is not zero. `standing` is one of `within`, `below`, `above`, `too
early`, `no target`, `too few`, `not comparable`. `judgement` is the one word that every document prints of it: `on
target`, `close` (its interval reaches across a limit, or it lies on one), `off`, `too early to say` (a total of a
season that still runs), `too few to say`, `no target`. `questioned` lists the records behind the figure that stand
under an open warning: check these first. `verdict` says of a change over time whether it is one: `falling`, `rising`,
`slower`, `faster`, `no clear change`, `too few`, `not comparable`; every document prints the same word. See
[indicators](indicators.md)."""


COMPARE = """\
## What `compare` prints

A line a group, or with `--club` a line each of the club's own greens: the figure in the words of the documents with its
unit, and its place among its like. `--names` adds the name that `--indicator` and targets use. On a screen too narrow
for the table the figure stands on a line above its rows; a column left out then is named, and `--json` has it."""

CHANGED_JSON = """\
## What `changed --json` prints

| key | meaning |
| --- | --- |
| `since` | what was asked for; `""` for the last refresh |
| `stale` | why the figures in the store are not of the records, settings and program as they are; `""`: they are |
| `notes` | what must be known beside it: loads that cannot be told apart, a log that begins later |
| `refreshes` | times figures were brought up: `refresh`, and `causes` with `cause`, `number`, `file` and `kind` |
| `seasons` | each with `green`, `club`, `season`; `how`: `came` (first figures), `went` (none any more) or `""` |
| | `number` of figures, last day counted before and now (`was_as_of`, `as_of`), and `figures` |

Each figure has `name`, `band`, `label`, `was` and `now` (`null` where there was or is none; else what `show --json`
calls so, and `in_question`), and `because`: by `refresh` the `lines` by which it differs, as runs from `first` to
`last` of a `file` and `load`, each with its `way` ([figures](figures.md#what-changed)). No line: the same lines say
something else by what the refresh was due to. Figures that differ by less than is printed are among them."""


def page() -> str:
    """docs/commands.md."""
    parts = []
    for name, example in commands():
        parts += [f"## swardtally {name}", md.block(help_of(name)), "For example:", md.block(example, "sh")]
    return md.page("Commands", OPENING, md.block(help_of()), *parts, LOAD_JSON, SHOW, SHOW_JSON, COMPARE, CHANGED_JSON)


def commands() -> Iterator[tuple[str, str]]:
    """Every command with the example its help gives, in the order of the help."""
    for command in app.registered_commands:
        function = command.callback
        assert function is not None, "a command without a function"
        name = command.name or function.__name__
        lines = [line.strip() for line in (function.__doc__ or "").splitlines()]
        examples = [line.removeprefix("Example: ") for line in lines if line.startswith("Example: ")]
        assert len(examples) == 1, f"{name}: its help gives {len(examples)} examples"
        yield name, examples[0]


def help_of(*words: str) -> str:
    """What ``--help`` prints, 100 characters wide, without colour."""
    runner = CliRunner(env={"NO_COLOR": "1", "TERM": "dumb", "COLUMNS": str(WIDTH)})
    result = runner.invoke(app, [*words, "--help"], prog_name="swardtally", terminal_width=WIDTH)
    assert result.exit_code == 0, result.output
    return result.stdout.strip()
