"""``pedalsetter diagram``: draw one setting."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.engrave.commands.page_options import HouseStyleOption
from pedalsetter.engrave.commands.pictures import (
    AsOption,
    DpiOption,
    check_picture,
    output_of,
    write_picture,
)
from pedalsetter.engrave.commands.shell import ForceOption, QuietOption, Told, TracebackOption

__all__ = ["diagram"]


def diagram(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="SETTING",
            help='All seven pedals, as in "D C# B E F# G# A", or in the short form bsn|ssnb.',
            show_default=False,
        ),
    ],
    output: Annotated[
        Path,
        typer.Option(
            "-o", "--output", metavar="FILE", help="The picture: .png, .svg, .pdf or .ly."
        ),
    ],
    start: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="SETTING",
            help="The setting before: pedals that stand differently are ringed.",
            show_default=False,
        ),
    ] = None,
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 300,
    form: AsOption = None,
    force: ForceOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Draw one setting diagram, cropped, as it looks on the page."""
    with Told(traceback):
        from pedalsetter.analysis.instrument.harp import Setting
        from pedalsetter.engrave.house_style import load_house_style
        from pedalsetter.engrave.output.pictures.diagram import draw_diagram
        from pedalsetter.engrave.output.pictures.picture import FORMS

        output = output_of(output, form)
        check_picture(output, FORMS, None, force=force)
        setting = Setting.read(" ".join(words))
        changed = Setting.read(start).letters_unlike(setting) if start is not None else ()
        picture = draw_diagram(setting, load_house_style(house_style), changed)
        write_picture(output, picture.files(output, dpi), quiet, None, force=force)
