"""A template that came with somebody's workspace reads, writes and fetches nothing, and says so in one sentence.

Guards against a workspace from elsewhere whose pages/ carry a file of this machine into a document, or change one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from pipeline.common.refusal import CannotDo
from pipeline.publish.branding import house_style_of
from pipeline.publish.pool import Outcome, Task, render_many
from pipeline.workspace.settings import Workspace
from reports.page.house_style import HouseStyle
from reports.page.templating import TemplateFault, fill
from tests.reports import sample
from tests.reports.conftest import VERSION

OTHER = "the-words-of-another-file"
ASKED = r"(pages/condition\.html\.j2, line 2: )?the page asks for '[^\n]+', which is not part of the document\."

BY_ATTRIBUTE = (
    "{{ house.templates }}",
    "{{ (house.templates / '../secret.txt').read_text() }}",
    "{{ (house.templates / 'owned.txt').write_text('x') }}",
    "{{ house.templates.parent.joinpath('secret.txt').read_bytes() }}",
    "{{ house.mark }}",
    "{{ house.shown }}",
    "{{ ''.__class__.__mro__ }}",
    "{{ ''['__class__'] }}",
    "{{ ''['__cla' ~ 'ss__'].__mro__[1].__subclasses__() }}",
    "{{ '' | attr('__class__') }}",
    "{{ [''] | map('attr', '__class__') | list }}",
    "{{ [''] | map(attribute='__class__') | join }}",
    "{{ [report] | map(attribute='__class__.__init__.__globals__') | list }}",
    "{{ report.__init__.__globals__ }}",
    "{{ report.__dataclass_fields__ }}",
    "{{ report.__class__ }}",
    "{{ '{0.__class__}'.format(report) }}",
    "{{ '{x.__class__}'.format_map({'x': report}) }}",
    "{{ ('{0.__class__}' | safe).format(report) }}",
    "{{ '%s' | format(report) }}",
    "{% set f = '{0.__class__}'.format %}{{ f(report) }}",
    "{{ [report] | map('format') | list }}",
    "{{ cycler.__init__.__globals__.os.popen('id').read() }}",
    "{{ joiner.__init__.__globals__ }}",
    "{{ namespace.__init__.__globals__ }}",
    "{{ dict.mro() }}",
    "{{ dict.__base__.__subclasses__() }}",
    "{{ range.__globals__ }}",
    "{{ lipsum.__globals__ }}",
    "{{ lipsum() }}",
    "{{ self._TemplateReference__context }}",
    "{{ self['_TemplateReference__context'] }}",
    "{{ self.__init__.__globals__ }}",
    "{% for x in [1] %}{{ loop.__init__.__globals__ }}{% endfor %}",
    "{% macro m() %}{% endmacro %}{{ m._func.__globals__ }}",
    "{% macro m() %}{{ caller._environment }}{% endmacro %}{% call m() %}{% endcall %}",
    "{% import 'macros.html.j2' as m %}{{ m.__class__ }}",
    "{% import 'macros.html.j2' as m %}{{ m._body_stream }}{{ m.strip._environment.loader }}",
    "{{ ({}).__class__.__base__ }}",
    "{{ colour.__loader__ }}",
    "{{ colour.contrast.__globals__ }}",
    "{{ attached.append('x') }}",
    "{{ [].append.__self__ }}",
    "{{ colour.update({'INK': 'red'}) }}",
    "{{ config }}",
    "{{ request }}",
    "{{ (1).__class__ }}",
    "{{ ([1] | map('string')).gi_frame.f_globals }}",
)
BY_NAME = (
    "{% include '../secret.txt' %}",
    "{% include 'shipped/../../house.py' %}",
    "{% include 'a/../../secret.txt' %}",
    "{% include '/etc/hostname' %}",
    "{% include ['../secret.txt', '/etc/hostname'] %}",
    "{% extends '../secret.txt' %}",
    "{% import '../secret.txt' as x %}",
    "{% from '/etc/hostname' import x %}",
    "{% include 'file:///etc/hostname' %}",
    "{% include 'linked.txt' %}",
    "{% include 'linked/secret.txt' %}",
    "{% extends 'linked.txt' %}",
    "{% include '\\0' %}",
)
BY_SIZE = (
    "{{ range(10 ** 9) }}",
    "{{ 'x' * 10 ** 10 }}",
    "{{ [0] * 10 ** 10 }}",
    "{{ 10 ** (10 ** 10) }}",
    "{{ '%9999999999d' % 1 }}",
    "{{ '{:>9999999999}'.format(1) }}",
    "{{ 'x'.ljust(10 ** 10) }}",
    "{{ 'x' | center(10 ** 10) }}",
    "{{ 'x' | indent(10 ** 10) }}",
    "{% for a in range(99999) %}{% for b in range(99999) %}{{ '0123456789' }}{% endfor %}{% endfor %}",
    "{% include 'condition.html.j2' %}",
    "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
)
BY_ADDRESS = (
    "<img src='file:///etc/hostname' alt='x'>",
    "<img src='../secret.txt' alt='x'>",
    "<img src='http://example.invalid/x.png' alt='x'>",
    "<img src='data:image/svg+xml,<svg/>' alt='x'>",
    "<img srcset='file:///etc/hostname' src='file:///etc/passwd' alt='x'>",
    "<object data='file:///etc/hostname'></object>",
    "<embed src='https://example.invalid/x.svg'>",
    "<link rel=attachment href='file:///etc/hostname'>",
    "<a rel=attachment href='file:///etc/hostname'>x</a>",
    "<link rel=stylesheet href='file:///etc/hostname'>",
    "<link rel=stylesheet href='//example.invalid/x.css'>",
    "<style>@import 'file:///etc/hostname';</style>",
    "<style>@import url(https://example.invalid/x.css);</style>",
    "<style>@font-face { font-family: x; src: url(file:///etc/hostname) } p { font-family: x }</style><p>x</p>",
    "<style>p { background: url(file:///etc/hostname) }</style><p>x</p>",
    "<p style='background: url(http://example.invalid/x.png)'>x</p>",
    "<style>p::before { content: url(file:///etc/hostname) }</style><p>x</p>",
    "<ul style='list-style-image: url(file:///etc/hostname)'><li>x</li></ul>",
    "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><image href='file:///etc/hostname' width='9' "
    "height='9'/></svg>",
    "<base href='file:///etc/'><img src='hostname' alt='x'>",
)


@dataclass(frozen=True)
class Trap:
    """A workspace's pages beside a file they must not reach."""

    pages: Path
    target: Path

    def outcome(self, template: str, name: str = "condition.html.j2") -> Outcome:
        """What becomes of a document with this template of the workspace's own."""
        (self.pages / name).write_text(template, "utf-8")
        task = Task("ALD-1", "condition", sample.empty(), self.target)
        (done,) = render_many([task], workers=1, version=VERSION, house=HouseStyle(templates=self.pages), seconds=30)
        return done


@pytest.fixture
def trap(tmp_path: Path) -> Trap:
    """Pages with a link to a file outside and one to the folder outside."""
    pages = tmp_path / "pages"
    pages.mkdir()
    (tmp_path / "secret.txt").write_text(OTHER, "utf-8")
    (pages / "linked.txt").symlink_to(tmp_path / "secret.txt")
    (pages / "linked").symlink_to(tmp_path, target_is_directory=True)
    return Trap(pages, tmp_path / "out" / "made.pdf")


def is_refused(trap: Trap, template: str, sentence: str) -> None:
    """Nothing is read, written or made, and one sentence says so."""
    before = sorted(trap.pages.parent.rglob("*"))
    done = trap.outcome(f"<html lang=en><title>t</title>\n{template}</html>")
    assert re.fullmatch(sentence, done.fault), done.fault
    assert OTHER not in done.fault
    assert not trap.target.exists()
    assert sorted(trap.pages.parent.rglob("*")) == sorted({*before, trap.pages / "condition.html.j2"})


@pytest.mark.parametrize("template", [*BY_ATTRIBUTE, *BY_NAME, *BY_SIZE])
def test_an_escape_is_a_sentence_with_file_line_and_reason(trap: Trap, template: str) -> None:
    is_refused(trap, template, r"pages/(condition\.html\.j2, line [12]|linked(/secret)?\.txt): [^\n]+\.|"
               r"pages/condition\.html\.j2, line [12]: pages/linked[^\n]+\.")  # fmt: skip


@pytest.mark.parametrize("template", BY_ADDRESS)
def test_a_page_fetches_nothing(trap: Trap, template: str) -> None:
    is_refused(trap, template, ASKED)


def test_a_stylesheet_that_is_a_link_out_is_not_followed(trap: Trap) -> None:
    (trap.pages / "house.css").symlink_to(trap.pages.parent / "secret.txt")
    done = trap.outcome("{% extends 'shipped/condition.html.j2' %}")
    assert done.fault == "pages/house.css leads out of the folder pages; copy the file into it."


def test_pages_that_are_a_link_out_are_refused(workspace: Workspace, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    workspace.pages.symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(CannotDo, match="leads out of the workspace"):
        house_style_of(workspace)


def test_what_a_link_leads_out_to_is_no_part_of_the_houses_mark(trap: Trap) -> None:
    before = HouseStyle(templates=trap.pages).mark
    (trap.pages.parent / "secret.txt").write_text("other words", "utf-8")
    assert HouseStyle(templates=trap.pages).mark == before
    (trap.pages / "x.html.j2").write_text("x", "utf-8")
    assert HouseStyle(templates=trap.pages).mark != before


def test_what_is_not_there_is_named_as_the_template_has_it(trap: Trap) -> None:
    done = trap.outcome("{% extends 'shipped/condition.html.j2' %}\n{% block due %}{{ house.templates }}{% endblock %}")
    assert done.fault == "pages/condition.html.j2, line 2: it asks for what is not there: “templates”."


def test_a_template_in_another_encoding_is_named(trap: Trap) -> None:
    (trap.pages / "bytes.html.j2").write_bytes(b"\xff\xfe\x00")
    done = trap.outcome("\n\n{% include 'bytes.html.j2' %}")
    assert done.fault.startswith("pages/condition.html.j2, line 3: ")


@pytest.mark.parametrize(
    "template",
    [
        "{{ report.title.upper() }}{{ report.green | replace('x', 'y') }}{{ report.works.groups | length }}",
        "{% for line in report.headline %}{{ loop.index }}{{ loop.cycle('a', 'b') }}{{ line | keep }}{% endfor %}",
        "{% import 'macros.html.j2' as m %}{{ m.maker(house) }}{{ colour.INK }}{{ colour.items() | list | length }}",
        "{% set ns = namespace(n=0) %}{% set ns.n = ns.n + 2 * 3 %}{{ ns.n }}{{ house.units }}{{ house.paper }}",
        "{% set c = cycler('a', 'b') %}{{ c.next() }}{% set j = joiner(', ') %}{{ j() }}{{ attached | join(', ') }}",
        "{% for at, same in report.facts|groupby('label') %}{{ at }}{{ same|map(attribute='value')|join }}{% endfor %}",
    ],
)
def test_what_a_template_needs_it_still_has(trap: Trap, template: str) -> None:
    done = trap.outcome(
        f"{{% extends 'shipped/condition.html.j2' %}}{{% block due %}}<p>{template}</p>{{% endblock %}}"
    )
    assert done.fault == ""


def test_a_template_is_given_plain_values_only(tmp_path: Path) -> None:
    for live in (tmp_path, open, np.float64(1), b"bytes", {1: {tmp_path}}, [sample]):
        with pytest.raises(AssertionError, match="plain values only"):
            fill("condition.html.j2", attached=(), report=live)


def test_a_fault_of_ours_is_not_put_on_the_houses_templates(tmp_path: Path) -> None:
    with pytest.raises(Exception, match="report") as told:
        fill("condition.html.j2", HouseStyle(templates=tmp_path), attached=())
    assert not isinstance(told.value, TemplateFault)
