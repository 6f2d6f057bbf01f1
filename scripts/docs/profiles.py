"""Every key of a source profile, from the models that read it, and a worked example from the demo."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import as_file, files
from pathlib import Path

import polars as pl
from pydantic import BaseModel

from pipeline.common.words import counted
from pipeline.load.detect import Search, detect
from pipeline.profiles.parts import Given, Ignore, Long, Match, Origin, ReadingPart, Several
from pipeline.profiles.profile import Profile, all_known_headers, read_profile
from pipeline.profiles.style import BELOW, MISSING, Style
from pipeline.read.sheet import Reading
from pipeline.standardise.frame import standardise
from schemas import Kind
from scripts.docs import markdown as md
from scripts.docs.docstring import docstring_of
from scripts.docs.typewords import limits, type_words

OPENING = f"""\
A source profile says what the headers of somebody's file mean and how its values are written. It is a TOML file in the
workspace's `profiles/` folder. A file with a kind's [own headers](records.md) needs none.

A profile is chosen by the headers of a file: all of its `match` headers must stand in the header line. Of several that
fit, the one that leaves the fewest of the file's columns unexplained is taken. Of two that fit equally well none is
chosen: the file is refused with both names. `--profile NAME` names one outright. A key that is not listed here, or a
field that its kind does not have, is refused with a sentence that names it; so is a value that still says `"?"`.

Several profiles read one file where each says which part is its own: another `sheet` under `[reading]`, another `part`
under `[match]` (a layer each, say), or other words of one column under `[only]`. Each part is a load of its own in
`history`. What no profile reads is named: a sheet that holds a table, and a column named like one that is read but for
its depths, make the exit code 1; other columns do not.

A profile that is corrected in what makes a record the same (a date, a green, a hammer's mass) makes other records of
rows that are in the store already. The file is then refused, and the message names the load to take back first.

A draft (`swardtally profile FILE`) lists the columns it could not place, and without which a record would say something
else, under `[columns]`, each with `"?"`. Write behind the header the field it is,
`{{ field = "depth_mm", unit = "in" }}` where more must be said, or `"ignore"`; it is then as if it stood under
`[fields]` or `[ignore]`. Other columns that are not used are listed in a comment, and loading names them each time.
Files that a profile with a `"?"` fits are refused; others load.

`[units]` gives the unit of several columns a name, so that it is decided once: after `[units]` with
`nutrients = "mg/kg"`, every `unit = "nutrients"` in the profile is mg/kg. A name that no column uses is refused.

A line may hold several records: with `[several.operation]` the cell `scarified x3, tined 5in, dressed 1.5t 80/20` is
three, each with its own amounts. What stands in other columns goes to the one operation that it can be of (an amount to
the one that puts something on); what may be of two is refused, and the whole line with it. Day, green, note and who
wrote it hold for all of them.

A value that holds for a whole file stands in a title line, in the file's or the sheet's name (`[given.FIELD]`), or is
said while loading: `swardtally load FILE --set green=ALD-1`. A cell that says another is a fault that names both.

Words that are in no list and no register (`zippering`, a green's nickname) stand under `[aliases.…]`:
`swardtally words FILE` asks for each and writes it there.

What is not declared is not guessed: a date written with numbers is refused until `date_order` says which order it has,
`barrow` until `barrow_l` says how much one holds, `ton` until `ton` says which. ISO dates (`2026-03-16`) and dates with
the month's name need no order.

Marks for "no value" in every file, beside a blank cell: {md.codes(sorted(MISSING))}.

Marks for "below the laboratory's limit" in every file, beside `<` before a figure: {md.codes(sorted(BELOW))}."""


def _meanings(described: type) -> dict[str, str]:
    """What the attributes of a class mean, said of a key in a file: ``None`` is a key left out."""
    said = docstring_of(described).lists["Attributes"]
    words = (
        ("None:", "left out:"),
        ("beside `MISSING`", "beside those above"),
        ('beside "<" and `BELOW`', "beside those above"),
    )
    for old, new in words:
        said = {name: text.replace("``", "`").replace(old, new).rstrip(".") for name, text in said.items()}
    return said


KEYS: dict[type[BaseModel], Mapping[str, str]] = {
    Profile: {
        "name": "name of the profile, unique in the workspace; stands in the history of loads",
        "kind": "kind of record its files hold",
        "title": "what it is for, in words",
        "match": "headers by which its files are known",
        "reading": "how the bytes and the table are read",
        "values": "how values are written",
        "constants": "fields that every row has the same value in",
        "fields": "field of the kind = the header it comes from, or a table with more to say",
        "long": "columns of a wide sheet, each of which becomes a record of its own in every row",
        "aliases": "by field: a word as the file, or its row of units, writes it = the word or code it stands for",
        "only": "by header: rows with any other word there are left out and counted as ignored; `true` lets every row "
        "through in which the column is filled (`dressing = true`)",
        "several": "`operation` or `green` = how a cell that names several is parted: each has a record of its own, of "
        "the same line",
        "given": "by field, or by a part of one that a field joins (`date = { from = [\"month\", \"Day\"], join = "
        "\"-\" }`): where its value for the whole file stands",
        "ignore": "columns and sheets known not to be needed",
        "line_as": "field that takes the number of each row's line, where samples of one day have no number of their "
        "own (`reference`); a later export must then keep its lines",
    },
    Match: {
        "headers": "headers that must all stand in the file",
        "file": "how the file must be named, `*` for any letters; for sources whose headers are alike",
        "part": "which part of a file it reads, in your words; profiles that fit a file and name different parts are "
        "all used",
    },
    ReadingPart: {
        **{name: said for name, said in _meanings(Reading).items() if name in ReadingPart.model_fields},
        "sheets": "names of sheets that are all read alike, `*` for any letters (`[\"Green *\"]`); each is a load of "
        "its own, named `FILE [SHEET]`",
    },
    Style: _meanings(Style),
    Origin: {
        "from": "header of the column, or several headers whose cells are joined",
        "join": "what stands between joined cells: `-` in a year, month and day, ` day ` in a year and day of the year",
        "split": "what parts the cell; only one part is taken (`0-23` at `-`)",
        "part": "which part, the first being 1; a filled cell that lacks it is a fault",
        "end": "text put behind the cell: a month of a year becomes a date with `-01`",
        "unit": "unit of the figures, where neither the cells nor a units row say it",
        "missing": "marks for \"no value\" in this column alone",
        "limit": "the laboratory's limit, in the column's unit, or the header of the column that gives each row's: a "
        "result under it is kept as \"less than\" the limit",
        "factor": "what each figure is multiplied by before it is taken to be in `unit` (`0.1` where tenths "
        "are written)",
        "offset": "what is added after that",
        "as_above": "`marks`: a ditto mark (`\"`, `do.`, `ditto`) means the value of the row right above; `blank`: so "
        "does a blank cell. Never across a blank line or a row left out",
    },
    Given: {
        "title": "pattern (a regular expression, without looking around and back-references) for a line over the "
        "column names: what its first group finds (`\"Week ending (.+)\"`), or groups named `year`, `month` and `day`",
        "file": "the same for the file's name (`\"^([A-Z]+-\\\\d)_\"`)",
        "sheet": "the same for the sheet's name (`\"(.+)\"`)",
    },
    Several: {
        "between": "of greens: marks between two (`[\"&\", \"/\"]`); operations are parted as a crew says them "
        "(`scarified x3, tined 5in & brushed`)",
        "words": "of greens: words that stand for several (`\"both greens\" = [\"ALD-1\", \"ALD-2\"]`)",
        "whole": "what an amount on such a line is of. Of operations: `first` keeps hours, people and cost with the "
        "first alone, and says so. Of greens: `each` has had it, or it is `shared` out by area. Left out: refused",
    },
    Long: {
        "from": "header of the column",
        "into": "field that its cells go to; left out, the kind's value field",
        "unit": "unit of the figures",
        "limit": "the laboratory's limit, in the column's unit, or the header of the column that gives each row's: a "
        "result under it is kept as \"less than\" the limit",
        "factor": "what each figure is multiplied by before it is taken to be in `unit`",
        "offset": "what is added after that",
        "says": "what this column says of a column that a field joins with others and the file does not have: "
        "`{ Month = \"01\" }`, with `date = { from = [\"Year\", \"Month\"], join = \"-\" }`",
        "set": "fields that every record of this column has the same value in",
    },
    Ignore: {
        "headers": "the headers",
        "sheets": "names of sheets of a workbook, `*` for any letters; a sheet that holds a table and is not read is "
        "a fault otherwise",
    },
}  # fmt: skip
"""What each key means; keys of the file, not of the model."""

HEADINGS: dict[type[BaseModel], str] = {
    Profile: "Top level",
    Match: "[match]",
    ReadingPart: "[reading]",
    Style: "[values]",
    Origin: "[fields], where one header is not enough",
    Given: "[given.FIELD]",
    Several: "[several.operation], [several.green]",
    Long: "[[long]]",
    Ignore: "[ignore]",
}
NOT_WRITTEN = {"sha256", "undecided"}
"""Fields of the models that no file holds."""

EXAMPLES = (
    (
        "jobs_north_round",
        "a job log",
        "A crew keeps its log in a spreadsheet set to decimal commas.",
        " x 25 kg",
    ),
    (
        "lab_tarnfold_organic",
        "a laboratory's wide sheet",
        "One row a sample and one column a layer. Every `[[long]]` entry makes a record of its own from the row.",
        "T26-",
    ),
)
FILES = {
    "jobs_north_round": "jobs_north_round.csv",
    "lab_tarnfold_organic": "lab_tarnfold_organic_2026.csv",
}


OTHERS = """## Sheets of other shapes

A grid of heights, with one distance in each row and the other over each column, is a wide sheet: `y_m` comes from the
first column, and each other column has a `[[long]]` entry `into = "z_mm"` with `set = { x_m = … }`.

Species in columns of their own that are one thing to a figure (daisy and plantain are weeds) have entries that set the
same `observed`; `species_named` beside it in `set` keeps them apart where they come in different files. Without it
they are one record: the figure of the later file takes the place of the earlier one's, which loading warns of and
`status` asks about. In a column of words it is filled in from the word: two words under `[aliases.observed]` for one
thing stay two species, and add up."""


def page() -> str:
    """docs/profiles.md."""
    parts = [f"## {heading}\n\n{_keys(model)}" for model, heading in HEADINGS.items()]
    return md.page("Source profiles", OPENING, *parts, *(_example(*one) for one in EXAMPLES), OTHERS)


def keys_of(model: type[BaseModel]) -> dict[str, str]:
    """Keys of a part as a file writes them, each with the model's name for it."""
    return {field.alias or name: name for name, field in model.model_fields.items() if name not in NOT_WRITTEN}


def _keys(model: type[BaseModel]) -> str:
    rows = []
    for key, name in keys_of(model).items():
        field = model.model_fields[name]
        words = ", ".join(part for part in (_type(key, model), limits(field)) if part)
        default = "needed" if field.is_required() else _default(_in_force(model, name))
        rows.append((md.code(key), words, default, KEYS[model][key]))
    return md.table(("key", "type", "where left out", "meaning"), rows)


_TYPES = {
    (Origin, "from"): "text, or list of texts",
    (Long, "from"): "text",
    (Profile, "fields"): "table of texts or tables",
    (Profile, "aliases"): "table a field",
    (Profile, "long"): "list of tables",
    (Profile, "several"): "table of tables",
    (Profile, "given"): "table of tables",
    (Profile, "only"): "table of lists of texts, or `true`",
    (Several, "words"): "table of lists of texts",
}
"""Types that the models do not say as a person would."""


def _type(key: str, model: type[BaseModel]) -> str:
    return _TYPES.get((model, key)) or type_words(model.model_fields[keys_of(model)[key]].annotation)


def _in_force(model: type[BaseModel], name: str) -> object:
    """What holds where the key is left out; for how a file is read, what reading itself takes."""
    if model is ReadingPart:
        return getattr(Reading(), name, None)
    return model.model_fields[name].get_default(call_default_factory=True)


def _default(value: object) -> str:
    if value is None or isinstance(value, BaseModel) or value in ("", (), {}):
        return ""
    if isinstance(value, tuple):
        return md.codes(value)
    return md.code(f'"{value}"' if isinstance(value, str) else str(value))


def _example(name: str, title: str, text: str, mark: str) -> str:
    """A profile of the demo, a row of a file it fits, and what the row becomes: made by reading it.

    Args:
        name: the profile's file, and the beginning of the file's that it fits.
        title: heading.
        text: what the file is.
        mark: the first line that holds this is shown.
    """
    with as_file(files("demo_data")) as folder:
        path = Path(folder) / "profiles" / f"{name}.toml"
        source = Path(folder) / "as_it_arrives" / FILES[name]
        profile = read_profile(path)
        (detected,) = detect(source, source.name, Search((profile,), all_known_headers((profile,))))
        written = path.read_text("utf-8")
        lines = source.read_bytes().decode(detected.sheet.encoding).splitlines()
    assert detected.kind is not None and detected.profile is not None, f"{source.name} is not known by {profile.name}"
    line = next(number for number, text in enumerate(lines, start=1) if mark in text)
    first = int(detected.sheet.cells["line"][0])
    records = standardise(detected.sheet, detected.kind, detected.profile).records.filter(line=line)
    parts = [
        f"## Worked example: {title}",
        f"{text} `{source.name}` begins so; its line {line} stands for the rest:",
        md.block("\n".join([*lines[: first - 1], lines[line - 1]])),
        f"`profiles/{path.name}`:",
        md.block(written, "toml"),
        f"Line {line} becomes {counted(records.height, 'record')}:",
        _records(detected.kind, records),
    ]
    return "\n\n".join(parts)


def _records(kind: Kind, records: pl.DataFrame) -> str:
    """Records as a table: a row a field, a column a record; fields blank in all of them are left out."""
    rows = []
    for field in kind.stored:
        values = records[field.name].to_list()
        if any(value is not None for value in values):
            rows.append((md.code(field.name), *(md.code(_shown(value)) for value in values), field.unit))
    return md.table(("field", *(f"record {n + 1}" for n in range(records.height)), "unit"), rows)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
