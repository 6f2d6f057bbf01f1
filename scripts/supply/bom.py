"""``make bom``: the bill of materials of the product, CycloneDX 1.6 as JSON, of the locked libraries it runs on.

cyclonedx-py writes it from an environment that holds these and nothing else, and checks it against the published
schema; here it is held against the lock, and each library takes the SHA-256 of its locked files.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from scripts.supply.lock import LOCK, Locked, locked, runtime_names
from scripts.supply.runtime import make_runtime

PROJECT = LOCK.with_name("pyproject.toml")


def named(component: Mapping[str, Any]) -> str:
    """Canonical name of a component."""
    return str(component["name"]).lower().replace("_", "-").replace(".", "-")


def with_hashes(bill: dict[str, Any], lock: Sequence[Locked]) -> dict[str, Any]:
    """The bill, each library with the hashes of its locked files, as references of the kind "distribution".

    Raises:
        ValueError: a library of the bill is not locked in that version, or a locked one is not in the bill.
    """
    pins = {one.name: one for one in lock}
    found = {named(one): one for one in bill["components"]}
    strange = [name for name, one in found.items() if name not in pins or pins[name].version != one["version"]]
    if strange or (left := sorted(pins.keys() - found.keys())):
        raise ValueError(f"the bill is not of the lock: {strange or left}")
    for name, one in found.items():
        files = [
            {"type": "distribution", "url": "requirements.lock", "hashes": [{"alg": "SHA-256", "content": mark}]}
            for mark in pins[name].hashes
        ]
        one["externalReferences"] = [*one.get("externalReferences", ()), *files]
    return bill


def main(cyclonedx: Path, folder: Path, out: Path) -> int:
    """Exit code of ``python -m scripts.supply.bom CYCLONEDX-PY FOLDER OUT``."""
    programs = make_runtime(folder)
    command = [str(cyclonedx), "environment", "--pyproject", str(PROJECT), "--output-reproducible", "--of", "JSON"]
    done = subprocess.run(  # noqa: S603 (fixed words)
        [*command, "--sv", "1.6", "--validate", str(programs / "python")], check=True, capture_output=True, text=True
    )
    names = runtime_names()
    bill = with_hashes(json.loads(done.stdout), [one for one in locked() if one.here and one.name in names])
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_text(json.dumps(bill, indent=1, ensure_ascii=False) + "\n", "utf-8")
    sys.stdout.write(f"{out}: {len(bill['components'])} libraries, CycloneDX {bill['specVersion']}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(*map(Path, sys.argv[1:4])))
