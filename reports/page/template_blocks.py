"""Blocks of a house's own templates: one that stands in no block of what it extends would be printed nowhere."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jinja2 import Environment, TemplateError, nodes

from pipeline.common.closest import offered
from reports.page.house_style import RenderingFault


class TemplateFault(RenderingFault):
    """A template of a workspace cannot be read, or asks for what is not there or not its to have."""


def refuse_unprinted(environment: Environment, template: str, folder: Path) -> None:
    """Refuse a template of a house that fills a block which there is not, or writes beside its blocks.

    Args:
        environment: of these templates.
        template: name of the template that is to be filled.
        folder: the house's own templates.

    Raises:
        TemplateFault: Jinja would leave that out without a word; file and line are named.
    """
    chain = list(_chain(environment, template))
    for place, (name, parsed) in enumerate(chain[:-1]):
        if not (folder / name).is_file():
            return
        above = chain[place + 1][0]
        known = {block.name for _, one in chain[place + 1 :] for block in one.find_all(nodes.Block)}
        for node in parsed.body:
            if said := _unprinted(node, known, above):
                raise TemplateFault(f"{folder.name}/{name}, line {node.lineno}: {said}.")


def _unprinted(node: nodes.Node, known: set[str], above: str) -> str:
    """Why a part of a template that extends another is printed nowhere; "" where it is, or prints nothing."""
    if isinstance(node, nodes.Block) and node.name not in known:
        return f"{above} has no block “{node.name}”{offered(node.name, sorted(known))}"
    if isinstance(node, nodes.Output) and any(_says(one) for one in node.nodes):
        return f"what stands outside of the blocks of a template that extends {above} is not printed"
    return ""


def _says(part: nodes.Node) -> bool:
    return not isinstance(part, nodes.TemplateData) or bool(part.data.strip())


def _chain(environment: Environment, name: str | None) -> Iterator[tuple[str, nodes.Template]]:
    """A template and those that it extends, as far as they can be read: whoever fills it is told of one that cannot."""
    assert environment.loader is not None, "the templates have a loader"
    seen: set[str] = set()
    while name and name not in seen:
        seen.add(name)
        try:
            source, file, _ = environment.loader.get_source(environment, name)
            parsed = environment.parse(source, name, file)
        except (TemplateError, RenderingFault):
            return
        yield name, parsed
        name = _extended(parsed)


def _extended(parsed: nodes.Template) -> str | None:
    """Name of the template that one extends; None where there is none, or where it is worked out."""
    found = parsed.find(nodes.Extends)
    return str(found.template.value) if found and isinstance(found.template, nodes.Const) else None
