"""Every library has a licence that may stay, a locked version and locked files; the page lists what there is."""

from __future__ import annotations

import re
import tomllib
from email.message import Message
from importlib.metadata import distribution
from pathlib import Path

import pytest
from packaging.utils import canonicalize_name

from scripts.docs.licences import Licensed, both, in_families, offences, rules, stated
from scripts.supply.lock import locked, runtime_names

ROOT = Path(__file__).parents[2]


def test_every_licence_is_permissive_or_has_its_reason() -> None:
    """A library whose licence forbids what a contract company does with it, found after it was shipped."""
    product, others = both()
    assert offences([*product, *others]) == []
    assert {one.name for one in product if one.why} == {"pyphen"}  # what is shipped to users rests on one reason alone


def test_a_licence_that_may_not_stay_is_found() -> None:
    assert offences([Licensed("a", "MIT AND GPL-3.0-only"), Licensed("b", "MIT OR BSD")]) == ["a: MIT AND GPL-3.0-only"]
    # the reason is for one licence: a library that changes it has to be looked at again
    assert offences([Licensed("pyphen", "GPL-3.0-only")]) == ["pyphen: GPL-3.0-only"]


def test_a_reason_is_of_something_locked() -> None:
    names = {one.name for one in locked()}
    assert set(rules()["reasons"]) | set(rules()["elsewhere"]) <= names


def metadata(**told: str) -> Message:
    message = Message()
    message["Name"] = "some-library"
    for name, text in told.items():
        message[name.replace("_", "-")] = text
    return message


def test_what_a_library_states() -> None:
    """The expression counts before the classifier, that before the text; what is not known is never taken as fine."""
    assert stated(metadata(License_Expression="BSD-3-Clause AND MIT", License="GPL")) == "BSD AND MIT"
    assert stated(metadata(License="some text", Classifier="License :: OSI Approved :: MIT License")) == "MIT"
    assert stated(metadata(License="Apache-2.0\n\nlong text")) == "Apache-2.0"
    assert in_families("BSD-2-Clause OR BSD-3-Clause") == "BSD"
    for told in (metadata(), metadata(License="as you like")):
        with pytest.raises(LookupError, match="some-library states"):
            stated(told)


def test_every_entry_of_the_lock_has_the_hash_of_its_files() -> None:
    """One entry without a hash, and pip takes whatever an index gives it."""
    entries = locked()
    assert len(entries) > 90
    assert [one.name for one in entries if not one.hashes] == []
    lock = (ROOT / "requirements.lock").read_text("utf-8")
    assert not re.search(r"https?://|--index-url|--find-links|--trusted-host", lock)
    assert sum(len(one.hashes) for one in entries) == lock.count("--hash=sha256:")


def test_the_product_needs_nothing_that_is_not_locked() -> None:
    names = {one.name for one in locked() if one.here}
    assert runtime_names() <= names
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    assert {canonicalize_name(re.split(r"[\[<>=]", one)[0]) for one in project} <= runtime_names()
    assert not {"pytest", "hypothesis", "mypy"} & runtime_names()


def test_compiled_libraries_that_wheels_carry_are_told() -> None:
    """numpy states BSD of itself and carries a compiler's runtime: the page names what lies inside."""
    carried = {one["in"] for one in rules()["carried"]}
    folder = Path(str(distribution("numpy").locate_file("")))
    assert {path.name.removesuffix(".libs") for path in folder.glob("*.libs")} <= carried
    known = {*rules()["words"], *(one["licence"] for one in rules()["carried"]), *rules()["permissive"]}
    texts = [path for name in ("numpy", "scipy") for path in folder.glob(f"{name}-*.dist-info/**/LICENSE.txt")]
    assert texts
    for path in texts:
        assert set(re.findall(r"(?m)^License: (.+)$", path.read_text("utf-8"))) <= known, path
