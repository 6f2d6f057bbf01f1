"""Sieve analyses: one fraction of one sample, of a root zone (a green's) or of a dressing (a material's)."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import COMMENTS

SIEVE = Kind(
    name="sieve",
    title="sieve analyses",
    grain="one fraction of one sieve analysis",
    value_field="value",
    order=("date", "size_mm"),
    fields=(
        Field("date", "date", "Day of sampling, or of the certificate.", required=True, key=True,
              also=("sampled", "sample date", "tested"), example="2026-03-04"),
        Field("green", "code", "Green whose root zone it is; blank for a dressing.", key=True, refers="green",
              also=("site", "green code"), example="ALD-1"),
        Field("material", "code", "Material whose sizes they are; blank for a root zone.", label="Material", key=True,
              refers="material", also=("product", "dressing"), example="70/30 sand and soil"),
        Field("sample", "code", "Number of the sample, kept as text.", key=True,
              also=("sample id", "sample no", "sample number"), example="R-2"),
        Field("lab", "text", "Laboratory.", label="Laboratory", key=True, also=("laboratory",), example="Lab A"),
        Field("size_mm", "number", "Opening of the sieve; 0 for the pan under the finest.", unit="mm", required=True,
              key=True, low=0, high=200, also=("size", "sieve", "sieve size", "aperture", "opening"), example="0.25"),
        Field("basis", "choice", "Whether the figure is what stayed on this sieve alone, or all that passed it.",
              choices="sieve_basis", required=True, also=("retained or passing",), example="passing"),
        Field("value", "number", "The figure; blank means there is none.", low=0, high=1000000, nines="asked", also=("result", "fraction"),
              example="25"),
        Field("unit", "choice", "% of the dry mass, or grams.", choices="sieve_unit", required=True, also=("units",),
              example="%"),
        Field("dry_mass_g", "number", "Dry mass that went in, where it was weighed.", unit="g", above=0, high=1000000,
              also=("dry mass", "sample mass"), example="200"),
        COMMENTS,
    ),
)  # fmt: skip
