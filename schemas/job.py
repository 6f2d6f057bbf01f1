"""The job log: what was done on a green, when, with what."""

from dataclasses import replace

from schemas.codes import code_list
from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import DATE_TO, OF_GREEN

AMOUNT = ("mass_kg", "volume_l", "packs", "rate_g_m2", "rate_ml_m2")
"""Ways to say how much was put on: one said anew takes the place of all."""
OPENS = frozenset(name for name, code in code_list("operation").items() if "disturbs" in code.facts)
"""Operations that open the surface."""
OF_ONE_OPERATION = (
    "material", "passes", "depth_mm", "tine_mm", "tine_basis", "tine_wall_mm", "spacing_along_mm", "spacing_across_mm",
    "holes", "blade_mm", "blade_spacing_mm", "cut_height_mm", "quantity", *AMOUNT, "rate", "treated_area_m2", "tray_g",
    "tray_cm2", "clippings_g_m2", "debris", "debris_l", "debris_kg", "hours", "people", "vibration_m_s2",
    "trigger_hours", "cost",
)  # fmt: skip
"""What is said of one operation; the others (day, green, note) hold for all operations of a line."""

JOB = Kind(
    name="job",
    title="jobs",
    grain="one operation on one green on one day",
    repeats=True,
    order=("green", "date"),
    often_constant=("logged_by",),
    fields=(
        Field("date", "date", "Day of the work. Where only the month or the year is known, write that alone (Nov 2024, "
              "2024-11, 2024): its first day.", required=True, key=True, fills=("date_to",),
              also=("day", "job date", "date done"), example="2026-03-16"),
        DATE_TO,
        replace(OF_GREEN, also=(*OF_GREEN.also, "where")),
        Field("operation", "choice", "What was done.", label="Operation", choices="operation", required=True, key=True,
              also=("job", "task", "work", "activity"), example="top dressing"),
        Field("material", "code", "What was put on.", label="Material", key=True, refers="material",
              open=True, also=("product", "product used"), example="70/30 sand and soil"),
        Field("reference", "code", "Number of the job sheet, where there is one.", key=True,
              also=("ref", "job no", "job number", "sheet"), example="J-1042"),
        Field("logged_by", "text", "Who wrote the line. Kept out of every report.", key=True, private=True,
              also=("by", "who", "operator", "initials"), example="crew A"),
        Field("passes", "number", "How many times the machine went over.", label="Passes", above=0, high=20,
              also=("no of passes",), example="2"),
        Field("depth_mm", "number", "Working depth.", unit="mm", label="Depth", above=0, high=500,
              also=("depth", "working depth"), example="3"),
        Field("tine_mm", "number", "Tine diameter; which one in tine_basis.", unit="mm", above=0, high=60,
              also=("tine", "tine diameter", "bore"), example="12"),
        Field("tine_basis", "choice", "Outside or inside diameter; for hollow tines the two differ by nearly half the area.",
              choices="tine_basis", example="outside"),
        Field("tine_wall_mm", "number", "Wall of a hollow tine: makes the one diameter from the other.", unit="mm", above=0,
              high=10, also=("wall", "tine wall"), example="1.5"),
        Field("spacing_along_mm", "number", "Hole spacing along the travel.", unit="mm", above=0, high=1000,
              also=("spacing", "spacing along"), example="50"),
        Field("spacing_across_mm", "number", "Hole spacing across the travel; the same as along where left blank.",
              unit="mm", above=0, high=1000, also=("spacing across",), example="50"),
        Field("holes", "number", "Number of holes made in all, where counted or claimed.", above=0, high=20000000,
              also=("hole count", "no of holes"), example=""),
        Field("blade_mm", "number", "Blade thickness.", unit="mm", above=0, high=30, also=("blade", "blade width"),
              example="1"),
        Field("blade_spacing_mm", "number", "Distance between blades.", unit="mm", above=0, high=500,
              also=("blade spacing",), example="25"),
        Field("cut_height_mm", "number", "Height of cut.", unit="mm", label="Height of cut", above=0, high=100,
              also=("hoc", "height of cut", "cut height"), example="5", words="Height of cut"),
        Field("quantity", "shorthand", "What was put on in one cell, as the crew writes it; fills mass, volume, packs or rate.",
              fills=AMOUNT, also=("qty", "amount", "used"), example="2 x 25 kg"),
        Field("mass_kg", "number", "Mass put on in all.", unit="kg", label="Mass", low=0, high=200000,
              also=("kg", "weight kg", "mass"), example="", rests_on=AMOUNT),
        Field("volume_l", "number", "Volume put on in all (a liquid's concentrate, or loose dressing).", unit="l",
              label="Volume", low=0, high=200000, also=("litres", "l", "volume"), example="", rests_on=AMOUNT),
        Field("packs", "number", "Number of packs put on; mass or volume comes from the material's pack size.", low=0,
              high=10000, also=("bags", "no of bags"), example="", rests_on=AMOUNT),
        Field("rate", "shorthand", "Rate in one cell; fills rate_g_m2 or rate_ml_m2.", fills=("rate_g_m2", "rate_ml_m2"),
              also=("application rate", "dose"), example="35 g/m2"),
        Field("rate_g_m2", "number", "Rate by mass over the treated area.", unit="g/m²", low=0, high=50000,
              also=("g/m2", "gsm"), example="", rests_on=AMOUNT),
        Field("rate_ml_m2", "number", "Rate by volume over the treated area.", unit="ml/m²", low=0, high=50000,
              also=("ml/m2",), example="", rests_on=AMOUNT),
        Field("treated_area_m2", "number", "Area gone over, where it is not the green's own.", unit="m²",
              label="Treated area", above=0, high=100000, also=("treated area", "area treated", "area m2", "area (m2)", "area m²", "area (m²)", "area sqm", "area (sqm)"), example="1600"),
        Field("tray_g", "number", "Dry dressing that a tray on the green caught, the mean where there were several.",
              unit="g", low=0, high=100000, also=("tray", "tray mass", "caught g"), example="400"),
        Field("tray_cm2", "number", "Opening of the tray.", unit="cm²", above=0, high=100000,
              also=("tray area", "tray opening"), example="2000"),
        Field("clippings_g_m2", "number", "Dry clippings boxed off, where they were weighed dry.", unit="g/m²", low=0,
              high=2000, also=("dry clippings", "clipping yield"), example="4"),
        Field("debris", "shorthand", "What came off, in one cell; fills debris_l or debris_kg.",
              fills=("debris_l", "debris_kg"), also=("collected", "arisings"), example="9 barrow loads"),
        Field("debris_l", "number", "Volume taken off.", unit="l", low=0, high=200000, example=""),
        Field("debris_kg", "number", "Mass taken off.", unit="kg", low=0, high=200000, example=""),
        Field("hours", "number", "Hours of work of all people together.", unit="h", label="Hours", low=0, high=500,
              also=("man hours", "time", "hrs"), example="3.5", words="Work"),
        Field("people", "whole", "How many people worked.", low=1, high=50, also=("crew", "men"), example="2"),
        Field("vibration_m_s2", "number", "Machine's declared hand-arm vibration.", unit="m/s²", low=0, high=100,
              also=("vibration", "hav"), example=""),
        Field("trigger_hours", "number", "Hours one person held the vibrating machine.", unit="h", low=0, high=24,
              also=("trigger time",), example=""),
        Field("cost", "money", "Cost of the job, in the workspace's currency.", label="Cost", low=0, high=1000000,
              also=("price", "charge"), example="240"),
        Field("note", "text", "Anything else worth keeping.", label="Note", also=("notes", "remarks", "comments"),
              example="dry, light wind"),
    ),
)  # fmt: skip
