"""A field is described once: every limit, list and need in schemas/ holds, and everything made from it agrees."""

from __future__ import annotations

import csv
import io
import math
from datetime import date
from typing import Any

import polars as pl
import pytest

from pipeline.common.faults import no_faults
from pipeline.standardise.frame import Standard
from pipeline.store.register import Register
from pipeline.validate.validate import Checked, validate
from schemas import KINDS, Kind
from schemas.codes import code_list, fold, spellings
from schemas.field import MONEY_DECIMALS, Field
from tests.records import sound

TODAY = date(2026, 11, 1)
FIELDS = [(kind, field) for kind in KINDS.values() for field in kind.stored]


def register() -> Register:
    """One club, green and material, all of them called X-1."""
    return Register(
        *(
            pl.DataFrame([sound(KINDS[name]) | {name: "X-1"}], schema=KINDS[name].frame_schema)
            for name in ("club", "green", "material")
        )
    )


def checked(kind: Kind, *rows: dict[str, Any]) -> Checked:
    """What validation says of these records, the first of which stands on line 2."""
    frame = pl.DataFrame(list(rows), schema=kind.frame_schema)
    frame = frame.with_columns(
        pl.int_range(2, 2 + pl.len(), dtype=pl.Int64).alias("line"),
        pl.int_range(pl.len(), dtype=pl.Int64).alias("record"),
        pl.lit(None, dtype=pl.String).alias("cell"),
        pl.lit(None, dtype=pl.String).alias("written"),
    )
    ignored = pl.DataFrame(schema={"line": pl.Int64, "reason": pl.String})
    standard = Standard(kind, frame, pl.Series([], dtype=pl.Int64), no_faults(), ignored)
    return validate(standard, register(), TODAY)


def just_past(field: Field) -> list[float]:
    """For each limit of a field a value that only just breaks it."""
    step = {"whole": 1, "money": 10**-MONEY_DECIMALS}.get(field.type, 0)
    bad = [field.above] if field.above is not None else []
    if field.low is not None:
        bad.append(field.low - step if step else math.nextafter(field.low, -math.inf))
    if field.high is not None:
        bad.append(field.high + (step or max(field.high * 1e-6, 1e-6)))
    return bad


def wrong(kind: Kind) -> list[tuple[Field, object, str, str]]:
    """Every constraint of a kind: field, a value that must fail, code and message of the fault."""
    found: list[tuple[Field, object, str, str]] = []
    for field in kind.stored:
        for bad in just_past(field):
            found.append((field, bad, "value.limits", f" is not possible ({field.limits})."))
        if field.required:
            found.append((field, None, "value.missing", f"{field.name} is blank."))
        if field.choices:
            message = f"{field.name}: no such word is not possible (one of the words in {field.choices})."
            found.append((field, "no such word", "value.limits", message))
    return found


def test_a_sound_record_of_every_kind_passes() -> None:
    """The tests below mean something only if the record beside the bad value is let through."""
    for kind in KINDS.values():
        found = checked(kind, sound(kind))
        assert found.accepted.height == 1, found.faults
        told = found.faults.filter(pl.col("code") != "level.few")  # one point alone is no survey
        assert not told.height, found.faults


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_constraint_rejects_the_value_that_breaks_it(kind: Kind) -> None:
    """A limit, list or need that pandera does not check would let impossible records into the store; each is told
    with its line, its column and the limit it breaks, and a sound record beside them all comes through."""
    cases = wrong(kind)
    found = checked(kind, sound(kind), *(sound(kind) | {field.name: bad} for field, bad, _, _ in cases))
    assert found.accepted["line"].to_list() == [2]
    assert found.rejected["line"].to_list() == list(range(3, 3 + len(cases)))
    told = found.faults.filter(pl.col("severity") == "error").select("line", "column", "code", "message", "hint").rows()
    assert [one[0] for one in told] == list(range(3, 3 + len(cases))), "one fault a line, in the order of the lines"
    for (field, bad, code, message), (_, column, told_code, told_message, hint) in zip(cases, told, strict=True):
        assert (column, told_code) == (field.name, code), (field.name, bad)
        assert told_message.startswith(f"{field.name}")
        assert told_message.endswith(message), (field.name, bad)
        if code == "value.limits":
            assert hint == f"Check the figure and its unit ({field.name} is kept in {field.unit or 'its own number'})."
        else:
            assert hint == f"Fill it in; a {kind.name.replace('_', ' ')} cannot be kept without it."


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_values_on_their_limits_pass_the_schema(kind: Kind) -> None:
    """A limit is itself possible: 0 kg, 100 %, a green of 20,000 m²."""
    rows = [sound(kind) | {f.name: end} for f in kind.stored for end in (f.low, f.high) if end is not None]
    if rows:
        frame = pl.DataFrame(rows, schema=kind.frame_schema, strict=False).with_columns(
            pl.lit(2, dtype=pl.Int64).alias("line")
        )
        kind.pandera.validate(frame, lazy=True)


def test_several_bad_values_of_several_lines_are_all_named() -> None:
    """Validation that stops at the first fault makes a person load a file as often as it has faults."""
    kind = KINDS["job"]
    rows = [sound(kind) | {"depth_mm": -1.0, "hours": 501.0}, sound(kind), sound(kind) | {"people": 0}]
    found = checked(kind, *rows)
    named = found.faults.select("line", "column").rows()
    assert sorted(named) == [(2, "depth_mm"), (2, "hours"), (4, "people")]
    assert found.accepted["line"].to_list() == [3]


def test_the_schema_refuses_a_line_below_one_and_a_column_too_many() -> None:
    """What only our own code can cause is held too: a lost line number, a field nobody described."""
    from pandera.errors import SchemaErrors

    kind = KINDS["club"]
    frame = pl.DataFrame([sound(kind)], schema=kind.frame_schema)
    for wrong in (frame.with_columns(line=pl.lit(0, pl.Int64)), frame.with_columns(line=pl.lit(1, pl.Int64), more=1)):
        with pytest.raises(SchemaErrors):
            kind.pandera.validate(wrong, lazy=True)


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_everything_made_from_a_kind_agrees(kind: Kind) -> None:
    """Template, store columns and frame come from one description; a field missing in one of them would be lost."""
    header = next(csv.reader(io.StringIO(kind.template())))
    assert header == [field.name for field in kind.fields if field.type != "image"]
    columns = {name: (declared, comment) for name, declared, comment in kind.store_columns()}
    for field in kind.stored:
        declared, comment = columns[field.name]
        assert declared == field.store_type + (" NOT NULL" if field.required else "")
        assert comment.startswith(field.meaning)
        assert not field.unit or f"Unit: {field.unit}." in comment
        assert not field.limits or f"Limits: {field.limits}." in comment
    for field in kind.fields:
        assert field.stored or set(field.fills) <= set(kind.frame_schema), f"{field.name} fills a field that is not"
        assert not field.refers or field.refers in KINDS
    assert set(kind.order) | set(kind.figured) <= set(kind.frame_schema)
    assert set(kind.often_constant) <= set(kind.by_name)
    assert kind.register or kind.ahead or kind.dated, "a fact is of a day"
    assert not (kind.ahead and (kind.dated or kind.attached)), "what is to come is no record of a day"
    of_one = {"green", "station"} & set(kind.by_name)
    assert kind.register or kind.ahead or of_one, "a fact is of a green, or of a weather station"
    assert kind.key
    assert not kind.value_field or kind.value_field in kind.by_name


def test_no_header_stands_for_two_fields_of_a_kind() -> None:
    """A header known for two fields would send a column to whichever came first."""
    for kind in KINDS.values():
        seen: dict[str, str] = {}
        for field in kind.fields:
            for name in {fold(word) for word in (field.name, *field.also)}:
                assert seen.setdefault(name, field.name) == field.name, f"{kind.name}: {name}"


def test_limits_in_words() -> None:
    """The message of a rejected figure is only as good as the limit it names."""
    assert Field("x", "number", "", unit="mm", above=0, high=500).limits == "more than 0 and at most 500 mm"
    assert Field("x", "number", "", low=-1).limits == "at least -1"
    assert Field("x", "text", "", unit="mm").limits == ""


@pytest.mark.parametrize("name", sorted({f.choices for _, f in FIELDS if f.choices}))
def test_every_spelling_leads_to_one_word(name: str) -> None:
    """A spelling that stands for two words would be read as either."""
    known = spellings(name)
    for code in code_list(name).values():
        for spelling in (code.name, code.label, *code.also):
            assert known[fold(spelling)] == code.name


def test_a_list_with_one_spelling_for_two_words_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The guard itself can fail: a slip in a list stops the first use of it."""
    from schemas import codes

    twice = {"on": codes.Code("on", "On", ("yes",)), "off": codes.Code("off", "Off", ("Yes",))}
    with pytest.raises(AssertionError, match="stands for two words"):
        codes._assert_unambiguous("verdure", twice)
    assert fold("  Top-Dressing_now ") == "top dressing now"
