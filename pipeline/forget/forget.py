"""Forgetting a person."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.toml import toml_of
from pipeline.common.whole_files import LEFT, write_whole
from pipeline.common.words import listed
from pipeline.forget.compact import written_anew
from pipeline.forget.files import files_without, still_bearing
from pipeline.forget.kept import replace_in_originals
from pipeline.forget.person import Person, person
from pipeline.forget.store_texts import refuse_where_it_names_a_thing, replace_in_tables
from pipeline.store.checkpoint import WINDOWS, copied, log_of
from pipeline.store.decisions import decisions_of
from pipeline.store.derived import DERIVED
from pipeline.store.layout import Connection
from pipeline.store.proof.chain import add_forgotten, entries
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
        CannotDo: it is the name of a thing too, or something cannot be read or written; nothing was changed. Figures
            are to be brought up after it.
    """
    who = person(spellings)
    with Store(workspace.store_file):  # its log goes into it when it closes
        pass
    with Store(workspace.store_file) as store:
        if dry_run:
            with store.rehearsal(), store.transaction() as con:
                done, _ = _forgotten(con, workspace, who)
            return done
        try:
            return _in_a_copy(store, workspace, who)
        except OSError as error:
            why = error.strerror or str(error)
            where = f" ({workspace.place_of(Path(error.filename))})" if error.filename else ""
            raise CannotDo(f"The name could not be taken out: {why}{where}.", "Nothing was changed.") from error


def _in_a_copy(store: Store, workspace: Workspace, who: Person) -> Forgotten:
    """Forget in a copy of the store, no block of which holds the name; then that and the files take their places."""
    if log_of(workspace.store_file).exists():
        raise CannotDo(f"{log_of(workspace.store_file)} could not be brought into the store.", "Nothing was changed.")
    if WINDOWS:  # there no file is read that another has open for writing
        store.con.close()
    with copied(workspace.store_file) as copy:
        with Store(copy) as other, other.transaction() as con:
            done, files = _forgotten(con, workspace, who)
        written_anew(copy)
        write_whole({**files, workspace.store_file: None})
    former = [path.name for path in workspace.store_file.parent.iterdir() if LEFT.fullmatch(path.name)]
    return replace(done, left=(*done.left, *former))


def _forgotten(con: Connection, workspace: Workspace, who: Person) -> tuple[Forgotten, dict[Path, bytes]]:
    """Forget in an open store; also the files that are to stand with it, with their content.

    Raises:
        WrongUsage: the name stands nowhere.
        CannotDo: it is the name of a thing too.
    """
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
    names = tuple(workspace.place_of(path) for path in files)
    return Forgotten(who.token, texts, len(moved), tuple(dropped), names, len(entries(con)), left), files


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
