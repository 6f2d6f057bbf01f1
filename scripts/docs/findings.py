"""The rules of findings: what a rule may hold, and every shipped one."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.findings.findings import FOLDER, PLACES, Condition, Rule, rules
from scripts.docs import markdown as md
from scripts.docs.docstring import docstring_of

OPENING = f"""\
A condition survey ranks its findings. They are made by rules that are data, not code: conditions on figures, what that
may mean, what usually helps, in which months, at what cost to play, who says so. A workspace lays rules of its own over
the shipped ones in `{FOLDER}/*.toml`: a rule with a shipped id replaces it, `drop = true` takes it away.

```toml
[[rule]]
id = "moss"
all = [{{ indicator = "moss_pct", at_least = 10.0, beyond_doubt = true }}]
finding = "Moss covers {{value}}."
may_mean = "Shade from the hedge on the south side."
helps = "Light and air first."
months = [10, 11]
works = ["inspection"]
cost_to_play = "None."
weight = 2
source = "our own experience"
```

The text after `finding` may name {", ".join(f"`{{{name}}}`" for name in sorted(PLACES))} of the figure it is about.
Findings are ordered by weight, then those beyond doubt before those that may be chance, then by how far the target is
missed. A rule names no pesticide, no product and no rate: labels, local codes and licensed practice decide."""

PARTS = """\
## Parts of a rule"""
CONDITIONS = """\
## Parts of a condition"""
SHIPPED = """\
## Shipped rules"""


def page() -> str:
    """docs/findings.md."""
    headers = ("part", "what it says")
    rows = [(md.code(rule.id), _conditions(rule), str(rule.weight), rule.finding, rule.source) for rule in rules()]
    return md.page(
        "Findings",
        OPENING,
        PARTS,
        md.table(headers, _attributes(Rule)),
        CONDITIONS,
        md.table(headers, _attributes(Condition)),
        SHIPPED,
        md.table(("rule", "holds where", "weight", "finding", "source"), rows),
    )


def _attributes(model: type[Rule | Condition]) -> Iterator[tuple[str, str]]:
    for name, text in docstring_of(model).lists["Attributes"].items():
        yield md.code(name), text


def _conditions(rule: Rule) -> str:
    return " and ".join(_condition(one) for one in rule.all)


def _condition(one: Condition) -> str:
    parts = [md.code(one.indicator)]
    if one.band:
        parts.append(f"({one.band})")
    if one.standing:
        parts.append(f"is {one.standing} its target" if one.standing != "within" else "is within its target")
    if one.verdict:
        parts.append(f"has the verdict {one.verdict}")
    if one.at_least is not None:
        parts.append(f"is at least {one.at_least:g}")
    if one.at_most is not None:
        parts.append(f"is at most {one.at_most:g}")
    return " ".join(parts) + (", beyond doubt" if one.beyond_doubt else "")
