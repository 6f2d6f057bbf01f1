"""Templates filled with plain values: a template that came with somebody's workspace reaches nothing else."""

from __future__ import annotations

import re
import traceback
from collections.abc import Callable, Generator, Iterable, Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import (
    BaseLoader,
    ChoiceLoader,
    Environment,
    FileSystemLoader,
    PrefixLoader,
    StrictUndefined,
    TemplateError,
    TemplateNotFound,
    TemplateSyntaxError,
    UndefinedError,
    nodes,
    pass_eval_context,
)
from jinja2.environment import TemplateModule
from jinja2.exceptions import SecurityError
from jinja2.filters import do_batch, do_round, make_attrgetter, sync_do_join, sync_do_slice
from jinja2.loaders import split_template_path
from jinja2.nodes import EvalContext
from jinja2.runtime import BlockReference, Context, LoopContext, Macro, TemplateReference, Undefined
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import Cycler, Joiner, Namespace
from markupsafe import Markup, escape, soft_str

from reports.page import attachments, bounds, glossary, links, own_text, template_blocks, text
from reports.page.charts import palette
from reports.page.document import TEMPLATES
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault, own_file
from reports.page.template_blocks import TemplateFault

MOST_CHARACTERS = 20_000_000
"""Most characters of a filled template; the largest of the shipped ones fills less than a twentieth of it."""
MOST_REASON = 240
NOT_TEMPLATES = ("attr", "center", "format", "indent", "pprint", "random")
"""Filters that templates do without: they read attributes, fill the memory, or differ from run to run."""

MOST_DIGITS, MOST_PARTS = 15, 10_000
PRINTED = "printed"
"""Filter around each part of what “~” puts together."""
_NUMBER = r"[\d.,]*\d(?:–[\d.,]*\d)?"
_RATE = (
    r"(?:(?<![^\W\d_])[^\W\d_]{1,5}[²³]?(?:[ \u00a0](?:N|oz))*|[£€$][\d.,]*)/(?:10+[ \u00a0])?"
    r"(?:ha|acre|[cm]?m[²³]?|ft[²³]?|k?g|l|s²?|h)(?![\w/])"
)
"""A unit with a slash, as a heading has it too: kg/ha, lb N/1000 ft²; no path and no "and/or"."""
_KEPT = re.compile(
    rf"(?:{_NUMBER}\u202f)?{_RATE}|{_NUMBER}\u202f[^\s;,<&)/]+/[^\s;,<&).]+|[\d.,]+–[\d.,]+(?:\u202f[^\s;,<&)]+)?"
    r"|\+ [\d.]+ [A-Z][A-Za-z0-9]{0,4}\b"
)
_NO_ATTRIBUTE = re.compile(r"'[\w.]+ object' has no attribute '([^']*)'")
_PLAIN = (str, Markup, int, float, bool, type(None))
_WORDS = frozenset({
    "capitalize", "count", "endswith", "find", "isalpha", "isdigit", "join", "lower", "lstrip", "partition",
    "removeprefix", "removesuffix", "replace", "rpartition", "rstrip", "split", "splitlines", "startswith", "strip",
    "title", "upper",
})  # fmt: skip
_METHODS: dict[type, frozenset[str]] = {
    str: _WORDS,
    Markup: _WORDS,
    tuple: frozenset({"count", "index"}),
    list: frozenset({"count", "index"}),
    dict: frozenset({"get", "items", "keys", "values"}),
}
"""What a template may call of a plain value: nothing that changes it, formats it or makes it long."""
_OF_TEMPLATES = (BlockReference, Cycler, Joiner, LoopContext, Macro, Namespace, TemplateModule, TemplateReference)


def keep_ranges(text: str) -> Markup:
    """The text, escaped, with what no line may break in.

    Ranges of numbers (a dash invites it), units with a slash, and what an analysis adds at its end ("+ 2 Fe").
    """
    return Markup(_KEPT.sub(r'<span class="nb">\g<0></span>', str(escape(text))))  # noqa: S704 - escaped here


def printed(value: Any) -> Any:
    """What a page can show, as it is: texts, numbers, yes and no.

    Raises:
        SecurityError: it is a list, a record or a part of the machinery, which would be printed as Python writes it,
            with an address that is another in every run.
    """
    if type(value) in _PLAIN or isinstance(value, Undefined):
        return value
    raise SecurityError(f"it prints what is no text and no number ({type(value).__name__})")


@pass_eval_context
def _printed_here(_: EvalContext, value: Any) -> Any:
    """The same where a template prints it; the context keeps Jinja from working it out before its line is known."""
    return printed(value)


def rounded(value: float, precision: int = 0, method: str = "common") -> float:
    """Jinja's ``round``, within the digits that a number has.

    Raises:
        SecurityError: more digits are asked for, which fill the memory.
    """
    if not isinstance(precision, int) or abs(precision) > MOST_DIGITS:
        raise SecurityError(f"it rounds to more than {MOST_DIGITS} digits")
    return do_round(value, precision, method)  # type: ignore[arg-type]


def _in_parts(parted: Callable[..., Iterator[Any]]) -> Callable[..., list[Any]]:
    """Jinja's ``batch`` or ``slice``, of no more parts than a page can show."""

    def checked(value: Any, number: int, fill_with: Any = None) -> list[Any]:
        if not isinstance(number, int) or not 0 < number <= MOST_PARTS:
            raise SecurityError(
                f"it asks for {number!s:.30} parts or a part of so many; 1 to {MOST_PARTS:,} can be had"
            )
        return list(parted(value, number, fill_with))

    return checked


class _Sandbox(ImmutableSandboxedEnvironment):
    """Templates that see the fields of frozen records and a few methods of plain values, and no attribute beside."""

    intercepted_binops = frozenset({"*", "**", "%"})

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Whether a template may have an attribute: what is not named here it may not."""
        if isinstance(obj, _OF_TEMPLATES):
            return bool(super().is_safe_attribute(obj, attr, value))
        if is_dataclass(obj) and not isinstance(obj, type):
            return attr in {one.name for one in fields(obj)}
        if isinstance(obj, tuple) and attr in getattr(type(obj), "_fields", ()):
            return True
        return attr in _METHODS.get(type(obj), ())

    def wrap_str_format(self, value: Any) -> None:
        """None: format and format_map are attributes like others, and none that a template may have."""

    def unsafe_undefined(self, obj: Any, attribute: str) -> Undefined:
        """What stands for an attribute that a template may not have: using it is a fault."""
        said = f"it asks for “{attribute}” of a {type(obj).__name__}, which a template may not use"
        return self.undefined(said, name=attribute, obj=obj, exc=SecurityError)

    def _generate(
        self, source: nodes.Template, name: str | None, filename: str | None, defer_init: bool = False
    ) -> str:
        """A template's code, in which “~” puts together what may be printed and nothing else."""
        for both in source.find_all(nodes.Concat):
            both.nodes = [nodes.Filter(one, PRINTED, [], [], None, None, lineno=one.lineno) for one in both.nodes]
        return super()._generate(source, name, filename, defer_init)

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Multiplication, powers and remainders of numbers alone: of texts and lists they fill the memory."""
        if not all(isinstance(one, int | float) for one in (left, right)):
            raise SecurityError(f"it uses “{operator}” on what is no number")
        if operator != "%":
            self.binop_table[operator](float(left), float(right))  # overflows before a whole number fills the memory
        return super().call_binop(context, operator, left, right)


@pass_eval_context
def _joined(context: EvalContext, value: Iterable[Any], d: str = "", attribute: str | int | None = None) -> str:
    """Jinja's ``join`` of what may be printed."""
    if attribute is not None:
        value = map(make_attrgetter(context.environment, attribute), value)
    return sync_do_join(context, map(printed, value), d)


class _OwnLoader(FileSystemLoader):
    """Templates of a workspace's own folder; a link that leads out of it is a fault."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.folder = folder

    def get_source(self, environment: Environment, template: str) -> Any:
        """The template's source.

        Raises:
            jinja2.TemplateNotFound: there is none of that name.
            RenderingFault: a link leads out of the folder.
        """
        name = "/".join(split_template_path(template))
        own_file(self.folder, name)
        try:
            return super().get_source(environment, template)
        except UnicodeDecodeError as fault:
            raise TemplateFault(f"{self.folder.name}/{name} is not UTF-8 (byte {fault.start}).") from fault


@cache
def _environment(own: Path | None) -> _Sandbox:
    """The templates; every value is escaped, an unknown name is an error.

    A template of the house stands before the shipped one of its name, which it can extend as "shipped/NAME".
    """
    shipped = FileSystemLoader(TEMPLATES)
    loaders: list[BaseLoader] = [_OwnLoader(own), shipped] if own else [shipped]
    environment = _Sandbox(
        loader=ChoiceLoader([*loaders, PrefixLoader({"shipped": shipped})]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_printed_here,
        optimized=False,  # else a constant expression is worked out before its line is known
    )
    environment.filters |= {"keep": keep_ranges, PRINTED: printed, "round": rounded}
    environment.filters |= {"string": lambda value: soft_str(printed(value)), "join": _joined}
    environment.filters |= {"batch": _in_parts(do_batch), "slice": _in_parts(sync_do_slice)}
    for name in NOT_TEMPLATES:
        del environment.filters[name]
    del environment.globals["lipsum"]  # words at random
    return environment


ENDING = ".html.j2"
COLOURS = {name: str(getattr(palette, name)) for name in (*palette.USES, "WHITE")}


def fill(template: str, house: HouseStyle = PLAIN, *, attached: Iterable[str], **values: Any) -> str:
    """A template's HTML; it also knows ``colour``, ``house``, ``glossary`` and ``own``, of the house for this document.

    Args:
        template: its name.
        house: the workspace's own style.
        attached: names of the data attached to the document, as a reader is told them.
        values: what else it may use: plain values only.

    Raises:
        TemplateFault: a template of the house cannot be read, or asks for what is not there or not its to have.
    """
    document = template.removesuffix(ENDING)
    colours = {name: house.colours.get(shipped, shipped) for name, shipped in COLOURS.items()}
    own = {
        **own_text.of_document(house.texts, document),
        "issue": house.issue(document),
        "signed_by": house.signatures.get(document, ()),
    }
    given = {**values, "attached": (attachments.ABOUT, *attached), "colour": colours, "house": house.shown, "own": own,
             "glossary": ()}  # fmt: skip
    live = list(_live(given, ""))
    assert not live, f"templates get plain values only, and these are none: {', '.join(live)}"
    made = _filled(template, house, given)
    if house.glossary and document in glossary.DOCUMENTS:
        made = _filled(template, house, {**given, "glossary": glossary.used(made, house.units)})
    return links.settled(made)


def _filled(template: str, house: HouseStyle, given: dict[str, Any]) -> str:
    if house.templates is None:
        return "".join(_parts(template, None, given))
    try:
        with bounds.refused_beyond(bounds.FILLING_MB):
            template_blocks.refuse_unprinted(_environment(house.templates), template, house.templates)
            return "".join(_parts(template, house.templates, given))
    except Exception as fault:
        told = _told(fault, house.templates, template)
        if told is None:
            raise
        raise TemplateFault(told) from fault


def _parts(template: str, own: Path | None, given: dict[str, Any]) -> Iterator[str]:
    length = 0
    parts = _environment(own).get_template(template).generate(given)
    assert isinstance(parts, Generator), "Jinja fills templates another way now"
    for part in parts:
        length += len(part)
        if length > MOST_CHARACTERS:  # thrown into the template, so that its line is known
            parts.throw(SecurityError(f"it makes a page of more than {MOST_CHARACTERS:,} characters"))
        yield part


def _live(value: Any, place: str) -> Iterator[str]:
    """Places of what is no plain value: text, number, yes or no, None, and tuples, lists, dicts and frozen records.

    Types are compared exactly: a subclass of text or number may carry methods that read and write files.
    """
    if type(value) in _PLAIN:
        return
    if type(value) in (tuple, list):
        parts = [(f"{place}[{i}]", part) for i, part in enumerate(value)]
    elif type(value) is dict:
        parts = [(f"{place}.{key}".lstrip("."), part) for key, part in value.items()]
    elif is_dataclass(value) and not isinstance(value, type) and type(value).__dataclass_params__.frozen:  # type: ignore[attr-defined]
        parts = [(f"{place}.{one.name}", getattr(value, one.name)) for one in fields(value)]
    else:
        yield f"{place} ({type(value).__name__})"
        return
    for name, part in parts:
        yield from _live(part, name)


def _told(fault: Exception, folder: Path, template: str) -> str | None:
    """The fault as one sentence with file and line of the house's template; None where none of the house's is at it.

    What is met while a template is read has no line, and may have no file: it is put on the one that is filled.
    """
    file, line = _place(fault, folder)
    if file:
        return f"{folder.name}/{file}, line {line}: {_reason(fault)}."
    if not isinstance(fault, TemplateError | RecursionError | MemoryError) or not (folder / template).is_file():
        return None
    line = fault.lineno if isinstance(fault, TemplateSyntaxError) and fault.name in (None, template) else 0
    return f"{folder.name}/{template}{f', line {line}' if line else ''}: {_reason(fault)}."


def _place(fault: Exception, folder: Path) -> tuple[str, int]:
    """Name and line of the innermost template of the folder that is at a fault; "" for none."""
    places = [(frame.f_code.co_filename, line or 1) for frame, line in traceback.walk_tb(fault.__traceback__)]
    if isinstance(fault, TemplateSyntaxError):
        places.append((fault.filename or "", fault.lineno))
    own = [(Path(file), line) for file, line in places if Path(file).is_relative_to(folder)]
    return (own[-1][0].relative_to(folder).as_posix(), own[-1][1]) if own else ("", 0)


def _reason(fault: Exception) -> str:
    """What is wrong, without a full stop."""
    if isinstance(fault, TemplateNotFound):
        said = f"there is no template “{fault.name}”"
    elif isinstance(fault, MemoryError):
        said = f"it takes more than {bounds.FILLING_MB} MB of memory"
    elif isinstance(fault, RecursionError):
        said = "it goes round in a circle, or lies too deep in itself"
    elif isinstance(fault, SecurityError | TemplateSyntaxError | RenderingFault | TimeoutError | bounds.TooMuchMemory):
        said = str(getattr(fault, "message", None) or fault)
    elif isinstance(fault, UndefinedError):
        said = "it asks for what is not there: " + _NO_ATTRIBUTE.sub(r"“\1”", str(fault))
    else:
        said = f"{type(fault).__name__}: {fault}"
    return text.clean(said, MOST_REASON).rstrip(".")
