"""``pedalsetter mark``: engrave the part with every change marked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.analysis.marking import SourceMarks
from pedalsetter.engrave.commands.page_options import (
    ContactSheetOption,
    CriticalReportOption,
    DpiOption,
    FlagsOption,
    HouseStyleOption,
    KeepBreaksOption,
    PngOption,
    PreviewOption,
    SourceMarksOption,
    StandaloneOption,
    WriteBackOption,
    WriteOption,
)
from pedalsetter.engrave.commands.shell import (
    DecisionsOption,
    MendsOption,
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
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 150,
    png: PngOption = True,
    keep_breaks: KeepBreaksOption = False,
    preview: PreviewOption = False,
    flags: FlagsOption = False,
    contact_sheet: ContactSheetOption = False,
    standalone: StandaloneOption = True,
    source_marks: SourceMarksOption = SourceMarks.REPLACE,
    critical_report: CriticalReportOption = False,
    write_back: WriteBackOption = False,
    write: WriteOption = None,
    mends: MendsOption = True,
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
            wanted=Wanted(
                standalone,
                keep_breaks,
                preview,
                flags,
                contact_sheet,
                mends=mends,
                critical_report=critical_report,
                marked_copy=write_back or write is not None,
                copy_format=None if write is None else write.value,
            ),
            progress=progress,
            decisions=read_decisions(score, decisions, no_decisions, respell),
            source_marks=source_marks,
        )
        copied = score if write_back or write is not None else None
        files, notices = result_files(result, stem_of(score), marked_copy_of=copied)
        written = write_files(folder, files, score)
    if not quiet:
        from pedalsetter.engrave.output.report import print_summary

        print_summary(replace(result, notices=notices), written)
    if not result.proof.holds:
        for failure in result.proof.failures:
            typer.echo(f"pedalsetter: {score.name}, {failure}", err=True)
        raise typer.Exit(EngravingError.exit_code)
    edition = result.planned.edition
    if strict and edition is not None and edition.remaining.wrong:
        raise typer.Exit(1)
    exit_for(result.planned.plan.findings, strict)
