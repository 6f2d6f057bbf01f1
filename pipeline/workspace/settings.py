"""A workspace: the folder with settings, store, profiles, rejected rows and reports."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from pipeline.common.closest import offered
from pipeline.common.file_names import safe_stem
from pipeline.common.limits import LIMITS_TEXT, STANDARD, Limits
from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import read_toml, text_of
from pipeline.common.whole_files import write_whole
from pipeline.common.years import EARLIEST, LATEST
from pipeline.workspace.method_options import METHOD_OPTIONS_TEXT, MethodOptions, refuse_former
from pipeline.workspace.shared import BEGINS, Shared, an_address
from pipeline.workspace.targets import target_sets
from schemas import KINDS
from schemas.codes import code_list, fold

SETTINGS = "settings.toml"
_NO_PATH = re.compile("[\x00-\x1f\x7f-\x9f?*]")
_ADDRESS = re.compile(r":|[A-Za-z][A-Za-z0-9+.-]+:")
"""What an address begins with; one letter and a colon are a drive (RFC 3986, 3.1, has the form of a scheme)."""
MOST_VALID_DAYS = 730
"""A price that holds for more than two years is a slip of the hand."""

SETTINGS_TEXT = (
    """\
# Settings of this swardtally workspace. Every line may be left out; the value shown is then in force.

# Paths from the workspace's folder, such as "out/reports", or whole paths of this machine; never an address.
store = "store.duckdb"        # where the records are kept; of a shared store its address (docs/scale.md)
store_files = "store-files"   # where a shared store keeps its files; a store in a file has none
profiles = "profiles"         # folder of source profiles (*.toml): what the headers of a file mean
rejected = "rejected"         # rows that could not be loaded are written here
reports = "reports"           # where PDFs are written

# What folders and workbooks hold and is no record; * stands for any letters. Files of other types are named when a
# folder is loaded, sheets that no profile reads are a fault; what is listed here is passed over without a word.
ignore_files = []             # such as ["*.pdf", "old/*"]
ignore_sheets = []            # such as ["Notes", "Chart*"]

# A season is twelve months from this day (MM-DD) and is named by the year it ends in. With 1 October the autumn
# renovation counts to the year it prepares.
season_start = "10-01"

currency = "GBP"

# VAT on what is ordered and quoted, in percent: 20, 17.5, or 0 where none is paid. Prices, carriage and rates are
# recorded without it. Where it is not answered, no document says a sum with VAT.
vat_pct = "not answered"
prices_with_vat = false       # true: what is ordered and quoted is printed with VAT, beside the sum without

# Days from its day of issue on which the price of a programme holds, such as 30. Where it is not answered, the document
# says that it is not stated.
price_valid_days = "not stated"

# Depots that materials lie in or are delivered to, as the records of stock name them: such as ["yard", "barn"].
depots = []

# Shipped sets of targets in force where nobody has set one of their own (a later one comes first); [] for none.
# docs/indicators.md lists the sets, every figure with its source. "standard" brings the MLSN set with it
# that [method_options] names. "golf-greens" has what is said of golf greens (infiltration: of sand-based ones only),
# "common-practice" what is said of bowling greens without a source (nitrogen, pH, thatch).
targets = ["standard"]

# Dry bulk density used where a material gives none, t/m3. Dry sand is about 1.5 (published figures lie between 1.5 and
# 1.6); a sand and soil mix differs: ask the supplier and write it into the materials file.
bulk_density_t_m3 = 1.5

# Hours of one person's working day and week: what "half a day" or "2 weeks" in a job log comes to, where the source
# profile does not say it. 0: not said; such cells are then refused.
working_day_h = 0
working_week_h = 0

# In how many seasons organic matter is to come down to its target. A target whose season lies ahead names its own.
# A target of the indicator dressing_plan_kg_m2 is the dressing a season that a forecast is made for.
reach_in_seasons = 3

# How documents look. They are unbranded unless a name stands here. A template in the folder pages/ stands before the
# shipped one of its name: docs/house-style.md.
[house]
name = ""                     # who made the report, printed at its head
address = ""                  # one line below the name
prepared_by = ""              # who stands as "Prepared by" for a club; on a condition report else the name above
prepared_for = ""             # whom it is for, such as "The committee"; left empty, a line to fill in
# Whom it is for, by the code of the club, where a club has another line than the one above, such as
# { ALD = "The committee of Alder Brook", BRA = "The secretary" }.
prepared_for_club = {}
report_number = ""            # such as "HG {file}"; {file}: the PDF's name without its ending, {issued}: day of issue
logo = ""                     # a PNG, JPEG or SVG file of this workspace, 1 MB at most
paper = "A4"                  # or "Letter"
units = "metric"              # or "US": units of display; the store and the attached data stay metric
leave_out = []                # any of facts, charts, works, due, methods, sources
short = false                 # true: condition reports on two pages, the rest in the attached data
glossary = false              # true: a last page in condition reports, summaries and surveys with the words they use
# Figures without a target: "attached" where the condition report has no room for them, or all "printed", on as many
# pages as that takes.
untargeted_figures = "attached"
# Colours in the place of the shipped ones, such as { accent = "#5a2d82" }: accent (headings, figures drawn) and text.
# One that is hard to read on white is refused (contrast under 4.5, WCAG 2.2).
colours = {}
# Who signs at the end of a document, such as { survey = ["Surveyor", "For the club"], programme = ["For the club"] }.
signatures = {}

# Who decides about a work, where it is not as the first page of a condition report takes it: "Committee" or
# "Greenkeeper" by the name of the operation (docs/codes.md), such as top_dressing = "Greenkeeper". What may be a plant
# protection product stays with a licensed person.
[decides]

"""
    + METHOD_OPTIONS_TEXT
    + "\n"
    + LIMITS_TEXT
)


def _a_colour(value: str) -> str:
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", value):
        raise ValueError("must be # and six of 0 to 9 and a to f, such as '#5a2d82'")
    return value


def _a_day(value: str) -> str:
    if not re.fullmatch(r"(0[1-9]|1[0-2])-(0[1-9]|1\d|2[0-8])", value):
        raise ValueError("must be a day of every year as MM-DD, such as '10-01'; the 28th of a month is the last")
    return value


def _a_place(value: str) -> str:
    """A path as a setting names one: of this machine's files, never an address or a store that is nowhere."""
    if _NO_PATH.search(value) or not value.strip():
        raise ValueError("must be a path of a file or folder, without control characters, ? and *")
    if _ADDRESS.match(value):
        raise ValueError("must be a path of a file or folder of this machine, and is an address")
    if value.startswith("~"):
        raise ValueError("must be a path written in full: ~ is no folder here")
    if Path(value).is_absolute() and not Path(value).name:
        raise ValueError("must be a path of a file or folder, and is a whole disk")
    return value


def _a_store(value: str) -> str:
    return an_address(value) if value.startswith(BEGINS) else _a_place(value)


Place = Annotated[str, AfterValidator(_a_place)]
StorePlace = Annotated[str, AfterValidator(_a_store)]
Colour = Annotated[str, AfterValidator(_a_colour)]
Signer = Annotated[str, Field(min_length=1, max_length=60)]
DocumentName = Literal[
    "condition",
    "summary",
    "handout",
    "survey",
    "comparison",
    "programme",
    "round-up",
    "due",
    "order-office",
    "order-van",
]
"""Documents by the names of their templates."""


class HouseStyleSettings(BaseModel):
    """How documents look; each field is explained in the file that ``swardtally init`` writes."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    name: str = Field(default="", max_length=80)
    address: str = Field(default="", max_length=120)
    prepared_by: str = Field(default="", max_length=60)
    prepared_for: str = Field(default="", max_length=60)
    prepared_for_club: dict[str, Annotated[str, Field(max_length=60)]] = Field(default_factory=dict)
    report_number: str = Field(default="", max_length=80)
    logo: str = ""
    paper: Literal["A4", "Letter"] = "A4"
    units: Literal["metric", "US"] = "metric"
    leave_out: tuple[Literal["facts", "charts", "works", "due", "methods", "sources"], ...] = ()
    short: bool = Field(default=False, strict=True)
    glossary: bool = Field(default=False, strict=True)
    untargeted_figures: Literal["attached", "printed"] = "attached"
    colours: dict[Literal["accent", "text"], Colour] = Field(default_factory=dict)
    signatures: dict[DocumentName, tuple[Signer, ...]] = Field(default_factory=dict)

    @field_validator("report_number")
    @classmethod
    def _of_what_is_known(cls, value: str) -> str:
        for name in re.findall(r"\{[^}]*\}?", value):
            if name not in ("{file}", "{issued}"):
                raise ValueError(f"{name} is neither {{file}} nor {{issued}}")
        if value and "{file}" not in value:
            raise ValueError("must hold {file}, or every document has the same number")
        return value


class Settings(BaseModel):
    """What a person may set; each field is explained in the file that ``swardtally init`` writes."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    store: StorePlace = "store.duckdb"
    store_files: Place = "store-files"
    profiles: Place = "profiles"
    rejected: Place = "rejected"
    reports: Place = "reports"
    ignore_files: tuple[str, ...] = ()
    ignore_sheets: tuple[str, ...] = ()
    season_start: Annotated[str, AfterValidator(_a_day)] = "10-01"
    currency: str = Field(default="GBP", min_length=1, max_length=8)
    vat_pct: Decimal | Literal["not answered"] = "not answered"
    prices_with_vat: bool = Field(default=False, strict=True)
    price_valid_days: int | Literal["not stated"] = "not stated"
    depots: tuple[str, ...] = ()
    targets: tuple[str, ...] = ("standard",)
    bulk_density_t_m3: float = Field(default=1.5, gt=0, le=3, strict=True)
    working_day_h: float = Field(default=0, ge=0, le=24, strict=True)
    working_week_h: float = Field(default=0, ge=0, le=168, strict=True)
    reach_in_seasons: int = Field(default=3, ge=1, le=20, strict=True)
    house: HouseStyleSettings = HouseStyleSettings()
    decides: dict[str, Literal["Committee", "Greenkeeper"]] = Field(default_factory=dict)
    method_options: MethodOptions = MethodOptions()
    limits: Limits = STANDARD

    @property
    def target_sets(self) -> tuple[str, ...]:
        """The sets in force: "standard" brings the MLSN set of the version chosen."""
        sets: list[str] = []
        for name in self.targets:
            sets += [name, f"mlsn-{self.method_options.mlsn}"] if name == "standard" else [name]
        return tuple(sets)

    @model_validator(mode="before")
    @classmethod
    def _under_their_names(cls, value: object) -> object:
        for name in value if isinstance(value, dict) else ():
            refuse_former("", name)
        return value

    @field_validator("vat_pct", mode="before")
    @classmethod
    def _a_share(cls, value: object) -> object:
        if value == "not answered":
            return value
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal) or not 0 <= value <= 100:
            raise ValueError(f'{value!r} is neither a percentage from 0 to 100 nor "not answered"')
        return Decimal(str(value))

    @field_validator("price_valid_days", mode="before")
    @classmethod
    def _days(cls, value: object) -> object:
        if value == "not stated":
            return value
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_VALID_DAYS:
            raise ValueError(f'{value!r} is neither 1 to {MOST_VALID_DAYS} days nor "not stated"')
        return value

    @field_validator("depots")
    @classmethod
    def _told_apart(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        names = [fold(name) for name in value]
        if "" in names or len(set(names)) < len(names):
            raise ValueError(f"each depot needs a name of its own, and these are {', '.join(map(repr, value))}")
        return value

    @model_validator(mode="after")
    def _vat_known(self) -> Settings:
        if self.prices_with_vat and self.vat_pct == "not answered":
            raise ValueError("prices_with_vat is true, and vat_pct does not say how much VAT that is")
        return self

    @field_validator("decides")
    @classmethod
    def _of_operations(
        cls, value: dict[str, Literal["Committee", "Greenkeeper"]]
    ) -> dict[str, Literal["Committee", "Greenkeeper"]]:
        for name in value:
            if name not in code_list("operation"):
                raise ValueError(f"there is no operation {name!r}{offered(name, code_list('operation'))}")
        return value

    @field_validator("targets")
    @classmethod
    def _sets_exist(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for name in value:
            if name not in target_sets():
                near = offered(name, target_sets())
                raise ValueError(f"there is no set of targets {name!r}{near}; sets are {', '.join(target_sets())}")
        return value


@dataclass(frozen=True)
class Season:
    """Twelve months, named by the year they end in."""

    name: str
    start: date
    end: date

    @classmethod
    def from_day(cls, start: date) -> Season:
        """The season that starts on a day."""
        end = start.replace(year=start.year + 1) - timedelta(days=1)
        return cls(str(end.year), start, end)

    def last_counted(self, last: date | None) -> date:
        """The last day that counts, of a green whose records go up to a day: all of the season where it has none."""
        return max(self.start, min(self.end, last or self.end))


@dataclass(frozen=True)
class Workspace:
    """A folder and its settings."""

    folder: Path
    settings: Settings

    @property
    def store(self) -> Path | Shared:
        """Where the store is: its file, or the address of one that several offices share."""
        if self.settings.store.startswith(BEGINS):
            return Shared(self.settings.store.removeprefix(BEGINS), self.folder / self.settings.store_files)
        return self.folder / self.settings.store

    @property
    def store_file(self) -> Path:
        """The store's file.

        Raises:
            CannotDo: the store is shared.
        """
        if isinstance(self.store, Shared):
            raise CannotDo(
                "This is done on a store in a file, and this one is shared.",
                "Copy it to a file, work there, and copy it back: swardtally copy (docs/scale.md).",
            )
        return self.store

    @property
    def profiles(self) -> Path:
        """Folder of source profiles."""
        return self.folder / self.settings.profiles

    @property
    def corrections(self) -> Path:
        """Folder of corrections."""
        return self.folder / "corrections"

    @property
    def decisions(self) -> Path:
        """Folder of decisions about lines that may be one, and of rejected rows set aside."""
        return self.folder / "decisions"

    @property
    def rejected(self) -> Path:
        """Folder that rejected rows are written to."""
        return self.folder / self.settings.rejected

    @property
    def reports(self) -> Path:
        """Folder where reports are written."""
        return self.folder / self.settings.reports

    @property
    def pages(self) -> Path:
        """Folder of templates of the workspace's own."""
        return self.folder / "pages"

    def place_of(self, path: Path) -> str:
        """A path as a person is told of it: from the workspace on, or whole where settings name a place elsewhere."""
        return path.relative_to(self.folder).as_posix() if path.is_relative_to(self.folder) else str(path)

    def season_of(self, day: date) -> Season:
        """The season a day falls in."""
        month, first = (int(part) for part in self.settings.season_start.split("-"))
        start = date(day.year, month, first)
        if day < start:
            start = start.replace(year=day.year - 1)
        return Season.from_day(start)

    def season_in_hand(self, last: date) -> Season:
        """The season that most of the last year's records fall in, where this is the last day they speak of.

        A county's log runs a few weeks into the new season when reports are asked for: a season that has begun less
        than sixty days before is not in hand yet, but the one just ended.
        """
        season = self.season_of(last)
        begun = (last - season.start).days
        return self.season_of(season.start - timedelta(days=1)) if begun < BEGUN_DAYS else season

    def season(self, name: str) -> Season:
        """The season of this name.

        Raises:
            CannotDo: the name is not a year.
        """
        if not (name.isdecimal() and len(name) == 4 and EARLIEST <= int(name) <= LATEST):
            raise CannotDo(f"“{name}” is not a season.", "A season is named by the year it ends in, such as 2026.")
        month, first = (int(part) for part in self.settings.season_start.split("-"))
        back = 0 if (month, first) == (1, 1) else 1
        return Season.from_day(date(int(name) - back, month, first))


BEGUN_DAYS = 60
"""Days from which on a season that has begun is the one in hand: common practice, no source."""


def as_text(name: str) -> str:
    """A file's name with its bytes that are no text written out, so that it can be kept and printed."""
    return name.encode("utf-8", "backslashreplace").decode()


def rejects_name(file: str) -> str:
    """Name of the CSV that takes a file's rejected rows."""
    stem = safe_stem(file.removesuffix(".csv"))
    return f"{stem}-again.csv" if ".rejected" in stem else f"{stem}.rejected.csv"


def is_workspace(folder: Path) -> bool:
    """Whether a folder is a workspace: it holds settings, or a store under its standard name."""
    return (folder / SETTINGS).is_file() or (folder / Settings().store).is_file()


def open_workspace(folder: Path) -> Workspace:
    """The workspace in a folder; one with a store and without settings has the standard ones.

    Raises:
        CannotDo: the folder does not exist or is no workspace, or settings.toml does not hold what it may hold.
    """
    if not folder.is_dir():
        raise CannotDo(f"There is no folder {folder}.", "Make a workspace first: swardtally init DIR")
    if not is_workspace(folder):
        raise CannotDo(
            f"{folder.absolute()} is no workspace: it holds neither {SETTINGS} nor {Settings().store}.",
            "Name the workspace with --workspace DIR, or make one: swardtally init DIR",
        )
    path = folder / SETTINGS
    if not path.exists():
        return Workspace(folder, Settings())
    try:
        return Workspace(folder, Settings.model_validate(read_toml(path)))
    except ValidationError as error:
        hint = "Mend the line; docs/settings.md lists every setting and its limits."
        raise CannotDo(
            f"{SETTINGS} does not fit: {misfits(error, model=Settings, source=text_of(path))}", hint
        ) from None


def make_workspace(folder: Path) -> list[Path]:
    """Make a workspace: settings, folders, an empty CSV template for each kind. Nothing there is overwritten.

    Returns:
        The files made.
    """
    templates = {f"templates/{kind.name}.csv": kind.template() for kind in KINDS.values()}
    texts = {folder / name: text for name, text in {SETTINGS: SETTINGS_TEXT, **templates}.items()}
    made = {path: text.encode() for path, text in texts.items() if not path.exists()}
    for name in ("profiles", "corrections", "decisions", "inbox", "rejected", "reports"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    write_whole(made)
    return list(made)
