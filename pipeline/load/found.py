"""Files found where a person points: those to be read, each with the name it is shown by, and those passed over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.common.file_names import fits_any, last_part
from pipeline.common.places import resolved
from pipeline.common.refusal import WrongUsage
from pipeline.common.words import counted, listed
from pipeline.workspace.settings import as_text

SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx", ".xlsm", ".xls", ".ods")
"""Files that a folder is searched for; a file named itself is read whatever its name ends in."""
_OF_THE_SYSTEM = frozenset({"thumbs.db", "desktop.ini", "__macosx"})
_SHOWN = 3
"""Files of one type that are named; how many more there are is said."""


@dataclass(frozen=True)
class FoundFiles:
    """What was found.

    Attributes:
        files: every file to be read, with the name it is shown by.
        passed: the same of files of folders that are of another type.
        written: names of those that lie where documents are written, which are read where they are named alone.
    """

    files: list[tuple[Path, str]]
    passed: list[tuple[Path, str]]
    written: list[str]

    def left(self, pictures: Collection[Path]) -> list[str]:
        """Files of another type that were left out: all but the pictures that were taken in with what names them."""
        return [shown for path, shown in self.passed if resolved(path) not in pictures]


def found_in(paths: Iterable[Path], ignored: Sequence[str] = (), reports: Path | None = None) -> FoundFiles:
    """Every file with the name it is shown by: its place in the folder named, or the whole of it for namesakes.

    Of folders, lock files, hidden ones and those a system keeps for itself are passed over without a word, and so are
    those that fit one of the names ``ignored``. Files of the folder ``reports`` are passed over too, unless they are
    named: a sheet that somebody edited lies there beside the same sheet as it was written, and an order that has not
    gone out yet beside those that have.

    Raises:
        WrongUsage: a path does not exist, or there is no file to read.
    """
    found: list[tuple[Path, str]] = []
    passed: list[tuple[Path, str]] = []
    written: list[str] = []
    own = resolved(reports) if reports else None
    for path in paths:
        if path.is_dir():
            inside = [(one, one.relative_to(path).as_posix()) for one in sorted(path.rglob("*")) if one.is_file()]
            seen = [(file, shown) for file, shown in inside if not (_hidden(shown) or _ignored(shown, ignored))]
            of_documents = [own is not None and own in resolved(file).parents for file, _ in seen]
            written += [as_text(shown) for (_, shown), is_one in zip(seen, of_documents, strict=True) if is_one]
            seen = [one for one, is_one in zip(seen, of_documents, strict=True) if not is_one]
            found += [(file, shown) for file, shown in seen if file.suffix.lower() in SUFFIXES]
            passed += [(file, as_text(shown)) for file, shown in seen if file.suffix.lower() not in SUFFIXES]
        elif path.is_file():
            found.append((path, path.name))
        elif path.exists():
            raise WrongUsage(f"{path} is not a file.", "Name files or folders; a pipe or a device is not read.")
        else:
            raise WrongUsage(f"There is no file {path}.", "Check the spelling and the folder.")
    if not found:
        others = "".join(
            f" {said}" for said in (passed_over([shown for _, shown in passed]), not_loaded(written)) if said
        )
        raise WrongUsage(f"No file to load was found.{others}", f"Files end in {', '.join(SUFFIXES)}.")
    times = Counter(shown for _, shown in found)
    named = [(path, shown if times[shown] == 1 else path.as_posix()) for path, shown in found]
    return FoundFiles([(path, as_text(shown)) for path, shown in named], passed, written)


def _hidden(shown: str) -> bool:
    """Whether a file is a lock file, hidden, or a system's own, or lies in such a folder."""
    parts = shown.casefold().split("/")
    return any(part.startswith((".", "~$")) or part in _OF_THE_SYSTEM for part in parts)


def _ignored(shown: str, patterns: Sequence[str]) -> bool:
    """Whether the file's place in its folder, or its name, fits a pattern."""
    return fits_any(shown, patterns) or fits_any(last_part(shown), patterns)


def not_loaded(written: Sequence[str]) -> str:
    """A sentence on files that lie where documents are written; "" where there are none."""
    if not written:
        return ""
    more = f" and {len(written) - _SHOWN:,} more" if len(written) > _SHOWN else ""
    return (
        f"Not loaded: {counted(len(written), 'file')} where documents are written "
        f"({', '.join(written[:_SHOWN])}{more}). Name the one that you edited, or the order that has gone out."
    )


def passed_over(files: Sequence[str]) -> str:
    """A sentence that names the files of other types, a type at a time; "" where there are none."""
    types: dict[str, list[str]] = {}
    for file in files:
        types.setdefault(Path(file).suffix.lower() or "no ending", []).append(file)
    told = []
    for ending, names in sorted(types.items()):
        more = f" and {len(names) - _SHOWN:,} more" if len(names) > _SHOWN else ""
        told.append(f"{counted(len(names), 'file')} of type {ending} ({', '.join(names[:_SHOWN])}{more})")
    return f"Passed over: {listed(told)}." if told else ""
