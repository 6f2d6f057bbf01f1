"""What a template of somebody's own can get hold of: plain values, in bounds of time and memory; and nothing else.

Guards against a page that came with a workspace and fills the memory, prints the machinery behind it, or reaches by an
attribute of an attribute what none of the known ways reaches (``test_report_escapes.py`` has those by name).
"""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from jinja2.runtime import BlockReference, Context, LoopContext, Macro, TemplateReference
from markupsafe import Markup

from reports.condition import render as condition
from reports.page import bounds, templating
from reports.page.house_style import PLAIN, HouseStyle, RenderingFault
from reports.page.templating import TemplateFault
from reports.survey import render as survey_render
from tests.reports import sample
from tests.reports.conftest import VERSION
from tests.reports.watching import watched
from tests.thorough import beyond

DOUBLED = "{{% set ns = namespace(x={}) %}}{{% for i in range(99) %}}{}{{% endfor %}}{{{{ ns.x }}}}"
TOO_MUCH = "MB of memory"
BOMBS = (
    (DOUBLED.format("'ab'", "{% set ns.x = ns.x ~ ns.x %}"), TOO_MUCH),
    (DOUBLED.format("'ab'", "{% set ns.x = ns.x + ns.x %}"), TOO_MUCH),
    (DOUBLED.format("[0]", "{% set ns.x = ns.x + ns.x %}"), TOO_MUCH),
    (DOUBLED.format("'x'", "{% set ns.x %}{{ ns.x }}{{ ns.x }}{% endset %}"), TOO_MUCH),
    (DOUBLED.format("2", "{% set ns.x = ns.x * ns.x %}"), "OverflowError"),
    ("{% set a = 'xxxxxxxxxx' %}{% set b = a|replace('x', a) %}{% set c = b|replace('x', b) %}"
     "{% set d = c|replace('x', c) %}{{ d|replace('x', d)|length }}", TOO_MUCH),
    ("{{ range(99999)|join(range(99999)|join('x')) }}", TOO_MUCH),
    ("{{ 1.5|round(9999999999, 'ceil') }}", "rounds to more than 15 digits"),
    ("{{ 15|round(-9999999999) }}", "rounds to more than 15 digits"),
    ("{{ [1]|batch(9999999999, 'x')|list }}", "asks for 9999999999 parts"),
    ("{{ [1]|slice(9999999999)|list }}", "asks for 9999999999 parts"),
    ("{% for x in [1] recursive %}{{ loop([1]) }}{% endfor %}", "goes round in a circle"),
    ("{{ " + "(" * 500 + "1" + ")" * 500 + " }}", "goes round in a circle, or lies too deep in itself"),
    ("{{ " + "not " * 5000 + "1 }}", "goes round in a circle, or lies too deep in itself"),
    ("{{ x" + ".x" * 5000 + " }}", "goes round in a circle, or lies too deep in itself"),
    ("{% if 1 %}" * 300 + "{% endif %}" * 300, "goes round in a circle, or lies too deep in itself"),
    ("{#{ report.e", "Missing end of comment tag"),
)  # fmt: skip
MACHINERY = (
    "range", "dict", "cycler", "joiner", "namespace", "self", "report", "report.works", "colour", "attached", "[1]",
    "namespace(a=report)", "cycler(1)", "joiner()", "{}.items", "'x'.join", "[1]|map('string')", "range|string",
    "[report]|join", "[range]|join(',')", "'%s' ~ range", "colour ~ ''", "[report]|map('string')|join",
    "{'a': 1}.items()", "[report]|map(attribute='works')|join", "[[1]]|join", "report.works|string", "range(3)",
    "(1, 2)",
)  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def _imported() -> None:
    """Importing the renderer looks for its libraries by programs of the system; after that nothing is started."""
    condition.render(sample.empty(), version=VERSION)


@pytest.fixture(scope="module")
def given() -> dict[str, Any]:
    """What the template of a condition report is given."""
    kept: dict[str, Any] = {}
    with _kept(kept):
        condition.html(sample.rich(), version=VERSION)
    return kept


@contextmanager
def _kept(kept: dict[str, Any]) -> Iterator[None]:
    filled = templating._filled

    def keeping(name: str, house: HouseStyle, values: dict[str, Any]) -> str:
        kept.update(values)
        return filled(name, house, values)

    templating._filled = keeping
    try:
        yield
    finally:
        templating._filled = filled


@pytest.fixture
def page(tmp_path: Path, given: dict[str, Any]) -> Callable[[str], str]:
    """A template of a house's own, filled within bounds."""
    folder = tmp_path / "pages"
    folder.mkdir()

    def filled(template: str) -> str:
        (folder / "condition.html.j2").write_text(template, "utf-8")
        with bounds.bounded(20, 600):
            return templating._filled("condition.html.j2", HouseStyle(templates=folder), given)

    return filled


@pytest.mark.parametrize(("template", "said"), BOMBS)
def test_what_would_fill_the_memory_or_never_end_is_a_sentence(
    page: Callable[[str], str], template: str, said: str
) -> None:
    """Doubling by “~” alone filled the memory of the machine until the system ended the process."""
    began = time.process_time()
    with pytest.raises(TemplateFault) as fault:
        page(template)
    assert said in str(fault.value) and str(fault.value).startswith("pages/condition.html.j2"), fault.value
    assert str(fault.value).endswith(".") and len(str(fault.value)) < 400
    assert time.process_time() - began < 15


def test_what_never_ends_is_ended(tmp_path: Path, given: dict[str, Any]) -> None:
    (tmp_path / "condition.html.j2").write_text(
        "{% for a in range(99999) %}{% for b in range(99999) %}{% endfor %}{% endfor %}"
    )
    began = time.monotonic()
    with pytest.raises(TemplateFault, match=r"line 1: not done after 0\.5.s\."), bounds.bounded(0.5):
        templating._filled("condition.html.j2", HouseStyle(templates=tmp_path), given)
    assert time.monotonic() - began < 10


@pytest.mark.parametrize("machinery", MACHINERY)
def test_a_template_prints_texts_and_numbers_alone(page: Callable[[str], str], machinery: str) -> None:
    """A function was printed with its address, another in every run, and a record as Python writes it."""
    with pytest.raises(
        TemplateFault, match=r"^pages/condition\.html\.j2, line 2: it prints what is no text and no num"
    ):
        page(f"<p>\n{{{{ {machinery} }}}}</p>")


@pytest.mark.parametrize(
    ("template", "made"),
    [
        ("{{ 1.256|round(2) }} {{ 7|round }} {{ 1.25|round(1, 'floor') }}", "1.26 7 1.2"),
        ("{{ ['a', '<b>', 3]|join(', ') }}{{ ['<i>'|safe]|join }}", "a, &lt;b&gt;, 3<i>"),
        ("{{ [1, 2, 3]|batch(2)|map('join', '-')|join('; ') }}", "1-2; 3"),
        ("{{ [1, 2, 3]|slice(2, 'x')|map('join')|join('|') }}", "12|3x"),
        ("{{ 'a' ~ 1 ~ none ~ true }}{{ report.green|string|length > 0 }}", "a1NoneTrueTrue"),
        ("{{ ['<'|safe, '<'] | join }}{{ ('<'|safe) ~ '<' }}", "<&lt;<&lt;"),
    ],
)
def test_what_templates_need_still_comes_out(page: Callable[[str], str], template: str, made: str) -> None:
    assert page(template) == made


def _may_have(environment: Any, value: Any) -> Iterator[tuple[str, Any]]:
    """Every attribute that a template may have of a value, and every item."""
    for name in {*dir(type(value)), *getattr(value, "__dict__", {}), "__class__", "__dict__", "gi_frame", "f_globals"}:
        try:
            found = getattr(value, name)
        except Exception:  # noqa: S112 - what has no value cannot be had
            continue
        if environment.is_safe_attribute(value, name, found):
            yield name, found


def _reached(environment: Any, value: Any, place: str, seen: set[int]) -> Iterator[str]:
    """Places of what a template can reach from a value and that is neither plain nor a method of what is plain."""
    if id(value) in seen:
        return
    seen.add(id(value))
    if type(value) in (str, Markup, int, float, bool, type(None)):
        odd = {name for name, _ in _may_have(environment, value)} - templating._WORDS
        yield from (f"{place}.{name}" for name in odd)
        return
    inside: list[tuple[str, Any]] = []
    if type(value) in (tuple, list):
        inside = [(f"[{i}]", one) for i, one in enumerate(value)]
    elif type(value) is dict:
        inside = [(f"[{key!r}]", one) for key, one in value.items()]
    elif not (is_dataclass(value) and type(value).__dataclass_params__.frozen):  # type: ignore[attr-defined]
        yield f"{place} ({type(value).__name__})"
    own = {one.name for one in fields(value)} if is_dataclass(value) else set()
    plain_methods = {"count", "index", "get", "items", "keys", "values"}
    for name, found in _may_have(environment, value):
        if name in own:
            inside.append((f".{name}", found))
        elif not (type(value) in (tuple, list, dict) and name in plain_methods):
            yield f"{place}.{name}"
    for name, one in inside:
        yield from _reached(environment, one, place + name, seen)


def test_everything_within_reach_is_plain(given: dict[str, Any]) -> None:
    """Every value that is reached from the context by attribute, item or both, however deep."""
    environment = templating._environment(None)
    seen: set[int] = set()
    assert list(_reached(environment, given, "", seen)) == []
    assert len(seen) > 500


def test_the_parts_of_the_machinery_give_nothing_away(tmp_path: Path, given: dict[str, Any]) -> None:
    """Of loops, blocks, macros and the like a template has what Jinja documents, and none of what lies beneath."""
    met: dict[str, Any] = {}

    def meet(value: Any) -> str:
        met[type(value).__name__] = value
        return ""

    environment = templating._environment(tmp_path).overlay()
    environment.filters = {**environment.filters, "meet": meet}
    template = environment.from_string(
        "{% macro m() %}{{ caller|meet }}{{ caller() }}{% endmacro %}{{ m|meet }}{% call m() %}x{% endcall %}"
        "{{ self|meet }}{% block a %}{{ self.a|meet }}{% endblock %}{% for x in [1] %}{{ loop|meet }}{% endfor %}"
        "{{ namespace()|meet }}{{ cycler(1)|meet }}{{ joiner()|meet }}{{ ([1]|map('string'))|meet }}{{ range|meet }}"
        "{{ dict|meet }}{{ (undefined_name)|default('', true)|meet }}"
        "{% import 'macros.html.j2' as k %}{{ k|meet }}"
    )
    with suppress(Exception):  # a block that calls itself ends somewhere; what was met counts
        template.render(given)
    kinds = {Macro, TemplateReference, BlockReference, LoopContext}
    assert {kind.__name__ for kind in kinds} <= set(met)
    open_to_all = {
        "Macro": {"name", "arguments", "catch_kwargs", "catch_varargs", "caller", "explicit_caller"},
        "BlockReference": {"name", "super"},
        "LoopContext": {"cycle", "depth", "depth0", "first", "index", "index0", "index_reverse", "last", "length",
                        "nextitem", "previtem", "revindex", "revindex0", "changed"},
        "Cycler": {"current", "next", "pos", "items", "reset"},
        "Joiner": {"sep", "used"},
        "TemplateModule": {name for name in dir(met.get("TemplateModule")) if not name.startswith("_")},
    }  # fmt: skip
    for name, value in met.items():
        had = dict(_may_have(environment, value))
        assert set(had) <= open_to_all.get(name, set()) or type(value) in templating._METHODS, (name, had)
        for one, found in had.items():
            assert not isinstance(found, Context), (name, one)
            module = getattr(found, "__module__", "") or ""
            assert not module.startswith(("os", "sys", "pathlib")), (name, one)


def test_no_global_of_the_templates_is_more_than_jinja_documents() -> None:
    environment = templating._environment(None)
    assert set(environment.globals) == {"range", "dict", "cycler", "joiner", "namespace"}
    assert not set(environment.filters) & set(templating.NOT_TEMPLATES)


@pytest.fixture
def door() -> Iterator[tuple[int, list[int]]]:
    """A door of this machine that nobody should knock at, and how often somebody did."""
    knocks: list[int] = []
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        listening.settimeout(0.1)
        ended = threading.Event()

        def answer() -> None:
            while not ended.is_set():
                try:
                    listening.accept()[0].close()
                    knocks.append(1)
                except TimeoutError:
                    continue

        thread = threading.Thread(target=answer)
        thread.start()
        yield listening.getsockname()[1], knocks
        ended.set()
        thread.join()


def test_the_network_is_not_asked(tmp_path: Path, door: tuple[int, list[int]]) -> None:
    """Pictures, stylesheets, fonts, attachments and drawings by address: all refused, and nobody knocked."""
    port, knocks = door
    at = f"http://127.0.0.1:{port}/x"
    pages = tmp_path / "pages"
    pages.mkdir()
    asking = (
        f"<img src='{at}' alt='x'>", f"<link rel=stylesheet href='{at}'>", f"<object data='{at}'></object>",
        f"<link rel=attachment href='{at}'>", f"<style>@import url({at});</style>",
        f"<style>@font-face {{ font-family: x; src: url({at}) }} p {{ font-family: x }}</style><p>x</p>",
        f"<p style='background: url({at})'>x</p>",
        f"<svg xmlns='http://www.w3.org/2000/svg'><image href='{at}' width='9' height='9'/></svg>",
        f"<style>p::after {{ content: url({at}) }}</style><p>x</p>",
        f"<style>li {{ list-style: url({at}) }}</style><ul><li>x</ul>",
    )  # fmt: skip
    for one in asking:
        (pages / "condition.html.j2").write_text(f"<html lang=en><title>t</title><body>{one}</body></html>", "utf-8")
        with watched() as seen, pytest.raises(RenderingFault):
            condition.render(sample.empty(), version=VERSION, house=HouseStyle(templates=pages))
        assert not seen.asked and not seen.started, (one, seen.asked, seen.started)
        assert not seen.outside(tmp_path, bounds_of_fonts()), one
    assert not knocks


def bounds_of_fonts() -> Path:
    """Where the settings of the typeface lie."""
    import os

    return Path(os.environ.get("FONTCONFIG_FILE", "/nowhere")).parent


@beyond(1)
@pytest.mark.parametrize("season", [sample.empty, sample.rich])
def test_a_document_opens_nothing_outside_the_package(tmp_path: Path, season: Callable[[], Any]) -> None:
    """The whole of a report with a house's own template, stylesheet and picture: files of its own folder alone."""
    pages = tmp_path / "pages"
    pages.mkdir()
    (pages / "condition.html.j2").write_text(
        "{% extends 'shipped/condition.html.j2' %}{% block due %}<p>ours</p>{% endblock %}"
    )
    (pages / "house.css").write_text("h1 { color: #123456 }")
    with watched() as seen:
        made = condition.render(season(), version=VERSION, house=HouseStyle(name="Vale", templates=pages))
    assert made.startswith(b"%PDF")
    assert not seen.asked and not seen.started
    assert not seen.outside(tmp_path, bounds_of_fonts())
    assert pages / "condition.html.j2" in seen.opened


def test_the_shipped_style_is_filled_without_bounds_of_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """They are for what is not ours: a county's list may be long."""
    monkeypatch.setattr(bounds, "refused_beyond", lambda _: pytest.fail("bounded"))
    assert condition.html(sample.empty(), version=VERSION, house=PLAIN)
    assert survey_render
