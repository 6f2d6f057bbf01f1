"""Greens, materials and clubs that the workspace's store knows, and entries for the words that are none of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.common.closest import closest
from pipeline.common.refusal import CannotDo
from pipeline.draft.document import Ask, Entry, Table
from pipeline.profiles.profile import UNDECIDED
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


def alias_table(one: Field, words: Mapping[str, int], known: Known) -> tuple[Table, tuple[Ask, ...]]:
    """Table [aliases.…] for the words of a column that loading would not know, the most frequent first.

    The field is one of allowed words, or refers to a register; of each word is given how often it stands there.
    """
    key = f"aliases.{one.refers or one.name}"
    names = known.names.get(one.refers, {}) if one.refers else spellings(one.choices)
    if not names:
        return Table(key, ()), ()
    by_fold = {fold(name): code for name, code in names.items()}
    entries, unknown = [], []
    for word, count in words.items():
        code = by_fold.get(fold(word))
        if code is None:
            unknown.append((word, count))
        elif one.refers and word not in known.as_written[one.refers]:
            entries.append(Entry(word, code, "the same name written another way"))
    for word, count in unknown[:MOST]:
        often = "once" if count == 1 else f"{count:,} times"
        entries.append(Entry(word, UNDECIDED, f"{often}{_nearest(word, names)}"))
    more = f"{len(unknown) - MOST:,} more words are not known; loading names them." if len(unknown) > MOST else ""
    shown = ", ".join(word for word, _ in unknown[:MOST])
    return Table(key, tuple(entries), more), (Ask(key, _why(one), shown),) if unknown else ()


def _why(one: Field) -> str:
    if not one.refers:
        return f"not among the words for {one.name.replace('_', ' ')}: write the one that is meant"
    kept = " (delete the line to keep a material as written)" if one.refers == "material" else ""
    return f"not among the {one.refers}s of the store: write the code that is meant, or register it first{kept}"


def _nearest(word: str, names: Mapping[str, str]) -> str:
    """The closest known names as the tail of a comment, "" where nothing is near."""
    near = [
        names[name] if fold(name) == fold(names[name]) else f"{names[name]} ({name})" for name in closest(word, names)
    ]
    return f"; closest: {', '.join(near)}" if near else ""
