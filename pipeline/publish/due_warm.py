"""Imported once by the server that workers of a long due list are forked from, so that each starts warm."""

import gc
import os

os.environ.setdefault("POLARS_MAX_THREADS", "1")  # before polars is: each worker has a core of its own
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # and numpy

import duckdb

import pipeline.publish.due  # noqa: F401

with duckdb.connect() as con:
    con.execute("SELECT $values", {"values": [""]})  # imports what a value is bound with, half a second's work
gc.freeze()  # what is imported is no waste: workers need not look through it
gc.disable()  # they look for waste once a lot (collected_once), and not while they send what they made
