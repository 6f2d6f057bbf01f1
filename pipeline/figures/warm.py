"""Imported once by the server that worker processes are forked from, so that each starts warm."""

import gc
import os

os.environ.setdefault("POLARS_MAX_THREADS", "1")  # before polars is: each worker has a core of its own
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # and numpy

import scipy.special  # noqa: F401

import pipeline.figures.making  # noqa: F401

gc.freeze()  # what is imported is no waste: workers need not look through it
