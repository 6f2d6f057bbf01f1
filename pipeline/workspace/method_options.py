"""Method options: what the trade does in more than one way, printed in the method of the figures made so."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from pipeline.agronomy.ways import Equivalents, GrowthForm, Interpolation
from pipeline.statistics.ways import PercentileType

METHOD_OPTIONS_TEXT = """\
# What the trade does in more than one way. Each figure's method says which way it was made.
[method_options]
mlsn = "2016"                 # or "2014": guideline for soils (calcium 348 or 331 mg/kg), for targets and for the need
cation_weights = "exact"      # or "rounded" or "rounded_k_391": what exchange capacity is summed with (docs/method.md)
hollow_tine = "as_logged"     # or "outside" or "inside": diameter of hollow tines; turned where the wall is recorded
layer_match = "2018"          # or "1993": edition of the published factors for a root zone over gravel (docs/method.md)
sieve_interpolation = "log_linear"  # or "linear": how to read between two sieves
growth_curve = "celsius"      # or "fahrenheit": published constants of the growth potential; not the same curve
growth_grass = "by_register"  # or "cool_season" or "warm_season"; by_register: as the green's grasses say
growth_capped = false         # true: full growth at and above the optimum (published for warm-season grass only)
degree_day_base_c = 6.0       # degree days count above this
crop_coefficient = "by_grass" # or a number: turf evaporation over reference evaporation; by_grass: 0.95 or 0.85
rain_share = 1.0              # share of the rain that the roots keep, for the irrigation need
irrigation_efficiency = 1.0   # share of the water put on that reaches the roots
percentile = 8                # or 6 or 7: type of the quartiles of a comparison (Hyndman & Fan 1996)
sampling_weeks = 6            # organic matter sampled so near in the time of the year is alike; or "any": all is
# Two questions about the log that the organic-matter balance rests on. Not answered, it allows for the doubt.
dressing_logged = "not answered"  # or "all" or "not all": is every top dressing in the log? "not all": no balance
dressing_lands = "not answered"   # or [0.9, 1.0]: least and most of a logged dressing that lands and stays on the green
"""


FORMER = {"": {"choices": "method_options"}, "cation_weights": {"clemson": "rounded_k_391"}}
"""Method option ("" for the settings as a whole) → a name that a value or section of it had before → its name now."""


def refuse_former(option: str, name: object) -> None:
    """Refuse a name that is no longer in use, and say the one that took its place.

    Raises:
        ValueError: it is such a name.
    """
    former = FORMER.get(option, {})
    if isinstance(name, str) and name in former:
        raise ValueError(f'"{name}" is now named "{former[name]}": write that, the figures stay the same')


LANDS_UNASKED = (0.7, 1.0)
"""Least and most of a logged dressing taken to land on the green where nobody says: common practice, no source."""
UNLOGGED_UNASKED = 0.3
"""What may have been spread beside the log, as a share of it, where nobody says: common practice, no source. With the
share that may not have landed it makes a doubt the same on both sides of the log."""
_Share = Annotated[float, Field(gt=0, le=1, strict=True)]


class MethodOptions(BaseModel):
    """Named ways where opinion differs; each is explained in the file that ``swardtally init`` writes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    mlsn: Literal["2014", "2016"] = "2016"
    cation_weights: Equivalents = "exact"
    hollow_tine: Literal["as_logged", "outside", "inside"] = "as_logged"
    layer_match: Literal["1993", "2018"] = "2018"
    sieve_interpolation: Interpolation = "log_linear"
    growth_curve: GrowthForm = "celsius"
    growth_grass: Literal["by_register", "cool_season", "warm_season"] = "by_register"
    growth_capped: bool = Field(default=False, strict=True)
    degree_day_base_c: float = Field(default=6.0, ge=-10, le=20, strict=True)
    crop_coefficient: Literal["by_grass"] | Annotated[float, Field(gt=0, le=2)] = "by_grass"
    rain_share: float = Field(default=1.0, ge=0, le=1, strict=True)
    irrigation_efficiency: float = Field(default=1.0, gt=0, le=1, strict=True)
    percentile: PercentileType = 8
    sampling_weeks: Literal["any"] | Annotated[float, Field(ge=1, le=26)] = 6.0
    dressing_logged: Literal["not answered", "all", "not all"] = "not answered"
    dressing_lands: Literal["not answered"] | tuple[_Share, _Share] = "not answered"

    @property
    def weeks(self) -> float | None:
        """Width of a time of the year; None where all times are alike."""
        return None if self.sampling_weeks == "any" else self.sampling_weeks

    @property
    def landed(self) -> tuple[float, float]:
        """Least and most of what came onto the green, as a share of the dressing logged."""
        least, most = LANDS_UNASKED if self.dressing_lands == "not answered" else self.dressing_lands
        return least, most * (1.0 if self.dressing_logged == "all" else 1 + UNLOGGED_UNASKED)

    @field_validator("dressing_lands")
    @classmethod
    def _least_first(cls, value: str | tuple[float, float]) -> str | tuple[float, float]:
        if isinstance(value, tuple) and value[0] > value[1]:
            raise ValueError(f"the least comes first: [{value[1]:g}, {value[0]:g}]")
        return value

    @field_validator("*", mode="before")
    @classmethod
    def _under_its_name(cls, value: object, info: ValidationInfo) -> object:
        refuse_former(info.field_name or "", value)
        return value
