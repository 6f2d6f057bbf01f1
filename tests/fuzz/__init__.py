"""Inputs nobody thought of, by the million: ``python -m tests.fuzz``, and their seeds in the ordinary run."""
