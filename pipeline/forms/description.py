"""Which forms there are: a workbook's sheets, and which fields of a kind stand in its head and in its columns.

What a column is called, what it may hold and what it means come from the kind. A kind that stands in no form here has
one all the same, with every field (:func:`form_of`).
"""

from __future__ import annotations

from dataclasses import dataclass

from schemas import KINDS, Kind

MOST_LINED = 80
"""Rows with lines: of more blank ones alike LibreOffice 7.4 prints none (seen; it takes them for a format)."""
OFTEN_IN_HEAD = ("date", "green", "station")
"""Fields that are the same on a whole sheet more often than not."""


@dataclass(frozen=True)
class Table:
    """One sheet of a form with rows to fill in.

    Attributes:
        sheet: name of the sheet, at most 31 characters.
        kind: kind of record that a row is.
        columns: fields in the order of its columns.
        head: fields said once, over the table, for every row that says nothing else itself.
        fixed: fields that are the same in every row of this sheet and need not be filled in, as codes.
        rows: rows with lines to write on, at most ``MOST_LINED``; more may be added below.
        hint: what whoever fills it in should know, in a line.
    """

    sheet: str
    kind: str
    columns: tuple[str, ...]
    head: tuple[str, ...] = ()
    fixed: tuple[tuple[str, str], ...] = ()
    rows: int = 60
    hint: str = ""

    @property
    def record_kind(self) -> Kind:
        """The kind of record that a row is."""
        return KINDS[self.kind]


@dataclass(frozen=True)
class Form:
    """A workbook to fill in.

    Attributes:
        name: what it is called on the command line, and its file.
        title: what stands over it.
        tables: its sheets.
        head: fields said once for all sheets, on a first sheet of their own; () where each sheet has its own head.
        head_sheet: name of that sheet.
    """

    name: str
    title: str
    tables: tuple[Table, ...]
    head: tuple[str, ...] = ()
    head_sheet: str = ""


_AT = ("place", "rink")

FORMS: tuple[Form, ...] = (
    Form(
        "crew",
        "Job log",
        (
            Table(
                "Job log",
                "job",
                ("date", "green", "operation", "material", "quantity", "rate", "passes", "depth_mm", "tine_mm",
                 "spacing_along_mm", "treated_area_m2", "hours", "people", "logged_by", "note"),
                ("green", "date", "logged_by"),
                hint="One line is one operation on one green on one day. The head holds where a line is blank.",
            ),
        ),
    ),
    Form(
        "laboratory",
        "Laboratory results",
        (
            Table(
                "Soil tests",
                "soil_test",
                ("green", "date", "sample", "reference", "depth_from_mm", "depth_to_mm", "analyte", "extractant",
                 "value", "unit", "burn_c", "preparation", "verdure", "note"),
                ("green", "date", "lab"),
                hint="One line is one result. Below the limit of detection: write < and the limit.",
            ),
            Table(
                "Sieves",
                "sieve",
                ("green", "material", "sample", "size_mm", "value", "note"),
                ("date", "lab", "basis", "unit", "dry_mass_g"),
                hint="One line is one sieve, the pan is 0. A root zone has a green, a dressing a material.",
            ),
        ),
    ),
    Form(
        "speeds",
        "Green speeds",
        (
            Table(
                "Speeds",
                "green_speed",
                ("rink", "direction", "value", "note"),
                ("green", "date", "device", "unit", "distance_m", "hours_since_cut", "cut_height_mm", "observer"),
                rows=40,
                hint="One line is one timed bowl, or one ball.",
            ),
        ),
    ),
    Form(
        "survey",
        "Survey visit",
        (
            Table(
                "Levels",
                "level",
                ("point", "rink", "x_m", "y_m", "z_mm", "staff_mm", "sight_mm", "note"),
                ("instrument", "accuracy_mm", "benchmark"),
                rows=MOST_LINED,
                hint="One line is one point: its height, or the reading on the staff.",
            ),
            Table(
                "Counts",
                "observation",
                (*_AT, "observed", "method", "hits", "points", "value", "unit", "photo", "note"),
                rows=MOST_LINED,
                hint="One line is one plant at one place: points that met it and points in all, or a share in %.",
            ),
            Table(
                "Cores",
                "observation",
                (*_AT, "observed", "layer", "depth_from_mm", "depth_to_mm", "value", "unit", "note"),
                fixed=(("method", "core"),),
                hint="Thatch and roots: a reading and its unit. A layer: what it is of, where it begins and ends.",
            ),
            Table(
                "Rings",
                "observation",
                (*_AT, "method", "ring_mm", "volume_ml", "minutes", "head_mm", "head_end_mm", "note"),
                fixed=(("observed", "infiltration"),),
                rows=30,
                hint="One line is one reading of one ring: the water that went in, or how far it fell, and the time.",
            ),
            Table(
                "Hammer",
                "observation",
                (*_AT, "drop", "value", "note"),
                ("hammer_kg", "unit"),
                fixed=(("observed", "hardness"), ("method", "impact_hammer")),
                hint="One line is one drop.",
            ),
            Table(
                "Moisture",
                "observation",
                (*_AT, "value", "note"),
                ("method", "depth_from_mm", "depth_to_mm"),
                fixed=(("observed", "moisture"), ("unit", "%")),
                hint="One line is one reading, in % of the volume.",
            ),
            Table(
                "Photos",
                "photo",
                ("picture", "caption", "place", "taken_by", "note"),
                rows=30,
                hint="One line is one photo. Its file lies beside this workbook, or in a folder beside it.",
            ),
        ),
        head=("green", "date", "survey", "observer"),
        head_sheet="Visit",
    ),
)  # fmt: skip
"""Forms for what is filled in by hand most."""


def form_of(kind: Kind) -> Form:
    """The form of one kind with every field that a file may give."""
    names = tuple(field.name for field in kind.asked)
    head = () if kind.register else tuple(name for name in (*OFTEN_IN_HEAD, *kind.often_constant) if name in names)
    table = Table(kind.title[:1].upper() + kind.title[1:], kind.name, names, head, hint=f"One line is {kind.grain}.")
    return Form(kind.name.replace("_", "-"), table.sheet, (table,))
