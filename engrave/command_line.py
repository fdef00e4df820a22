"""The ``pedalsetter`` program: its commands, each from a file of its own."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable
from importlib.metadata import version
from typing import Annotated

import typer

from pedalsetter.engrave.commands.batch import batch
from pedalsetter.engrave.commands.budget import within_budget
from pedalsetter.engrave.commands.chart import chart
from pedalsetter.engrave.commands.check import check
from pedalsetter.engrave.commands.diagram import diagram
from pedalsetter.engrave.commands.glissando import glissando
from pedalsetter.engrave.commands.mark import mark
from pedalsetter.engrave.commands.plan import plan
from pedalsetter.engrave.commands.practice import practice
from pedalsetter.engrave.commands.setting import setting
from pedalsetter.engrave.commands.shell import EXIT_CODES
from pedalsetter.engrave.commands.styles import styles

__all__ = ["app", "main"]

app = typer.Typer(
    name="pedalsetter",
    help="Plan, prove and engrave the pedal changes of a concert-harp part. "
    "The plan is a proposal; the harpist decides.",
    epilog=EXIT_CODES,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

_COMMANDS: tuple[tuple[Callable[..., None], str], ...] = (
    (mark, "mark sonata.musicxml -o out"),
    (plan, "plan sonata.musicxml --json"),
    (check, "check sonata.musicxml --csv"),
    (setting, "setting sonata.musicxml --at 12:3"),
    (chart, "chart sonata.musicxml -o chart.svg"),
    (practice, "practice sonata.musicxml -o practice.pdf"),
    (glissando, "glissando C Eb Gb A --from 'D C B E F G A'"),
    (diagram, 'diagram "D C# B E F# G# A" -o setting.svg'),
    (batch, "batch parts -o out --jobs 4"),
    (styles, "styles final-part"),
)
"""Each command with an example of its use; the order is that of ``--help``."""

for _command, _example in _COMMANDS:
    app.command(epilog=f"Example: pedalsetter {_example}.  {EXIT_CODES}")(within_budget(_command))


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pedalsetter {version('pedalsetter')}")
        raise typer.Exit


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
    # Signs such as ♯ must not stop a run on a terminal with a narrow encoding.
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    # A run makes large trees and ends: looking for garbage in them costs time and frees nothing.
    gc.set_threshold(200_000, 50, 50)
    app()
