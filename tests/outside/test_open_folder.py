"""The whole folder of open data in one go: what each file is taken for, and what no kind of record fits.

Sources and licences of the single files: the tests beside this one, and the comments of the profiles.
"""

from __future__ import annotations

from dataclasses import asdict

import polars as pl

from pipeline.load.files import load_paths
from pipeline.load.found import SUFFIXES
from tests.conftest import TODAY
from tests.outside.conftest import OpenData
from tests.outside_checks import outside

PROFILE_OF = {
    "cations-soil.csv": "cations-soil",
    "lab-units-row.csv": "lab-units-row",
    "lab-wide-a.csv": "lab-wide",
    "lab-wide-b.csv": "lab-wide",
    "liming-trial-soil-issue1.csv": "liming-trial-soil",
    "liming-trial-soil-issue2.csv": "liming-trial-soil",
    "soil-survey-long.csv": "soil-survey-long",
    "soil-survey-wide.csv": "soil-survey-wide",
    "station-monthly-lowestoft.txt": "station-monthly-lowestoft",
    "station-monthly-oxford.txt": "station-monthly-oxford",
    "station-monthly-whitby.txt": "station-monthly-whitby",
    "station-us-daily.csv": "station-us-daily",
    "trial-sites-mixed-dates.csv": "trial-sites-mixed-dates",
    "turf-soil-samples-a.csv": "turf-soil-samples-a",
    "turf-soil-samples-b.csv": "turf-soil-samples-b",
    "turf-survey-2015.csv": "turf-survey-2015",
    "weather-monthly-flags.csv": "weather-monthly-flags",
}
NO_KIND = {
    "cations-detection-limits.csv",  # limits, which stand in the profile of the results
    "et0-reference-station.csv",  # year and day of year are no date here: test_open_evaporation.py joins them
    "liming-trial-soil-issue2-notes.csv",  # the meaning of note numbers
    "soil-blank-depth.csv",  # no profile
    "soil-plots.csv",  # no profile
    "station-date-parts.csv",  # no profile: the draft of one is tested
    "turf-trial-nitrogen.txt",  # scores without green and day
    "weather-30yr-means.csv",  # means of thirty years
}


@outside("open data", "every file of the folder of open data")
def test_each_file_finds_its_own_profile_or_is_refused(open_data: OpenData) -> None:
    """No profile takes another source's file, and every row of every file is accounted for."""
    here = {path.name for path in open_data.folder.iterdir() if path.suffix in SUFFIXES}
    assert here == set(PROFILE_OF) | NO_KIND
    open_data.register(["X-1"])  # what places are called matters to the tests of single files
    results = {one.file: one for one in load_paths(open_data.workspace, [open_data.folder], dry_run=True, today=TODAY)}
    assert {name: one.profile for name, one in results.items() if one.kind} == PROFILE_OF
    for name, one in results.items():
        counts = asdict(one.counts)
        assert counts.pop("rows") == sum(counts.values()) - counts["warnings"], name
        if name in NO_KIND:
            errors = one.faults.filter(pl.col("severity") == "error")
            assert errors["code"].to_list() == ["file.kind_unknown"], name
            assert one.counts.loaded == 0
