"""``pedalsetter chart``: the pedals of the whole piece as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.engrave.commands.pictures import AsOption, check_picture, output_of, write_picture
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

__all__ = ["chart"]


def chart(
    score: Score,
    output: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="The picture: .pdf, .png or .svg. Several pages are numbered: chart-1.png …",
        ),
    ],
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    dpi: Annotated[
        int, typer.Option(min=30, max=600, help="Resolution of a PNG, dots an inch.")
    ] = 150,
    form: AsOption = None,
    force: ForceOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Draw the pedal chart: where each pedal stands, along the bars, with changes and findings."""
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.output.chart.chart import CHART_FORMS, draw_chart
        from pedalsetter.engrave.road import plan_score

        output = output_of(output, form)
        check_picture(output, CHART_FORMS, score, force=force)
        decided = read_decisions(score, decisions, no_decisions, respell, allow)
        planned = plan_score(score, part, progress, decisions=decided, effort=effort_of(thorough))
        progress("drawing")
        files = draw_chart(planned).files(output, dpi)
        write_picture(output, files, quiet, score, force=force)
