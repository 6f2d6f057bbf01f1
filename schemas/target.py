"""Targets: what an indicator should be, for whom, and who says so."""

from schemas.field import Field
from schemas.kind import Kind

TARGET = Kind(
    name="target",
    title="targets",
    grain="a goal for one indicator in one scope and season",
    register=True,
    order=("indicator", "scope"),
    fields=(
        Field("indicator", "code", "Name of the indicator, as in docs/indicators.md.", required=True, key=True,
              example="dressing_kg_m2"),
        Field("scope", "choice", "What it holds for; green beats club beats region beats standard.", choices="scope",
              required=True, key=True, example="club"),
        Field("scope_name", "code", "Code of the green or club, or name of the region; blank for standard.", key=True,
              also=("for", "holds for"), example="ALD"),
        Field("season", "code", "Season it holds for; blank for every season.", key=True, example="2026"),
        Field("band", "code", "Depth or analyte the target is for, as printed beside the indicator; blank for all.",
              key=True, also=("depth",), example="0–20 mm"),
        Field("low", "number", "Lower end; blank where there is none.", low=-1000000, high=1000000, also=("min", "from"),
              example="3"),
        Field("high", "number", "Upper end; blank where there is none.", low=-1000000, high=1000000, also=("max", "to"),
              example="6"),
        Field("unit", "text", "Unit of low and high; must be the indicator's own.", required=True, example="kg/m²"),
        Field("construction", "choice", "How a green is built that it holds for; blank for every construction. A target narrowed by this "
              "or by the next columns is another target: load the former with low and high blank to end it.",
              choices="construction", key=True, example="sand"),
        Field("shape", "choice", "Shape of green it holds for; blank for both.", choices="green_shape", key=True,
              also=("flat or crown",), example="flat"),
        Field("burn_c", "number", "Burn temperature of the organic matter it holds for; blank for all.", unit="°C", low=200,
              high=1000, key=True, also=("burn temperature", "ignition temperature"), example=""),
        Field("preparation", "choice", "Preparation of the sample it holds for; blank for all.", choices="preparation",
              key=True, also=("sieved", "prep"), example=""),
        Field("verdure", "choice", "Whether the green top was on in the samples it holds for; blank for both.",
              choices="verdure", key=True, example=""),
        Field("lab", "text", "Laboratory whose results it holds for; blank for all.", key=True, also=("laboratory",),
              example=""),
        Field("extractant", "choice", "Extractant of the results it holds for; blank for all.", choices="extractant",
              key=True, also=("extraction",), example=""),
        Field("source", "text", "Who says so; printed beside every comparison.", required=True,
              example="agreed with the committee, 3 February 2026"),
        Field("note", "text", "Anything else worth keeping.", also=("notes",), example=""),
    ),
)  # fmt: skip
