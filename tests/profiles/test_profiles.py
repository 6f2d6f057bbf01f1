"""Source profiles: what they map, what they refuse, and that nothing in them is passed over in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.profiles.fitting import called_for, fit
from pipeline.profiles.profile import all_known_headers, kind_of_headers, read_profile, read_profiles
from pipeline.standardise.cells.header_units import unit_against
from pipeline.store.store import Store
from pipeline.workspace.settings import Workspace
from tests.conftest import Load
from tests.thorough import beyond

LAB = """
name = "lab-b"
kind = "soil_test"
[match]
headers = ["No", "Taken", "Where", "LOI"]
[values]
date_order = "dmy"
decimal = ","
below = ["ND"]
missing = ["?!"]
[constants]
lab = "Laboratory B"
depth_from_mm = 0
depth_to_mm = 20.5
[fields]
date = "Taken"
green = { from = ["Club", "Where"], join = "-" }
sample = "No"
[[long]]
from = "LOI"
set = { analyte = "organic_matter", unit = "%", burn_c = 360 }
[[long]]
from = "P"
into = "value"
set = { analyte = "phosphorus", unit = "mg/kg", extractant = "olsen" }
[aliases.green]
"ALD-Main" = "ALD-1"
[only]
Use = ["green", "Green"]
[ignore]
headers = ["Fax"]
"""
SHEET = "No;Taken;Club;Where;Use;LOI;P;Fax\n"


@pytest.fixture
def lab(county: Load, workspace: Workspace) -> Load:
    """The small county, and laboratory B's profile in its workspace."""
    (workspace.profiles / "lab-b.toml").write_text(LAB)
    return county


def soil(workspace: Workspace) -> list[tuple[object, ...]]:
    with Store(workspace.store, read_only=True) as store:
        return store.rows("SELECT line, analyte, value, below_limit, written FROM soil_test ORDER BY line, analyte")


def test_a_wide_sheet_becomes_a_record_a_cell(lab: Load, workspace: Workspace) -> None:
    """Constants, aliases, joined columns, [only], [[long]], decimal comma and the marks of its own, in one sheet."""
    text = (
        SHEET + "1;10/02/2026;ALD;Main;green;4,8;ND;0123\n2;10/02/2026;ALD;1;Green;?!;12;\n"
        "3;10/02/2026;ALD;1;tee;9;9;\n4;11/02/2026;ALD;1;green;<0,5;;\n"
    )
    result = lab("sheet.csv", text)
    assert (result.profile, result.kind) == ("lab-b", "soil_test")
    assert result.faults["message"].to_list() == [
        "2 results have no value and no record was made of them (lines 3, 5)."
    ]
    c = result.counts
    assert (c.rows, c.loaded, c.ignored) == (7, 4, 3)  # six cells of three rows and the row of the tee; two blank cells
    assert soil(workspace) == [
        (2, "organic_matter", 4.8, False, '{"date": "10/02/2026", "green": "ALD-Main", "value": "4,8"}'),
        (2, "phosphorus", None, True, '{"date": "10/02/2026", "green": "ALD-Main", "value": "ND"}'),
        (3, "phosphorus", 12.0, False, '{"date": "10/02/2026"}'),
        (5, "organic_matter", 0.5, True, '{"date": "11/02/2026", "value": "<0,5"}'),
    ]
    with Store(workspace.store, read_only=True) as store:
        found = store.rows("SELECT DISTINCT lab, depth_from_mm, depth_to_mm, burn_c FROM soil_test WHERE burn_c > 0")
    assert found == [("Laboratory B", 0.0, 20.5, 360.0)]


def test_a_bad_cell_of_a_wide_sheet_rejects_that_cell_alone(lab: Load, workspace: Workspace) -> None:
    """The phosphorus of a row is no worse for a slip in its organic matter; the fault names the cell's own column."""
    result = lab("sheet.csv", SHEET + "1;10/02/2026;ALD;1;green;4,8y;12;\n2;10/02/2026;ALD;1;green;-5;13;\n")
    assert result.faults.select("line", "column").rows() == [(2, "LOI"), (3, "LOI")]
    assert (result.counts.loaded, result.counts.rejected) == (2, 2)
    assert [one[:3] for one in soil(workspace)] == [(2, "phosphorus", 12.0), (3, "phosphorus", 13.0)]
    assert result.rejects_file is not None
    again = result.rejects_file.read_text("utf-8-sig").splitlines()
    assert again[0] == "No,Taken,Club,Where,Use,LOI,P,Fax,line,code,message,hint"
    mended = result.rejects_file.read_text("utf-8-sig").replace("4,8y", "4,8").replace(",-5,", ',"5,1",')
    second = lab("sheet.rejected.csv", mended)
    assert (second.profile, second.counts.loaded, second.counts.unchanged) == ("lab-b", 2, 2)


def test_columns_of_the_profile_that_the_file_lacks(lab: Load) -> None:
    """Once for each column, the whole file refused: half a mapping would load half a sheet."""
    result = lab("sheet.csv", "No;Taken;Where;LOI\n1;10/02/2026;1;4,8\n")
    assert result.faults["code"].to_list() == ["header.not_in_file"] * 3
    assert result.faults["message"].to_list() == [
        f"Profile lab-b reads column “{name}”, which the file does not have." for name in ("Club", "P", "Use")
    ]
    assert (result.counts.rows, result.counts.rejected) == (1, 1)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("depth_to_mm = 20.5", 'depth_to_mm = "deep"', "The profile sets depth_to_mm = “deep”: "),
        ("burn_c = 360", 'burn_c = "hot"', "The profile sets burn_c = “hot”: "),
        ('unit = "%"', 'unit = "per mile"', "The profile sets unit = “per mile”: "),
        ('analyte = "organic_matter"', 'analyte = "organics"', "The profile sets analyte = “organics”: "),
    ],
)
def test_a_wrong_constant_refuses_the_file_once(
    county: Load, workspace: Workspace, old: str, new: str, message: str
) -> None:
    """A constant that is not understood would be blank in every record, or said once a row."""
    assert old in LAB
    (workspace.profiles / "lab-b.toml").write_text(LAB.replace(old, new))
    result = county("sheet.csv", SHEET + "1;10/02/2026;ALD;1;green;4,8;12;\n" * 3)
    wrong = [text for text in result.faults["message"] if text.startswith(message)]
    assert len(wrong) == 1, result.faults["message"].to_list()
    assert (result.counts.loaded, result.counts.rows) == (0, 3)


def test_aliases_of_words_by_field_or_by_list(county: Load, workspace: Workspace) -> None:
    """The hint of an unknown word says [aliases.LIST]; what the hint says must work."""
    text = 'name = "m"\nkind = "material"\n[match]\nheaders = ["Item", "Group"]\n[fields]\n'
    text += 'material = "Item"\nsort = "Group"\n'
    sheet = "Item,Group\nlawn food,F1\n"
    path = workspace.profiles / "m.toml"
    path.write_text(text)
    fault = county("m.csv", sheet).faults.row(0, named=True)
    assert fault["message"] == "Group: “F1” is not a known material sort."
    assert "[aliases.material_sort]" in fault["hint"]
    for table in ("material_sort", "sort"):
        path.write_text(f'{text}[aliases.{table}]\nf1 = "feed"\n')
        result = county("m.csv", sheet)
        assert not result.failed, (table, result.faults["message"].to_list())
    path.write_text(f'{text}[aliases.sort]\nf1 = "no such sort"\n')
    with pytest.raises(CannotDo, match=r"aliases\.sort: 'f1' stands for 'no such sort', which is no material_sort"):
        county("other.csv", sheet)


def test_an_alias_to_no_known_analyte_is_a_fault(county: Load, workspace: Workspace) -> None:
    """A slip in a profile is named when the profile is read, once, and not at each cell it is meant for."""
    text = (
        'name = "s"\nkind = "soil_test"\n[match]\nheaders = ["Thing"]\n[fields]\ndate = "date"\ngreen = "green"\n'
        'value = "value"\nunit = "unit"\nanalyte = "Thing"\n[aliases.analyte]\nOM = "organics"\nGlow = "organics"\n'
    )
    (workspace.profiles / "s.toml").write_text(text)
    with pytest.raises(CannotDo) as refused:
        county("s.csv", "date,green,Thing,value,unit\n2026-02-10,ALD-1,Glow,5,%\n2026-02-10,ALD-1,OM,5,%\n")
    assert refused.value.message == (
        "Profile s.toml does not fit: profile: aliases.analyte: 'OM' stands for 'organics', which is no analyte; "
        "closest: organic c, inorganic c, organic carbon"
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('kind = "job"\n', "name is missing"),
        (
            'name = "x"\nkind = "jobs"\n',
            "kind 'jobs' is not known; closest: job; kinds are club, green, material, target, job",
        ),
        (
            'name = "x"\nkind = "job"\n[fields]\nhourz = "H"\n',
            "'hourz' is not a field of job; closest: hours; its fields are date, date_to, green",
        ),
        ('name = "x"\nkind = "job"\n[constants]\nhourz = 3\n', "'hourz' is not a field of job"),
        ('name = "x"\nkind = "job"\n[[long]]\nfrom = "A"\nset = { hourz = 3 }\n', "'hourz' is not a field of job"),
        ('name = "x"\nkind = "job"\n[[long]]\nfrom = "A"\ninto = "hourz"\n', "'hourz' is not a field of job"),
        ('name = "x"\nkind = "job"\n[[long]]\nfrom = "A"\n', "each [[long]] entry of kind job needs `into`"),
        ('name = "x"\nkind = "job"\n[aliases.gren]\na = "b"\n', "aliases.gren is neither a field nor a list of job"),
        (
            'name = "x"\nkind = "job"\n[values]\ndate_order = "mixed"\n',
            "values.date_order = 'mixed' must be",
        ),
        ('name = "x"\nkind = "job"\n[valuez]\n', "valuez: there is no such key; closest: values"),
        ('name = "x"\nkind = "job"\nfields = 3\n', "line 3, fields = 3 must be a table"),
        ('name = "x"\nkind = "job"\nonly = 3\n', "line 3, only = 3 must be a table"),
        (
            'name = "x"\nkind = "job"\n[reading]\ndelimiter = ";;"\n',
            "line 4, reading.delimiter = ';;' is longer",
        ),
    ],
)
def test_a_profile_that_does_not_fit_is_refused_by_its_key(tmp_path: Path, text: str, message: str) -> None:
    """A key nobody reads would be believed to hold."""
    path = tmp_path / "x.toml"
    path.write_text(text)
    with pytest.raises(CannotDo) as caught:
        read_profile(path)
    assert caught.value.message.startswith("Profile x.toml does not fit: ")
    assert message in caught.value.message
    assert caught.value.hint == "docs/profiles.md lists every key."


def test_a_draft_with_a_mark_left_is_no_profile_yet(tmp_path: Path) -> None:
    """The places of every "?" are named; loading refuses the files it fits by them."""
    path = tmp_path / "x.toml"
    path.write_text('name = "x"\nkind = "job"\n[match]\nheaders = ["a", "?"]\n[fields]\ndate = "?"\nhours = "Hrs"\n')
    made = read_profile(path)
    assert made.undecided == ("match.headers", "fields.date")
    assert (list(made.fields), made.match.headers) == (["hours"], ("a",))


def test_two_profiles_of_one_name_are_refused(tmp_path: Path) -> None:
    """--profile could not say which."""
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text('name = "x"\nkind = "job"\n')
    with pytest.raises(CannotDo) as caught:
        read_profiles(tmp_path)
    assert caught.value.message == "Two profiles are named 'x'."


def test_of_two_profiles_that_fit_the_one_that_explains_more_is_taken(tmp_path: Path) -> None:
    """Two laboratories share headers; the profile that leaves fewer columns unexplained is meant."""
    head = 'kind = "job"\n[match]\nheaders = ["When", "Job"]\n[fields]\ndate = "When"\noperation = "Job"\n'
    (tmp_path / "a.toml").write_text(f'name = "a"\n{head}')
    (tmp_path / "b.toml").write_text(f'name = "b"\n{head}green = "Place"\n')
    (tmp_path / "c.toml").write_text(f'name = "c"\n{head}green = "Spot"\n')
    profiles = read_profiles(tmp_path)
    for headers, name in ((["when", "JOB", "Place"], "b"), (["When", "Job", "Spot"], "c"), (["When", "Job"], "a")):
        fits = [(fit(profile, headers), profile) for profile in profiles]
        taken, tied = called_for([(how_well, profile) for how_well, profile in fits if how_well])
        assert ([one.name for one in taken], tied) == ([name], ())
    assert fit(profiles[0], ["When"]) is None
    assert {"when", "job", "place", "spot", "date"} <= all_known_headers(profiles)


def test_kind_by_headers() -> None:
    """A file with a kind's own headers needs no profile; one that fits two kinds alike is asked about."""
    for headers, name in (
        (["club", "name"], "club"),
        (["day", "site", "task"], "job"),
        (["date", "green", "analyte", "result", "unit"], "soil_test"),
        (["date", "green", "seconds", "unit", "rink"], "green_speed"),
    ):
        kind = kind_of_headers(headers)
        assert kind is not None
        assert kind.name == name
    assert kind_of_headers(["a", "b"]) is None
    assert kind_of_headers([]) is None


def test_a_units_row_must_agree_with_the_profile(county: Load, workspace: Workspace) -> None:
    """Inches over a column that the profile calls millimetres is a fault of the file; without a word of the profile the
    row itself is believed."""
    head = 'name = "u"\nkind = "job"\n[match]\nheaders = ["When", "Deep"]\n[reading]\nunits_row = true\n'
    fields = '[fields]\ndate = "When"\ngreen = "Where"\noperation = "Job"\ndepth_mm = {}\n'
    sheet = "When,Where,Job,Deep\n,,,in\n2026-03-16,ALD-1,solid tining,3\n"
    path = workspace.profiles / "u.toml"
    path.write_text(head + fields.format('{ from = "Deep", unit = "mm" }'))
    wrong = county("u.csv", sheet)
    fault = wrong.faults.row(0, named=True)
    assert (fault["code"], fault["line"], fault["severity"]) == ("unit.differs", 2, "error")
    assert fault["message"] == "Column Deep: the units row says “in”, but “mm” is declared."
    path.write_text(head + fields.format('"Deep"'))
    right = county("u.csv", sheet)
    assert not right.failed, right.faults["message"].to_list()
    with Store(workspace.store, read_only=True) as store:
        assert store.rows("SELECT depth_mm FROM job") == [(pytest.approx(76.2),)]


@pytest.mark.parametrize(
    ("header", "field", "unit", "cell", "settled"),
    [
        ("Depth (in)", "depth_mm", "mm", "1", 25.4),
        ("Mins", "hours", "h", "90", 1.5),
        ("Time taken (min)", "hours", "h", "90", 1.5),
    ],
)
@beyond(1)
def test_the_columns_own_name_must_agree_with_the_profile(
    county: Load, workspace: Workspace, header: str, field: str, unit: str, cell: str, settled: float
) -> None:
    """``Depth (in)`` declared mm stored 1 in as 1 mm in silence; its own unit, or a factor, settles it."""
    profile = (
        f'name = "u"\nkind = "job"\n[match]\nheaders = ["When", "{header}"]\n[fields]\ndate = "When"\n'
        f'green = "Where"\noperation = "Job"\n{field} = {{{{ from = "{header}", {{}} }}}}\n'
    )
    sheet = f"When,Where,Job,{header}\n2026-03-16,ALD-1,solid tining,{cell}\n"
    said = {"Depth (in)": "in", "Mins": "Mins", "Time taken (min)": "min"}[header]
    path = workspace.profiles / "u.toml"
    path.write_text(profile.format(f'unit = "{unit}"'))
    wrong = county("u.csv", sheet)
    assert wrong.failed
    fault = wrong.faults.row(0, named=True)
    assert (fault["code"], fault["line"], fault["severity"]) == ("unit.header_differs", 1, "error")
    assert fault["message"] == f"Column {header}: its name says “{said}”, but the profile declares “{unit}”."
    path.write_text(profile.format("").replace(",  }", " }"))
    alone = county("u.csv", sheet).faults.row(0, named=True)
    assert alone["message"] == (
        f"Column {header}: its name says “{said}”, and the profile declares no unit: its figures would be taken for "
        f"{unit}."
    )
    factor = 25.4 if field == "depth_mm" else 1 / 60
    for way in (f'unit = "{unit}", factor = {factor}', f'unit = "{said}"'):
        path.write_text(profile.format(way))
        right = county("u.csv", sheet)
        assert not right.failed, right.faults["message"].to_list()
        with Store(workspace.store, read_only=True) as store:
            assert store.rows(f"SELECT {field} FROM job") == [(pytest.approx(settled),)]


@pytest.mark.parametrize(
    ("header", "declared", "said"),
    [
        ("Depth (in)", "mm", "in"),
        ("Lbs", "kg", "Lbs"),
        ("Rain (inches)", "mm", "inches"),
        ("OM (g/kg)", "%", "g/kg"),
        ("Mg (mg/l)", "mg/kg", "mg/l"),
        ("Tmax F", "°C", "F"),
        ("Moisture 0-60 mm", "%", ""),
        ("Thatch at 5 cm", "mm", ""),
        ("Sand (0-2 mm)", "cm", ""),
        ("K", "mg/kg", ""),
        ("Time in", "mm", ""),
        ("temp_min", "°C", ""),
        ("Total C", "%", ""),
    ],
)
def test_a_name_says_a_unit_only_of_the_declared_ones_sort(header: str, declared: str, said: str) -> None:
    """A substance, a layer's end or the word for a minimum refuses no file."""
    assert unit_against(header, declared) == said


def test_a_units_row_in_words_of_its_own_is_explained_by_the_profile(lab: Load, workspace: Workspace) -> None:
    """What no list knows refuses the file and says where it is explained; explained, it must still agree."""
    sheet = SHEET + ";;;;;PerHundred;milliPerKilo;\n1;10/02/2026;ALD;1;green;4,8;12;\n"
    path = workspace.profiles / "lab-b.toml"
    read = LAB + "[reading]\nunits_row = true\n[aliases.soil_unit]\nmilliperkilo = 'UNIT'\nPerHundred = '%'\n"
    path.write_text(LAB + "[reading]\nunits_row = true\n")
    wrong = lab("sheet.csv", sheet)
    faults = wrong.faults.filter(wrong.faults["code"] == "unit.differs")
    assert faults["value"].to_list() == ["PerHundred", "milliPerKilo"]
    assert faults["hint"][1].endswith(
        ", or write what “milliPerKilo” stands for into the source profile under [aliases.soil_unit]."
    )
    path.write_text(read.replace("UNIT", "g/kg"))
    wrong = lab("sheet.csv", sheet)
    assert wrong.faults["message"].to_list()[:1] == [
        "Column P: the units row says “milliPerKilo”, but “mg/kg” is declared."
    ]
    path.write_text(read.replace("UNIT", "mg/kg"))
    right = lab("sheet.csv", sheet)
    assert not right.failed, right.faults["message"].to_list()
    with Store(workspace.store, read_only=True) as store:
        stored = store.rows("SELECT analyte, value, unit FROM soil_test ORDER BY analyte")
    assert stored == [("organic_matter", 4.8, "%"), ("phosphorus", 12.0, "mg/kg")]


def test_a_named_profile_or_kind_is_used_as_named(lab: Load, workspace: Workspace) -> None:
    """--profile and --kind beat what the headers suggest."""
    result = lab("sheet.csv", SHEET + "1;10/02/2026;ALD;1;green;4,8;12;\n", profile="lab-b")
    assert (result.profile, result.counts.loaded) == ("lab-b", 2)
    forced = lab("clubs2.csv", "club,name\nBRA,Bravery\n", kind="club")
    assert (forced.profile, forced.kind, forced.counts.loaded) == ("", "club", 1)


def test_a_profile_found_only_once_the_file_is_read_its_way(county: Load, workspace: Workspace) -> None:
    """Where the header stands on a line of its own far down, the profile says so and is found by it."""
    (workspace.profiles / "deep.toml").write_text(
        'name = "deep"\nkind = "job"\n[match]\nheaders = ["W", "P", "J"]\n[reading]\nheader_line = 4\n'
        '[fields]\ndate = "W"\ngreen = "P"\noperation = "J"\n'
    )
    result = county("deep.csv", "a,b,c\n1,2,3\n4,5,6\nW,P,J\n2026-03-16,ALD-1,mowing\n")
    assert (result.profile, result.counts.loaded) == ("deep", 1)


def test_a_draft_with_several_columns_and_a_question_is_undecided(tmp_path: Path) -> None:
    """A date joined of two columns, with its join left open, ended in a traceback."""
    text = 'name = "a"\nkind = "job"\n[fields]\ndate = { from = ["Year", "Month"], join = "?" }\n'
    (tmp_path / "a.toml").write_text(text, "utf-8")
    assert read_profile(tmp_path / "a.toml").undecided == ("fields.date.join",)
