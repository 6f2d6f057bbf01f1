"""Template programmes shipped with the tool: what published calendars ask of a green, each with its source.

One TOML file a template, which says for whom it is, what part of the year it covers and what one school asks for in it.
Schools that differ stay templates of their own, and none is one person's season. A licensed person decides on plant
protection by the label: no template plans it.
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

from pydantic import ValidationError

from pipeline.common.closest import refuse_unknown
from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import toml_of
from pipeline.plan.templates.model import Template

PLACE = "pipeline.plan.templates"


def template_of(content: bytes, name: str) -> Template:
    """The template in a file's bytes, checked.

    Raises:
        CannotDo: it is no TOML, or something in it does not fit; the message names each place and what is wrong there.
    """
    try:
        return Template.model_validate({"name": name, **toml_of(content, f"{name}.toml")})
    except ValidationError as error:
        said = re.sub(r"\bline\.(\d+)", lambda found: f"[[line]] {int(found[1]) + 1}", misfits(error, "", Template))
        raise CannotDo(f"{name}.toml: {said}.", "Mend the places it names; lines are counted from 1.") from None


@cache
def templates() -> dict[str, Template]:
    """The shipped templates by name, in order of names."""
    found = (entry for entry in files(PLACE).iterdir() if entry.name.endswith(".toml"))
    read = (template_of(entry.read_bytes(), entry.name.removesuffix(".toml")) for entry in found)
    return {one.name: one for one in sorted(read, key=lambda one: one.name)}


def template_named(name: str) -> Template:
    """The shipped template of a name.

    Raises:
        WrongUsage: there is none, with the closest names that there are.
    """
    refuse_unknown("template", [name], templates(), listed=True)
    return templates()[name]
