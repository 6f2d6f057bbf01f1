"""A label whose column or cell names oxides where its basis says elements, or the other way round."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

import polars as pl

from pipeline.common.faults import FaultKind, concat

BASIS_DIFFERS = FaultKind(
    "label.basis",
    "Basis of a label against the words beside it",
    "“{value}” stands for {said}, and analysis_basis of the row says “{basis}”.",
    "Look at the label whether its figures are oxides (P2O5, K2O, MgO, CaO, SO3) or elements; mend analysis_basis, "
    "or the column's name.",
)
_PARTS = ("p_pct", "k_pct", "mg_pct", "ca_pct", "s_pct")
_OXIDE = re.compile(r"p2o5|k2o|mgo|cao|so3|phosphate|potash|oxide", re.IGNORECASE)
_ELEMENT = re.compile(r"\belement(?:al|s)?\b", re.IGNORECASE)


def contradictions(records: pl.DataFrame, names: Mapping[str, str], written: Mapping[str, pl.Series]) -> pl.DataFrame:
    """The faults of labels whose words and basis disagree.

    Args:
        records: materials, typed.
        names: field → the column a person sees.
        written: cells as written, by field.
    """
    faults = []
    for name in _PARTS:
        said = _said(names.get(name, ""))
        if said and names.get(name) != names.get("analysis"):
            odd = records.filter(pl.col(name).is_not_null() & (pl.col("analysis_basis") == _AGAINST[said]))
            faults.append(BASIS_DIFFERS.of(odd, name, pl.lit(names[name]), said=said, basis=_AGAINST[said]))
    for text in written["analysis"].drop_nulls().unique(maintain_order=True) if "analysis" in written else ():
        if said := _said(text):
            same = (written["analysis"] == text).fill_null(value=False)
            odd = records.filter(same & (records["analysis_basis"] == _AGAINST[said]).fill_null(value=False))
            column = names.get("analysis", "analysis")
            faults.append(BASIS_DIFFERS.of(odd, column, pl.lit(text), said=said, basis=_AGAINST[said]))
    return concat(faults)


_AGAINST = {"oxides": "element", "elements": "oxide"}


def _said(text: str) -> str:
    """What a text says of its figures, "" where it says neither or both."""
    plain = unicodedata.normalize("NFKC", text)
    oxide, element = bool(_OXIDE.search(plain)), bool(_ELEMENT.search(plain))
    return "" if oxide == element else "oxides" if oxide else "elements"
