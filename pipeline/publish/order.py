"""The order as a command: from the store to the files for suppliers, office and van, and for the stock."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.common.closest import as_known
from pipeline.common.file_names import file_stem
from pipeline.common.grouped import grouped
from pipeline.common.progress import SILENT, Progress
from pipeline.common.refusal import CannotDo, WrongUsage
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base.green_records import green_records
from pipeline.indicators.base.programmes import season_on
from pipeline.indicators.base.records import read_records
from pipeline.plan.due import season_due
from pipeline.plan.from_targets import Feed
from pipeline.plan.market import prices, prices_on, stock_on
from pipeline.plan.matching import matched
from pipeline.plan.ordering.goods import (
    Registered,
    counted_stock,
    later_prices,
    later_stock,
    materials_on,
    offers_of,
    priced_by_the_register,
    with_known_stock,
)
from pipeline.plan.ordering.open_works import Wanted, of_lines
from pipeline.plan.ordering.placed import PackOf, PlacedOrder, ToGreen, nothing_asked
from pipeline.plan.ordering.places import Places, places
from pipeline.plan.ordering.targets import Planless, of_targets, planless
from pipeline.plan.purchase.order import order
from pipeline.plan.purchase.parts import Question, said
from pipeline.plan.read import done_works, planned_works, without_green
from pipeline.plan.works import Planned as PlannedWork
from pipeline.publish.branding import house_style_of
from pipeline.publish.writer import Planned, Written, write_documents
from pipeline.store.last_day import last_day
from pipeline.store.store import Store
from pipeline.workspace.settings import Season, Workspace

EDITED = "stands there with other content, perhaps edited; move it away, or write over it with --force"
FORMER = "is of another order; move it away first, so that it is not sent by mistake, or write beside it with --force"
