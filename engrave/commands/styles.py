"""``pedalsetter styles``: the house styles that come with the program, and each one's file."""

from __future__ import annotations

from json import dumps
from typing import Annotated

import typer

from pedalsetter.engrave.commands.shell import Told, TracebackOption
from pedalsetter.engrave.output.reports.terminal import write_data

__all__ = ["styles"]


def styles(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME|FILE]",
            help="Print this style whole, every option explained, to begin a file of your own from "
            "(for mark --house-style FILE).",
            show_default=False,
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
    traceback: TracebackOption = False,
) -> None:
    """List the house styles, or print one as a file to begin your own from."""
    with Told(traceback):
        from pedalsetter.engrave.house_style import (
            house_style_names,
            load_house_style,
            style_as_toml,
        )

        if name is not None:
            write_data(style_as_toml(load_house_style(name)))
            return
        names = house_style_names()
        if json:
            found = {each: load_house_style(each).description for each in names}
            write_data(dumps(found, ensure_ascii=False, indent=2) + "\n")
            return
        width = max(map(len, names))
        for each in names:
            typer.echo(f"{each:<{width}}  {load_house_style(each).description}")
