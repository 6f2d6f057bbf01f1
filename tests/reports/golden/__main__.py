"""``make golden``: everything held is made anew; what changed is then read in the version control's own diff."""

from __future__ import annotations

import sys

from tests.reports.golden.cases import CASES, HELD, pictures, texts

if __name__ == "__main__":
    HELD.mkdir(exist_ok=True)
    kept = set()
    for case in CASES:
        made = case.pdf()
        for name, text in texts(case, made).items():
            (HELD / name).write_text(text, "utf-8", newline="\n")
            kept.add(name)
        for name, picture in pictures(case, made).items():
            picture.save(HELD / name, optimize=True)
            kept.add(name)
    for path in HELD.iterdir():
        if path.name not in kept:
            path.unlink()
    size = sum(path.stat().st_size for path in HELD.iterdir())
    sys.stdout.write(f"{len(kept)} files, {size / 1000:.0f} kB in {HELD.name}/\n")
