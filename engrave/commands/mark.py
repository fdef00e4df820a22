"""``pedalsetter mark``: engrave the part with every change marked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.engrave.commands.shell import (
    DecisionsOption,
    NoDecisionsOption,
    PartOption,
    QuietOption,
    RespellOption,
    Score,
    Steps,
    StrictOption,
    Told,
    TracebackOption,
    exit_for,
    read_decisions,
)

__all__ = ["mark"]


def mark(
    score: Score,
    folder: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="DIR", help="Folder for the results."),
    ] = Path(),
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    house_style: Annotated[
        str,
        typer.Option("--house-style", metavar="NAME|FILE", help="How the page looks."),
    ] = "final-part",
    dpi: Annotated[
        int, typer.Option(min=30, max=1200, help="Resolution of the PNG pages, dots an inch.")
    ] = 150,
    png: Annotated[bool, typer.Option("--png/--no-png", help="Whether to draw PNG pages.")] = True,
    keep_breaks: Annotated[
        bool,
        typer.Option("--keep-breaks", help="Break systems and pages where the score does."),
    ] = False,
    preview: Annotated[
        bool,
        typer.Option("--preview", help="Draw only the systems that hold marks, one PNG each."),
    ] = False,
    flags: Annotated[
        bool,
        typer.Option("--flags", help="Number the findings in the margin of the PNG pages."),
    ] = False,
    contact_sheet: Annotated[
        bool, typer.Option("--contact-sheet", help="Draw all pages on one small PNG as well.")
    ] = False,
    standalone: Annotated[
        bool,
        typer.Option(
            "--standalone/--no-standalone",
            help="Whether the stylesheet stands in STEM.ly, or beside it as pedals.ily.",
        ),
    ] = True,
    write: Annotated[
        bool,
        typer.Option(
            "--write-back",
            help="Also write the marks into a copy of the score itself (MusicXML, MXL or MEI).",
        ),
    ] = False,
    strict: StrictOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Engrave the harp part with every pedal change marked.

    Writes STEM.ly, STEM.pdf, STEM-1.png … and STEM.plan.json, and prints a summary.
    """
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.output.files import write_files
        from pedalsetter.engrave.output.result_files import result_files
        from pedalsetter.engrave.road import Wanted, mark_score, stem_of

        result = mark_score(
            score,
            part,
            house_style=house_style,
            dpi=dpi if png else None,
            wanted=Wanted(standalone, keep_breaks, preview, flags, contact_sheet),
            progress=progress,
            decisions=read_decisions(score, decisions, no_decisions, respell),
        )
        files, notices = result_files(
            result, stem_of(score), marked_copy_of=score if write else None
        )
        written = write_files(folder, files, score)
    if not quiet:
        from pedalsetter.engrave.output.report import print_summary

        print_summary(replace(result, notices=notices), written)
    if not result.proof.holds:
        for failure in result.proof.failures:
            typer.echo(f"pedalsetter: {score.name}, {failure}", err=True)
        raise typer.Exit(EngravingError.exit_code)
    exit_for(result.planned.plan.findings, strict)
