"""The ``pedalsetter`` program: its commands, each from a file of its own.

A command's file is imported when the command is called, so that ``--help`` waits for none of them.
"""

from __future__ import annotations

import gc
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperCommand

from pedalsetter.engrave.commands.shell import EXIT_CODES, Told
from pedalsetter.engrave.output.reports.terminal import use_plain_signs

__all__ = ["app", "main"]

HELP = {"help_option_names": ["-h", "--help"]}
"""How help is asked for."""

app = typer.Typer(
    name="pedalsetter",
    help="Plan, prove and engrave the pedal changes of a concert-harp part. "
    "The plan is a proposal; the harpist decides.",
    epilog=EXIT_CODES,
    no_args_is_help=True,
    context_settings=HELP,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

_COMMANDS = {
    "mark": (
        "Engrave the harp part with every pedal change marked.",
        "mark sonata.musicxml -o out",
    ),
    "plan": (
        "Print the plan: opening, changes, what cannot be played.",
        "plan sonata.musicxml --json",
    ),
    "check": (
        "Check the pedal marks that the score has against its notes.",
        "check sonata.musicxml --csv",
    ),
    "setting": (
        "Print how the pedals stand at a place, and what moves next.",
        "setting sonata.musicxml --at 12:3",
    ),
    "chart": (
        "Draw the pedal chart: where each pedal stands, along the bars.",
        "chart sonata.musicxml -o chart.svg",
    ),
    "practice": (
        "Draw the practice sheet: every setting as a diagram.",
        "practice sonata.musicxml -o practice.pdf",
    ),
    "glissando": (
        "Find the settings for a glissando.",
        "glissando C Eb Gb A --from 'D C B E F G A'",
    ),
    "diagram": (
        "Draw one setting diagram, as it looks on the page.",
        'diagram "D C# B E F# G# A" -o setting.svg',
    ),
    "batch": (
        "Mark every score of a catalogue; one that fails stops no other.",
        "batch parts -o out --jobs 4",
    ),
    "styles": (
        "List the house styles, or print one to begin your own from.",
        "styles final-part",
    ),
}
"""Each command's line in ``--help`` and an example of its use, in the order of ``--help``."""


class _Late(TyperCommand):
    """Stands for a command in the list, and calls in the command itself when it is used."""

    def make_context(self, *arguments: Any, **options: Any) -> Any:
        """The context of the command itself, as the program's parser asks for it."""
        return _whole(str(self.name)).make_context(*arguments, **options)


_GROUPS = {
    "What to read": "part decisions no_decisions respell allow thorough beside movement start "
    "watch cluster resume",
    "What the page looks like": "house_style dpi png keep_breaks preview flags contact_sheet "
    "source_marks split reading_score cue hide_empty nearest pdf",
    "What is written or printed": "folder output out force standalone critical_report write_back "
    "write form json csv why pin mends place flat open_pdf bars only verbose proof schema",
    "Limits and messages": "strict quiet time_limit memory_limit jobs help",
}
"""Options by what they are about, by the names of their parameters."""


class _Grouped(TyperCommand):
    """A command whose help groups its options by what they are about."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command, with the user's own defaults for options that were not given."""
        from pedalsetter.engrave.commands.user_defaults import take_defaults

        with Told(bool(ctx.params.get("traceback"))):
            take_defaults(ctx, frozenset(_COMMANDS))
        return super().invoke(ctx)

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments and options, each group under its own heading."""
        group_of = {name: group for group, names in _GROUPS.items() for name in names.split()}
        groups: dict[str, list[tuple[str, str]]] = {"Arguments": [], **{g: [] for g in _GROUPS}}
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is not None:
                kind = "Arguments" if param.param_type_name == "argument" else "Other options"
                groups.setdefault(group_of.get(str(param.name), kind), []).append(record)
        for heading, records in groups.items():
            if records:
                with formatter.section(heading):
                    formatter.write_dl(records)


def _whole(name: str) -> Any:
    """The command with its options, from the file that is called as it is."""
    from pedalsetter.engrave.commands.budget import within_budget

    function = getattr(import_module(f"pedalsetter.engrave.commands.{name}"), name)
    alone = typer.Typer(add_completion=False, rich_markup_mode=None)
    alone.command(
        name,
        cls=_Grouped,
        context_settings=HELP,
        epilog=f"Example: pedalsetter {_COMMANDS[name][1]}.  {EXIT_CODES}",
    )(within_budget(function))
    return typer.main.get_command(alone)


for _name, (_line, _) in _COMMANDS.items():
    app.command(_name, cls=_Late, short_help=_line)(lambda: None)


def _show_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        how = "compiled" if _search_is_compiled() else "interpreted"
        typer.echo(f"pedalsetter {version('pedalsetter')} (search {how})")
        raise typer.Exit


def _search_is_compiled() -> bool:
    """What ``planning.search.COMPILED`` says, found without waiting for the planner's imports."""
    from importlib.machinery import ExtensionFileLoader, PathFinder
    from importlib.util import find_spec

    package = find_spec("pedalsetter.analysis")
    folders = [f"{one}/planning" for one in (package and package.submodule_search_locations) or ()]
    found = PathFinder.find_spec("search", folders)
    return found is not None and isinstance(found.loader, ExtensionFileLoader)


@app.callback()
def _options(
    _version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    pass


def main() -> None:
    """Run the command; the entry point of the installed script."""
    use_plain_signs()
    # A run makes large trees and ends: looking for garbage in them costs time and frees nothing.
    gc.set_threshold(200_000, 50, 50)
    app()
