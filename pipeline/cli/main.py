"""The command `areaway`: its options, its commands, and what a user sees when something is wrong."""

import importlib
import os
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from pipeline.errors import UserError

OPTION_LIKE_A_COLUMN = re.compile(r"--[a-z]+(?:_[a-z]+)+")

NUMBERS: dict[Any, str] = {int: "a whole number, such as 20", float: "a number, such as 0.35"}

# One line per command: where it lives, and its one-line help. A command is imported only when it is called.
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("pipeline.cli.demo:demo", "Make the sample firm's book and its pages: the whole job once."),
    "blank": ("pipeline.cli.blank:blank", "A workbook to hand out and a check card to print."),
    "inspect": ("pipeline.cli.inspect:inspect", "How each column of new files is understood, with doubts."),
    "ingest": ("pipeline.cli.ingest:ingest", "Take files or folders into the book."),
    "quarantine": ("pipeline.cli.quarantine:quarantine", "Rows that wait, and why; export, correct, drop."),
    "withdraw": ("pipeline.cli.withdraw:withdraw", "Take a batch back."),
    "fit": ("pipeline.cli.fit:fit", "Learn hours, materials and callbacks from the book; say how well."),
    "quote": ("pipeline.cli.quote:quote", "Hours, materials, cost, price and risk of one or more openings."),
    "margins": ("pipeline.cli.margins:margins", "What jobs cost and earned, and why they differed."),
    "month": ("pipeline.cli.month:month", "The month in words, with its numbers."),
    "jobs": ("pipeline.cli.jobs:jobs", "The jobs, open ones with what they will cost; or one job whole."),
    "checks": ("pipeline.cli.checks:checks", "Openings whose readings break the firm's own limits."),
    "patterns": ("pipeline.cli.patterns:patterns", "Install patterns and what they do to callbacks."),
    "crews": ("pipeline.cli.crews:crews", "Callbacks per crew against what their work would give."),
    "callbacks": ("pipeline.cli.callbacks:callbacks", "Callbacks with costs, or the case file of one."),
    "revisit": ("pipeline.cli.revisit:revisit", "Finished openings most likely to call back, with reasons."),
    "reserve": ("pipeline.cli.reserve:reserve", "Callback cost still to come under warranty."),
    "dashboards": ("pipeline.cli.dashboards:dashboards", "The pages for owner, estimator and warranty manager."),
    "export": ("pipeline.cli.export:export", "Every table and view, to take elsewhere."),
    "info": ("pipeline.cli.info:info", "What the book holds."),
}


def _as_typed(option: Any) -> Any:
    """The option, reading words, paths and what was not given as they are; all else in the parser's own way.

    The parser hands every value to a checking library whose import takes longer than a quote does. Where an option
    does not say what it holds in the place looked at, the parser's own way is taken: slower, never different.
    """
    checked: Callable[[Any, Any], Any] = type(option).process_value.__get__(option)
    kind = getattr(getattr(option, "type_descriptor", None), "annotation", None)

    def read(ctx: Any, value: Any) -> Any:
        if value is None and kind is not None:
            return None
        if kind is not None and kind in NUMBERS and isinstance(value, str):
            _refuse_unless_number(ctx, option, value, kind)
        return kind(value) if kind in (str, Path) else checked(ctx, value)

    if option.nargs == 1 and not (option.multiple or option.required or option.callback):
        option.process_value = read
    elif option.is_eager and option.nargs == 1:  # --help, which is read by its callback
        option.process_value = lambda ctx, value: option.callback(ctx, option, value) if value else value
    return option


def _refuse_unless_number(ctx: Any, option: Any, value: str, kind: Callable[[str], float]) -> None:
    """Say in our words that an option's value is no number."""
    try:
        kind(value)
    except ValueError as error:
        raise typer.BadParameter(f"'{value}' is not {NUMBERS[kind]}", ctx=ctx, param=option) from error


class PlainCommand(TyperCommand):
    """A command whose words and paths are taken as typed."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its options and arguments."""
        return [_as_typed(option) for option in super().get_params(ctx)]


class LazyCommands(TyperGroup):
    """Commands that are imported when they are called, so that `--help` stays quick."""

    def get_params(self, ctx: Any) -> list[Any]:
        """The options before the command."""
        return [_as_typed(option) for option in super().get_params(ctx)]

    def list_commands(self, ctx: Any) -> list[str]:
        """The commands in the order of the manual."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command of that name, imported now."""
        if cmd_name not in COMMANDS:
            return None
        if cmd_name not in self.commands:
            place, summary = COMMANDS[cmd_name]
            self.commands[cmd_name] = _command(cmd_name, _function(place), summary)
        return self.commands[cmd_name]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """The list in `--help`, without importing any command."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, (_, summary) in COMMANDS.items()])


def _function(place: str) -> Callable[..., None]:
    module, function = place.split(":")
    found: Callable[..., None] = getattr(importlib.import_module(module), function)
    return found


def _command(name: str, function: Callable[..., None], summary: str) -> Any:
    single = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
    single.command(name, cls=PlainCommand, short_help=summary)(function)
    command = typer.main.get_command(single)
    command.name = name
    return command


app = typer.Typer(
    cls=LazyCommands,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)


@app.callback()
def areaway(
    ctx: typer.Context,
    book: Annotated[
        Path, typer.Option(envvar="AREAWAY_BOOK", metavar="FILE", help="The book: one DuckDB file.")
    ] = Path("areaway.duckdb"),
    settings: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Settings; areaway.toml in the working folder when left out.")
    ] = None,
) -> None:
    """Job records of an egress-window installer in, three answers out.

    What made money, what the next opening takes, what brings a crew back.
    """
    ctx.obj = {"book": book, "settings": settings}


def with_hyphens(argument: str) -> str:
    """An option named like a column (--wall_type) as the option the parser knows (--wall-type)."""
    name, equals, value = argument.partition("=")
    return name.replace("_", "-") + equals + value if OPTION_LIKE_A_COLUMN.fullmatch(name) else argument


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command; a fault of the user's making is one sentence on standard error and its exit code."""
    given = sys.argv[1:] if arguments is None else arguments
    try:
        app(args=[with_hyphens(argument) for argument in given], prog_name="areaway")
    except UserError as error:
        print(error, file=sys.stderr)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # the reader (head, less) has left
        sys.exit(0)
