"""Imported once by the server that worker processes are forked from, so that each starts warm."""

from pipeline.publish.pool import RENDERERS, renderer_of
from reports.page import fonts

fonts.prepare()
import weasyprint  # noqa: E402, F401 - after the font set-up, which Pango reads on its first use

for kind in RENDERERS:
    renderer_of(kind)
