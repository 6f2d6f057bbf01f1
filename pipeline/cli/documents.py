"""Commands on figures: shown, reported, surveyed, compared."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import (
    DONE,
    FAULTS,
    HERE,
    ForceOption,
    JsonOption,
    QuietOption,
    SeasonOption,
    WorkspaceOption,
    day_of,
    give,
    print_json,
    progress_for,
)
from pipeline.common.refusal import WrongUsage


def show_green(
    green: Annotated[str, typer.Argument(help="Code of the green.")],
    season: SeasonOption = "",
    evidence: Annotated[
        str, typer.Option("--evidence", "-e", metavar="INDICATOR", help="Print every record behind this indicator.")
    ] = "",
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Print the indicators of a green for a season, or every record behind one of them.

    Example: swardtally show ALD-1 --season 2026
    """
    from pipeline.cli import printing
    from pipeline.publish.shown import green_shown
    from pipeline.workspace.settings import open_workspace

    opened = open_workspace(workspace)
    result = green_shown(opened, green, season)
    if evidence:
        from pipeline.indicators.tracing import trace

        found = trace(opened, result, evidence)
        if as_json:
            print_json(printing.traces_as_json(result, found))
        else:
            printing.traces(result, found, quiet=quiet)
    elif as_json:
        print_json(printing.green_as_json(result))
    else:
        printing.green(result, quiet=quiet)
    return DONE


def report(
    greens: Annotated[
        list[str] | None, typer.Option("--green", "-g", help="Green to report on; may be repeated.")
    ] = None,
    clubs: Annotated[list[str] | None, typer.Option("--club", "-c", help="Club whose greens to report on.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Every green.")] = False,
    season: SeasonOption = "",
    only: Annotated[
        list[str] | None, typer.Option("--only", help="One kind of document: condition, summary or round-up.")
    ] = None,
    short: Annotated[bool, typer.Option("--short", help="Two pages a green instead of four.")] = False,
    force: ForceOption = False,
    workers: Annotated[int, typer.Option("--workers", min=0, help="Processes; 0 takes one a core.")] = 0,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write condition reports, season summaries and the round-up as PDF; what would come out the same is left as it is.

    Example: swardtally report --all --season 2026
    """
    from pipeline.cli import printing
    from pipeline.common.closest import offered
    from pipeline.publish.documents import DOCUMENTS, write_reports
    from pipeline.workspace.settings import open_workspace

    for kind in only or ():
        if kind not in DOCUMENTS:
            near = offered(kind, DOCUMENTS)
            raise WrongUsage(f"There is no document “{kind}”{near}.", f"Documents are {', '.join(DOCUMENTS)}.")
    if not (greens or clubs or every):
        raise WrongUsage("No green was named.", "Name greens with --green, clubs with --club, or take --all.")
    written = write_reports(
        open_workspace(workspace), greens=greens or [], clubs=clubs or [], every=every, season=season,
        only=only or [], short=short, force=force, workers=workers, progress=progress_for(quiet or as_json),
    )  # fmt: skip
    give(written, printing.reports, as_json=as_json, quiet=quiet, name="reports")
    return FAULTS if any(one.fault for one in written) else DONE


def survey(
    green: Annotated[str, typer.Argument(help="Code of the green.")],
    day: Annotated[str, typer.Argument(metavar="DATE", help="Day of the visit, year-month-day.")],
    force: ForceOption = False,
    workspace: WorkspaceOption = HERE,
    as_json: JsonOption = False,
    quiet: QuietOption = False,
) -> int:
    """Write the condition survey of one visit as PDF: levels, sward, profile, findings, programme.

    Example: swardtally survey ALD-1 2026-09-14
    """
    from pipeline.cli import printing
    from pipeline.publish.survey import write_survey
    from pipeline.workspace.settings import open_workspace

    written = write_survey(open_workspace(workspace), green, day_of(day), force=force)
    give([written], printing.reports, as_json=as_json, quiet=quiet, name="reports")
    return FAULTS if written.fault else DONE


def compare(
    region: Annotated[str, typer.Option("--region", "-r", help="Region whose groups are wanted.")] = "",
    season: SeasonOption = "",
    club: Annotated[str, typer.Option("--club", "-c", help="Club whose greens are named; without it none is.")] = "",
    indicators: Annotated[
        list[str] | None, typer.Option("--indicator", "-i", help="Indicator to compare; may be repeated.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the files.", show_default="reports/")] = None,
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
    from pipeline.workspace.settings import open_workspace

    done = compared(
        open_workspace(workspace), region=region, season=season, club=club, names=indicators or [], out=out, force=force
    )
    give(done, printing.comparison, as_json=as_json, quiet=quiet)
    return FAULTS if done.written.fault else DONE
