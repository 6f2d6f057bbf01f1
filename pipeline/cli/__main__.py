"""``python -m pipeline.cli``: the command line."""

from pipeline.cli.app import main

main()
