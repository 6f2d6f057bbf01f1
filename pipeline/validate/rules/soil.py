"""Rules for soil tests: layers the right way up, apart from each other, and adding up."""

from __future__ import annotations

import itertools

import polars as pl

from pipeline.agronomy.soil.organic_matter import combine_layers_pct
from pipeline.common.faults import FaultKind, concat, no_faults

LAYER_UPSIDE_DOWN = FaultKind(
    "depth.order",
    "Sampled layer upside down",
    "The layer ends at {value} mm, above where it begins.",
    "Put the upper end in depth_from_mm and the lower in depth_to_mm.",
)
LAYERS_OVERLAP = FaultKind(
    "depth.overlap",
    "Sampled layers overlap",
    "The layer {value} overlaps another of the same sample ({other}).",
    "Check the depths; both results are kept, each for its own layer.",
    severity="warning",
)
LAYERS_DO_NOT_ADD_UP = FaultKind(
    "depth.sum",
    "Layers do not add up",
    "The layer {value} is given as {whole} % organic matter, but the layers in it come to {sum} % (weighted by mass).",
    "Ask the laboratory which figure is right; both are kept (a fifth apart is asked about: laboratories differ by "
    "15 to 20 %, ALP programme).",
    severity="warning",
)
LAYER_THIN = FaultKind(
    "depth.thin",
    "Layer thinner than is sampled",
    "The layer {value} is thinner than is sampled; in inches it is {inches}, in cm {centimetres}.",
    "If it is mm, nothing need be done; else say the unit in the column's name or in a source profile (less than 8 mm "
    "is asked about, of a moisture probe less than 20 mm: common practice, no source).",
    severity="warning",
)
SPELLINGS = FaultKind(
    "text.spellings",
    "Names that may be one",
    "The laboratory “{value}” also stands as {others}; kept as written, they are two to every comparison.",
    "If they are one, map the spellings under [aliases.lab] in the source profile, take this load back and load again.",
    severity="warning",
)
APART = 0.20
"""Share by which a whole may differ from its layers: between-laboratory variation of soil organic matter is 15 to 20 %
(Agricultural Laboratory Proficiency programme)."""
THINNEST_MM = 8.0
"""Layer of soil that is asked about below (common practice, no source; cores are cut into slices of 10 or 20 mm)."""
SAMPLE = ["date", "green", "analyte", "extractant", "lab", "sample", "reference", "burn_c", "preparation", "verdure"]
"""What is the same in the layers of one sample."""


def check(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of soil tests that single fields cannot show."""
    faults = [upside_down(records), thin(records, THINNEST_MM), _spellings(records)]
    layered = records.filter(pl.col("depth_from_mm").is_not_null() & pl.col("depth_to_mm").is_not_null())
    several = layered.filter(pl.struct("depth_from_mm", "depth_to_mm").n_unique().over(SAMPLE) > 1)
    for part in several.partition_by(SAMPLE):
        faults.append(_of_sample(part.sort("depth_from_mm", "depth_to_mm", maintain_order=True)))
    return concat(faults)


def upside_down(records: pl.DataFrame) -> pl.DataFrame:
    """Faults of layers that end above where they begin."""
    return LAYER_UPSIDE_DOWN.of(records.filter(pl.col("depth_to_mm") <= pl.col("depth_from_mm")), "depth_to_mm")


def thin(records: pl.DataFrame, least_mm: float) -> pl.DataFrame:
    """Warnings of layers thinner than this, each said once at its first line."""
    ends = ("depth_from_mm", "depth_to_mm")
    low = records.filter((pl.col(ends[1]) - pl.col(ends[0])).is_between(0, least_mm, closed="none"))
    faults = [no_faults()]
    for line, top, bottom in low.select("line", *ends).unique(ends, keep="first", maintain_order=True).iter_rows():
        inches, centimetres = (f"{top * mm:.4g}–{bottom * mm:.4g} mm" for mm in (25.4, 10.0))
        named = {"inches": inches, "centimetres": centimetres}
        faults.append(LAYER_THIN.at(line, f"{top:g}–{bottom:g} mm", ends[1], **named))
    return concat(faults)


def _spellings(records: pl.DataFrame) -> pl.DataFrame:
    """Laboratories whose names differ only in case, spaces and marks, said once each at their first line."""
    first = records.drop_nulls("lab").unique("lab", keep="first", maintain_order=True).select("line", "lab")
    alike = first.with_columns(pl.col("lab").str.to_lowercase().str.replace_all(r"[^\p{L}\p{N}]", "").alias("bare"))
    alike = alike.filter(pl.len().over("bare") > 1)
    faults = [no_faults()]
    for line, lab, bare in alike.iter_rows():
        others = alike.filter((pl.col("bare") == bare) & (pl.col("lab") != lab))["lab"]
        faults.append(SPELLINGS.at(line, lab, "lab", others=", ".join(f"“{other}”" for other in others)))
    return concat(faults)


Layer = tuple[float, float, int, float | None]
"""Upper and lower end, line, result."""


def _of_sample(part: pl.DataFrame) -> pl.DataFrame:
    """Faults of the layers of one sample, shallow first."""
    layers = list(part.select("depth_from_mm", "depth_to_mm", "line", "value").iter_rows())
    if all(before[1] <= after[0] for before, after in itertools.pairwise(layers)):
        return no_faults()
    faults = []
    for layer in layers:
        inside = [other for other in layers if other is not layer and layer[0] <= other[0] and other[1] <= layer[1]]
        if _fills(layer, inside):
            if part["analyte"][0] == "organic_matter":
                faults.append(_sum(layer, inside))
            continue
        others = [o for o in layers if o[:2] != layer[:2] and o[0] < layer[1] and layer[0] < o[1]]
        partly = [o for o in others if not _is_whole(o, layers)]
        if partly:
            shown = ", ".join(_name(other) for other in partly)
            faults.append(LAYERS_OVERLAP.at(layer[2], _name(layer), "depth_from_mm", other=shown))
    return concat(faults)


def _fills(layer: Layer, inside: list[Layer]) -> bool:
    """Whether the layers inside fill the whole one without gap or overlap."""
    edge = layer[0]
    for low, high, _, _ in inside:
        if low != edge:
            return False
        edge = high
    return len(inside) > 1 and edge == layer[1]


def _is_whole(layer: Layer, layers: list[Layer]) -> bool:
    return _fills(layer, [o for o in layers if o is not layer and layer[0] <= o[0] and o[1] <= layer[1]])


def _sum(layer: Layer, inside: list[Layer]) -> pl.DataFrame:
    """A fault where a whole differs from what its layers come to."""
    whole, parts = layer[3], [value for _, _, _, value in inside]
    if whole is None or any(value is None for value in parts):
        return no_faults()
    values = [value for value in parts if value is not None]
    total = combine_layers_pct(values, [high - low for low, high, _, _ in inside])
    if abs(total - whole) <= APART * max(total, whole):
        return no_faults()
    return LAYERS_DO_NOT_ADD_UP.at(layer[2], _name(layer), "value", whole=f"{whole:g}", sum=f"{total:.1f}")


def _name(layer: Layer) -> str:
    return f"{layer[0]:g}–{layer[1]:g} mm"
