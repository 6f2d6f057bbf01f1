"""What planned works still ask for: the open part of each line of a programme, laid beside the log, as a need.

Nothing that was done is ordered again: a line asks for what is missing of it. What may have been done, by a job without
an amount, a material or a certain day, is stopped with that reason, neither ordered nor left out in silence. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.common.grouped import grouped
from pipeline.common.words import counted, listed, long_date
from pipeline.indicators.base.green_season import Evidence
from pipeline.plan.lines import Line
from pipeline.plan.purchase.parts import Need, Question, Stopped, Unit
from pipeline.plan.rates import exact
from pipeline.plan.works import Planned, given_up_words
from schemas.codes import code_list

PUT_ON = frozenset({"top_dressing", "overseeding", "fertilising", "liming", "wetting_agent", "moss_treatment"})
"""Operations that put something on the green: a line of them without a material is asked about, not passed over."""
PESTICIDES = "plant_protection"
NAMED = 5
"""Greens that a question names one by one."""


@dataclass(frozen=True)
class Wanted:
    """What is asked for, and what was met on the way.

    Attributes:
        needs: what greens are to get.
        stopped: what is not ordered whatever it would cost.
        questions: what to look at before the order goes out.
        over: lines that were not done in a season that is over: nothing is ordered for them.
    """

    needs: tuple[Need, ...] = ()
    stopped: tuple[Stopped, ...] = ()
    questions: tuple[Question, ...] = ()
    over: int = 0

    def and_also(self, other: Wanted) -> Wanted:
        """Both."""
        return Wanted(
            self.needs + other.needs,
            self.stopped + other.stopped,
            self.questions + other.questions,
            self.over + other.over,
        )


def puts_on(line: Planned) -> bool:
    """Whether a planned work puts something on the green that can be bought."""
    return bool(line.material) or line.unit != "times" or line.operation in PUT_ON


def of_lines(lines: Iterable[Line], drop_of: Callable[[str, str], str], given_up: dict[str, date]) -> Wanted:
    """What the open lines of a programme ask for.

    Args:
        lines: as they stand on the day of the order.
        drop_of: where a material goes for a green.
        given_up: greens that are played on no more, and since when.
    """
    asking = [line for line in lines if puts_on(line.planned) or line.planned.operation == PESTICIDES]
    needs: list[Need] = []
    late: list[Line] = []
    unnamed: list[Line] = []
    stopped = [*_pesticides(asking), *_given_up(asking, given_up)]
    over = 0
    for line in asking:
        work = line.planned
        if line.done or work.operation == PESTICIDES or work.given_up is not None or work.green in given_up:
            continue
        if line.state in ("short", "missing"):
            over += 1
            continue
        if not line.planned.material:
            unnamed.append(line)
            continue
        needs.append(_need(line, drop_of))
        if line.state in ("overdue", "rest overdue"):
            late.append(line)
    stopped += _unnamed(unnamed)
    return Wanted(tuple(needs), tuple(stopped), (*_late(late), *_twice(asking), *_instead(asking)), over)


def _need(line: Line, drop_of: Callable[[str, str], str]) -> Need:
    work = line.planned
    unit: Unit = "l" if work.unit == "l" else "kg"
    lacking = _unsettled(line) or ("" if line.unit != "times" else work.unsized or "the programme says no amount of it")
    amount = None if lacking else exact(line.missing)
    drop = drop_of(work.green, work.material)
    return Need(work.material, amount, unit, drop, work.green, lacking=lacking, place=work.place)


def _unsettled(line: Line) -> str:
    """What the log lacks to say how much of a line is left; "" where it says it."""
    if line.state == "may be done":
        days = long_date(line.perhaps[0].jobs[0].first)
        return f"a job of {days} or later may have done it: its day is not known"
    if line.state not in ("done, amount not logged", "done, material not logged"):
        return ""
    (last, *_) = [part.last for part in reversed(line.parts) if part.lacking]
    gives = "no amount" if line.state == "done, amount not logged" else "no material"
    return f"the job of {long_date(last)} gives {gives}, so that it is not known how much is left of the line"


def _pesticides(lines: Iterable[Line]) -> Iterator[Stopped]:
    """Plant protection, whatever the register says of its product."""
    found = (line.planned for line in lines if line.planned.operation == PESTICIDES and not line.done)
    for material, works in grouped(found, lambda one: one.material).items():
        yield _stop(material, works, "plant protection is planned: its products are never ordered here")


def _unnamed(lines: Iterable[Line]) -> Iterator[Stopped]:
    labels = {name: code.label for name, code in code_list("operation").items()}
    for operation, works in grouped((line.planned for line in lines), lambda one: one.operation).items():
        yield _stop("", works, f"{labels[operation].lower()} is planned, and the programme names no material")


def _given_up(lines: Iterable[Line], given_up: dict[str, date]) -> Iterator[Stopped]:
    open_ = [line.planned for line in lines if not line.done]
    days = [(one, given_up.get(one.green) or one.given_up) for one in open_]
    gone = [(one, given_up_words(day, one.given_up_by, one.first)) for one, day in days if day is not None]
    for (material, _, why), some in grouped(gone, lambda one: (one[0].material, one[0].green, one[1])).items():
        yield _stop(material, [work for work, _ in some], why)


def _stop(material: str, works: list[Planned], reason: str) -> Stopped:
    return Stopped(material, "", tuple(sorted({one.green for one in works})), reason, _sorted(works))


def _late(lines: list[Line]) -> Iterator[Question]:
    for material, some in grouped(lines, lambda line: line.planned.material).items():
        yield Question(
            f"{material}: {counted(len(some), 'work')} on {greens_named(some)} whose window has "
            f"passed {'is' if len(some) == 1 else 'are'} still open and asked for here. Where it is not to be done any "
            "more, say 0 times in the programme.",
            places_named(some),
        )


def _twice(lines: Iterable[Line]) -> Iterator[Question]:
    """Works that two programmes ask for on one green in the same days: the one may have taken the other's place."""
    open_ = [
        line for line in lines if line.planned.material and line.missing and line.state not in ("short", "missing")
    ]
    alike = grouped(open_, lambda line: (line.planned.green, line.planned.operation, line.planned.material))
    found = [pair for some in alike.values() if (pair := _of_two_programmes(some))]
    for (material, names), pairs in grouped(found, _named_by).items():
        some = [line for pair in pairs for line in pair]
        yield Question(
            f"{material}: on {greens_named(some)} programmes {names} both ask for it in the same days, and both "
            "count here. Where the one took the other’s place, say 0 times in the other.",
            places_named(some),
        )


def _of_two_programmes(lines: list[Line]) -> tuple[Line, Line] | None:
    for number, one in enumerate(lines):
        for other in lines[number + 1 :]:
            first, last = max(one.planned.first, other.planned.first), min(one.planned.last, other.planned.last)
            if one.planned.programme != other.planned.programme and first <= last:
                return one, other
    return None


def _named_by(pair: tuple[Line, Line]) -> tuple[str, str]:
    return pair[0].planned.material, listed(sorted(line.planned.programme for line in pair))


def _instead(lines: Iterable[Line]) -> Iterator[Question]:
    """Lines that are open while another material was put on in their time."""
    swapped = [line for line in lines if line.instead and line.state not in ("short", "missing")]
    pairs = grouped(swapped, lambda line: (line.planned.material, line.instead[0].job.material))
    for (material, other), some in pairs.items():
        yield Question(
            f"{material}: on {greens_named(some)} {other} was put on in its time, and it is still asked for here. "
            "Where the one took the other's place, say 0 times in the programme.",
            places_named(some),
        )


def greens_named(lines: list[Line]) -> str:
    """The greens of lines, the first few by name."""
    greens = sorted({line.planned.green for line in lines})
    more = len(greens) - NAMED
    return listed([*greens[:NAMED], *([f"{more:,} more"] if more > 0 else [])])


def places_named(lines: list[Line]) -> tuple[Evidence, ...]:
    """Where lines were read from."""
    return _sorted(line.planned for line in lines)


def _sorted(works: Iterable[Planned]) -> tuple[Evidence, ...]:
    return tuple(sorted({one.place for one in works if one.place}, key=lambda place: (place.file, place.line)))
