"""The command that gives a file's unknown words their meaning."""

from __future__ import annotations

import shlex
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    ProfileOption,
    QuietOption,
    SetOption,
    WorkspaceOption,
    given_of,
    print_json,
    say,
)
from pipeline.cli.terminal import out
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.shown_text import one_line
from pipeline.common.words import counted

if TYPE_CHECKING:
    from pipeline.load.words import FileWords, UnknownWord

Answers = dict[str, dict[str, str]]
"""List → word as the file writes it → code."""


def words(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="File whose words are asked for: CSV or other text, or a workbook.")
    ],
    say_that: Annotated[
        list[str] | None,
        typer.Option(
            "--say",
            metavar="WORD=CODE",
            help="What a word stands for, as a code of its list (a green by its code); may be given again for another.",
        ),
    ] = None,
    profile: ProfileOption = "",
    given: SetOption = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Ask what a file's unknown words stand for (operations, greens, materials, analytes); write it into its profile.

    At a terminal it asks one after the other; without one it lists them. Of a form, which has no profile, it lists them
    and says what to write instead.

    Example: swardtally words exports/crew.csv --say "combed=brushing" --workspace ostershire
    """
    from pipeline.load.words import add_aliases, loads_in_the_way, unknown_words
    from pipeline.workspace.settings import open_workspace

    here, set_so = open_workspace(workspace), given_of(given or [])
    found = unknown_words(here, file, profile=profile, given=set_so)
    if say_that:
        answers = _said(found, say_that)
    elif found.unknown and found.path and not (as_json or quiet) and sys.stdin.isatty():
        answers = _asked(found)
    else:
        answers = {}
    undo: tuple[str, ...] = ()
    if answers and found.path:
        add_aliases(found.path, answers)
        try:
            undo = loads_in_the_way(here, file, profile=profile, given=set_so)
        except CannotDo as error:
            say(False, f"The words are written; which loads rest on the former ones was not seen: {error.message}")
    told = {(name, word) for name, some in answers.items() for word in some}
    left = [one for one in found.unknown if (one.list, one.word) not in told]
    if as_json:
        print_json({**found.as_json(), "written": answers, "undo_first": list(undo)})
    else:
        options = [
            *(["--profile", profile] if profile else []),
            *(word for one in given or [] for word in ("--set", one)),
        ]
        _tell(replace(found, unknown=tuple(left)), len(told), undo, shlex.join([str(file), *options]), quiet=quiet)
    return FAULTS if left or found.unread else DONE


def _tell(found: FileWords, written: int, undo: tuple[str, ...], named: str, *, quiet: bool) -> None:
    """What is left, what was written, and what is to be done next."""
    left = found.unknown
    for one in left:
        out(one_line(f"{one.list}: {_shown(found, one)}"))
    for why in found.unread:
        say(False, one_line(why))
    if written:
        first = "".join(f"{one}, then " for one in undo)
        why = " (its rows would be other records now)" if undo else ""
        say(quiet, f"Wrote {counted(written, 'word')} into {found.path}. Next: {first}swardtally load {named}{why}")
    if left and found.path is None:
        say(quiet, f"{counted(len(left), 'word')} not known. {FORM}")
    elif left:
        say(quiet, f'{counted(len(left), "word")} not known. Say each: swardtally words {named} --say "WORD=CODE"')
    elif not (written or found.unread):
        say(quiet, f"Every word of {found.file} is known.")
    if found.several:
        say(quiet, one_line(found.several))


FORM = (
    "A form has no source profile to keep them in: choose a word of the list in its cell. Another name of a green goes "
    "under aliases in the register of greens, a new material into the register of materials."
)
"""What to do about the unknown words of a form."""


def _shown(found: FileWords, one: UnknownWord) -> str:
    from pipeline.load.words import labels

    near = ", ".join(labels(one.list, one.closest, found.known))
    often = "once" if one.count == 1 else f"{one.count:,} times, first"
    of = f" of {one.sheet}" if one.sheet else ""
    return f"“{one.word}” ({often} on line {one.line}{of}){f'; closest: {near}' if near else ''}"


def _said(found: FileWords, given: list[str]) -> Answers:
    """The answers given as WORD=CODE, or LIST:WORD=CODE where two lists lack the word.

    Raises:
        WrongUsage: one is not of this form, its word is not an unknown one, or its code is none; or the file is a form.
    """
    if found.path is None:
        raise WrongUsage(f"{found.file} is a form: nothing keeps what its words stand for.", FORM)
    answers: Answers = {}
    for text in given:
        word, sign, code = text.rpartition("=")
        if not (sign and word.strip() and code.strip()):
            raise WrongUsage(f"“{text}” does not say what a word stands for.", 'Write --say "WORD=CODE".')
        meant = [one for one in found.unknown if word.strip() in {one.word, f"{one.list}:{one.word}"}]
        if not meant:
            raise _not_unknown(found, word.strip())
        if len(meant) > 1:
            lists = " or ".join(f'"{one.list}:{one.word}={code.strip()}"' for one in meant)
            raise WrongUsage(f"Two lists lack “{word.strip()}”.", f"Write --say {lists}.")
        answers.setdefault(meant[0].list, {})[meant[0].word] = found.code_of(meant[0].list, code.strip())
    return answers


def _not_unknown(found: FileWords, word: str) -> WrongUsage:
    """The refusal of a word that loading knows, or that the file does not hold."""
    why = found.why_known(word)
    unknown = ", ".join(f"“{one.word}”" for one in found.unknown) or "none"
    hint = f"Unknown are: {unknown}."
    if why.startswith("it stands for"):
        hint = "If that is wrong, mend it there, and load the file again; loading says what to take back first."
    return WrongUsage(f"“{word}” is no unknown word of {found.file}{f': {why}' if why else ''}.", hint)


def _asked(found: FileWords) -> Answers:
    """What a person answers to a question a word; nothing where the last question is not answered with yes."""
    answers: Answers = {}
    say(False, f"{counted(len(found.unknown), 'word')} of {found.file} not known. Enter alone leaves a word as it is.")
    listed: set[str] = set()
    for one in found.unknown:
        if code := _one_answer(found, one, listed):
            answers.setdefault(one.list, {})[one.word] = code
    total = sum(map(len, answers.values()))
    if not total or not typer.confirm(f"Write {counted(total, 'word')} into {found.path}?", err=True):
        return {}
    return answers


def _one_answer(found: FileWords, one: UnknownWord, listed: set[str]) -> str:
    """The code of one word, "" where it is left; what is no code is asked again.

    The known words of a list are said once; ``listed`` are the lists whose words were.
    """
    while True:
        question = one_line(f"{one.list.replace('_', ' ')} {_shown(found, one)}\n  stands for".replace("\n", ":"))
        said = str(typer.prompt(question, default="", show_default=False, err=True)).strip()
        if not said:
            return ""
        try:
            return found.code_of(one.list, said)
        except WrongUsage as error:
            again = one.list in listed and error.hint.startswith("Known are")
            say(False, one_line(error.message if again else f"{error.message} {error.hint}"))
            listed.add(one.list)
