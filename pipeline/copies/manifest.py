"""The manifest of one backup: every file with its hash, every table with its columns; no path of a machine.

What stands in one may have been edited by anybody: nothing of it is used before all of it fits what is said here.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator

from pipeline.common.refusal import CannotDo
from pipeline.copies.tables import SCHEMAS, TYPES, Column, Table

FORMAT = 1
"""Version of the form of a backup; a newer one is refused."""
TABLES, BLOBS, FILES, ELSEWHERE = "tables", "blobs", "workspace", "elsewhere"
"""First parts of paths: tables of the store, the bytes of its cells, files of the workspace, and those of folders that
settings name outside it (below the setting's name)."""
NAME = re.compile(r"(\d{4,})-(\d{8}T\d{6}Z)-([0-9a-f]{16})\.json")
"""Name of a manifest: number, time in UTC, start of the SHA-256 of its bytes."""
SHOWN = 16
"""Characters of that hash in the name."""


def _a_hash(value: str) -> str:
    if not re.fullmatch(r"[0-9a-f]{64}", value):
        raise ValueError("must be a SHA-256: 64 of 0 to 9 and a to f")
    return value


def _a_path(value: str) -> str:
    """A path below one of the folders of a backup; anything that may lead out of it is refused."""
    parts = value.split("/")
    if parts[0] not in (TABLES, BLOBS, FILES, ELSEWHERE) or len(parts) < 2:
        raise ValueError("must begin with tables/, blobs/, workspace/ or elsewhere/")
    if any(part in ("", ".", "..") or "\0" in part for part in parts):
        raise ValueError("leads out of its folder, or is no path")
    return value


def _a_table(value: str) -> str:
    if not re.fullmatch(rf"({'|'.join(SCHEMAS)})\.[a-z][a-z0-9_]*", value):
        raise ValueError("is the name of no table of a store")
    return value


def _a_type(value: str) -> str:
    if not TYPES.fullmatch(value):
        raise ValueError("is the type of no column of a store")
    return value


Hash = Annotated[str, AfterValidator(_a_hash)]
CopyPath = Annotated[str, AfterValidator(_a_path)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Kept(_Part):
    """One file of a backup: where it belongs, and what its bytes are."""

    path: CopyPath
    sha256: Hash
    bytes: int = Field(ge=0)

    @property
    def object_name(self) -> str:
        """Where its bytes lie among the objects of a backup; files that are alike lie there once."""
        return object_name(self.path, self.sha256)


class KeptColumn(_Part):
    """A column of a table."""

    name: str = Field(min_length=1)
    type: Annotated[str, AfterValidator(_a_type)]
    nullable: bool


class KeptTable(_Part):
    """A table of the store: its columns in their order, its rows as they were counted, the number of its files."""

    name: Annotated[str, AfterValidator(_a_table)]
    rows: int = Field(ge=0)
    parts: int = Field(ge=1, le=1_000_000)
    columns: list[KeptColumn] = Field(min_length=1)

    def paths(self) -> Iterator[str]:
        """Paths of its CSV files, in the order of its rows."""
        return (path_of_table(self.name, part) for part in range(1, self.parts + 1))

    @property
    def table(self) -> Table:
        """The table that it was written from."""
        return Table(self.name, tuple(Column(one.name, one.type, one.nullable) for one in self.columns))


class Figures(_Part):
    """What the figures of a store were made for, as ``derived.state`` has it."""

    records: str
    settings_version: str
    code_version: str


class Manifest(_Part):
    """One backup.

    Attributes:
        swardtally_backup: version of the form.
        number: its number among those of its folder, from 1.
        made_at: when, UTC.
        version: version of the tool.
        layout: layout of the store; None where the workspace had none.
        first_load: what tells the workspace from others: number and time of the first load into its store.
        figures: what the figures of the store were made for; None where there were none.
        tables: tables of the store.
        folders: folders of the workspace that hold no file.
        files: every file.
    """

    swardtally_backup: Literal[1] = 1
    number: int = Field(ge=1)
    made_at: str
    version: str
    layout: int | None
    first_load: str
    figures: Figures | None
    tables: list[KeptTable]
    folders: list[CopyPath]
    files: list[Kept]

    @model_validator(mode="after")
    def _each_once(self) -> Manifest:
        paths = [*(one.path for one in self.files), *self.folders]
        names = [one.name for one in self.tables]
        for told in (paths, names):
            if len(set(told)) < len(told):
                raise ValueError(f"{Counter(told).most_common(1)[0][0]} stands in it twice")
        known = set(paths)
        lost = next((path for one in self.tables for path in one.paths() if path not in known), None)
        if lost is not None:
            raise ValueError(f"the file {lost} of its table is not among its files")
        return self

    def of_part(self, *parts: str) -> list[Kept]:
        """Files whose path is one of these or lies below one; of no part all."""
        return [one for one in self.files if not parts or any(_below(one.path, part) for part in parts)]


def _below(path: str, part: str) -> bool:
    return PurePosixPath(path).is_relative_to(PurePosixPath(part))


def path_of_table(name: str, part: int) -> str:
    """Path of the CSV with the rows of a table, from 1: a long one has several."""
    return f"{TABLES}/{name}{f'-{part}' if part > 1 else ''}.csv"


def object_name(path: str, sha256: str) -> str:
    """Where the bytes of a file lie among the objects, its ending kept so that it can be opened."""
    ending = PurePosixPath(path).suffix.lower()
    plain = ending if re.fullmatch(r"\.[a-z0-9]{1,8}", ending) else ""
    return f"{sha256[:2]}/{sha256}{plain}"


def written(manifest: Manifest) -> tuple[str, bytes]:
    """Name and bytes of a manifest: JSON with one file a line, in UTF-8, a name's bytes that are no text escaped."""
    told = manifest.model_dump()
    body = [f' "{name}": {_json(value)}' for name, value in told.items() if not isinstance(value, list)]
    body += [f' "{name}": {_lines(value)}' for name, value in told.items() if isinstance(value, list)]
    content = ("{\n" + ",\n".join(body) + "\n}\n").encode("utf-8", "backslashreplace")
    when = re.sub("[-:]", "", manifest.made_at)
    return f"{manifest.number:04}-{when}-{sha256(content).hexdigest()[:SHOWN]}.json", content


def _lines(values: Iterable[object]) -> str:
    lines = ",\n".join(f"  {_json(value)}" for value in values)
    return f"[\n{lines}\n ]" if lines else "[]"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def read_manifest(path: Path) -> Manifest:
    """The manifest in a file.

    Raises:
        CannotDo: its bytes are not those that its name says, it is of a newer form, or what stands in it does not fit.
    """
    content = path.read_bytes()
    told = NAME.fullmatch(path.name)
    found = sha256(content).hexdigest()[:SHOWN]
    if told is None or told[3] != found:
        said = f"its name says that its SHA-256 begins with {told[3]}, and it begins with {found}" if told else ""
        raise CannotDo(
            f"The manifest {path.name} is damaged or was edited: {said or 'its name is that of no manifest'}.",
            "Take another backup of the same folder, by the path of its manifest.",
        )
    try:
        held = json.loads(content)
        if isinstance(held, dict) and isinstance(form := held.get("swardtally_backup"), int) and form > FORMAT:
            raise CannotDo(
                f"The backup {path.name} was made by a newer version of swardtally (form {form}).",
                "Install that version.",
            )
        return Manifest.model_validate(held)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        why = f"{where + ': ' if where else ''}{first['msg'].removeprefix('Value error, ')}"
    except (ValueError, RecursionError) as error:
        why = str(error)
    raise CannotDo(
        f"The manifest {path.name} does not hold what a manifest may hold: {why}.",
        "Nothing of it is used. Take another backup of the same folder, by the path of its manifest.",
    )
