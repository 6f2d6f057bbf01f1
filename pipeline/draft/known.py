"""Greens, materials and clubs that the workspace's store knows, and entries for the words that are none of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.common.closest import closest
from pipeline.common.refusal import CannotDo
from pipeline.draft.document import Entry, Table
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from schemas.codes import fold, spellings
from schemas.field import Field

MOST = 40
"""Unknown words written out in a draft; how many more there are is said."""


@dataclass(frozen=True)
class Known:
    """Names in the store's registers.

    Attributes:
        names: register → every name as written → its code.
        as_written: register → names that loading takes as they stand: codes and declared other names.
        missing: why there are none to compare with, "" where there are.
    """

    names: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    as_written: Mapping[str, frozenset[str]] = field(default_factory=dict)
    missing: str = ""

    def folded(self, register: str) -> dict[str, str]:
        """Folded name → code."""
        return {fold(name): code for name, code in self.names.get(register, {}).items()}


def known_names(workspace: Workspace) -> Known:
    """What the workspace's store knows; nothing, with the reason, where it has no store or it cannot be read."""
    if not workspace.store.exists():
        return Known(missing="the workspace has no store yet")
    try:
        with Store(workspace.store, read_only=True) as store:
            register = store.register()
    except CannotDo as error:
        return Known(missing=error.message.rstrip("."))
    names = {kind: {code: code for code in sorted(register.names(kind))} for kind in ("club", "green", "material")}
    names["green"] |= register.green_aliases
    as_written = {kind: frozenset(found) for kind, found in names.items()}
    shown = register.greens.select("name", "green").drop_nulls()
    names["green"] = dict(shown.filter(shown["name"].is_unique()).iter_rows()) | names["green"]
    return Known(names, as_written)


@dataclass(frozen=True)
class Unknown:
    """A word of the file that loading would not know.

    Attributes:
        list: list of words or register that it is looked for in.
        word: as written.
        count: how many cells hold it.
    """

    list: str
    word: str
    count: int


def alias_table(one: Field, words: Mapping[str, int], known: Known) -> tuple[Table, list[Unknown]]:
    """Table [aliases.…] for the words of a column that loading would not know, and those words, most frequent first.

    The field is one of allowed words, or refers to a register; of each word is given how often it stands there. What an
    unknown word means is not asked here: its line is a comment, loading refuses its rows, and ``swardtally words`` asks
    for all of them in one go.
    """
    key = f"aliases.{one.refers or one.name}"
    names = known.names.get(one.refers, {}) if one.refers else spellings(one.choices)
    if not names:
        return Table(key, ()), []
    by_fold = {fold(name): code for name, code in names.items()}
    entries, unknown = [], []
    for word, count in words.items():
        code = by_fold.get(fold(word))
        if code is None:
            unknown.append(Unknown(one.refers or one.choices, word, count))
        elif one.refers and word not in known.as_written[one.refers]:
            entries.append(Entry(word, code, "the same name written another way"))
    for new in unknown[:MOST]:
        often = "once" if new.count == 1 else f"{new.count:,} times"
        entries.append(Entry(new.word, "…", f"{often}{_nearest(new.word, names)}", off=True))
    more = f" {len(unknown) - MOST:,} more words are not known." if len(unknown) > MOST else ""
    return Table(key, tuple(entries), f"{_why(one)}{more}" if unknown else ""), unknown


def _why(one: Field) -> str:
    if not one.refers:
        return f"Words that are not among those for {one.name.replace('_', ' ')}: swardtally words asks for each."
    kept = ", and a material stays as it is written until then" if one.refers == "material" else ""
    return f"Names that are none of the {one.refers}s of the store: swardtally words asks for each{kept}."


def _nearest(word: str, names: Mapping[str, str]) -> str:
    """The closest known names as the tail of a comment, "" where nothing is near."""
    near = [
        names[name] if fold(name) == fold(names[name]) else f"{names[name]} ({name})" for name in closest(word, names)
    ]
    return f"; closest: {', '.join(near)}" if near else ""
