"""``python -m pipeline.cli``: the command line."""

from pipeline.cli.start import run

run()
