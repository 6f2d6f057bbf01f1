"""The bundled typeface, and the private font set-up that keeps every machine's pages the same."""

from __future__ import annotations

import os
import tempfile
from functools import cache
from pathlib import Path

from pipeline.common.whole_files import write_whole

FONT_DIR = Path(__file__).parents[1] / "templates" / "fonts"
FAMILY = "Inter"
REPLACEMENT = "□"
"""Printed for a character the typeface cannot draw; the report then carries a data note."""

_CONFIG = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig>
  <dir>{fonts}</dir>
  <cachedir>{cache}</cachedir>
  <config></config>
  {aliases}
</fontconfig>
"""
_ALIAS = '<match target="pattern"><test name="family"><string>{name}</string></test><edit name="family" \
mode="assign" binding="same"><string>{family}</string></edit></match>'
_GENERIC = ("sans-serif", "serif", "monospace", "system-ui", "Helvetica", "Arial")


@cache
def prepare() -> Path:
    """The private fontconfig file this process draws with, written and announced once.

    Must run before weasyprint is imported: Pango reads ``FONTCONFIG_FILE`` on its first use.

    Raises:
        FileNotFoundError: the bundled fonts are missing from the installation.
    """
    if not any(FONT_DIR.glob("*.ttf")):
        raise FileNotFoundError(f"no bundled fonts in {FONT_DIR.name}")
    place = Path(tempfile.gettempdir()) / f"swardtally-fonts-{os.getuid() if hasattr(os, 'getuid') else 0}"
    place.mkdir(mode=0o700, exist_ok=True)
    if hasattr(os, "getuid") and place.stat().st_uid != os.getuid():
        place = Path(tempfile.mkdtemp(prefix="swardtally-fonts-"))
    aliases = "\n  ".join(_ALIAS.format(name=name, family=FAMILY) for name in _GENERIC)
    text = _CONFIG.format(fonts=FONT_DIR, cache=place / "cache", aliases=aliases)
    config = place / "fonts.conf"
    if not config.exists() or config.read_text(encoding="utf-8") != text:
        write_whole({config: text.encode()})
    os.environ["FONTCONFIG_FILE"] = str(config)
    return config


@cache
def cover() -> frozenset[str]:
    """Every character that all bundled weights can draw."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    maps = []
    for path in sorted(FONT_DIR.glob("*.ttf")):
        with TTFont(path, lazy=True) as font:
            maps.append(frozenset(map(chr, font.getBestCmap() or {})))
    return frozenset.intersection(*maps)


@cache
def register_for_charts() -> None:
    """Let the chart engine measure text with the bundled fonts from now on."""
    import vl_convert

    vl_convert.register_font_directory(str(FONT_DIR))
