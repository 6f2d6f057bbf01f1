"""Imported once by the server that worker processes are forked from, so that each starts warm."""

import os

os.environ.setdefault("POLARS_MAX_THREADS", "1")  # before polars is: each worker has a core of its own

import scipy.stats  # noqa: F401

import pipeline.figures.making  # noqa: F401
