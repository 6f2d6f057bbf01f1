"""TOML that people write: settings, profiles, corrections, decisions, findings, notes of a visit; read or refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from pipeline.common.refusal import CannotDo
from pipeline.common.toml import toml_of
from pipeline.findings.findings import Rule, rules
from pipeline.findings.findings import findings as hold
from pipeline.profiles.corrections import Correction, read_corrections
from pipeline.profiles.profile import Profile, read_profile
from pipeline.store.decisions import read_decisions
from pipeline.survey.visit_notes import VisitNotes, visit_notes
from pipeline.workspace.settings import Settings, open_workspace
from tests.fuzz.target import Target, file_of


def refused(fault: CannotDo, name: str) -> None:
    """A refusal names the file and says what to do; no words of the library beneath it."""
    assert name in fault.message and fault.hint, (fault.message, fault.hint)
    assert "pydantic" not in fault.message and "Traceback" not in fault.message, fault.message
    assert len(fault.message) < 40_000, len(fault.message)


def reading(name: str, read: Callable[[Path], Any], use: Callable[[Any], object] = bool) -> Callable[[bytes], None]:
    """A target of a file that is read whole or refused."""

    def run(data: bytes) -> None:
        with file_of(data, name) as path:
            try:
                found = read(path)
            except CannotDo as fault:
                refused(fault, path.name)
                return
            use(found)

    return run


def toml(data: bytes) -> None:
    """A document or a refusal; what is read can be printed."""
    try:
        repr(toml_of(data, "x.toml"))
    except CannotDo as fault:
        refused(fault, "x.toml")


def _settings(path: Path) -> Any:
    return open_workspace(path.parent)


def _used_settings(workspace: Any) -> None:
    from datetime import date

    for day in (date(2024, 2, 29), date(2026, 1, 1), date(2026, 10, 1)):
        season = workspace.season_of(day)
        assert season.start <= day <= season.end and workspace.season(season.name) == season, season
    for place in (workspace.store, workspace.profiles, workspace.rejected, workspace.reports):
        assert "://" not in str(place) and not str(place.name).startswith("~") and place.name, place


def _used_rules(found: Any) -> None:
    from reports.condition.first.found import _filled
    from reports.survey.findings import lead_of
    from tests.reports import sample

    for one in hold(sample.indicators(), found):
        lead_of(one)
        for figure in one.figures:
            _filled(one.rule.lead or one.rule.finding, figure)


def _used_profile(profile: Profile) -> None:
    if not profile.undecided:
        assert profile.record_kind and profile.headers_read is not None
        profile.reading_with(frozenset())


def _keys(*models: Any) -> tuple[str, ...]:
    """Names that documents of these hold."""
    found: dict[str, None] = {}
    seen: set[type] = set()
    waiting = list(models)
    while waiting:
        model = waiting.pop()
        if model in seen:
            continue
        seen.add(model)
        for name, field in model.model_fields.items():
            found[field.alias or name] = None
            waiting += _models(field.annotation)
    return tuple(found)


def _models(annotation: Any) -> list[Any]:
    if hasattr(annotation, "model_fields"):
        return [annotation]
    return [one for part in getattr(annotation, "__args__", ()) for one in _models(part)]


SIGNS = (
    " = ", "[", "]", "[[", "]]", "{", "}", '"', "'''", '"""', "\n", "true", "false", "nan", "inf", "-1", "1e9",
    "2026-03-31", "07:30:00", "\\u0000", "\\U0001F600", "0x1F", "1_000", "#", ".", ", ", "?", "../", "/", "~",
)  # fmt: skip
VALUES = (
    '"job"', '"soil_test"', '"green_speed"', '"date"', '"green"', '"operation"', '"dmy"', '"Their date"', '"10-01"',
    '"GBP"', '"standard"', '"A4"', '"US"', '"#5a2d82"', '"{file}"', '"organic_matter_pct"', '"0*"', '"above"',
    '"{value}"', '"{value.real}"', '"{}"', '"{value!r}"', '"{{"', '"moss"', '"[a-z]+"', '"(a+)+$"',
    '"(?P<year>\\\\d+)"',
)  # fmt: skip
_RULES = ("rule", *_keys(Rule))

TARGETS = (
    Target("toml", "TOML is read or refused with its line", toml, SIGNS, share=1),
    Target("settings", "settings fit or are refused by key; folders stay in the workspace",
           reading("settings.toml", _settings, _used_settings), (*SIGNS, *VALUES, *_keys(Settings)), share=1.5),
    Target("profiles", "a profile fits or is refused by key", reading("crew.toml", read_profile, _used_profile),
           (*SIGNS, *VALUES, *_keys(Profile)), share=1.5),
    Target("corrections", "corrections fit or are refused",
           reading("mended/mended.toml", lambda path: read_corrections(path.parent)),
           (*SIGNS, *VALUES, "correction", *_keys(Correction)), share=0.5),
    Target("decisions", "decisions fit or are refused",
           reading("decided/decided.toml", lambda path: read_decisions(path.parent),
                   lambda made: [one.mark for one in made]),
           (*SIGNS, *VALUES, "decision", "same", "lines", "why", "who", "file", "line", "where"), share=0.5),
    Target("findings", "rules of findings fit or are refused, and hold against figures",
           reading("findings/own.toml", lambda path: rules(path.parent), _used_rules),
           (*SIGNS, *VALUES, *_RULES), share=1.5),
    Target("visits", "notes of a visit fit or are refused", reading("ALD-1-2026-09-16.toml", visit_notes),
           (*SIGNS, *VALUES, *_keys(VisitNotes)), share=0.5),
)  # fmt: skip
