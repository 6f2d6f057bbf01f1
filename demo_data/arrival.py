"""Season 2026 as it really comes: the job logs of four hands, each in its own layout and with its own troubles."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from demo_data.county import GREENS, SPRING
from demo_data.sheets import Cells, Sheet, Spoil, text
from demo_data.works import BARROW_L, Job

ALIAS = {green.code: green.aliases for green in GREENS}
SAID = {
    "mowing": ("cut", "mown", "Mowing", "box cut"), "scarifying": ("Scarified", "scarify"),
    "debris_collection": ("collected", "clear debris", "Swept up"), "top_dressing": ("Top dress", "dressed", "TD"),
    "drag_matting": ("drag in", "luting", "drag mat"), "fertilising": ("feed", "fed", "Fertiliser"),
    "solid_tining": ("solid tine", "tined", "Solid tines"), "hollow_coring": ("hollow core", "Hollow tining"),
    "verticutting": ("verti-cut", "groomed"), "irrigation": ("watered", "water"), "overseeding": ("overseed", "seeded"),
    "brushing": ("brushed", "hand brushed"), "rolling": ("roll", "rolled"), "edging": ("edges", "trim edges"),
    "dew_removal": ("dew", "dewing"), "wetting_agent": ("wetter", "Wetting agent"), "spiking": ("spike", "spiked"),
    "slitting": ("slit", "slit tining"), "inspection": ("visit", "walk over", "check"),
    "ditch_and_bank_work": ("ditches", "banks"), "deep_aeration": ("deep tine", "deep spiking"),
    "moss_treatment": ("moss control",), "plant_protection": ("spot sprayed weeds",),
    "turfing": ("patching", "turf repair"), "liming": ("lime",),
}  # fmt: skip
"""Other spellings that the list of operations knows."""


def said(operation: str, rng: Random) -> str:
    """The operation as a crew writes it."""
    return rng.choice(SAID[operation])


def amount(job: Job, comma: bool = False) -> str:
    """What was put on, in one cell, as a crew writes it."""
    mass, volume = job.get("mass_kg"), job.get("volume_l")
    if job.get("packs"):
        words = f"{job['packs']} x 25 kg"
    elif mass and job["operation"] == "top_dressing":
        words = f"{mass / 1000:g}t" if mass >= 1000 else f"{mass:g} kg"
    elif mass and job["operation"] == "fertilising":
        words = f"{mass / 25:g} x 25 kg"
    elif mass:
        words = f"{mass:g} kg"
    else:
        words = f"{volume:g} l" if volume else ""
    return words.replace(".", ",") if comma else words


def barrows(job: Job) -> str:
    """What came off, in barrow loads."""
    return f"{job['debris_l'] / BARROW_L:g} barrow loads" if job.get("debris_l") else ""


def inches(mm: float | None) -> str:
    """A length in whole and eighth inches, as a rule is read; "" for none."""
    if not mm:
        return ""
    eighths = max(1, round(mm / 25.4 * 8))
    whole, rest = divmod(eighths, 8)
    fraction = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[rest]
    return " ".join(part for part in (str(whole) if whole else "", fraction) if part)


def _is(column: str, *values: str) -> Callable[[Cells], bool]:
    return lambda row: row[column] in values


def _idle(column: str, words: str) -> Callable[[Cells], bool]:
    """Rows of small work, so that a rejected one does not spoil a green's story."""
    known = [spelling for word in words.split("|") for spelling in (word, *SAID[word])]
    return lambda row: row[column] in known


SMALL = "mowing|brushing|rolling|edging|dew_removal|irrigation"

NORTH_HEADERS = {
    "Date": "date", "Green": "green", "Work": "operation", "Product": "material", "Amount": "", "Passes": "passes",
    "Depth mm": "depth_mm", "Tine mm": "tine_mm", "Tine basis": "tine_basis", "Holes along mm": "spacing_along_mm",
    "Holes across mm": "spacing_across_mm", "Blade mm": "blade_mm", "Blades apart mm": "blade_spacing_mm",
    "Cut mm": "cut_height_mm", "Area m²": "treated_area_m2", "Taken off": "", "Hours": "hours", "Men": "people",
    "HAV m/s²": "vibration_m_s2", "Trigger h": "trigger_hours", "Cost £": "cost", "Remarks": "note",
}  # fmt: skip


def north_round(jobs: list[Job]) -> Sheet:
    """Crew A: semicolons, decimal commas, Windows-1252, dd/mm/yyyy."""
    sheet = Sheet("jobs_north_round.csv", delimiter=";", line_end="\r\n", encoding="cp1252")
    rng = Random("north")  # noqa: S311 - invented data, not a secret
    rows = []
    for job in jobs:
        row = {head: text(job.get(name)).replace(".", ",") for head, name in NORTH_HEADERS.items() if name}
        row["Date"] = f"{job['date']:%d/%m/%Y}"
        row["Green"] = job["green"] if rng.random() < 0.7 else ALIAS[job["green"]] + rng.choice(("", " ", "\xa0"))
        row["Work"] = said(job["operation"], rng) if rng.random() < 0.4 else job["operation"].replace("_", " ")
        row["Product"], row["Amount"], row["Taken off"] = job.get("material", ""), amount(job, comma=True), barrows(job)
        if not row["Remarks"] and rng.random() < 0.05:
            row["Remarks"] = rng.choice(("½ day lost to rain", "8 °C and dull", "club out – no access till noon"))
        rows.append(row)
    small = _idle("Work", SMALL)
    sheet.add(NORTH_HEADERS)
    sheet.fill(NORTH_HEADERS, rows, (
        Spoil("Green", "ALD-3", "no such green; near ALD-1 and ALD-2", where=small),
        Spoil("Green", "Bramfold Prak", "name misspelt", where=small),
        Spoil("Green", "Larkmarsch", "name misspelt", where=small),
        Spoil("Green", "MOS 1 ", "code written with a space for the hyphen", where=small),
        Spoil("Date", "14/05/2062", "date in the future (2026 mistyped)", where=small),
        Spoil("Date", "31/06/2026", "no such day", where=small),
        Spoil("Depth mm", "700", "impossible depth (70 mm mistyped)", where=_idle("Work", "hollow_coring|spiking")),
        Spoil("Depth mm", "-15", "impossible depth", where=_idle("Work", "spiking")),
        Spoil("Hours", "#DIV/0!", "a spreadsheet's error text", where=small),
        Spoil("Hours", "1,5 or 2", "two figures in one cell", where=small),
        Spoil("Work", "hedge trimming", "operation not in the list", where=small),
        Spoil("Work", "pothole repair", "operation not in the list", where=small),
        Spoil("", "see over", "a cell too many", where=small),
        Spoil("", "paid", "a cell too many", where=small),
        Spoil("Passes", "33", "impossible number of passes (3 mistyped)", where=_idle("Work", "mowing")),
    ))  # fmt: skip
    return sheet


SOUTH_HEADERS = {
    "Job date": "date", "Site": "green", "Task": "operation", "Product used": "material", "Qty": "", "Rate": "",
    "Passes": "passes", "Working depth": "", "Tine": "", "Tine dia.": "tine_basis", "Spacing": "spacing_along_mm",
    "Spacing across": "spacing_across_mm", "Blade": "blade_mm", "Blade gap": "blade_spacing_mm", "HOC": "cut_height_mm",
    "Area treated": "treated_area_m2", "Collected": "", "Man hours": "hours", "Crew": "people", "HAV": "vibration_m_s2",
    "Trigger time": "trigger_hours", "Charge": "cost", "Comments": "note",
}  # fmt: skip
RULED = {76: "3 in", 89: "3-4 in", 102: "4 in"}


def south_crew(jobs: list[Job]) -> Sheet:
    """Crew B: a title above the header, a totals row below, inches among millimetres, amounts in shorthand."""
    sheet = Sheet("jobs_south_crew.csv", line_end="\r\n", encoding="utf-8-sig")
    rng = Random("south")  # noqa: S311 - invented data, not a secret
    sheet.add(["South crew - job sheets, season 2025/26"])
    sheet.add(["Typed up from the van diary, 20/10/2026"])
    sheet.add([])
    sheet.add(SOUTH_HEADERS)
    rows = []
    for job in jobs:
        row = {head: text(job.get(name)) for head, name in SOUTH_HEADERS.items() if name}
        row["Job date"] = f"{job['date']:%d/%m/%Y}"
        row["Site"] = ALIAS[job["green"]] if rng.random() < 0.8 else job["green"]
        row["Task"] = said(job["operation"], rng) if rng.random() < 0.8 else job["operation"].replace("_", " ")
        row["Product used"], row["Qty"], row["Collected"] = job.get("material", ""), amount(job), barrows(job)
        depth, thick = job.get("depth_mm"), ("3/8 in", "3/4 in")
        row["Working depth"] = RULED.get(depth, f"{depth:g} mm") if depth else ""
        row["Tine"] = (
            thick[job["green"] == "CUL-1"] if depth in RULED else f"{job['tine_mm']} mm" if job.get("tine_mm") else ""
        )
        rows.append(row)
    _write_as_two_lines(rows)
    twice = next(number for number, row in enumerate(rows) if row["Task"] in SAID["irrigation"])
    rows.insert(twice, rows[twice])
    small = _idle("Task", SMALL)
    sheet.fill(SOUTH_HEADERS, rows, (
        Spoil("Qty", "20 x 25 kg", "ten times the usual bags (2 x 25 kg mistyped)", "warning",
              lambda row: row["Product used"] == SPRING and row["Site"] in ("HOL-1", ALIAS["HOL-1"])),
        Spoil("Task", rows[twice]["Task"], "the same job twice on one day, both real", "loaded",
              lambda row: row is rows[twice]),
        Spoil("Qty", "2 ton", "ton of which size is not declared",
              where=lambda row: row["Product used"].startswith("dried") and row["Qty"] == "500 kg"),
        Spoil("Qty", "8 oz", "a bare ounce can be a weight or a volume", where=_idle("Task", "wetting_agent")),
        Spoil("Site", "Hollinbeck est", "name misspelt", where=small),
        Spoil("Site", "Culdermor", "name misspelt", where=small),
        Spoil("Site", "GAR-2", "no such green; near GAR-1", where=small),
        Spoil("Site", "Inkwater Mil", "name misspelt", where=small),
        Spoil("Job date", "03/07/2062", "date in the future (2026 mistyped)", where=small),
        Spoil("Job date", "29/02/2026", "no such day", where=small),
        Spoil("Job date", "", "no date", where=small),
        Spoil("Working depth", "9 m", "impossible depth (9 mm mistyped)", where=_idle("Task", "spiking|verticutting")),
        Spoil("Task", "poked holes", "operation not in the list", where=_idle("Task", "spiking")),
        Spoil("Task", "van service", "operation not in the list", where=small),
        Spoil("Task", "mowning", "operation misspelt", where=_idle("Task", "mowing")),
        Spoil("", "x", "a cell too many", where=small),
        Spoil("Man hours", "900", "impossible hours (9.00 mistyped)", where=small),
        Spoil("Product used", "seaweed stuff", "material not in the register", "warning",
              _idle("Task", "wetting_agent")),
    ))  # fmt: skip
    totals = dict.fromkeys(SOUTH_HEADERS, "")
    totals |= {"Job date": "Total", "Man hours": text(sum(job["hours"] for job in jobs)),
               "Charge": text(round(sum(job["cost"] for job in jobs), 2))}  # fmt: skip
    sheet.plant("Job date", "Total", "a totals row among the data", "ignored")
    sheet.add(totals.values())
    return sheet


def _write_as_two_lines(rows: list[Cells]) -> None:
    """Put a line break into some remarks: every line below them is further down than its row's number."""
    for row in [row for row in rows if row["Comments"]][5:120:40]:
        row["Comments"] += "\nsee photograph"


VOLUNTEER_HEADERS = (
    "When", "Which green", "What we did", "What with", "How much", "Times over", "How deep (in)", "Tines (in)",
    "Holes apart (mm)", "Blades (mm)", "Blades apart (mm)", "Cut at (mm)", "Took off", "Hours (all)", "How many of us",
    "Anything else", "", "",
)  # fmt: skip


def volunteers(jobs: list[Job]) -> Sheet:
    """Club volunteers: two-digit years, inches in fractions, comment lines, two empty columns at the end."""
    sheet = Sheet("jobs_volunteers.csv")
    rng = Random("volunteers")  # noqa: S311 - invented data, not a secret
    sheet.add(VOLUNTEER_HEADERS)
    rows = []
    for job in jobs:
        rows.append({
            "When": f"{job['date']:%d/%m/%y}" if rng.random() < 0.9 else f"{job['date']:%d %b %y}",
            "Which green": ALIAS[job["green"]], "What we did": said(job["operation"], rng),
            "What with": job.get("material", ""), "How much": amount(job), "Times over": text(job.get("passes")),
            "How deep (in)": inches(job.get("depth_mm")), "Tines (in)": inches(job.get("tine_mm")),
            "Holes apart (mm)": text(job.get("spacing_along_mm")), "Blades (mm)": text(job.get("blade_mm")),
            "Blades apart (mm)": text(job.get("blade_spacing_mm")), "Cut at (mm)": text(job.get("cut_height_mm")),
            "Took off": barrows(job), "Hours (all)": text(job["hours"]) if rng.random() < 0.6 else "",
            "How many of us": text(job["people"]), "Anything else": job.get("note", ""),
        })  # fmt: skip
    small = _idle("What we did", SMALL)
    middle = len(rows) // 2
    spoils = (
        Spoil("What we did", "sanded the bald bits", "operation not in the list", where=small),
        Spoil("What we did", "general tidy", "operation not in the list", where=small),
        Spoil("What we did", "mended the gate", "operation not in the list", where=small),
        Spoil("Which green", "Fennik top", "name misspelt", where=small),
        Spoil("Which green", "Fennick", "which of two greens cannot be told", where=small),
        Spoil("When", "31/09/26", "no such day", where=small),
        Spoil("When", "last Tuesday", "not a date", where=small),
        Spoil("How much", "a fair bit", "an amount that is no amount", where=_idle("What we did", "wetting_agent")),
        Spoil("How much", "as needed", "amount unknown, which is not nothing", "loaded",
              _idle("What we did", "wetting_agent")),
        Spoil("How deep (in)", "36", "impossible depth (3-6 or mm mistaken for inches)",
              where=_idle("What we did", "spiking|slitting")),
        Spoil("Hours (all)", "2 hrs ish", "a word among the figures", where=small),
    )  # fmt: skip
    sheet.fill(VOLUNTEER_HEADERS, rows[:middle], [spoil for spoil in spoils if spoil.trouble != "not a date"])
    sheet.add(["# new book from here on"])
    sheet.fill(VOLUNTEER_HEADERS, rows[middle:], [spoil for spoil in spoils if spoil.trouble == "not a date"])
    return sheet


OFFICE_HEADERS = {
    "Job no": "reference", "Date": "date", "Green code": "green", "Operation": "operation", "Product": "material",
    "Quantity": "", "Rate": "", "Passes": "passes", "Depth mm": "depth_mm", "Tine mm": "tine_mm",
    "Tine basis": "tine_basis", "Spacing along mm": "spacing_along_mm", "Spacing across mm": "spacing_across_mm",
    "Blade mm": "blade_mm", "Blade spacing mm": "blade_spacing_mm", "Cut height": "cut_height_mm",
    "Treated area": "treated_area_m2", "Debris": "", "Hours": "hours", "People": "people",
    "Vibration": "vibration_m_s2", "Trigger time": "trigger_hours", "Cost": "cost", "By": "logged_by",
    "Notes": "note",
}  # fmt: skip


def office_exports(jobs: list[Job]) -> list[Sheet]:
    """The office: an export to the end of June, and a longer one that contains it, six rows of it corrected."""
    rows = []
    for number, job in enumerate(jobs, start=1):
        row = {head: text(job.get(name)) for head, name in OFFICE_HEADERS.items() if name}
        row |= {"Job no": f"J-{number:04d}", "Operation": job["operation"].replace("_", " "),
                "Quantity": amount(job), "Debris": f"{job['debris_l']:g} l" if job.get("debris_l") else "",
                "Rate": f"{job['rate_g_m2']} g/m2" if job.get("rate_g_m2") else ""}  # fmt: skip
        rows.append(row)
    to_june = [row for row in rows if row["Date"] <= "2026-06-30"]
    small = _is("Operation", "mowing", "brushing", "rolling", "edging", "irrigation", "dew removal")
    shorter = Sheet("jobs_office_2026-06.csv")
    shorter.add(OFFICE_HEADERS)
    shorter.fill(OFFICE_HEADERS, to_june)
    longer = Sheet("jobs_office_2026-10.csv")
    longer.add(OFFICE_HEADERS)
    corrected = [Spoil("Hours", hours, "corrected since the shorter export", "replaces",
                       lambda row: row["Date"] <= "2026-06-30" and row["Operation"] == "mowing")
                 for hours in ("6.75", "7", "7.25", "8", "8.25", "8.5")]  # fmt: skip
    july = [(column, value, trouble) for column, value, trouble in (
        ("Green code", "KET-2", "no such green; near KET-1"), ("Green code", "PEL1", "code without its hyphen"),
        ("Hours", "1200", "impossible hours"), ("Date", "2206-08-19", "date in the future (2026 mistyped)"),
        ("Cut height", "500", "impossible height of cut (5.00 mistyped)"), ("Operation", "mow/edge", "two in one"),
    )]  # fmt: skip
    spoils = [Spoil(column, value, trouble, where=lambda row: row["Date"] > "2026-06-30" and small(row))
              for column, value, trouble in july]  # fmt: skip
    longer.fill(OFFICE_HEADERS, rows, corrected + spoils)
    return [shorter, longer]


def loose_sheet() -> Sheet:
    """A stand-in's page: our own headers, no profile, dates whose order nothing declares."""
    sheet = Sheet("jobs_loose_sheet.csv")
    headers = ("date", "green", "operation", "material", "quantity", "hours", "people", "logged_by", "note")
    sheet.add(headers)
    work: tuple[tuple[str, str, str, float], ...] = (
        ("21/04/2026", "edging", "", 2),
        ("28/04/2026", "mowing", "", 2.5),
        ("05/05/2026", "mowing", "", 2.5),
        ("13/05/2026", "irrigation", "4000 l", 0.5),
        ("09/06/2026", "brushing", "", 1),
        ("16/06/2026", "mowing", "", 2.5),
        ("07/07/2026", "irrigation", "6000 l", 0.5),
        ("22/07/2026", "spiking", "", 1.5),
        ("04/08/2026", "mowing", "", 2.5),
        ("18/08/2026", "mowing", "", 2.5),
        ("01/09/2026", "mowing", "", 2.5),
        ("08/09/2026", "brushing", "", 1),
    )
    for day, operation, quantity, hours in work:
        if day[:2] == day[3:5]:
            sheet.plant("date", day, "day and month are the same number: both readings agree", "loaded")
        elif int(day[:2]) <= 12:
            sheet.plant("date", day, "day and month cannot be told apart, nothing declared", "rejected")
        sheet.add((day, "TOR-1", operation, "", quantity, text(hours), "1", "stand-in", ""))
        sheet.rows += 1
    return sheet
