"""Exact factors between the units the trade writes and SI, where pint cannot serve.

Pint (pipeline/standardise/cells/units.py) reads and converts what stands in a cell. It takes no column and three
tenths of a second to start, so formulas over columns and the US figures of a page take these. The suite holds each
against pint.

Every factor follows from the international inch and pound (1959), the US gallon of 231 cubic inches and the US (short)
ton of 2000 lb.
"""

from __future__ import annotations

MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048
M2_PER_FT2 = M_PER_FOOT**2
M2_PER_ACRE = 4840 * 0.9144**2
"""The acre of 4840 square yards; pint's own is the US survey acre."""
KG_PER_LB = 0.45359237
KG_PER_SHORT_TON = 2000 * KG_PER_LB
L_PER_US_GALLON = 231 * (MM_PER_INCH / 100) ** 3
KG_HA_PER_LB_ACRE = KG_PER_LB * 10_000 / M2_PER_ACRE
"""1.12085; two published tables of the reverse print 0.9822 for 0.8922, a slip of digits."""
