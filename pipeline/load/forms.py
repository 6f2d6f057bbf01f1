"""Filled forms among the files to load: each of their sheets as a file found to hold its kind of record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from pipeline.common.faults import FaultKind, concat
from pipeline.common.limits import STANDARD, Limits
from pipeline.forms.filled import FilledSheet, filled_form
from pipeline.load.detect import DetectedFile
from pipeline.profiles.profile import Profile

NO_PROFILE = FaultKind(
    "form.profile",
    "Source profile of rows to mend is gone",
    "The rows of this workbook were read by profile {value}, and there is none of that name any more.",
    "Put the profile back, or mend the rows in their own file.",
)
NOT_CLOSED = FaultKind(
    "form.not_closed",
    "Form loaded as complete",
    "A form is never all there is of its days, so no record was closed.",
    "Load it without --complete.",
    severity="warning",
)


def form_parts(
    path: Path, shown: str, profiles: Sequence[Profile], limits: Limits = STANDARD
) -> tuple[DetectedFile, ...]:
    """The filled sheets of a form, each as a file of its own; () where the file is no form.

    Args:
        path: the file.
        shown: how the person named it.
        profiles: source profiles of the workspace; a workbook of rejected rows names the one it is read by.
        limits: how much of it is read.
    """
    return tuple(_part(path, one, profiles) for one in filled_form(path, shown, limits))


def _part(path: Path, filled: FilledSheet, profiles: Sequence[Profile]) -> DetectedFile:
    profile = next((one for one in profiles if one.name == filled.profile), None)
    sheet, kind = filled.sheet, profile.record_kind if profile else filled.kind
    if filled.profile and profile is None:
        sheet = replace(sheet, faults=concat([sheet.faults, NO_PROFILE.at(None, filled.profile)]))
    mending = bool(filled.rejects_of)
    part = f"[{filled.part}]" if filled.part else ""
    return DetectedFile(
        sheet, kind, profile, sheet.faults, mending, path=path, form=True, form_part=part, rejects_of=filled.rejects_of
    )
