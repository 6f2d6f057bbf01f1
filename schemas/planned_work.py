"""Planned works: what a programme asks of a green, with the window of days it is to be done in."""

from dataclasses import replace

from schemas.field import Field
from schemas.job import AMOUNT, JOB
from schemas.kind import Kind
from schemas.shared import NOTE


def _each_time(name: str, meaning: str) -> Field:
    """A field of the job log, of what is to be done on each green each time."""
    return replace(JOB.by_name[name], meaning=f"{meaning}, on each green each time.", also=(), rests_on=(), example="")


PLANNED_WORK = Kind(
    name="planned_work",
    title="planned works",
    grain="one work that a programme asks for in one window of days",
    repeats=True,
    order=("programme", "club", "green", "template", "window_from", "operation"),
    often_constant=("programme",),
    attached=False,
    ahead=True,
    suggested=False,
    fields=(
        Field("programme", "code", "Name of the programme; needed of a green or club. Lines of one programme, green and work "
              "are one record each, whose windows and amounts may be edited and loaded again; another season's programme "
              "has another name.", key=True, also=("programme name", "plan"), example="2027"),
        Field("green", "code", "Green it is for. One of green, club and template is given, and no more.", key=True,
              refers="green", also=("green code",), example="ALD-1"),
        Field("club", "code", "Club it is for: each of its greens in force.", key=True, refers="club", also=("club code",)),
        Field("template", "code", "Template it is a line of: a programme for no green, from which those of greens are made.",
              key=True, also=("template name",)),
        Field("operation", "choice", "What is to be done.", label="Operation", choices="operation", required=True, key=True,
              also=("work", "activity"), example="top dressing"),
        Field("material", "code", "What is to be put on.", label="Material", key=True, refers="material", open=True,
              also=("product",), example="70/30 sand and soil"),
        Field("reference", "code", "Number or name of the line, to tell lines of the same work apart.", key=True,
              also=("ref", "line no"), example="R-3"),
        Field("window_from", "date", "First day of the window; of a template in any year.", required=True,
              also=("from day", "window from", "earliest"), example="2026-10-05"),
        Field("window_to", "date", "Last day of the window.", required=True, also=("to day", "window to", "latest"),
              example="2026-10-16"),
        Field("times", "whole", "How often within the window; once where left blank. 0 takes the line out of the programme.",
              low=0, high=400, also=("how often", "no of times"), example="1"),
        Field("times_open", "flag", "Yes: how often is left open. Until times is filled in, its hours, amount and cost are not "
              "known; a blank there is then not once.", also=("how often is open",), example="no"),
        replace(JOB.by_name["quantity"], meaning="How much in one cell, on each green each time; fills mass, volume, packs or "
                "rate.", also=("qty", "how much"), example=""),
        _each_time("mass_kg", "Mass to be put on in all"),
        _each_time("volume_l", "Volume to be put on in all"),
        _each_time("packs", "Packs to be put on in all; mass or volume comes from the material's pack size"),
        replace(JOB.by_name["rate"], meaning="Rate in one cell, each time; fills rate_g_m2 or rate_ml_m2.",
                also=("application rate",), example="3.5 kg/m2"),
        _each_time("rate_g_m2", "Rate by mass over the green's own area"),
        _each_time("rate_ml_m2", "Rate by volume over the green's own area"),
        replace(JOB.by_name["depth_mm"], also=("depth", "working depth"), example=""),
        replace(JOB.by_name["passes"], meaning="How many times the machine goes over at one visit.", example="2"),
        replace(JOB.by_name["hours"], meaning="Hours of work of all people together that are allowed for it, on each green "
                "each time.", label="", also=("hours allowed",), example="4", words=""),
        Field("basis", "text", "Why it is planned: the target, finding or agreement behind it, or who says so.",
              also=("why", "reason"), example="autumn renovation, common practice"),
        NOTE,
    ),
)  # fmt: skip
AMOUNTS = AMOUNT
"""Ways to say how much is to be put on, of which a line gives one at most."""
