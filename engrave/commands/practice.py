"""``pedalsetter practice``: every setting of a piece on one sheet."""

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
from pedalsetter.engrave.commands.shell import (
    AllowOption,
    DecisionsOption,
    ForceOption,
    NoDecisionsOption,
    PartOption,
    QuietOption,
    RespellOption,
    Score,
    Steps,
    ThoroughOption,
    Told,
    TracebackOption,
    effort_of,
    read_decisions,
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
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 150,
    form: AsOption = None,
    force: ForceOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Draw the practice sheet: every setting as a diagram, with its bar, on one page if it fits."""
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.house_style import load_house_style
        from pedalsetter.engrave.output.pictures.picture import FORMS
        from pedalsetter.engrave.output.pictures.practice_sheet import draw_practice_sheet
        from pedalsetter.engrave.road import plan_score

        output = output_of(output, form)
        check_picture(output, FORMS, score, force=force)
        style = load_house_style(house_style)
        decided = read_decisions(score, decisions, no_decisions, respell, allow)
        planned = plan_score(score, part, progress, decisions=decided, effort=effort_of(thorough))
        progress("engraving")
        picture = draw_practice_sheet(planned, style)
        write_picture(output, picture.files(output, dpi), quiet, score, force=force)
