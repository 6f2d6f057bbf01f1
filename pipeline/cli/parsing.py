"""How a command line is taken apart and its help laid out: nothing given is lost, nothing said is cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from typer.core import TyperCommand, TyperGroup, TyperOption

from pipeline.common.refusal import WrongUsage


class Command(TyperCommand):
    """A command that refuses an option of one value given twice, of which the first would be lost, and empty paths."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """What is left of the words.

        Raises:
            WrongUsage: an option that takes one value is given twice, or a path is empty.
        """
        left = super().parse_args(ctx, list(args))
        values, _, given = self.make_parser(ctx).parse_args(list(args))
        _refuse_empty_paths(self.get_params(ctx), values)
        for option, times in Counter(given).items():
            if times > 1 and isinstance(option, TyperOption) and not (option.multiple or option.is_flag):
                name = max(option.opts, key=len)
                raise WrongUsage(f"{name} is given {_times(times)}; it takes one value.", f"Keep one {name}.")
        return left

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """Words of the usage line, an argument that is needed as its bare name; "..." once where it may be repeated."""
        pieces = [piece.replace("{", "").replace("}", "") for piece in super().collect_usage_pieces(ctx)]
        return [piece.replace("......", "...").replace("...]...", "...]") for piece in pieces]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments and options; an argument by its name, for its form stands in its text."""
        told: dict[str, list[tuple[str, str]]] = {"argument": [], "option": []}
        for one in self.get_params(ctx):
            if record := one.get_help_record(ctx):
                name = record[0].split(" <")[0] if one.param_type_name == "argument" else record[0]
                told[one.param_type_name].append((name, record[1]))
        for title, records in (("Arguments", told["argument"]), ("Options", told["option"])):
            if records:
                with formatter.section(title):
                    formatter.write_dl(records)


class Commands(TyperGroup):
    """All commands; in the list of them the first sentence of each stands whole."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """What is left of the words.

        Raises:
            WrongUsage: a path is empty.
        """
        _refuse_empty_paths(self.get_params(ctx), self.make_parser(ctx).parse_args(list(args))[0])
        return super().parse_args(ctx, args)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list of commands."""
        whole = 10_000
        records = [(name, self.commands[name].get_short_help_str(whole)) for name in self.list_commands(ctx)]
        with formatter.section("Commands"):
            formatter.write_dl(records)


def of_a_workspace(ctx: Any) -> list[str]:
    """Commands that take a workspace, of which a command line names one."""
    commands = ctx.find_root().command.commands
    return [name for name, one in commands.items() if any(option.name == "workspace" for option in one.params)]


def _refuse_empty_paths(params: Iterable[Any], values: Mapping[str, Any]) -> None:
    """Refuse "" for a path, which would stand for the current folder: a script's variable had nothing in it."""
    for one in params:
        told = values.get(one.name)
        if one.type_descriptor.annotation in (Path, list[Path]) and "" in (
            told if isinstance(told, list | tuple) else [told]
        ):
            name = max(one.opts, key=len) if isinstance(one, TyperOption) else one.metavar.removesuffix("...")
            raise WrongUsage(f"{name} is empty.", "Name a file or a folder; the current folder is a full stop.")


def _times(number: int) -> str:
    return "twice" if number == 2 else f"{number} times"
