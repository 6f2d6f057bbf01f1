"""VAT and depots in a workspace's settings: what is not answered is not 0, and what cannot be meant is told."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from pipeline.common.refusal import CannotDo
from pipeline.workspace.settings import SETTINGS, Settings, open_workspace


def opened(folder: Path, text: str) -> Settings:
    """The settings that a file of this text is read as."""
    (folder / SETTINGS).write_text(text, "utf-8")
    return open_workspace(folder).settings


@pytest.mark.parametrize(("said", "vat"), [("20", "20"), ("17.5", "17.5"), ("0", "0"), ("0.1", "0.1")])
def test_vat_is_the_decimal_that_is_written(tmp_path: Path, said: str, vat: str) -> None:
    """0.1 % as a binary fraction is not a thousandth; 0 is an answer."""
    assert opened(tmp_path, f"vat_pct = {said}\nprices_with_vat = true\n").vat_pct == Decimal(vat)


def test_where_nobody_answered_there_is_no_vat_said(tmp_path: Path) -> None:
    """A quotation at 0 % that should have had 20 costs a fifth."""
    settings = opened(tmp_path, "")
    assert (settings.vat_pct, settings.prices_with_vat, settings.depots) == ("not answered", False, ())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("vat_pct = 200", 'vat_pct: 200 is neither a percentage from 0 to 100 nor "not answered"'),
        ("vat_pct = true", 'vat_pct: True is neither a percentage from 0 to 100 nor "not answered"'),
        ('vat_pct = "20%"', "vat_pct: '20%' is neither a percentage from 0 to 100 nor \"not answered\""),
        ("price_valid_days = 0", 'price_valid_days: 0 is neither 1 to 730 days nor "not stated"'),
        ("price_valid_days = true", 'price_valid_days: True is neither 1 to 730 days nor "not stated"'),
        ('price_valid_days = "a month"', "price_valid_days: 'a month' is neither 1 to 730 days nor \"not stated\""),
        ("prices_with_vat = true", "prices_with_vat is true, and vat_pct does not say how much VAT that is"),
        ('depots = ["yard", "Yard"]', "depots: each depot needs a name of its own, and these are 'yard', 'Yard'"),
        ('depots = ["yard", " "]', "depots: each depot needs a name of its own, and these are 'yard', ' '"),
    ],
)
def test_what_cannot_be_meant_is_told(tmp_path: Path, text: str, said: str) -> None:
    """The key, and what is wrong with it."""
    with pytest.raises(CannotDo) as caught:
        opened(tmp_path, f"{text}\n")
    assert said in caught.value.message + caught.value.hint
