"""A PostgreSQL server of the run's own on this machine's loopback, gone with it."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from pipeline.workspace.shared import Shared

USER = "postgres"
"""Whom Debian's package makes; the server does not run as root."""
HOST = "127.0.0.1"


def lacking() -> str:
    """What is not here that a shared store is tried with; "" where nothing lacks."""
    if find_spec("duckdb_extension_ducklake") is None or find_spec("psycopg") is None:
        return "the extra swardtally[shared] is not installed"
    import duckdb

    if duckdb.__version__ != "1.5.5":
        return f"DuckDB {duckdb.__version__} has no extension for shared stores that can be installed"
    if os.name == "nt" or _programs() is None:
        return "PostgreSQL is not installed (scripts/test-programs.sh)"
    return ""


def _programs() -> Path | None:
    found = shutil.which("initdb")
    folders = [*Path("/usr/lib/postgresql").glob("*/bin"), *([Path(found).resolve().parent] if found else [])]
    there = [one for one in folders if (one / "initdb").exists() and (one / "pg_ctl").exists()]
    return max(
        there, key=lambda one: [int(part) for part in one.parent.name.split(".") if part.isdigit()], default=None
    )


@dataclass(frozen=True)
class Server:
    """A server that runs.

    Attributes:
        port: its port.
    """

    port: int

    def words(self, database: str) -> str:
        """How it is connected to."""
        return f"host={HOST} port={self.port} user={USER} dbname={database}"

    def made(self, database: str, files: Path, template: str = "template1") -> Shared:
        """A new database, where a store is to be."""
        self.run(f"CREATE DATABASE {database} TEMPLATE {template}")
        return Shared(self.words(database), files)

    def run(self, sql: str) -> None:
        """Run a statement of the server's own."""
        import psycopg

        with psycopg.connect(self.words("postgres"), autocommit=True) as con:
            con.execute(sql.encode())


@contextmanager
def server() -> Iterator[Server]:
    """A server with nothing in it.

    It trusts whoever is on this machine: it is for invented records, and gone at the end.
    """
    programs = _programs()
    assert programs is not None
    with tempfile.TemporaryDirectory(prefix="swardtally-postgres-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        as_whom = USER if os.geteuid() == 0 else None
        if as_whom:
            shutil.chown(folder, as_whom)
        with socket.socket() as free:
            free.bind((HOST, 0))
            port = free.getsockname()[1]

        def run(*words: str) -> None:
            # another program changes the user: a fork that does it itself copies this process, which may be large
            line = [*(("runuser", "-u", USER, "--") if as_whom else ()), str(programs / words[0]), *words[1:]]
            done = subprocess.run(line, cwd=folder, capture_output=True, text=True, check=False)
            assert done.returncode == 0, f"{' '.join(words)}: {done.stdout} {done.stderr}"

        run("initdb", "-D", "data", "-U", USER, "--auth=trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        options = f"-c listen_addresses={HOST} -c port={port} -c unix_socket_directories={folder} -c fsync=off"
        run("pg_ctl", "-D", "data", "-o", options, "-l", "log", "-w", "start")
        try:
            yield Server(port)
        finally:
            run("pg_ctl", "-D", "data", "-m", "immediate", "-w", "stop")
