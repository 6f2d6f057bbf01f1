"""How good drafts of real files are: kinds told, marks left, and whether what is proposed without a mark is right.

``python -m tests.draft.measure FOLDER [TRUTH]`` drafts each file of a folder in a workspace without a store and prints
what it came to; ``make drafts`` does so for the open data beside the checkout. What is right stands in a table made by
hand (``truth.toml``): file → kind, and column → what it holds, in words parted by commas. A file of no kind of ours has
the kind ""; its draft is right where it does not tell one, and its marks do not count.
"""

from __future__ import annotations

import sys
import tempfile
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

from pipeline.draft import Draft, draft_profile
from pipeline.load.found import SUFFIXES
from pipeline.profiles.profile import UNDECIDED
from pipeline.workspace.settings import Workspace, make_workspace, open_workspace
from tests.draft.conftest import data_of, open_places

TRUTH = Path(__file__).with_name("truth.toml")
HOW_READ = "how values are written"
"""Of the truth: what [values] may say of the whole file."""


@dataclass(frozen=True)
class Proposal:
    """What a draft says of a column without a mark: its field or word, unit, extractant and so on."""

    column: str
    says: tuple[str, ...]


@dataclass(frozen=True)
class Measured:
    """What the draft of one file came to.

    Attributes:
        file: its name.
        right_kind: what its rows are, "" where they are no records of ours, None where the truth does not know it.
        kind: kind told, "?" where none.
        marks: places that say "?".
        unknown: words that are in no list.
        wrong: proposals without a mark that the truth does not hold.
        proposed: how many proposals there were.
        missed: columns that hold something of ours and are neither proposed nor asked about.
    """

    file: str
    right_kind: str | None
    kind: str
    marks: int
    unknown: int
    wrong: tuple[Proposal, ...] = ()
    proposed: int = 0
    missed: tuple[str, ...] = ()

    @property
    def sane(self) -> bool:
        """Whether its rows are records of ours."""
        return bool(self.right_kind)

    @property
    def told(self) -> bool:
        """Whether the kind told is the right one; of a file of no kind of ours: whether none is told."""
        return self.kind == (self.right_kind or UNDECIDED)


@dataclass
class Summary:
    """The figures over all files."""

    files: list[Measured] = field(default_factory=list)

    @property
    def sane(self) -> list[Measured]:
        return [one for one in self.files if one.sane]

    @property
    def marks(self) -> float:
        """Median of the marks of files that are records of ours."""
        return median(one.marks for one in self.sane)

    @property
    def told(self) -> float:
        """Share of the files that are records of ours whose kind is told."""
        return sum(one.told for one in self.sane) / len(self.sane)

    @property
    def wrong(self) -> list[tuple[str, Proposal]]:
        return [(one.file, proposal) for one in self.files for proposal in one.wrong]


def proposals(data: dict[str, Any]) -> Iterator[Proposal]:
    """What a drafted profile says without a mark."""
    yield from _of_columns(data, data.get("units", {}))
    for name, said in data.get("constants", {}).items():
        if said != UNDECIDED:
            yield Proposal(name, (str(said),))
    for said in data.get("values", {}).values():
        if UNDECIDED not in (said if isinstance(said, list) else [said]):
            yield Proposal(HOW_READ, (str(said),))
    for words in data.get("aliases", {}).values():
        for word, code in words.items():
            yield Proposal(word, (code,))


def _of_columns(data: dict[str, Any], units: dict[str, str]) -> Iterator[Proposal]:
    for name, origin in data.get("fields", {}).items():
        said = origin if isinstance(origin, dict) else {"from": origin}
        headers = said["from"] if isinstance(said["from"], list) else [said["from"]]
        if UNDECIDED not in headers:
            yield Proposal(" + ".join(headers), tuple(_decided([name, said.get("unit", "")], units)))
    for entry in data.get("long", []):
        if entry["from"] != UNDECIDED:
            yield Proposal(entry["from"], tuple(_decided([*entry["set"].values(), entry.get("into", "")], units)))


def _decided(said: Iterable[object], units: dict[str, str]) -> Iterator[str]:
    """Words that are decided, a name of [units] read as its unit."""
    for one in said:
        text = units.get(str(one), str(one))
        if text not in {"", UNDECIDED}:
            yield text


def measured(draft: Draft, truth: dict[str, Any] | None) -> Measured:
    """A draft held against what is right of its file; None where that is not known."""
    data = data_of(draft) if draft.text else {}
    told = Measured(
        draft.file,
        None if truth is None else truth["kind"],
        draft.kind,
        len(open_places(data)),
        len(draft.unknown),
    )
    if truth is None or not truth["kind"] or draft.drafted_for != truth["kind"]:
        return told
    right = {header: {word.strip() for word in words.split(",")} for header, words in truth.get("is", {}).items()}
    made = list(proposals(data))
    wrong = [one for one in made if not set(one.says) <= right.get(one.column, set())]
    wrong += [Proposal(header, ("ignore",)) for header in data.get("ignore", {}).get("headers", []) if header in right]
    missed = [one.header for one in draft.mapped if not one.field and one.header in right]
    return Measured(
        told.file, told.right_kind, told.kind, told.marks, told.unknown, tuple(wrong), len(made), tuple(missed)
    )


def drafts(folder: Path, workspace: Workspace) -> Iterator[Draft]:
    """A draft of each file of the folder that loading would take, in order of their names."""
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() in SUFFIXES:
            yield draft_profile(workspace, path, force=True)


def over(folder: Path, truth: Path = TRUTH) -> Summary:
    """The drafts of a folder's files held against the truth."""
    known = tomllib.loads(truth.read_text("utf-8"))
    with tempfile.TemporaryDirectory() as place:
        make_workspace(Path(place))
        return Summary([measured(one, known.get(one.file)) for one in drafts(folder, open_workspace(Path(place)))])


def lines(summary: Summary) -> Iterator[str]:
    """The figures as text: a line a file, what was wrong, and what it comes to."""
    width = max(len(one.file) for one in summary.files)
    yield f"{'file':{width}}  {'kind told':14} {'right kind':14} marks  words  proposed  wrong  missed"
    for one in summary.files:
        right = "not known" if one.right_kind is None else one.right_kind or "none of ours"
        yield (
            f"{one.file:{width}}  {one.kind:14} {right:14} {one.marks:5}  {one.unknown:5}  {one.proposed:8}  "
            f"{len(one.wrong):5}  {len(one.missed):6}"
        )
    for file, proposal in summary.wrong:
        yield f"WRONG in {file}: “{proposal.column}” is said to be {', '.join(proposal.says)}"
    for one in summary.files:
        if one.missed:
            yield f"Not used of {one.file}: {', '.join(one.missed)}"
    if not summary.sane:
        yield "Of no file the truth says what its rows are."
        return
    none = [one for one in summary.files if one.right_kind == ""]
    yield f"Marks: median {summary.marks:g} over {len(summary.sane)} files of records (at most 4 is the aim)."
    yield f"Kind told: {summary.told:.0%} of them (at least 80 % is the aim)."
    yield f"Of {len(none)} files of no kind of ours {sum(one.told for one in none)} are told none."
    yield f"Proposed without a mark: {sum(one.proposed for one in summary.files)}; wrong: {len(summary.wrong)}."


def main(folder: str, truth: str = "") -> None:
    """Print the figures over a folder, or that there is none."""
    if not Path(folder).is_dir():
        sys.stdout.write(f"There is no folder {folder}: say which with DATA=…\n")
        return
    for line in lines(over(Path(folder), Path(truth) if truth else TRUTH)):
        sys.stdout.write(f"{line}\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
