"""Commands on figures: shown, reported, surveyed, compared."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    AsOfOption,
    ForceOption,
    IssuedOption,
    JsonOption,
    KnownByOption,
    QuietOption,
    SeasonOption,
    WorkspaceOption,
    day_of,
    give,
    look_of,
    print_json,
    progress_for,
    say,
    tell_look,
)
from pipeline.common.refusal import WrongUsage


def show_green(
    green: Annotated[str, typer.Argument(metavar="GREEN", help="Green, by its code or one of its aliases.")],
    season: SeasonOption = "",
    evidence: Annotated[
        str, typer.Option("--evidence", "-e", metavar="INDICATOR", help="Print every record behind this indicator.")
    ] = "",
    every: Annotated[bool, typer.Option("--all", help="Print every figure, by heading.")] = False,
    family: Annotated[
        str,
        typer.Option(
            "--family",
            "-f",
            metavar="NAME",
            help='Print every figure of one heading, such as soil or "Green speed"; --json too.',
        ),
    ] = "",
    outside: Annotated[bool, typer.Option("--outside", help="Print only what is off target; --json too.")] = False,
    names: Annotated[
        bool, typer.Option("--names", help="Print the names that targets, findings and --evidence use.")
    ] = False,
    as_of: AsOfOption = "",
    known_by: KnownByOption = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print what needs a look on a green in a season (off target, close, changed), all figures, or one's records.

    Example: swardtally show ALD-1 --season 2026
    """
    from pipeline.cli.printing.figures import green_as_json, traces_as_json
    from pipeline.cli.printing.green import Wanted, only
    from pipeline.cli.printing.green import green as print_green
    from pipeline.cli.printing.traced import traces
    from pipeline.indicators.headings import heading_called
    from pipeline.publish.shown import green_shown
    from pipeline.workspace.settings import open_workspace

    if evidence and (every or family or outside):
        raise WrongUsage("--evidence names its figures by itself.", "Leave out --all, --family and --outside.")
    opened = open_workspace(workspace)
    look = look_of(opened, as_of, known_by)
    result, later = green_shown(opened, green, season, look, lines=bool(evidence))
    tell_look(opened, look, [result.green], quiet=quiet)
    heading = heading_called(family, result.indicators) if family else ""
    wanted = Wanted(every, heading, outside, names)
    if evidence:
        from pipeline.indicators.tracing import trace

        found = trace(opened, result, evidence)
        if as_json:
            print_json(traces_as_json(result, found))
        else:
            traces(result, found, quiet=quiet, newer=later)
    elif as_json:
        print_json(green_as_json(only(result, wanted)))
    else:
        print_green(result, quiet=quiet, wanted=wanted, newer=later)
    return DONE


def report(
    greens: Annotated[
        list[str] | None,
        typer.Option("--green", "-g", metavar="GREEN", help="Green to report on; may be repeated."),
    ] = None,
    clubs: Annotated[
        list[str] | None,
        typer.Option(
            "--club", "-c", metavar="CLUB", help="Club, by its code, whose greens to report on; may be repeated."
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every green.")] = False,
    season: SeasonOption = "",
    only: Annotated[
        list[str] | None,
        typer.Option(
            "--only",
            metavar="DOCUMENT",
            help="One kind of document: condition, summary, handout or round-up; may be repeated.",
            show_default="all four",
        ),
    ] = None,
    as_of: AsOfOption = "",
    known_by: KnownByOption = "",
    short: Annotated[bool, typer.Option("--short", help="Two pages a green instead of five.")] = False,
    issued: IssuedOption = "",
    force: ForceOption = False,
    workers: Annotated[
        int, typer.Option("--workers", metavar="NUMBER", min=0, help="Processes; 0 takes one a core.")
    ] = 0,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write condition reports, summaries, handouts and the round-up as PDF; what would come out the same is left.

    Example: swardtally report --green ALD-1 --season 2026
    """
    from pipeline.cli import printing
    from pipeline.common.closest import offered
    from pipeline.publish.documents import DOCUMENTS, write_reports
    from pipeline.publish.on_record import without_records
    from pipeline.workspace.settings import open_workspace

    for kind in only or ():
        if kind not in DOCUMENTS:
            near = offered(kind, DOCUMENTS)
            raise WrongUsage(f"There is no document “{kind}”{near}.", f"Documents are {', '.join(DOCUMENTS)}.")
    if not (greens or clubs or every):
        raise WrongUsage("No green was named.", "Name greens with --green, clubs with --club, or take --all.")
    opened = open_workspace(workspace)
    look = look_of(opened, as_of, known_by)
    written = write_reports(
        opened, greens=greens or [], clubs=clubs or [], every=every, season=season, look=look,
        only=only or [], short=short, issued_on=day_of(issued) if issued else None, force=force,
        workers=workers, progress=progress_for(quiet or as_json),
    )  # fmt: skip
    give(written, printing.reports, as_json=as_json, quiet=quiet, name="reports")
    about = [] if every else [one for one in written if one.green or one.club]
    tell_look(
        opened,
        look,
        [one.green for one in about if one.green],
        [one.club for one in about if not one.green],
        quiet=quiet,
    )
    of_greens = [one.green for one in written if one.green]
    if of_greens and not as_json and (bare := without_records(opened, of_greens, written[0].season, look)):
        say(quiet, bare)
    return FAULTS if any(one.fault for one in written) else DONE


def survey(
    green: Annotated[str, typer.Argument(metavar="GREEN", help="Green, by its code or one of its aliases.")],
    day: Annotated[str, typer.Argument(metavar="DATE", help="Day of the visit, year-month-day, such as 2026-09-16.")],
    issued: IssuedOption = "",
    force: ForceOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write the condition survey of one visit as PDF: levels, sward, profile, findings, programme.

    Example: swardtally survey ALD-1 2026-09-16
    """
    from pipeline.cli import printing
    from pipeline.publish.survey import write_survey
    from pipeline.workspace.settings import open_workspace

    on = day_of(issued) if issued else None
    written = write_survey(open_workspace(workspace), green, day_of(day), issued_on=on, force=force)
    give([written], printing.reports, as_json=as_json, quiet=quiet, name="reports")
    return FAULTS if written.fault else DONE


def compare(
    region: Annotated[
        str,
        typer.Option(
            "--region", "-r", metavar="REGION", help="Region whose groups are wanted, as the register has it."
        ),
    ] = "",
    season: SeasonOption = "",
    club: Annotated[
        str,
        typer.Option(
            "--club", "-c", metavar="CLUB", help="Club, by its code, whose greens are named; without it none is."
        ),
    ] = "",
    each_club: Annotated[
        bool,
        typer.Option(
            "--each-club",
            help="Write the comparison of every club that has a green (with --region, of its clubs), each as --club "
            "would.",
        ),
    ] = False,
    indicators: Annotated[
        list[str] | None,
        typer.Option(
            "--indicator",
            "-i",
            metavar="INDICATOR",
            help="Indicator to compare, such as organic_matter_pct; may be repeated.",
            show_default="all that can be compared",
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="DIR", help="Folder for the files.", show_default="that of the season under reports/"
        ),
    ] = None,
    named: Annotated[
        bool, typer.Option("--names", help="Print the name of each figure that --indicator and targets use.")
    ] = False,
    as_of: AsOfOption = "",
    known_by: KnownByOption = "",
    issued: IssuedOption = "",
    force: ForceOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Compare greens with their like, as PDF and CSV; no club's figure can be worked out by another.

    Example: swardtally compare --club ALD --season 2026
    """
    from pipeline.cli import printing
    from pipeline.publish.comparison import compare as compared
    from pipeline.publish.comparison import compare_each_club
    from pipeline.workspace.settings import open_workspace

    if club and each_club:
        raise WrongUsage("--club and --each-club exclude each other.", "Keep one: a club's own, or every club's.")
    opened, names = open_workspace(workspace), indicators or []
    look, on = look_of(opened, as_of, known_by), day_of(issued) if issued else None
    if each_club:
        bar = progress_for(quiet or as_json)
        several = compare_each_club(
            opened, region=region, season=season, look=look, names=names, out=out, issued_on=on, force=force,
            progress=bar,
        )  # fmt: skip
        give(several, printing.comparisons, as_json=as_json, quiet=quiet, name="comparisons")
        tell_look(opened, look, quiet=quiet)
        return FAULTS if any(one.written.fault for one in several) else DONE
    done = compared(
        opened, region=region, season=season, look=look, club=club, names=names, out=out, issued_on=on, force=force
    )
    give(done, partial(printing.comparison, names=named), as_json=as_json, quiet=quiet)
    tell_look(opened, look, quiet=quiet)
    return FAULTS if done.written.fault else DONE
