"""Soil tests: one result of one analyte at one depth, with the method that makes it comparable."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import COMMENTS, DATE_TO, OF_GREEN

SOIL_TEST = Kind(
    name="soil_test",
    title="soil tests",
    grain="one result of one analyte at one depth",
    value_field="value",
    order=("green", "analyte", "date"),
    often_constant=("lab", "depth_from_mm", "depth_to_mm"),
    fields=(
        Field("date", "date", "Day of sampling. Where only the month or the year is known, write that alone (Nov 2024, "
              "2024-11, 2024): its first day.", required=True, key=True, fills=("date_to",), also=("sampled", "sample date", "sampling date", "date sampled", "date of sampling"),
              example="2026-02-10"),
        DATE_TO,
        OF_GREEN,
        Field("analyte", "choice", "What was measured.", choices="analyte", required=True, key=True,
              also=("test", "parameter", "determinand"), example="organic matter"),
        Field("depth_from_mm", "number", "Upper end of the sampled layer.", unit="mm", low=0, high=2000, key=True,
              also=("depth from", "from mm", "top"), example="0"),
        Field("depth_to_mm", "number", "Lower end of the sampled layer.", unit="mm", above=0, high=2000, key=True,
              also=("depth to", "to mm", "bottom"), example="20"),
        Field("extractant", "choice", "What a nutrient was extracted with; results of two extractants are never mixed.",
              choices="extractant", key=True, also=("extraction",), example="mehlich 3"),
        Field("lab", "text", "Laboratory.", label="Laboratory", key=True, also=("laboratory",), example="Lab A"),
        Field("sample", "code", "The sender's own number of the sample, kept as text.", key=True,
              also=("sample id", "sample no", "sample number"), example="S-14"),
        Field("reference", "code", "The laboratory's number, kept as text.", key=True,
              also=("lab no", "lab number", "laboratory no", "laboratory number"), example="0012-1"),
        Field("value", "number", "The result; blank means there is none.", low=-1, high=1000000, nines="asked",
              also=("result",), example="4.8", words="Result"),
        Field("unit", "choice", "Unit of the result.", choices="soil_unit", required=True, also=("units",),
              example="%"),
        Field("below_limit", "flag", "True where the laboratory only said \"less than\" value.",
              also=("below limit", "less than"), example=""),
        Field("density_kg_l", "number", "Mass of a litre of the scooped soil, as the laboratory states it: turns mg/l into "
              "mg/kg.", unit="kg/l", above=0, high=3, also=("scooped density", "soil density"), example="1.3"),
        Field("bulk_density_t_m3", "number", "Bulk density of the soil in place: with the depth it turns lb/acre into mg/kg, "
              "and mg/kg into an amount over the ground.", unit="t/m³", above=0, high=3, also=("bulk density of soil",),
              example="1.5"),
        Field("burn_c", "number", "Temperature of the loss on ignition.", unit="°C", low=200, high=1000,
              also=("burn temperature", "ignition temperature"), example="440"),
        Field("preparation", "choice", "Whole or sieved.", choices="preparation", also=("sieved", "prep"),
              example="whole"),
        Field("verdure", "choice", "Whether the green top was left on.", choices="verdure", example="on"),
        Field("cores", "whole", "Cores in the sample.", low=1, high=500, also=("no of cores",), example="10"),
        COMMENTS,
    ),
)  # fmt: skip
