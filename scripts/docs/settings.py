"""The settings of a workspace, from the text that ``swardtally init`` writes and the model that reads it."""

from __future__ import annotations

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from pipeline.common.limits import Limits
from pipeline.workspace.method_options import MethodOptions
from pipeline.workspace.settings import SETTINGS, SETTINGS_TEXT, HouseStyleSettings, Settings
from scripts.docs import markdown as md
from scripts.docs.typewords import limits, type_words

OPENING = f"""\
`swardtally init DIR` writes `{SETTINGS}` with every setting and its explanation. A line left out, or no file at all
beside a `{Settings().store}`, means the value shown; a folder with neither file is no workspace. An unknown key or a
value outside its limits stops the command with a sentence that names its line, the value and what it must be."""

TARGETS = """\
## Targets

Targets are records, not settings: a CSV of kind [target](records.md#target), loaded like any other. The narrowest
scope wins: green, then club, then region, then standard; a season's own target beats one for every season. Targets
shipped with the tool stand in [indicators](indicators.md#default-targets)."""


def page() -> str:
    """docs/settings.md."""
    rows = [
        *_rows(Settings, ""),
        *_rows(HouseStyleSettings, "house."),
        *_rows(MethodOptions, "method_options."),
        *_rows(Limits, "limits."),
    ]
    table = md.table(("setting", "type", "limits", "where left out"), rows)
    return md.page("Settings", OPENING, md.block(SETTINGS_TEXT, "toml"), table, TARGETS)


def _standard(field: FieldInfo) -> object:
    return field.get_default(call_default_factory=True, validated_data={})


def _as_toml(value: object) -> str:
    """A value as the file has it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple | list):
        return f"[{', '.join(map(_as_toml, value))}]"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _rows(model: type[BaseModel], section: str) -> list[tuple[str, str, str, str]]:
    return [
        (md.code(section + name), type_words(field.annotation), limits(field), md.code(_as_toml(_standard(field))))
        for name, field in model.model_fields.items()
        if name not in {"house", "method_options", "limits"}
    ]
