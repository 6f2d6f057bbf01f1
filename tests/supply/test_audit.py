"""What an audit says of a service that answers, answers in part, or cannot be reached."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from scripts.supply.audit import CLEAN, FOUND, NOT_ASKED, audits, lines_and_code

NAMES = ["alpha", "beta-two"]
CLEAR = {
    "dependencies": [{"name": "alpha", "version": "1", "vulns": []}, {"name": "beta_two", "version": "2", "vulns": []}]
}
FLAWED = {"dependencies": [{"name": "alpha", "version": "1", "vulns": [{"id": "X-1"}, {"id": "Y-2"}]},
                           {"name": "beta-two", "version": "2", "skip_reason": "not found"}]}  # fmt: skip


def said(**answers: Mapping[str, Any]) -> tuple[list[str], int]:
    found = list(audits(lambda service: answers.get(service, {}), NAMES))
    return lines_and_code(found, len(NAMES))


def test_a_service_that_cannot_be_reached_is_no_clean_bill() -> None:
    """pip-audit itself ends with 0 where the index knows none of the names: nothing was audited then."""
    skipped = {"dependencies": [{"name": name, "version": "1", "skip_reason": "not found"} for name in NAMES]}
    for answers in ({}, {"pypi": skipped, "osv": skipped}):
        lines, code = said(**answers)
        assert code == NOT_ASKED
        assert lines == [
            "Not audited: of 2 locked libraries none of them could be looked up (asked: pypi, osv). The service of "
            "vulnerabilities could not be reached, or does not know them. Run make audit where it can be reached."
        ]


def test_all_looked_up_and_nothing_known() -> None:
    assert said(pypi=CLEAR) == (["2 locked libraries looked up (pypi): no with a known vulnerability."], CLEAN)
    assert said(osv=CLEAR)[1] == CLEAN  # the second service answered of every library


def test_what_is_known_is_told_even_where_another_was_not_looked_up() -> None:
    lines, code = said(pypi=FLAWED)
    assert code == FOUND
    assert lines[0] == "Known vulnerability: alpha 1: X-1, Y-2"
    assert "all but beta-two could be looked up" in lines[1]
    lines, code = said(pypi=FLAWED, osv=CLEAR)
    assert (code, lines[-1]) == (FOUND, "2 locked libraries looked up (pypi, osv): 1 with a known vulnerability.")
