"""Forgetting a person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import asdict, dataclass
from pathlib import Path

from pipeline.common.refusal import WrongUsage
from pipeline.common.toml import toml_of
from pipeline.common.words import listed
from pipeline.figures.refresh import keep_up
from pipeline.forget.compact import written_anew
from pipeline.forget.files import files_without, still_bearing
from pipeline.forget.kept import replace_in_originals
from pipeline.forget.person import Person, person
from pipeline.forget.store_texts import refuse_where_it_names_a_thing, replace_in_tables
from pipeline.publish.whole_files import write_whole
from pipeline.store.decisions import decisions_of
from pipeline.store.derived import DERIVED
from pipeline.store.layout import Connection
from pipeline.store.proof.chain import FORGOTTEN, add_forgotten, entries
from pipeline.store.proof.originals import mark_of
from pipeline.store.proof.seals import Seals
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace


@dataclass(frozen=True)
class Forgotten:
    """What forgetting a person came to.

    Attributes:
        token: what stands in place of the name now.
        texts: texts that were changed, by table of the store.
        originals: kept originals and rules that were kept anew.
        dropped: loads whose original was dropped: the name could not be taken from it.
        files: files of the workspace that were written anew.
        entry: number of the entry of the chain.
        left: files of the workspace that are a person's own, and bear the name still.
    """

    token: str
    texts: dict[str, int]
    originals: int
    dropped: tuple[int, ...]
    files: tuple[str, ...]
    entry: int
    left: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """The form of ``forget --json``."""
        return asdict(self)


def forget(workspace: Workspace, spellings: Sequence[str], *, dry_run: bool = False) -> Forgotten:
    """Take a person's name out of the store, its originals and the workspace's own files; the work stays.

    Args:
        workspace: the workspace.
        spellings: the ways in which the name is written.
        dry_run: say what it would come to, and change nothing.

    Raises:
        WrongUsage: a spelling is too short, or the name stands nowhere.
        CannotDo: it is the name of a thing too, or something cannot be read or written; nothing was changed.
    """
    who = person(spellings)
    with Store(workspace.store) as store:
        before = entries(store.con)
        try:
            with _whole(store, dry_run=dry_run) as con:
                done: Forgotten | WrongUsage = _forgotten(con, workspace, who, dry_run=dry_run)
        except WrongUsage as nowhere:
            done = nowhere
    # One that was stopped after the name had gone from every row is finished by the next: its file holds it still.
    if not dry_run and (isinstance(done, Forgotten) or (before and before[-1].what == FORGOTTEN)):
        written_anew(workspace.store)
        keep_up(workspace)
    if isinstance(done, WrongUsage):
        raise done
    return done


@contextmanager
def _whole(store: Store, *, dry_run: bool) -> Iterator[Connection]:
    """One transaction, taken back where it is a dry run."""
    with store.rehearsal() if dry_run else nullcontext(), store.transaction() as con:
        yield con


def _forgotten(con: Connection, workspace: Workspace, who: Person, *, dry_run: bool) -> Forgotten:
    refuse_where_it_names_a_thing(con, who)
    before = _personal(con)
    texts = replace_in_tables(con, who)
    moved, dropped = replace_in_originals(con, who)
    files = files_without(workspace, who)
    left = still_bearing(workspace, who)
    if not (texts or moved or dropped or files):
        also = f" Files of yours do: {listed(left)}." if left else ""
        raise WrongUsage(
            f"“{listed(who.spellings)}” stands nowhere in the store or its rules.{also}", "Check the name."
        )
    decided = _decisions_renamed(con, workspace, files)
    _rejects_renamed(con, workspace, files)
    after = _personal(con)
    touched = [load_id for load_id, mark in after.items() if before.get(load_id) != mark]
    add_forgotten(con, touched, decided=decided)
    for table in DERIVED:
        con.execute(f"DELETE FROM derived.{table}")  # noqa: S608 (names of ours)
    if not dry_run:
        write_whole(files)
    names = tuple(path.relative_to(workspace.folder).as_posix() for path in files)
    return Forgotten(who.token, texts, len(moved), tuple(dropped), names, len(entries(con)), left)


def _personal(con: Connection) -> dict[int, object]:
    """What may name a person of each load, as a hash of it."""
    loads = [load_id for (load_id,) in con.execute("SELECT load_id FROM meta.load ORDER BY load_id").fetchall()]
    return {seal.load_id: seal.personal for seal in Seals(con, dict.fromkeys(loads, "")).all()}


def _decisions_renamed(con: Connection, workspace: Workspace, files: dict[Path, bytes]) -> bool:
    """Give decisions the hash of their entry as it is now; whether one was changed."""
    changed = False
    for path, content in files.items():
        if path.parent != workspace.decisions:
            continue
        former, now = (decisions_of(toml_of(text, path.name), path.name) for text in (path.read_bytes(), content))
        for one, other in zip(former, now, strict=True):
            if one.mark != other.mark:
                con.execute(f"UPDATE meta.decision SET sha256 = '{other.mark}' WHERE sha256 = '{one.mark}'")  # noqa: S608
                changed = True
    return changed


def _rejects_renamed(con: Connection, workspace: Workspace, files: dict[Path, bytes]) -> None:
    """Files of rejected rows are still what was written last, and no person's work."""
    for path, content in files.items():
        if path.parent == workspace.rejected:
            former = mark_of(path.read_bytes())
            con.execute(f"UPDATE meta.rejects SET sha256 = '{mark_of(content)}' WHERE sha256 = '{former}'")  # noqa: S608
