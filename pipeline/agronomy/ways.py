"""Names of the ways in which formulas are followed, where opinion differs; settings read them without the formulas."""

from __future__ import annotations

from typing import Literal

Equivalents = Literal["exact", "rounded", "rounded_k_391"]
"""mg/kg in 1 meq/100 g: from atomic weights; all rounded to tens; rounded to tens but potassium's, which is 391."""
Interpolation = Literal["log_linear", "linear"]
"""Between two sieves, size runs with the logarithm (the soil laboratory's plot) or straight."""
GrowthForm = Literal["celsius", "fahrenheit"]
"""Which published constants: 20/5.5 and 31/7 °C, or 68/10 and 88/12 °F. They are not the same curve."""
