"""Imported once by the server that worker processes are forked from, so that each starts warm."""

from reports.comparison import render as comparison
from reports.condition import render as condition
from reports.page import fonts
from reports.round_up import render as round_up
from reports.summary import render as summary
from reports.survey import render as survey

fonts.prepare()
import weasyprint  # noqa: E402, F401 - after the font set-up, which Pango reads on its first use

_ = condition, comparison, round_up, summary, survey
