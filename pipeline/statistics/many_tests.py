"""Several tests made together: p-values that hold for all of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.statistics.kendall import finite


def false_discovery_p(p: ArrayLike) -> NDArray[np.float64]:
    """Adjusted p-values, in the order given: each is the lowest rate of false discoveries at which its test counts.

    Where no test of the family has anything to find, one or more of the adjusted values is at most q with probability
    q at most, for tests that are independent or positively related.

    Args:
        p: p-value of each test of the family, 0…1.

    Raises:
        ValueError: a value is missing or not within 0…1.

    Source: Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B 57:289–300; positive relation:
    Benjamini & Yekutieli 2001, Annals of Statistics 29:1165–1188.
    """
    values = finite(p, "p")
    if ((values < 0) | (values > 1)).any():
        raise ValueError("p: must be within 0 and 1")
    order = np.argsort(values)[::-1]
    ranks = np.arange(values.size, 0, -1)
    adjusted = np.empty_like(values)
    adjusted[order] = np.minimum.accumulate(values[order] * values.size / ranks)
    return adjusted
