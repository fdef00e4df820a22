"""``pedalsetter mark``: engrave the part with every change marked."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.analysis.source_policy import SourceMarks
from pedalsetter.engrave.commands.budget import SECONDS, SecondsOption
from pedalsetter.engrave.commands.page_options import (
    ContactSheetOption,
    CriticalReportOption,
    CueOption,
    DpiOption,
    FlagsOption,
    HouseStyleOption,
    KeepBreaksOption,
    PngOption,
    PreviewOption,
    ReadingScoreOption,
    SourceMarksOption,
    SplitOption,
    StandaloneOption,
    WatchOption,
    WriteBackOption,
    WriteOption,
    wanted_of,
)
from pedalsetter.engrave.commands.shell import (
    AllowOption,
    DecisionsOption,
    ForceOption,
    MendsOption,
    NoDecisionsOption,
    PartOption,
    QuietOption,
    RespellOption,
    Score,
    Steps,
    StrictOption,
    ThoroughOption,
    Told,
    TracebackOption,
    exit_for,
    exit_for_failures,
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
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
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
    split: SplitOption = False,
    reading_score: ReadingScoreOption = False,
    cue: CueOption = None,
    mends: MendsOption = True,
    watch: WatchOption = False,
    force: ForceOption = False,
    strict: StrictOption = False,
    quiet: QuietOption = False,
    time_limit: SecondsOption = SECONDS,
    traceback: TracebackOption = False,
) -> None:
    """Engrave the harp part with every pedal change marked.

    Writes STEM.ly, STEM.pdf, STEM-1.png … and STEM.plan.json, and prints a summary. With --split
    the files are STEM-harp-1 … and STEM-harp-2 …, if the part wants a second harp; with
    --reading-score they are STEM-reading ….
    """
    with Told(traceback):
        from pedalsetter.engrave.commands.mark_job import MarkJob

        job = MarkJob(
            score,
            folder,
            part,
            decisions,
            no_decisions,
            respell,
            tuple(allow or ()),
            house_style,
            dpi if png else None,
            wanted_of(
                standalone=standalone,
                keep_breaks=keep_breaks,
                preview=preview,
                flags=flags,
                contact_sheet=contact_sheet,
                mends=mends and not watch,
                critical_report=critical_report,
                write_back=write_back,
                write=write,
            ),
            source_marks,
            thorough,
            force,
        )
        other = watch or preview or flags or critical_report or job.wanted.marked_copy
        if other and (split or reading_score):
            raise typer.BadParameter(
                f"{'--split' if split else '--reading-score'} goes with none of --watch, "
                "--preview, --flags, --critical-report, --write-back and --write"
            )
        if split:
            from pedalsetter.engrave.commands.splitting import split_job

            if split_job(job, quiet=quiet, strict=strict):
                return
        if cue and not reading_score:
            raise typer.BadParameter("--cue belongs to --reading-score")
        if reading_score:
            from pedalsetter.engrave.commands.reading import reading_job

            reading_job(job, cue or (), quiet=quiet, strict=strict)
            return
        if watch:
            from pedalsetter.engrave.commands.watching import watch_job

            watch_job(job, time_limit)
            return
        with Steps(quiet) as progress:
            result, written = job.run(progress)
    if not quiet:
        from pedalsetter.engrave.output.report import print_summary

        print_summary(result, written)
    exit_for_failures(score, result.proof.failures)
    edition = result.planned.edition
    if strict and edition is not None and edition.remaining.wrong:
        raise typer.Exit(1)
    exit_for(result.planned.plan.findings, strict)
