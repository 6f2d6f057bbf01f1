"""The MLSN guideline re-made from its open data (CC0): 16,163 soil tests down to five figures."""

from pathlib import Path

import polars as pl
import pytest
from scipy.stats import fisk

from pipeline.agronomy.soil.reference import guideline
from tests.outside_checks import outside

COLUMNS = ["pH", "TECM3", "KM3", "PM3", "CaM3", "MgM3", "SM3"]
FITS = {
    "K": (73.48, 3.204, 37.0, 3679),
    "P": (55.07, 2.234, 20.6, 3683),
    "Ca": (548.1, 4.849, 348.4, 3683),
    "Mg": (83.17, 3.830, 46.9, 3683),
    "S": (19.37, 2.300, 7.4, 3682),
}


def _read(path: Path) -> pl.DataFrame:
    """The two layouts as they come: one has bare carriage returns for line ends."""
    text = path.read_bytes().replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    frame = pl.read_csv(text, infer_schema=False, null_values=["NA", ""])
    return frame.select(pl.col(COLUMNS).cast(pl.Float64))


@pytest.fixture
def samples(outside_data: Path) -> list[pl.DataFrame]:
    return [_read(outside_data / f"turf-soil-samples-{part}.csv") for part in ("a", "b")]


@pytest.fixture
def kept(samples: list[pl.DataFrame]) -> list[pl.DataFrame]:
    return [part.filter(pl.col("pH").is_between(5.5, 8.5) & (pl.col("TECM3") <= 6)) for part in samples]


@outside("open data", "MLSN soil data (CC0), 2016_mlsn_paper")
def test_5_6_the_published_filter_keeps_the_published_number(samples, kept):
    assert [part.height for part in samples] == [13_062, 3_101]
    assert [part.height for part in kept] == [2_209, 1_474]


@outside("open data", "MLSN soil data (CC0) fitted by scipy.stats.fisk, MLSN paper 2016")
@pytest.mark.parametrize("element", FITS, ids=lambda e: f"5.6 {e} (published: MLSN paper 2016)")
def test_5_6_the_fit_gives_the_guideline(kept, element):
    """One in ten well-performing soils lies below the guideline (MLSN paper 2016), by scipy's log-logistic fit."""
    scale, shape, quantile, n = FITS[element]
    values = pl.concat(kept)[f"{element}M3"].drop_nulls().to_list()
    assert len(values) == n
    fit_shape, _, fit_scale = fisk.fit(values, floc=0)
    assert fit_scale == pytest.approx(scale, rel=0.001)
    assert fit_shape == pytest.approx(shape, rel=0.001)
    level = fisk.ppf(0.1, fit_shape, scale=fit_scale)
    assert level == pytest.approx(quantile, abs=0.05)
    assert round(level) == guideline("mlsn", "2016")[element]
