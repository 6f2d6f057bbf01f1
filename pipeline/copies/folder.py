"""The folder of backups: what marks it as one, its objects by their hashes, its manifests by their numbers."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import mkdtemp

from pipeline.common.refusal import CannotDo
from pipeline.common.whole_files import write_whole
from pipeline.copies.hashes import hash_of, settle
from pipeline.copies.lock import held
from pipeline.copies.manifest import NAME, Kept, Manifest, object_name, read_manifest, written

ABOUT, OBJECTS, MANIFESTS = "swardtally-backup.txt", "objects", "manifests"
LOCK = ".writing"
UNFINISHED = ".unfinished-"
"""Start of the names of folders that hold what is being written."""
ABOUT_TEXT = """\
swardtally backup, form 1

Backups of one swardtally workspace, as plain files.

  manifests/   one file a backup: NUMBER-TIME-HASH.json. It lists every file with its path, its SHA-256 and its bytes,
               and every table of the store with its columns. HASH is the start of the manifest's own SHA-256.
  objects/     the files, each named by the SHA-256 of its bytes: a file that many backups hold lies here once.

Paths in a manifest: tables/ are the tables of the store as CSV, blobs/ the bytes of their cells (pictures, the files
that were loaded), workspace/ the files of the workspace, elsewhere/ those of folders that its settings name outside it.

The CSV files are UTF-8 with commas and a line of headers. Text stands in quotes; a cell that is empty without quotes is
not known (NULL), one with quotes is the empty text. Days are year-month-day, times UTC. A cell of bytes is named by its
SHA-256: that file lies in blobs/. Rows stand in the order in which the store holds them; a long table goes on in the
file with -2. They are as they were loaded: a text that begins with = is not made harmless for a spreadsheet. Bytes of
meta.original are compressed (zlib, RFC 1950).

  swardtally backup --check THIS-FOLDER                 are all files as they were written?
  swardtally restore THIS-FOLDER NEW-FOLDER             make a workspace of the last backup
  swardtally restore THIS-FOLDER/manifests/NAME NEW-FOLDER   of another one

A file of it can be found by hand: look for its path in the manifest, and take the object that its SHA-256 names.
"""


class BackupFolder:
    """A folder of backups; counts the files and bytes that are kept in it and were not there yet."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.written = self.written_bytes = 0
        self._right: set[str] = set()

    @property
    def objects(self) -> Path:
        """Folder of the objects."""
        return self.folder / OBJECTS

    def object_of(self, one: Kept) -> Path:
        """The file that holds the bytes of a file of a backup."""
        return self.objects / one.object_name

    def manifests(self) -> list[Path]:
        """Its manifests, oldest first."""
        found = [path for path in _listed(self.folder / MANIFESTS) if NAME.fullmatch(path.name)]
        return sorted(found, key=lambda path: (int(path.name.partition("-")[0]), path.name))

    def holds(self, path: str, sha256: str) -> bool:
        """Whether an object is there with the bytes that it is to have; it is read once."""
        name = object_name(path, sha256)
        if name not in self._right:
            with suppress(FileNotFoundError):
                if hash_of(self.objects / name) == sha256:
                    self._right.add(name)
        return name in self._right

    def size_of(self, path: str, sha256: str) -> int:
        """Bytes of an object that is there."""
        return (self.objects / object_name(path, sha256)).stat().st_size

    def keep(self, path: str, made: Path, sha256: str) -> None:
        """Keep a file that was written into a folder of :meth:`writing` and is settled, unless its bytes are there."""
        name = object_name(path, sha256)
        if self.holds(path, sha256):
            made.unlink()
            return
        self.written += 1
        self.written_bytes += made.stat().st_size
        target = self.objects / name
        target.parent.mkdir(parents=True, exist_ok=True)
        made.replace(target)
        settle(target.parent)
        self._right.add(name)

    def finish(self, manifest: Manifest) -> Path:
        """Write the manifest, last of all: only with it there is a backup."""
        name, content = written(manifest)
        path = self.folder / MANIFESTS / name
        settle(self.objects)
        write_whole({path: content})
        return path

    @contextmanager
    def writing(self) -> Iterator[Path]:
        """A folder for what is being written, in the same file system; what a run left that was stopped is removed.

        Raises:
            CannotDo: another backup is being written here.
        """
        if not (self.folder / ABOUT).exists():
            write_whole({self.folder / ABOUT: ABOUT_TEXT.encode()})
        self.objects.mkdir(exist_ok=True)
        with held(self.folder / LOCK, f"Another backup is being written into {self.folder}."):
            for left in self.folder.glob(f"{UNFINISHED}*"):
                shutil.rmtree(left)
            into = Path(mkdtemp(prefix=UNFINISHED, dir=self.folder))
            try:
                yield into
            finally:
                shutil.rmtree(into, ignore_errors=True)


def _listed(folder: Path) -> list[Path]:
    return list(folder.iterdir()) if folder.is_dir() else []


def is_backup_folder(folder: Path) -> bool:
    """Whether a folder holds backups."""
    return (folder / ABOUT).is_file()


def to_write_into(folder: Path) -> BackupFolder:
    """The folder that a backup may be written into: new, empty, or one of backups.

    Raises:
        CannotDo: it is something else.
    """
    if folder.exists() and not folder.is_dir():
        raise CannotDo(f"{folder} is a file.", "Name a folder for backups: a new one, or one that holds some.")
    others = [path for path in _listed(folder) if not path.name.startswith(f".{ABOUT}.")]
    if others and not is_backup_folder(folder):
        raise CannotDo(
            f"{folder} holds other things, and no backups.",
            "Name a folder for backups: a new one, or one that holds some. Nothing was written.",
        )
    return BackupFolder(folder)


def to_read(path: Path) -> tuple[BackupFolder, list[Path]]:
    """A folder of backups and its manifests, oldest first; by the path of one manifest that one alone.

    Raises:
        CannotDo: there is no backup.
    """
    folder = path.parent.parent if path.is_file() else path
    if not is_backup_folder(folder):
        raise CannotDo(f"{path} is no backup: it lacks {ABOUT}.", "Name the folder that swardtally backup wrote.")
    found = [path] if path.is_file() else BackupFolder(folder).manifests()
    if not found:
        raise CannotDo(f"{path} holds no finished backup.", "Write one: swardtally backup DIR")
    return BackupFolder(folder), found


def latest(folder: BackupFolder) -> Manifest | None:
    """The last backup of a folder; None of an empty one, or where its manifest is damaged."""
    for path in reversed(folder.manifests()):
        with suppress(CannotDo):
            return read_manifest(path)
    return None
