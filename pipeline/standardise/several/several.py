"""The lines of a file, parted as its profile says under [several]."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pipeline.profiles.style import Style
from pipeline.standardise.cells.crew_words import OPERATIONS
from pipeline.standardise.cells.distinct import Cells
from pipeline.standardise.several.greens import greens_parted, in_doubt
from pipeline.standardise.several.operations import operations_parted
from pipeline.standardise.several.parted import Parted

if TYPE_CHECKING:
    from pipeline.profiles.profile import Profile


def parted_by(
    profile: Profile, given: Mapping[str, Cells], style: Style, aliases: Mapping[str, Mapping[str, str]]
) -> Parted | None:
    """The lines as the records they hold; None where the profile parts none.

    Args:
        profile: says which cells name several, and what is then of which.
        given: cells of every field with a column, as they stand on the lines.
        style: how values are written.
        aliases: other names, by list or field.
    """
    done = None
    if "green" in profile.several:
        said = profile.several["green"]
        others = {name: cells for name, cells in given.items() if name != "green"}
        done = greens_parted(given["green"], others, said, aliases.get("green", {}), style, profile.record_kind)
    if "operation" in profile.several:
        said = profile.several["operation"]
        now = {name: done.of(name, cells) for name, cells in given.items()} if done else given
        words = [*aliases.get(OPERATIONS, {}), *aliases.get("operation", {})]
        others = {name: cells for name, cells in now.items() if name != "operation"}
        parted = operations_parted(now["operation"], others, words, style, said.whole)
        if done and not profile.several["green"].whole and "quantity" in parted.added:
            put_on = Cells(now["operation"].lines[parted.rows], parted.added["quantity"], now["operation"].header)
            parted = parted.with_faults(in_doubt(put_on, done.whole["green"][parted.rows], style))
        done = done.then(parted) if done else parted
    return done
