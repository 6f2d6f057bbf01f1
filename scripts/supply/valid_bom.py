"""Whether a bill of materials is valid by the published schema of CycloneDX; run where cyclonedx-bom is installed."""

from __future__ import annotations

import sys
from pathlib import Path


def main(path: Path) -> int:
    """Exit code: 0 valid, 1 not; the first fault is printed."""
    from cyclonedx.schema import SchemaVersion
    from cyclonedx.validation.json import JsonStrictValidator

    fault = JsonStrictValidator(SchemaVersion.V1_6).validate_str(path.read_text("utf-8"))
    sys.stdout.write(f"{path}: {'valid by the schema of CycloneDX 1.6' if fault is None else fault}\n")
    return int(fault is not None)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
