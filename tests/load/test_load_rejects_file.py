"""Rejected rows, mended in a spreadsheet, load; and small things of the workspace."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pytest

from pipeline.common.faults import FaultKind, catalogue, concat, kind_of, no_faults
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo
from pipeline.common.words import counted, listed, long_date
from pipeline.store.store import Store
from pipeline.workspace.settings import Settings, Workspace, make_workspace, open_workspace, rejects_name
from tests.conftest import Load

HEAD = "date,green,operation,note\n"


def rows_of(path: Path | None) -> list[list[str]]:
    assert path is not None
    assert path.read_bytes().startswith(b"\xef\xbb\xbf"), "a spreadsheet knows UTF-8 by its mark"
    return list(csv.reader(io.StringIO(path.read_text("utf-8-sig"))))


def test_rejected_rows_come_back_with_their_reasons_and_load_once_mended(county: Load, workspace: Workspace) -> None:
    """Only the rejected rows, as they stood, then line, code, message and hint; mended, the file loads as it is."""
    text = (
        HEAD + "2026-05-04,ALD-1,mowing,fine\n"
        '2026-05-05,ALD-1,moing,"two\nlines"\n2026-13-05,ALD-1,egding,=1+1\n2026-05-07,ALD-1\n'
    )
    result = county("log.csv", text)
    assert (result.counts.loaded, result.counts.rejected) == (1, 3)
    found = rows_of(result.rejects_file)
    assert found[0] == ["date", "green", "operation", "note", "line", "code", "message", "hint"]
    assert [row[4] for row in found[1:]] == ["3", "5", "6"]
    assert found[1][:4] == ["2026-05-05", "ALD-1", "moing", "two\nlines"]
    assert found[1][5] == "choice.unknown"
    assert found[1][6] == "operation: “moing” is not a known operation; closest: mowing, coring, liming."
    assert found[2][3] == "'=1+1", "text that a spreadsheet would run is made harmless"
    assert len(found[2][5].split(" · ")) == 2, "both faults of the row are told"
    assert found[3][:4] == ["2026-05-07", "ALD-1", "", ""]
    assert found[3][5]
    assert result.rejects_file is not None
    mended = result.rejects_file.read_text("utf-8-sig").replace("ALD-1,moing", "ALD-1,mowing")
    mended = mended.replace("2026-13-05,ALD-1,egding", "2026-05-06,ALD-1,edging")
    mended = mended.replace("2026-05-07,ALD-1,,", "2026-05-07,ALD-1,brushing,")
    again = county("log.rejected.csv", mended)
    assert (again.counts.rows, again.counts.loaded, again.counts.rejected) == (3, 3, 0)
    with Store(workspace.store, read_only=True) as store:
        notes = store.rows("SELECT note FROM job ORDER BY date")
    assert notes == [("fine",), ("two lines",), ("=1+1",), (None,)]


def test_rows_not_mended_go_to_another_file(county: Load) -> None:
    """The file a person is mending may not be written over while they mend it."""
    first = county("log.csv", HEAD + "2026-05-05,ALD-1,moing,\n2026-05-06,ALD-1,brushng,\n")
    assert first.rejects_file is not None
    second = county("log.rejected.csv", first.rejects_file.read_text("utf-8-sig").replace("brushng", "brushing"))
    assert second.rejects_file is not None
    assert second.rejects_file.name == "log.rejected-again.csv"
    assert rows_of(second.rejects_file)[0].count("message") == 1
    assert rows_of(second.rejects_file)[1][4] == "2", "the line it had in the log itself"
    assert rejects_name("north/log.xlsx") == "north_log.xlsx.rejected.csv"
    assert rejects_name("log.rejected-again.csv") == "log.rejected-again-again.csv"


def test_a_row_rejected_for_its_number_of_cells_says_so(county: Load) -> None:
    """A row with a cell too many is rejected with what stands in it."""
    result = county("log.csv", HEAD + "2026-05-05,ALD-1,mowing,dry, windy,3,4\n")
    found = rows_of(result.rejects_file)
    assert found[1][:4] == ["2026-05-05", "ALD-1", "mowing", "dry"]
    assert result.counts.rejected == 1


def test_seasons_by_their_start() -> None:
    """Twelve months named by the year they end in; from 1 January the year itself."""
    autumn, new_year = Workspace(Path(), Settings()), Workspace(Path(), Settings(season_start="01-01"))
    for space, day, name, start, end in (
        (autumn, date(2025, 10, 1), "2026", date(2025, 10, 1), date(2026, 9, 30)),
        (autumn, date(2025, 9, 30), "2025", date(2024, 10, 1), date(2025, 9, 30)),
        (new_year, date(2026, 1, 1), "2026", date(2026, 1, 1), date(2026, 12, 31)),
        (new_year, date(2024, 12, 31), "2024", date(2024, 1, 1), date(2024, 12, 31)),
    ):
        found = space.season_of(day)
        assert (found.name, found.start, found.end) == (name, start, end)
        assert space.season(name) == found
    for wrong in ("26", "two thousand", "0000", "0001", "9999", "²⁰²⁶", "", "2026.0"):
        with pytest.raises(CannotDo, match="is not a season"):
            autumn.season(wrong)


def test_settings_are_what_the_file_says(tmp_path: Path) -> None:
    """Every line of the file init writes may be left out: the values in it are those in force."""
    make_workspace(tmp_path)
    space = open_workspace(tmp_path)
    assert space.settings == Settings()
    assert space.store == tmp_path / "store.duckdb"
    (tmp_path / "settings.toml").write_text('store = "deep/x.duckdb"\nbulk_density_t_m3 = 1.6\n')
    assert open_workspace(tmp_path).store == tmp_path / "deep" / "x.duckdb"
    assert make_workspace(tmp_path) == []


def test_words() -> None:
    assert long_date(date(2026, 3, 5)) == "5 March 2026"
    assert [listed(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert (counted(1, "job"), counted(1200, "job"), counted(2, "visit of", "visits of")) == (
        "1 job", "1,200 jobs", "2 visits of",
    )  # fmt: skip


def test_progress_shows_a_bar_only_where_somebody_watches(capsys: pytest.CaptureFixture[str]) -> None:
    """The items come through either way; the bar goes to standard error."""
    assert list(SILENT.over([1, 2], 2, "Loading")) == [1, 2]
    assert list(Progress(shown=True).over(iter("ab"), 2, "Loading")) == ["a", "b"]
    assert capsys.readouterr().out == ""


def test_faults_are_data() -> None:
    """A code names one kind; a message is filled for each row; faults of the whole file come first."""
    kinds = list(catalogue())
    assert [kind.code for kind in kinds] == sorted(kind.code for kind in kinds)
    assert all(kind_of(kind.code) is kind and kind.hint and kind.title for kind in kinds)
    with pytest.raises(AssertionError, match="defined twice"):
        FaultKind(kinds[0].code, "", "", "")
    missing = kind_of("value.missing")
    late, early = missing.at(7, None, "green", kind="job"), missing.at(2, None, "date", kind="job")
    whole = kind_of("header.unused").at(columns="“a”")
    merged = concat([late, no_faults(), early, whole])
    assert merged["line"].to_list() == [None, 2, 7]
    assert merged["message"].to_list() == ["Not used: “a”.", "date is blank.", "green is blank."]
    long = kind_of("choice.unknown").at(
        2, "x" * 500, "op", what="operation", what_key="operation", closest="", allowed=""
    )
    assert long["message"][0] == f"op: “{'x' * 120}” is not a known operation."
    assert concat([]).height == 0
    assert missing.rows([(2, None), (3, "a")], "green", kind="job")["line"].to_list() == [2, 3]
