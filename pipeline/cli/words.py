"""The command that gives a file's unknown words their meaning."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    JsonOption,
    QuietOption,
    SetOption,
    WorkspaceOption,
    given_of,
    print_json,
    say,
)
from pipeline.cli.terminal import one_line, out
from pipeline.common.refusal import WrongUsage
from pipeline.common.words import counted

if TYPE_CHECKING:
    from pipeline.load.words import FileWords, UnknownWord

Answers = dict[str, dict[str, str]]
"""List → word as the file writes it → code."""


def words(
    file: Annotated[Path, typer.Argument(help="File whose words are asked for.")],
    say_that: Annotated[
        list[str] | None,
        typer.Option("--say", metavar="WORD=CODE", help="What a word stands for; may be given again for another."),
    ] = None,
    profile: Annotated[str, typer.Option("--profile", "-p", help="Source profile to use.")] = "",
    given: SetOption = None,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Ask what a file's unknown words stand for (operations, greens, analytes) and write it into its source profile.

    Example: swardtally words exports/crew.csv --say "spiked=solid_tining" --workspace ostershire
    """
    from pipeline.load.words import add_aliases, unknown_words
    from pipeline.workspace.settings import open_workspace

    found = unknown_words(open_workspace(workspace), file, profile=profile, given=given_of(given or []))
    if say_that:
        answers = _said(found, say_that)
    elif found.unknown and not (as_json or quiet) and sys.stdin.isatty():
        answers = _asked(found)
    else:
        answers = {}
    if answers:
        add_aliases(found.path, answers)
    told = {(name, word) for name, some in answers.items() for word in some}
    left = [one for one in found.unknown if (one.list, one.word) not in told]
    if as_json:
        print_json({**found.as_json(), "written": answers})
    else:
        _tell(found, left, len(told), given or [], quiet=quiet)
    return FAULTS if left else DONE


def _tell(found: FileWords, left: list[UnknownWord], written: int, given: list[str], *, quiet: bool) -> None:
    named = shlex.join([found.file, *(word for one in given for word in ("--set", one))])
    for one in left:
        out(one_line(f"{one.list}: {_shown(found, one)}"))
    if written:
        say(quiet, f"Wrote {counted(written, 'word')} into {found.path}. Next: swardtally load {named}")
    if left:
        say(quiet, f'{counted(len(left), "word")} not known. Say each: swardtally words {named} --say "WORD=CODE"')
    elif not written:
        say(quiet, f"Every word of {found.file} is known.")


def _shown(found: FileWords, one: UnknownWord) -> str:
    from pipeline.load.words import labels

    near = ", ".join(labels(one.list, one.closest, found.known))
    often = "once" if one.count == 1 else f"{one.count:,} times, first"
    return f"“{one.word}” ({often} on line {one.line}){f'; closest: {near}' if near else ''}"


def _said(found: FileWords, given: list[str]) -> Answers:
    """The answers given as WORD=CODE, or LIST:WORD=CODE where two lists lack the word.

    Raises:
        WrongUsage: one is not of this form, its word is not an unknown one, or its code is none.
    """
    answers: Answers = {}
    for text in given:
        word, sign, code = text.rpartition("=")
        if not (sign and word.strip() and code.strip()):
            raise WrongUsage(f"“{text}” does not say what a word stands for.", 'Write --say "WORD=CODE".')
        meant = [one for one in found.unknown if word.strip() in {one.word, f"{one.list}:{one.word}"}]
        if not meant:
            unknown = ", ".join(f"“{one.word}”" for one in found.unknown) or "none"
            raise WrongUsage(f"“{word.strip()}” is no unknown word of {found.file}.", f"Unknown are: {unknown}.")
        if len(meant) > 1:
            lists = " or ".join(f'"{one.list}:{one.word}={code.strip()}"' for one in meant)
            raise WrongUsage(f"Two lists lack “{word.strip()}”.", f"Write --say {lists}.")
        answers.setdefault(meant[0].list, {})[meant[0].word] = found.code_of(meant[0].list, code.strip())
    return answers


def _asked(found: FileWords) -> Answers:
    """What a person answers to a question a word; nothing where the last question is not answered with yes."""
    answers: Answers = {}
    say(False, f"{counted(len(found.unknown), 'word')} of {found.file} not known. Enter alone leaves a word as it is.")
    for one in found.unknown:
        if code := _one_answer(found, one):
            answers.setdefault(one.list, {})[one.word] = code
    total = sum(map(len, answers.values()))
    if not total or not typer.confirm(f"Write {counted(total, 'word')} into {found.path}?", err=True):
        return {}
    return answers


def _one_answer(found: FileWords, one: UnknownWord) -> str:
    """The code of one word, "" where it is left; what is no code is asked again."""
    while True:
        question = one_line(f"{one.list.replace('_', ' ')} {_shown(found, one)}\n  stands for".replace("\n", ":"))
        said = str(typer.prompt(question, default="", show_default=False, err=True)).strip()
        if not said:
            return ""
        try:
            return found.code_of(one.list, said)
        except WrongUsage as error:
            say(False, one_line(f"{error.message} {error.hint}"))
