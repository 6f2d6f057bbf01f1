"""Results as a person reads them: plain tables on standard output, messages on standard error."""

from pipeline.cli.printing.documents import comparison, demo, forms, nothing_shown, reports
from pipeline.cli.printing.figures import green_as_json, traces_as_json
from pipeline.cli.printing.green import green, only
from pipeline.cli.printing.loading import draft, load_results
from pipeline.cli.printing.store import changes, checks, decided, history, inventory, undone
from pipeline.cli.printing.traced import traces

__all__ = [
    "changes", "checks", "comparison", "decided", "demo", "draft", "forms", "green", "green_as_json", "history",
    "inventory", "load_results", "nothing_shown", "only", "reports", "traces", "traces_as_json", "undone",
]  # fmt: skip
