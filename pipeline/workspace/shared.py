"""The address of a store that several offices share: a catalogue in PostgreSQL, and a folder of Parquet files.

It stands in settings.toml as ``ducklake:postgres:`` and the words by which PostgreSQL's own programs connect
(``host=... dbname=... user=...``; PostgreSQL's documentation, libpq, "Connection Strings", keyword and value).
"""

from __future__ import annotations

import re
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.common.refusal import CannotDo, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterator

    import psycopg

BEGINS = "ducklake:postgres:"
"""What such an address begins with."""
WORDS = (
    "host", "hostaddr", "port", "dbname", "user", "service", "passfile", "connect_timeout", "application_name",
    "sslmode", "sslrootcert", "sslcert", "sslkey", "keepalives_idle",
)  # fmt: skip
"""Words of a connection that may stand in settings; no password, for settings are copied, mailed and backed up."""
SAID = re.compile(r"([a-z_]+)=([^\s'\"\\;]+)")
_INSTALL = "pip install 'swardtally[shared]'"
_CATALOGUE = "SELECT to_regclass('public.ducklake_snapshot') IS NOT NULL"
_LAST = "SELECT max(snapshot_id) FROM public.ducklake_snapshot"


def an_address(value: str) -> str:
    """The address, with one blank between its words.

    Raises:
        ValueError: it does not say a database, says a word twice, or one that may not stand here.
    """
    parts = value.removeprefix(BEGINS).split()
    said = [SAID.fullmatch(part) for part in parts]
    for part, found in zip(parts, said, strict=True):
        if found is None:
            raise ValueError(f"{part!r} is not word=value, without quotes and blanks")
        if found[1] == "password":
            raise ValueError("may not say a password: PostgreSQL reads it from ~/.pgpass or PGPASSWORD")
        if found[1] not in WORDS:
            raise ValueError(f"{found[1]!r} is none of {', '.join(WORDS)}")
    words = [found[1] for found in said if found]
    if len({*words}) < len(words):
        raise ValueError("says a word twice")
    if not {"dbname", "service"} & {*words}:
        raise ValueError("must say dbname=..., the database of the catalogue")
    return BEGINS + " ".join(parts)


def place_of(text: str, files: Path | None) -> Path | Shared:
    """The place of a store as somebody names it in a command: its file, or an address and the folder of its files.

    Raises:
        WrongUsage: it is no address, or the folder is not named.
    """
    if not text.startswith(BEGINS):
        return Path(text)
    if files is None:
        raise WrongUsage(f"{text} keeps its files in a folder.", "Name it with --files DIR.")
    try:
        return Shared(an_address(text).removeprefix(BEGINS), files)
    except ValueError as error:
        raise WrongUsage(f"The address {text} {error}.", "docs/scale.md shows what it may say.") from None


@dataclass(frozen=True)
class Shared:
    """Where a shared store is.

    Attributes:
        catalogue: the words of the connection, as libpq takes them.
        files: folder of the Parquet files, by the same path in every office.
    """

    catalogue: str
    files: Path

    def __str__(self) -> str:
        """The address as settings say it."""
        return BEGINS + self.catalogue

    @property
    def name(self) -> str:
        """What messages call it: its database, and the machine that has it."""
        said = dict(part.split("=", 1) for part in self.catalogue.split())
        database = said.get("dbname") or f"of service {said['service']}"
        return f"{database} on {said['host']}" if "host" in said else database

    def exists(self) -> bool:
        """Whether its database holds the catalogue of a store.

        Raises:
            CannotDo: the database cannot be reached.
        """
        with self.connected() as con:
            return bool(con.execute(_CATALOGUE).fetchone() == (True,))

    def last_snapshot(self) -> int:
        """Number of what was committed last.

        Raises:
            CannotDo: the database cannot be reached, or holds no store.
        """
        with self.connected() as con:
            found = con.execute(_LAST).fetchone()
        assert found is not None
        return int(found[0])

    @contextmanager
    def connected(self) -> Iterator[psycopg.Connection]:
        """A connection to the database itself, closed at the end.

        Raises:
            CannotDo: the database cannot be reached, or what connects to it is not installed.
        """
        with self.connect() as con:
            try:
                yield con
            except Exception as error:
                raise self.refusal(error) from error

    def connect(self) -> psycopg.Connection:
        """A connection to the database itself; each statement counts at once.

        Raises:
            CannotDo: the database cannot be reached, or what connects to it is not installed.
        """
        try:
            import psycopg
        except ImportError:
            raise CannotDo(
                "A shared store needs programs that are not installed.", f"Install them: {_INSTALL}"
            ) from None
        try:
            return psycopg.connect(self.catalogue, autocommit=True)
        except psycopg.Error as error:
            raise self.refusal(error) from error

    def refusal(self, error: Exception) -> CannotDo:
        """What is said where its database does not answer as it should."""
        told = " ".join(str(error).split()) or type(error).__name__
        return CannotDo(
            f"The shared store {self.name} does not answer: {told}",
            "Look whether its database runs, and whether this machine and user may reach it (docs/scale.md).",
        )
