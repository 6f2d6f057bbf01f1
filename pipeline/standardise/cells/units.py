"""The trade's units: how they are written, which cannot be told apart, and conversion through pint."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

from pipeline.common.faults import FaultKind
from pipeline.profiles.style import Refused, Style

if TYPE_CHECKING:
    import pint

UNKNOWN = FaultKind(
    "unit.unknown",
    "unknown unit",
    '"{unit}" is not a unit that is known here: {value}',
    "Write a known unit (kg, l, mm, g/m2, lb/1000 sq ft ...), or take the words out of the cell.",
)
MISFIT = FaultKind(
    "unit.misfit",
    "unit of another kind",
    '"{unit}" cannot be turned into {target}: {value}',
    "Mend the unit in the cell, or map the column to the field it belongs to.",
)
OUNCE = FaultKind(
    "unit.ounce",
    "ounce: of weight or of volume?",
    '"oz" is a weight (dry ounce, 28.35 g) to one reader and a volume (fluid ounce, 28.41 or 29.57 ml) to another: '
    "{value}",
    'Write "dry oz", "uk fl oz" or "us fl oz", or grams or millilitres.',
)
FLUID_OUNCE = FaultKind(
    "unit.fluid_ounce",
    "fluid ounce: UK or US?",
    '"fl oz" is 28.41 ml in the UK and 29.57 ml in the US: {value}',
    'Write "uk fl oz" or "us fl oz", or millilitres.',
)
GALLON = FaultKind(
    "unit.gallon",
    "gallon, quart or pint: UK or US?",
    '"{unit}" is a fifth larger in the UK than in the US (a gallon is 4.546 or 3.785 l): {value}',
    'Write "uk {unit}" or "us {unit}", or litres.',
)
TON = FaultKind(
    "unit.ton",
    "which ton?",
    '"{unit}" can be metric (1000 kg), long (1016 kg) or short (907 kg): {value}',
    'Say which under ton in [values] of the profile ("metric", "long" or "short"), or write tonnes or kg.',
)
HUNDREDWEIGHT = FaultKind(
    "unit.hundredweight",
    "which hundredweight?",
    '"{unit}" is 50.8 kg (long, of 112 lb) or 45.4 kg (short, of 100 lb): {value}',
    'Say ton = "long" or "short" in [values] of the profile, or write kg.',
)
MEGAGRAM = FaultKind(
    "unit.megagram",
    "Mg: milligram or megagram?",
    '"{unit}" is a megagram (1000 kg) as it stands, and a milligram if the capital is a slip: {value}',
    'Write "t" or "tonnes", or "mg".',
)
BARROW = FaultKind(
    "unit.barrow",
    "how much is a barrow load?",
    "The volume of a barrow load is not declared: {value}",
    "Say barrow_l = ... (litres of one load) in [values] of the profile, or write litres.",
)
WORKING_DAY = FaultKind(
    "unit.working_day",
    "how long is a working day?",
    "How many hours a working day has is not declared: {value}",
    "Say working_day_h = ... in settings.toml of the workspace, or in [values] of the source profile, or write hours.",
)
WORKING_WEEK = FaultKind(
    "unit.working_week",
    "how long is a working week?",
    "How many hours a working week has is not declared: {value}",
    "Say working_week_h = ... in settings.toml of the workspace, or in [values] of the source profile, or write hours.",
)

WORKED = "hours of work"
"""Target of :func:`scale` for hours that people worked: a day of it is a working day, not 24 hours."""

_SPELLINGS = {
    "mg": "mg milligram milligrams",
    "g": "g gm gms gr gram grams gramme grammes",
    "kg": "kg kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    "tonne": "t te tonne tonnes metric_ton metric_tons metric_tonne metric_tonnes",
    "lb": "lb lbs pound pounds",
    "oz": "dry_oz oz_dry dry_ounce dry_ounces oz_av oz_avdp avoirdupois_ounce",
    "ml": "ml mls millilitre millilitres milliliter milliliters cc",
    "l": "l lt ltr ltrs litre litres liter liters",
    "imperial_fluid_ounce": "uk_fl_oz imperial_fl_oz uk_fluid_ounce uk_fluid_ounces imp_fl_oz",
    "fluid_ounce": "us_fl_oz us_fluid_ounce us_fluid_ounces",
    "imperial_gallon": "uk_gallon uk_gallons uk_gal imperial_gallon imperial_gallons imp_gal",
    "gallon": "us_gallon us_gallons us_gal",
    "imperial_quart": "uk_quart uk_quarts imperial_quart",
    "quart": "us_quart us_quarts",
    "imperial_pint": "uk_pint uk_pints imperial_pint",
    "pint": "us_pint us_pints",
    "um": "um micron microns",
    "mm": "mm mms millimetre millimetres millimeter millimeters",
    "cm": "cm cms centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters",
    "inch": "in ins inch inches \" ″ ” ''",
    "foot": "ft feet foot ' ′ ’",
    "yard": "yd yds yard yards",
    "m**2": "m2 sqm sq_m sq_metre sq_metres square_metre square_metres square_meter square_meters sq_meter sq_meters",
    "cm**2": "cm2 sq_cm",
    "foot**2": "ft2 sqft sq_ft square_foot square_feet sq_feet sq_foot",
    "yard**2": "yd2 sqyd sq_yd sq_yds sq_yard sq_yards square_yard square_yards",
    "hectare": "ha hectare hectares",
    "international_acre": "acre acres ac",
    "m**3": "m3 cu_m cubic_metre cubic_metres cubic_meter cubic_meters cum cbm",
    "cm**3": "cm3",
    "foot**3": "ft3 cu_ft cubic_foot cubic_feet",
    "yard**3": "yd3 cu_yd cu_yds cubic_yard cubic_yards",
    "s": "s sec secs second seconds",
    "s**2": "s2",
    "minute": "min mins minute minutes",
    "hour": "h hr hrs hour hours",
    "day": "d day days",
    "week": "week weeks wk wks",
    "month": "month months",
    "year": "year years yr yrs",
    "degC": "°c c degc deg_c celsius",
    "degF": "°f f degf deg_f fahrenheit",
    "percent": "% percent per_cent pct",
    "ppm": "ppm",
    "ppb": "ppb",
    "meq": "me meq milliequivalent milliequivalents",
    "cmol": "cmol cmolc cmol(+)",
    "mmol": "mmol mmolc",
    "dS": "ds",
    "mS": "ms mmho mmhos",
    "uS": "us umho umhos",
    "g/m**2": "gsm",
    "km": "km kilometre kilometres kilometer kilometers",
    "km/hour": "kph",
    "mile": "mi mile miles",
    "mile/hour": "mph",
    "knot": "knot knots kn kt kts",
    "MJ": "mj megajoule megajoules",
    "kJ": "kj kilojoule kilojoules",
    "J": "j joule joules",
    "kWh": "kwh",
    "W*hour": "wh",
    "W": "w watt watts",
    "kW": "kw kilowatt kilowatts",
    "langley": "langley langleys ly",
    "kPa": "kpa",
    "MPa": "mpa",
}
_KNOWN = {spelling.replace("_", " "): name for name, line in _SPELLINGS.items() for spelling in line.split()}
_FLUID = frozenset({"fl oz", "fluid oz", "floz", "fluid ounce", "fluid ounces", "oz fl"})
_BARROWS = frozenset(
    {"barrow", "barrows", "barrow load", "barrow loads", "barrowload", "barrowloads", "wheelbarrow", "wheelbarrows"}
    | {"wheelbarrow load", "wheelbarrow loads"}
)
_GALLONS = {"gallon": "gallon", "gal": "gallon", "quart": "quart", "qt": "quart", "pint": "pint", "pt": "pint"}
_TONS = {"metric": "tonne", "long": "long_ton", "short": "short_ton"}
_HUNDREDWEIGHTS = {"long": "112 lb", "short": "100 lb"}
_PART = re.compile(r"(?:(\d+(?:[ ,]\d{3})*|\d+)\s*)?(\D.*)", re.DOTALL)
_LONGEST_PER = 9
"""Digits of the number in a unit, such as that of 1000 sq ft; none is longer."""
_RADIATION = "(MJ)/(m**2)"
"""Pint's name of the unit that the radiation of a day is kept in."""
_PER_POWER = re.compile(r"([a-zµ%()+]+)[ .]([a-z]+)\^?-([123])")


@cache
def registry() -> pint.UnitRegistry[float]:
    """Pint's units with those of soil chemistry and the acre of 4840 square yards.

    Pint's own acre is the US survey acre, larger by 4 in a million. A milliequivalent is a millimole of charge:
    1 meq/100 g is 1 cmolc/kg (definition).
    """
    import pint

    units: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    units.define("milliequivalent = 1e-3 mole = meq")
    units.define("ppb = 1e-9")
    units.define("international_acre = 4840 * yard ** 2")
    return units


def named(text: str, style: Style) -> str:
    """Pint's name of a unit as a crew or a laboratory writes it.

    ``g/m2``, ``g m-2``, ``grams per sq metre``, ``lb/1000 sq ft`` and ``°C`` are all understood. A barrow load is a
    number of litres.

    Args:
        text: the unit as written; case, full stops and spaces do not matter.
        style: which ton and how large a barrow.

    Raises:
        Refused: unknown, or more than one unit goes by this name.
    """
    return _named(text, style.ton, style.barrow_l)


def scale(source: str, target: str, style: Style | None = None) -> tuple[float, float]:
    """Factor and offset from one unit to another: ``target = source · factor + offset``.

    Raises:
        Refused: a unit is not known (see :func:`named`), or the two measure different things.
    """
    if source == target:
        return 1.0, 0.0
    how = style or Style()
    if target == WORKED:
        return _worked(named(source, how), source, how)
    return _scale(named(source, how), named(target, how), source, target)


def _worked(name: str, written: str, style: Style) -> tuple[float, float]:
    """Factor of a unit to hours of work: days and weeks have the length that is declared."""
    if name in {"day", "week"}:
        declared = style.working_day_h if name == "day" else style.working_week_h
        if declared is None:
            raise Refused(WORKING_DAY if name == "day" else WORKING_WEEK)
        return declared, 0.0
    if name not in {"s", "minute", "hour"}:
        raise Refused(MISFIT, unit=written, target=WORKED)
    return _scale(name, "hour", written, WORKED)


def is_known(text: str, style: Style | None = None) -> bool:
    """Whether :func:`named` understands the unit."""
    try:
        named(text, style or Style())
    except Refused:
        return False
    return True


def is_mean_power(text: str) -> bool:
    """Whether a unit is one of power over an area (W/m²): of a period it is the mean, no sum. Sums a day are none."""
    try:
        name = named(text, Style())
    except Refused:
        return False
    if "W" not in name or "deg" in name or "day" in name:  # a quotient of degrees is ambiguous to pint
        return False
    return bool(registry().Quantity(name).check("[power] / [area]"))


@cache
def _scale(source: str, target: str, written: str, wanted: str) -> tuple[float, float]:
    """See :func:`scale`; power over an area becomes the energy of a day (1 W is 86 400 J a day, definition)."""
    if source == target:  # two spellings of one unit: the library of units is slow to start
        return 1.0, 0.0
    import pint

    units = registry()
    if _sum_of_a_day(source, target):
        source = f"{source} * day"
    try:
        zero, one, ten = (_in(units, number, source, target) for number in (0.0, 1.0, 10.0))
    except (pint.DimensionalityError, pint.OffsetUnitCalculusError):
        raise Refused(MISFIT, unit=written, target=wanted) from None
    factor = (ten - zero) / 10.0 if zero else one
    return float(f"{factor:.15g}"), float(f"{zero:.12g}")


def _sum_of_a_day(source: str, target: str) -> bool:
    """Whether a mean power over an area, or an energy a day, is to become the energy over that area."""
    if target != _RADIATION or re.search(r"week|month|year|deg", source):
        return False
    return bool(registry().Quantity(source).check("[power] / [area]"))


def _in(units: pint.UnitRegistry[float], number: float, source: str, target: str) -> float:
    if {source, target} <= {"degC", "degF"}:
        return float(units.Quantity(number, source).to(target).magnitude)
    return float((number * units.Quantity(source)).to(units.Quantity(target).units).magnitude) / float(
        units.Quantity(target).magnitude
    )


@cache
def _named(text: str, ton: str | None, barrow_l: float | None) -> str:
    if re.match(r"Mg(?!\s*(/|per)\s*(kg|l|L)\b|\s+(kg|l|L)\b)", text.strip()):
        raise Refused(MEGAGRAM, unit=text)
    plain = _plain(text)
    if plain in _KNOWN:
        return _KNOWN[plain]
    power = _PER_POWER.fullmatch(plain)
    if power:
        plain = f"{power.group(1)}/{power.group(2)}{power.group(3).replace('1', '')}"
    top, *below = (part.strip() for part in plain.split("/"))
    parts = [_word(top, text, ton, barrow_l)] + [_part(part, text, ton, barrow_l) for part in below]
    return "/".join(f"({part})" for part in parts) if below else parts[0]


def _part(part: str, written: str, ton: str | None, barrow_l: float | None) -> str:
    match = _PART.fullmatch(part)
    if match is None:
        raise Refused(UNKNOWN, unit=written)
    times, word = match.group(1), match.group(2).strip()
    name = _word(word, written, ton, barrow_l)
    if not times:
        return name
    digits = times.replace(",", "").replace(" ", "")
    if not 0 < len(digits) <= _LONGEST_PER or not int(digits):
        raise Refused(UNKNOWN, unit=written)
    return f"{int(digits)} * {name}"


def _word(word: str, written: str, ton: str | None, barrow_l: float | None) -> str:
    if word in _KNOWN:
        return _KNOWN[word]
    single = word.removesuffix("s")
    if single in {"oz", "ounce"}:
        raise Refused(OUNCE)
    if word in _FLUID:
        raise Refused(FLUID_OUNCE)
    if single in _GALLONS:
        raise Refused(GALLON, unit=_GALLONS[single])
    if single in {"ton", "long ton", "short ton"}:
        return _ton(single, ton)
    if single in {"cwt", "hundredweight"}:
        if ton not in _HUNDREDWEIGHTS:
            raise Refused(HUNDREDWEIGHT, unit=word)
        return _HUNDREDWEIGHTS[ton]
    if word in _BARROWS:
        if barrow_l is None:
            raise Refused(BARROW)
        return f"{barrow_l!r} * l"
    raise Refused(UNKNOWN, unit=written)


def _ton(word: str, ton: str | None) -> str:
    which = word.partition(" ")[0] if " " in word else ton
    if which is None:
        raise Refused(TON, unit=word)
    return _TONS[which]


def _plain(text: str) -> str:
    plain = text.strip().replace("²", "2").replace("³", "3").replace("º", "°").replace("μ", "µ").replace("µ", "u")
    plain = plain.replace("⁻", "-").replace("¹", "1").casefold()
    plain = re.sub(r"(?<=[a-z])\.(?=[\s/]|$)|\*\*|\^(?=\d)", "", plain)
    plain = re.sub(r"\s+(?:per|a|an)\s+|^per\s+", "/", plain)
    return re.sub(r"\s+", " ", re.sub(r"\s*/\s*", "/", plain)).strip()
