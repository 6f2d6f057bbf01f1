"""Findings of condition surveys and reports: rules as data, held against a green's figures.

A rule says which figures it looks at, what that may mean, what usually helps, when, and at what cost to play. The
shipped ones are in rules.toml; a workspace adds its own, replaces one by its id, or drops one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path
from string import Formatter
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from pipeline.common.closest import offered
from pipeline.common.grouped import grouped
from pipeline.common.misfits import misfits
from pipeline.common.refusal import CannotDo
from pipeline.common.toml import read_toml, text_of, toml_files
from pipeline.indicators.base.bands import bands_of
from pipeline.indicators.base.green_season import Change, Indicator
from pipeline.indicators.base.judgement import doubt, doubtful, judgement, miss
from pipeline.indicators.families import DESCRIBED
from schemas.codes import code_list

SHIPPED = Path(__file__).parent / "rules.toml"
FOLDER = "findings"
"""Folder of a workspace with rules of its own (*.toml)."""
PLACES = frozenset({"label", "band", "value", "target", "standing"})
"""What a rule's text may name of its figure, in braces."""

Weight = Literal[1, 2, 3, 4, 5]


class Condition(BaseModel):
    """What one figure has to show; every part that is given must hold.

    Attributes:
        indicator: machine name of the figure.
        band: pattern its band must fit, with * and ?; "" fits any.
        standing: where it stands against its target; a figure known too roughly to say stands nowhere.
        verdict: the verdict on a change over time.
        at_least: lowest value, in the figure's unit.
        at_most: highest value.
        beyond_doubt: True asks that the whole interval shows it; a figure without interval then does not, nor does a
            change over time whose verdict is no clear change, nor a figure that rests on an entry to be checked.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    indicator: str
    band: str = ""
    standing: Literal["below", "above", "within", ""] = ""
    verdict: Change | Literal[""] = ""
    at_least: float | None = None
    at_most: float | None = None
    beyond_doubt: bool = False

    @field_validator("indicator")
    @classmethod
    def _is_described(cls, value: str) -> str:
        if value not in DESCRIBED:
            raise ValueError(f"there is no indicator {value!r}{offered(value, DESCRIBED)}")
        return value

    @model_validator(mode="after")
    def _band_may_fit(self) -> Condition:
        what = DESCRIBED[self.indicator]
        if self.band and not what.band:
            raise ValueError(f"{self.indicator} has no bands, and the condition asks for {self.band!r}")
        known = bands_of(what.band)
        first = self.band.split(", ")[0]  # the rest of a band is the depth
        if first and known and not any(fnmatchcase(one, first) for one in known):
            raise ValueError(f"{self.indicator} has no band like {self.band!r}{offered(self.band, known)}")
        return self

    @model_validator(mode="after")
    def _asks_something(self) -> Condition:
        if not self.standing and not self.verdict and self.at_least is None and self.at_most is None:
            raise ValueError("a condition needs standing, verdict, at_least or at_most")
        if self.beyond_doubt and self.standing == "within":
            raise ValueError("beyond_doubt goes with below, above, at_least or at_most")
        return self

    def holds(self, one: Indicator) -> bool:
        """Whether a figure shows it."""
        if one.name != self.indicator or one.value is None or (self.band and not fnmatchcase(one.band, self.band)):
            return False
        if self.standing and (one.standing != self.standing or judgement(one) == "too few to say"):
            return False
        if self.verdict and (one.verdict is None or one.verdict.word != self.verdict):
            return False
        lowest, highest = one.value, one.value
        if self.beyond_doubt:
            if (
                one.low is None
                or one.high is None
                or one.questioned
                or doubtful(one)
                or (one.verdict and not one.verdict.clear)
            ):
                return False
            lowest, highest = one.low, one.high
        return (self.at_least is None or lowest >= self.at_least) and (self.at_most is None or highest <= self.at_most)


class Rule(BaseModel):
    """One rule.

    Attributes:
        id: its name; a workspace replaces a shipped rule by it.
        all: conditions that must all hold; the figures of the first are what the finding is about.
        finding: what is found, with {label}, {band}, {value}, {target} and {standing} of each figure.
        may_mean: what it may mean.
        lead: the finding in a few words, as the first page of a condition report begins with it; names figures as
            ``finding`` does. "" where there is none: ``finding`` stands there.
        for_play: what it means for play or grass, one plain sentence for the same page; "" for ``may_mean``.
        verdict: two to five words on what is to be done, for the verdict of that page; "" for none.
        untrue: whether bowls run untrue over what is found: that page does not say of such a green that it plays well.
        helps: what usually helps.
        months: months in which that is done, 1 to 12; empty where any will do.
        works: operations it asks for, as in the job log.
        less: whether it asks for less of them: the first page of a report then says so beside them.
        cost_to_play: what play pays for it.
        caution: what to look out for; "" for nothing special.
        weight: consequence for the green if nothing is done, 1 (slight) to 5 (play in danger).
        topic: what it belongs to: a survey tells findings of one topic as one; "" for a finding by itself.
        source: who says so, or "common practice, no source"; {source} is who set the targets of its figures.
        drop: True takes a shipped rule of that id away.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    all: tuple[Condition, ...] = ()
    finding: str = ""
    may_mean: str = ""
    lead: str = Field(default="", max_length=60)
    for_play: str = Field(default="", max_length=80)
    verdict: str = Field(default="", max_length=40)
    untrue: bool = False
    helps: str = ""
    months: tuple[int, ...] = ()
    works: tuple[str, ...] = ()
    less: bool = False
    cost_to_play: str = ""
    caution: str = ""
    weight: Weight = 3
    topic: str = Field(default="", max_length=40)
    source: str = ""
    drop: bool = False

    @field_validator("months")
    @classmethod
    def _are_months(cls, value: tuple[int, ...]) -> tuple[int, ...]:
        if any(not 1 <= month <= 12 for month in value):
            raise ValueError("months are 1 to 12")
        return value

    @field_validator("works")
    @classmethod
    def _are_operations(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for name in value:
            if name not in code_list("operation"):
                raise ValueError(
                    f"there is no operation {name!r}{offered(name, code_list('operation'))}; docs/codes.md lists them"
                )
        return value

    @field_validator("finding", "lead")
    @classmethod
    def _names_what_there_is(cls, value: str) -> str:
        for _, name, form, turned in Formatter().parse(value):
            if name is not None and (name not in PLACES or form or turned):
                raise ValueError(f"{{{name}}} is not one of {', '.join(sorted(PLACES))}, as they stand")
        return value

    @model_validator(mode="after")
    def _is_whole(self) -> Rule:
        if not self.drop:
            missing = [name for name in ("all", "finding", "may_mean", "helps", "source") if not getattr(self, name)]
            if missing:
                raise ValueError(f"it lacks {', '.join(missing)}")
        return self


class _File(BaseModel):
    """A file of rules."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    rule: tuple[Rule, ...] = ()


@dataclass(frozen=True)
class Finding:
    """A rule that holds, with the figures that make it hold.

    Attributes:
        rule: the rule.
        figures: the figures it is about, farthest from their target first; then those with an interval, of many
            readings.
        beside: figures of its further conditions.
        doubtful: True where every figure is close to a limit of its target, so that it may be chance.
    """

    rule: Rule
    figures: tuple[Indicator, ...]
    beside: tuple[Indicator, ...]
    doubtful: bool


def rules(folder: Path | None = None) -> tuple[Rule, ...]:
    """The shipped rules with those of a workspace's folder laid over them, by id.

    Raises:
        CannotDo: a file is not readable TOML, or a rule in it does not fit.
    """
    found: dict[str, Rule] = {rule.id: rule for rule in _read(SHIPPED)}
    for path in toml_files(folder) if folder else ():
        for rule in _read(path):
            if rule.drop and rule.id not in found:
                raise CannotDo(
                    f"{path.name} drops the rule {rule.id!r}, and there is none{offered(rule.id, found)}.",
                    "docs/findings.md lists the shipped rules by their ids.",
                )
            found.pop(rule.id, None)
            if not rule.drop:
                found[rule.id] = rule
    return tuple(found.values())


def _read(path: Path) -> tuple[Rule, ...]:
    try:
        return _File.model_validate(read_toml(path)).rule
    except ValidationError as error:
        hint = "docs/findings.md says what a rule may hold."
        raise CannotDo(f"{path.name} does not fit: {misfits(error, 'rule', _File, text_of(path))}", hint) from None


def findings(figures: Sequence[Indicator], held: Sequence[Rule]) -> tuple[Finding, ...]:
    """The rules that hold, gravest first: by weight, then those beyond doubt, then by how far the target is missed."""
    by_name = grouped(figures, lambda one: one.name)
    found = [finding for rule in held if (finding := _finding(rule, by_name))]
    return tuple(sorted(found, key=lambda f: (-f.rule.weight, f.doubtful, -miss(f.figures[0]), f.rule.id)))


def _finding(rule: Rule, by_name: Mapping[str, Sequence[Indicator]]) -> Finding | None:
    each = [tuple(_showing(condition, by_name)) for condition in rule.all]
    if not all(each):
        return None
    about = tuple(sorted(each[0], key=lambda one: (-miss(one), one.low is None, -one.n)))
    return Finding(
        rule, about, tuple(one for found in each[1:] for one in found), all(doubt(one) != "none" for one in about)
    )


def _showing(condition: Condition, by_name: Mapping[str, Sequence[Indicator]]) -> Iterator[Indicator]:
    yield from (one for one in by_name.get(condition.indicator, ()) if condition.holds(one))
