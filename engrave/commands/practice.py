"""``pedalsetter practice``: every setting of a piece on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.engrave.commands.pictures import DpiOption, HouseStyleOption, write_picture
from pedalsetter.engrave.commands.shell import (
    PartOption,
    QuietOption,
    Score,
    Steps,
    Told,
    TracebackOption,
)

__all__ = ["practice"]


def practice(
    score: Score,
    output: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="The sheet: .pdf, .png, .svg or .ly. Several PNG or SVG pages are numbered.",
        ),
    ],
    part: PartOption = None,
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 150,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Draw the practice sheet: every setting as a diagram, with its bar, on one page if it fits."""
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.house_style import load_house_style
        from pedalsetter.engrave.output.picture import FORMS, form_of
        from pedalsetter.engrave.output.practice_sheet import draw_practice_sheet
        from pedalsetter.engrave.road import plan_score

        form_of(output, FORMS)
        style = load_house_style(house_style)
        planned = plan_score(score, part, progress)
        progress("engraving")
        picture = draw_practice_sheet(planned, style)
        write_picture(output, picture.files(output, dpi), quiet, score)
