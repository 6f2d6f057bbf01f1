"""Season 2026 as it really comes: laboratory sheets and green-speed sheets."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from demo_data.arrival import ALIAS
from demo_data.county import GREENS
from demo_data.samples import TARNFOLD
from demo_data.sheets import Cells, Sheet, Spoil, canonical, text

Row = dict[str, Any]
SPEED_LONG = ("day", "site", "dir", "device", "seconds", "unit", "distance", "observer")


def result(row: Row) -> str:
    """A result as a laboratory prints it."""
    return ("<" if row.get("below_limit") else "") + text(row["value"])


def _by_sample(rows: list[Row]) -> dict[str, list[Row]]:
    samples: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        samples[row["reference"]].append(row)
    return samples


TARNFOLD_ORGANIC = ("Lab no", "Sampled", "Green", "Cores", "LOI 0-20", "LOI 20-40", "LOI 40-60", "Remarks")
TARNFOLD_NUTRIENTS = {
    "Lab no": "", "Sampled": "", "Green": "", "Cores": "", "pH": "pH", "P": "mg/kg", "K": "mg/kg", "Mg": "mg/kg",
    "Ca": "mg/kg", "S": "mg/kg", "CEC": "meq/100g", "Remarks": "",
}  # fmt: skip
NUTRIENT_OF = {"ph": "pH", "phosphorus": "P", "potassium": "K", "magnesium": "Mg", "calcium": "Ca", "sulphur": "S",
               "exchange_capacity": "CEC"}  # fmt: skip


def _sample_cells(rows: list[Row]) -> Cells:
    first = rows[0]
    return {"Lab no": first["reference"], "Sampled": f"{first['date']:%d/%m/%Y}", "Green": ALIAS[first["green"]],
            "Cores": text(first["cores"])}  # fmt: skip


def tarnfold_organic(rows: list[Row]) -> list[Sheet]:
    """The organic-matter sheet, a column a layer, and its re-issue: two results corrected, one withdrawn."""
    lines = []
    for sample in _by_sample([row for row in rows if row["analyte"] == "organic_matter"]).values():
        layers = {f"LOI {row['depth_from_mm']}-{row['depth_to_mm']}": result(row) for row in sample}
        lines.append(_sample_cells(sample) | layers)
    first = Sheet("lab_tarnfold_organic_2026.csv", line_end="\r\n")
    again = Sheet("lab_tarnfold_organic_2026_reissue.csv", line_end="\r\n")
    for sheet, title in ((first, "Results of tests"), (again, "Results of tests, second issue")):
        sheet.add([f"{TARNFOLD.name} - {title}"])
        sheet.add(["Loss on ignition at 440 C, whole cores, verdure left on"])
        sheet.add(TARNFOLD_ORGANIC)
    first.fill(TARNFOLD_ORGANIC, lines, (
        Spoil("LOI 0-20", "640", "impossible result (6.40 without its point)", where=_green("PEL-1")),
        Spoil("LOI 20-40", "VH", "a word where a number belongs", where=_green("MOS-1")),
        Spoil("Green", "Ketle Lane", "name misspelt (three results)", where=_green("KET-1")),
        Spoil("LOI 40-60", "", "no result for this layer", "no result", _green("ALD-2")),
    ))  # fmt: skip
    again.fill(TARNFOLD_ORGANIC, lines, (
        Spoil("LOI 0-20", "6.02", "corrected by the laboratory", "replaces", _green("HOL-1")),
        Spoil("LOI 0-20", "5.21", "corrected by the laboratory", "replaces", _green("LAR-1")),
        Spoil("LOI 40-60", "", "result taken back by the laboratory", "withdrawn", _green("DRA-1")),
    ))  # fmt: skip
    return [first, again]


def _green(code: str) -> Any:
    return lambda row: row["Green"] == ALIAS[code]


def tarnfold_nutrients(rows: list[Row]) -> Sheet:
    """The nutrient sheet: a column an analyte, a row of units under the header, less-than results."""
    sheet = Sheet("lab_tarnfold_nutrients_2026.csv", line_end="\r\n")
    sheet.add(TARNFOLD_NUTRIENTS)
    sheet.add(TARNFOLD_NUTRIENTS.values())
    lines = []
    for sample in _by_sample([row for row in rows if row["analyte"] != "organic_matter"]).values():
        lines.append(_sample_cells(sample) | {NUTRIENT_OF[row["analyte"]]: result(row) for row in sample})
    sheet.fill(TARNFOLD_NUTRIENTS, lines, (
        Spoil("pH", "64", "impossible pH (6.4 without its point)", where=_green("ALD-2")),
        Spoil("K", "VH", "a word where a number belongs", where=_green("BRA-1")),
        Spoil("S", "ND", "not detected: below a limit, not nothing", "loaded", _green("INK-1")),
        Spoil("CEC", "#VALUE!", "a spreadsheet's error text", where=_green("HOL-2")),
        Spoil("Mg", "", "not tested", "no result", _green("PEL-2")),
    ))  # fmt: skip
    return sheet


QUILLBROOK_HEADERS = ("Sample", "Site", "Taken", "% LOI 0-20", "% LOI 20-40", "pH", "P Olsen", "K", "Mg", "Comment")
QUILLBROOK_OF = {("organic_matter", 0): "% LOI 0-20", ("organic_matter", 20): "% LOI 20-40", ("ph", 0): "pH",
                 ("phosphorus", 0): "P Olsen", ("potassium", 0): "K", ("magnesium", 0): "Mg"}  # fmt: skip


def quillbrook(rows: list[Row]) -> Sheet:
    """The other laboratory's sheet: tabs, dates in words, organic matter and nutrients in one table."""
    sheet = Sheet("lab_quillbrook_2026.csv", delimiter="\t")
    sheet.add(QUILLBROOK_HEADERS)
    lines = []
    for reference, sample in _by_sample(rows).items():
        first = sample[0]
        cells = {"Sample": reference, "Site": ALIAS[first["green"]], "Taken": f"{first['date']:%d %b %y}"}
        lines.append(cells | {QUILLBROOK_OF[row["analyte"], row["depth_from_mm"]]: result(row) for row in sample})
    sheet.fill(QUILLBROOK_HEADERS, lines, (
        Spoil("Site", "Torwik", "name misspelt (two results)",
              where=lambda row: row["Site"] == "Torwick" and not row.get("pH")),
        Spoil("% LOI 0-20", "3,9", "decimal comma where points are declared", where=lambda row: "% LOI 0-20" in row),
    ))  # fmt: skip
    return sheet


def county_speeds(rows: list[Row]) -> Sheet:
    """The county team's sheet: date first, a column a green, a row a rink and direction."""
    codes = [green.code for green in GREENS if any(row["green"] == green.code and row["rink"] for row in rows)]
    headers = ("Date", "Rink", "Towards", *codes)
    table: dict[tuple[Any, str, str], Cells] = {}
    for row in rows:
        if row["rink"]:
            key = (row["date"], row["rink"], row["direction"])
            cells = {"Date": f"{row['date']:%d/%m/%Y}", "Rink": row["rink"], "Towards": row["direction"]}
            table.setdefault(key, cells)[row["green"]] = f"{row['over_27']:.1f}"
    sheet = Sheet("speeds_county_2026.csv", encoding="utf-8-sig")
    sheet.add(headers)
    sheet.fill(headers, [table[key] for key in sorted(table)], (
        Spoil("HOL-1", "124", "impossible time (12.4 without its point)", where=lambda row: "HOL-1" in row),
        Spoil("PEL-1", "1O.9", "a letter O for a zero", where=lambda row: "PEL-1" in row),
        Spoil("GAR-1", "rain", "a word where a number belongs", where=lambda row: "GAR-1" in row),
        Spoil("MOS-1", "-", "not timed", "no result", where=lambda row: "MOS-1" in row),
        Spoil("ALD-1", "0", "impossible time", where=lambda row: "ALD-1" in row),
    ))  # fmt: skip
    return sheet


def crown_speeds(rows: list[Row]) -> Sheet:
    """The crown greens' long sheet, in other words for the same fields: it needs no profile."""
    crown = [row for row in rows if not row["rink"]]
    names = ("date", "green", "direction", "device", "value", "unit", "distance_m", "observer")
    cells = [{head: row[name] for head, name in zip(SPEED_LONG, names, strict=True)} for row in crown]
    return canonical("speeds_crown_2026.csv", SPEED_LONG, cells)
