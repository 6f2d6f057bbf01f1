"""The wheel comes out the same twice, and holds every file of the product and nothing else."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from scripts.supply.bom import with_hashes
from scripts.supply.lock import Locked
from scripts.supply.wheel import PACKAGES, ROOT, builds, names_in, sources
from tests.thorough import thorough

if (
    shutil.which("git") is None or not (ROOT / ".git").exists()
):  # an unpacked sdist: nothing says which files are its own
    pytest.skip("the files of the repository are told by git", allow_module_level=True)


@pytest.fixture(scope="module")
def wheels(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, bytes]:
    first, second = builds(tmp_path_factory.mktemp("builds"), ("wheel",))
    assert list(first) == list(second) == ["swardtally-0.1.0-py3-none-any.whl"]
    return first.popitem()[1], second.popitem()[1]


def test_the_wheel_is_the_same_twice(wheels: tuple[bytes, bytes]) -> None:
    """Two builds that differ cannot be held against each other: nobody can say what is in the one that was shipped."""
    assert wheels[0] == wheels[1]


@thorough
def test_the_sdist_is_the_same_twice(tmp_path: Path) -> None:
    first, second = builds(tmp_path, ("sdist",))
    assert list(first) == ["swardtally-0.1.0.tar.gz"]
    assert first == second


def test_the_wheel_holds_every_file_of_the_product_and_nothing_else(wheels: tuple[bytes, bytes]) -> None:
    """A font left out is found by the first person who installs it; a test or a store let in, by nobody."""
    names = names_in(wheels[0])
    held = {name for name in names if ".dist-info/" not in name}
    assert held == {path.as_posix() for path in sources() if path.parts[0] in PACKAGES}
    assert {name.partition("/")[2] for name in names if ".dist-info/" in name} == {
        "METADATA", "RECORD", "WHEEL", "entry_points.txt", "licenses/LICENSE",
        "licenses/reports/templates/fonts/OFL.txt",
    }  # fmt: skip


def test_the_wheel_holds_no_test_no_store_and_no_secret(wheels: tuple[bytes, bytes]) -> None:
    names = names_in(wheels[0])
    endings = {Path(name).suffix for name in names if ".dist-info/" not in name}
    assert endings == {".py", ".csv", ".toml", ".md", ".j2", ".css", ".sql", ".ttf", ".txt", ".jpg"}
    strange = r"(?i)(^|/)tests?/|conftest|test_|\.duckdb|\.env|\.pem|\.key|secret|password|credential|\.git|__pycache__"
    assert [name for name in names if re.search(strange, name)] == []


def bill(*components: tuple[str, str]) -> dict[str, object]:
    return {"components": [{"name": name, "version": version} for name, version in components]}


def test_a_bill_of_materials_is_held_against_the_lock() -> None:
    """A bill of what happened to be installed says nothing of what is shipped."""
    lock = [Locked("one-two", "1.0", "", ("a" * 64,), ""), Locked("three", "3", "", ("b" * 64,), "")]
    told = with_hashes(bill(("One_Two", "1.0"), ("three", "3")), lock)
    marks = [one["externalReferences"][0]["hashes"][0]["content"] for one in told["components"]]
    assert marks == ["a" * 64, "b" * 64]
    left_out, other = (("one-two", "1.0"),), (("one-two", "1.1"), ("three", "3"))
    for wrong in (bill(*left_out), bill(*other), bill(*left_out, ("three", "3"), ("x", "1"))):
        with pytest.raises(ValueError, match="not of the lock"):
            with_hashes(wrong, lock)
