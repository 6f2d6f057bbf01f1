"""Results as a person reads them: plain tables on standard output, messages on standard error.

What ``show`` prints stands in ``green`` and ``traced`` and is imported from there: it needs the indicators, which a
load does without.
"""

from pipeline.cli.printing.documents import comparison, comparisons, demo, forms, nothing_shown, reports
from pipeline.cli.printing.figures import green_as_json, traces_as_json
from pipeline.cli.printing.loading import draft, load_results
from pipeline.cli.printing.store import changes, checks, decided, history, inventory, undone

__all__ = [
    "changes", "checks", "comparison", "comparisons", "decided", "demo", "draft", "forms", "green_as_json", "history",
    "inventory", "load_results", "nothing_shown", "reports", "traces_as_json", "undone",
]  # fmt: skip
