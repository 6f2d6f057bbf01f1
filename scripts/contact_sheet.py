"""docs/contact-sheet.png and docs/report-page.png: pages of the demo's documents, small, to be looked at together."""

from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2
from PIL import Image

ROOT = Path(__file__).parents[1]
SEASON = "2026"
SHOWN = (
    ("ALD-1-condition", (0, 1, 2, 3)),
    ("ALD-1-survey", (0, 2, 3, 4)),
    ("ALD-summary", (0, 1)),
    ("round-up", (0, 1)),
    ("FEN-1-survey", (3,)),
    ("KET-1-survey", (3,)),
    ("comparison-all", (0,)),
    ("comparison-ald", (1,)),
)
"""Start of a file's name and the pages of it, in rows of four."""
ABREAST, WIDTH, GAP, GREYS = 4, 420, 12, 48


def page(path: Path, number: int, width: int) -> Image.Image:
    """One page of a PDF, so wide."""
    document = pypdfium2.PdfDocument(path)
    one = document[min(number, len(document) - 1)]
    drawn: Image.Image = one.render(scale=width / one.get_size()[0]).to_pil().convert("RGB")
    return drawn


def main(reports: Path) -> None:
    """Write both pictures from the reports of a demo."""
    files = {name: next(reports.glob(f"{name}*.pdf")) for name, _ in SHOWN}
    pages = [page(files[name], number, WIDTH) for name, numbers in SHOWN for number in numbers]
    height = max(one.height for one in pages)
    rows = -(-len(pages) // ABREAST)
    sheet = Image.new("RGB", (ABREAST * (WIDTH + GAP) + GAP, rows * (height + GAP) + GAP), "#b9c4c6")
    for place, one in enumerate(pages):
        row, column = divmod(place, ABREAST)
        sheet.paste(one, (GAP + column * (WIDTH + GAP), GAP + row * (height + GAP)))
    sheet.quantize(GREYS).save(ROOT / "docs" / "contact-sheet.png", optimize=True)
    first = page(files["ALD-1-condition"], 0, 900)
    first.quantize(GREYS).save(ROOT / "docs" / "report-page.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "demo") / "reports" / SEASON)
