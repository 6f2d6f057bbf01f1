"""Materials and mixes, with what their labels say."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import NOTE, VALID_FROM

LABEL = ("n_pct", "p_pct", "k_pct", "mg_pct", "s_pct", "fe_pct", "ca_pct", "mn_pct")
"""What a label gives in percent: one analysis, which a new one takes the place of as a whole."""
MIX = ("sand_pct", "soil_pct")
PACK = ("pack_kg", "pack_l")


def _label(name: str, what: str, also: tuple[str, ...]) -> Field:
    return Field(name, "number", f"{what} as on the label, in percent; basis in analysis_basis and analysis_by.",
                 unit="%", low=0, high=100, also=also, rests_on=LABEL)  # fmt: skip


MATERIAL = Kind(
    name="material",
    title="materials",
    grain="a material or mix, from a day on",
    register=True,
    order=("material",),
    fields=(
        Field("material", "code", "Name of the material, as the job log uses it.", label="Material", required=True,
              key=True, also=("product", "item"), example="spring granular 9-4-6 + 2 Fe"),
        Field("sort", "choice", "What it is for.", choices="material_sort", required=True,
              also=("type", "category"), example="fertiliser"),
        Field("form", "choice", "Solid or liquid.", choices="material_form", example="solid"),
        Field("analysis", "shorthand", "Label in one cell, N-P-K and what is added; fills the single fields.",
              fills=LABEL, also=("npk", "n-p-k"),
              example="9-4-6 + 2 Fe"),
        _label("n_pct", "Nitrogen (N)", ("n", "n %", "nitrogen")),
        _label("p_pct", "Phosphorus (P2O5, or P where the basis is element)", ("p", "p2o5", "phosphorus", "phosphorous")),
        _label("k_pct", "Potassium (K2O, or K where the basis is element)", ("k", "k2o", "potassium")),
        _label("mg_pct", "Magnesium (MgO, or Mg where the basis is element)", ("mg", "mgo", "magnesium")),
        _label("s_pct", "Sulphur (SO3, or S where the basis is element)", ("s", "so3", "sulphur")),
        _label("fe_pct", "Iron (Fe)", ("fe", "iron")),
        _label("ca_pct", "Calcium (CaO, or Ca where the basis is element)", ("ca", "cao", "calcium")),
        _label("mn_pct", "Manganese (Mn)", ("mn", "manganese")),
        Field("n_release", "choice", "How the nitrogen is released; of a blend, n_slow_pct says how much.",
              choices="nitrogen_release", also=("release class", "nitrogen release"), example="slow"),
        _label("n_slow_pct", "Nitrogen that is slow or controlled in release", ("slow n", "slow n %", "slow release n")),
        Field("analysis_basis", "choice", "Whether P, K, Mg, Ca and S stand on the label as oxides or as elements; "
              "without it no P, K, Mg, Ca or S is counted.", choices="label_basis", also=("basis",), example="oxide"),
        Field("analysis_by", "choice", "By weight or by volume; a liquid needs it, and by weight needs the density.",
              choices="label_by", also=("by",), example="w/w"),
        Field("density_kg_l", "number", "Density of a liquid.", unit="kg/l", above=0, high=3, also=("density", "sg"),
              example=""),
        Field("bulk_density_t_m3", "number", "Dry bulk density as spread, for the depth of a dressing.", unit="t/m³",
              above=0, high=3, also=("bulk density",), example="1.5", rests_on=MIX),
        Field("moisture_pct", "number", "Moisture as delivered; basis in moisture_basis.", unit="%", low=0, high=100,
              also=("moisture",), rests_on=MIX),
        Field("moisture_basis", "choice", "Of the dry or of the wet mass.", choices="moisture_basis", example="dry"),
        Field("mix", "shorthand", "Sand and soil in one cell, sand first; fills sand_pct and soil_pct.",
              fills=MIX, also=("ratio", "blend"), example="70/30"),
        Field("mix_by", "choice", "Whether the shares of the mix are by mass or by volume; by mass where left blank.",
              choices="mix_by", also=("mix by", "shares by"), example="mass"),
        Field("sand_density_t_m3", "number", "Dry bulk density of the sand alone, for a mix by volume.", unit="t/m³",
              above=0, high=3, also=("sand density",), example="1.6"),
        Field("soil_density_t_m3", "number", "Dry bulk density of the soil alone, for a mix by volume.", unit="t/m³",
              above=0, high=3, also=("soil density",), example="1.1"),
        Field("sand_pct", "number", "Sand in a dressing, by mass unless mix_by says by volume.", unit="%", low=0, high=100,
              also=("sand", "sand %"), rests_on=MIX),
        Field("soil_pct", "number", "Soil in a dressing, by mass unless mix_by says by volume.", unit="%", low=0, high=100,
              also=("soil", "soil %"), rests_on=MIX),
        Field("organic_matter_pct", "number", "Organic matter of a dressing, by mass.", unit="%", low=0, high=100,
              also=("organic matter", "om"), rests_on=MIX),
        Field("pack", "shorthand", "Pack size in one cell; fills pack_kg or pack_l.", fills=PACK,
              also=("pack size", "bag", "bag size"), example="25 kg"),
        Field("pack_kg", "number", "Mass of one pack.", unit="kg", above=0, high=50000, rests_on=PACK),
        Field("pack_l", "number", "Volume of one pack.", unit="l", above=0, high=50000, rests_on=PACK),
        Field("price", "money", "Price of one pack, in the workspace's currency.", low=0, high=1000000,
              also=("cost", "pack price", "unit price"), example="31.50", rests_on=PACK),
        Field("release_weeks", "number", "How long the nitrogen is said to last, from the label.", unit="weeks", low=0,
              high=104, also=("longevity", "lasts weeks", "release"), example="6"),
        VALID_FROM,
        NOTE,
    ),
)  # fmt: skip
UNREGISTERED = (
    "its mass, volume or rate stands, and its price where a price list has exactly this name; what a pack holds, its "
    "nutrients, density and dry mass are not known; none of it is ordered, for nothing says that it is no plant "
    "protection product"
)
"""What becomes of a planned material that is in no register: at loading, in due lists and programmes the same words."""
