"""Every list of allowed words with the other spellings it knows."""

from __future__ import annotations

from importlib.resources import files

from schemas import KINDS
from schemas.codes import code_list
from scripts.docs import markdown as md

OPENING = """\
A field of type choice takes one of these words. Any of the other spellings is understood, without regard to capitals,
hyphens, underscores and repeated spaces. An unknown word is rejected, with the closest ones named; a source profile
can map a word of one's own under `[aliases.<field>]`. Of operations, phrases are understood as well (`mowed the green`,
`autumn scarify`), where every word of them is one of a spelling or one that says nothing of what was done."""


def page() -> str:
    """docs/codes.md."""
    return md.page("Allowed words", OPENING, *(_list(name) for name in list_names()))


def list_names() -> list[str]:
    """Names of every list in schemas/codes/."""
    entries = files("schemas.codes").iterdir()
    return sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml"))


def _list(name: str) -> str:
    words = code_list(name).values()
    facts = list(dict.fromkeys(fact for word in words for fact in word.facts))
    rows = [
        (md.code(word.name), word.label, md.codes(word.also), *(_fact(word.facts.get(fact)) for fact in facts))
        for word in words
    ]
    text = files("schemas.codes").joinpath(f"{name}.toml").read_text("utf-8")
    return "\n\n".join(
        part
        for part in (
            f"## {name}",
            md.escaped(_comment(text)),
            _used_by(name),
            md.table(("word", "as printed", "other spellings", *facts), rows),
        )
        if part
    )


def _comment(text: str) -> str:
    """The comment that a list opens with."""
    lines = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.removeprefix("#").strip())
    return " ".join(lines)


def _used_by(name: str) -> str:
    fields = [f"`{field.name}` of [{kind.name}](records.md#{md.anchor(kind.name)})" for kind in KINDS.values()
              for field in kind.fields if field.choices == name]  # fmt: skip
    return f"Used by {', '.join(fields)}." if fields else ""


def _fact(value: object) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
