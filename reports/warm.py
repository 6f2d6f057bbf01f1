"""Imported once by the server that worker processes are forked from, so that each starts warm."""

from reports import benchmark, condition, fonts, round_up, summary

fonts.prepare()
import weasyprint  # noqa: E402, F401 - after the font set-up, which Pango reads on its first use

_ = condition, benchmark, round_up, summary
