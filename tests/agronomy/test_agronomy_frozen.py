"""A result that could be altered after it was made might be printed otherwise than it was computed."""

import dataclasses
import inspect

import pytest

from scripts.docs.method import modules

RESULTS = [
    one
    for module in modules()
    for _, one in inspect.getmembers(module, dataclasses.is_dataclass)
    if one.__module__ == module.__name__
]


@pytest.mark.parametrize("one", RESULTS, ids=lambda one: one.__name__)
def test_a_result_cannot_be_altered(one):
    assert one.__dataclass_params__.frozen
