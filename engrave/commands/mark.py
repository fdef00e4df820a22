"""``pedalsetter mark``: engrave the part with every change marked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.engrave.commands.budget import SECONDS, SecondsOption
from pedalsetter.engrave.commands.page_options import (
    ContactSheetOption,
    CriticalReportOption,
    CueOption,
    DpiOption,
    FlagsOption,
    HideEmptyOption,
    HouseStyleOption,
    KeepBreaksOption,
    PageRespellOption,
    PngOption,
    PreviewOption,
    ProofOption,
    ReadingScoreOption,
    SourceMarksOption,
    SplitOption,
    StandaloneOption,
    WatchOption,
    WriteBackOption,
    WriteOption,
    respell_values,
    wanted_of,
)
from pedalsetter.engrave.commands.pictures import PIPED, AsOption
from pedalsetter.engrave.commands.shell import (
    AllowOption,
    BarsOption,
    DecisionsOption,
    ForceOption,
    MendsOption,
    NoDecisionsOption,
    OnlyOption,
    PartOption,
    QuietOption,
    Score,
    Steps,
    StrictOption,
    ThoroughOption,
    Told,
    TracebackOption,
    VerboseOption,
    exit_for,
    exit_for_failures,
)

if TYPE_CHECKING:
    from pedalsetter.engrave.commands.mark_job import MarkJob
    from pedalsetter.engrave.output.results import EngravedScore

__all__ = ["mark"]


def mark(
    score: Score,
    folder: Annotated[
        Path,
        typer.Option(
            "-o", "--output", metavar="DIR", help="Folder for the results; - prints one of them."
        ),
    ] = Path(),
    form: AsOption = None,
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: PageRespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    house_style: HouseStyleOption = "final-part",
    dpi: DpiOption = 150,
    png: PngOption = True,
    pdf: Annotated[
        bool,
        typer.Option(
            "--pdf/--no-pdf",
            help="Whether to engrave; --no-pdf with --write-back needs no LilyPond.",
        ),
    ] = True,
    keep_breaks: KeepBreaksOption = False,
    preview: PreviewOption = False,
    flags: FlagsOption = False,
    contact_sheet: ContactSheetOption = False,
    standalone: StandaloneOption = True,
    source_marks: SourceMarksOption = SourceMarks.REPLACE,
    critical_report: CriticalReportOption = False,
    proof: ProofOption = False,
    write_back: WriteBackOption = False,
    write: WriteOption = None,
    split: SplitOption = False,
    reading_score: ReadingScoreOption = False,
    cue: CueOption = None,
    hide_empty: HideEmptyOption = False,
    mends: MendsOption = True,
    watch: WatchOption = False,
    force: ForceOption = False,
    open_pdf: Annotated[
        bool, typer.Option("--open", help="Open the pages in the program for PDF.")
    ] = False,
    bars: BarsOption = None,
    only: OnlyOption = None,
    verbose: VerboseOption = False,
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

        piped = str(folder) == PIPED
        if form is not None and not piped:
            raise typer.BadParameter("--as goes with -o -")
        respell, respelled_notes = respell_values(respell)
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
                proof=proof,
                write_back=write_back,
                write=write,
                respelled_notes=respelled_notes,
            ),
            source_marks,
            thorough,
            force,
            printed=(form or "pdf").removeprefix(".") if piped else None,
        )
        other = watch or preview or flags or critical_report or proof or job.wanted.marked_copy
        if other and (split or reading_score):
            raise typer.BadParameter(
                f"{'--split' if split else '--reading-score'} goes with none of --watch, "
                "--preview, --flags, --critical-report, --proof, --write-back and --write"
            )
        if part == "all" and (split or reading_score or watch):
            raise typer.BadParameter(
                "--part all goes with none of --split, --reading-score, --watch"
            )
        if piped and (split or reading_score or watch or open_pdf or part == "all"):
            raise typer.BadParameter(
                "-o - goes with none of --split, --reading-score, --watch, --open and --part all"
            )
        if split:
            from pedalsetter.engrave.commands.splitting import split_job

            if split_job(job, quiet=quiet, strict=strict):
                return
        if cue and not reading_score:
            raise typer.BadParameter("--cue belongs to --reading-score")
        if hide_empty and not reading_score:
            raise typer.BadParameter("--hide-empty belongs to --reading-score")
        if reading_score:
            from pedalsetter.engrave.commands.reading import reading_job

            reading_job(job, cue or (), hide_empty=hide_empty, quiet=quiet, strict=strict)
            return
        if watch:
            from pedalsetter.engrave.commands.watching import watch_job

            watch_job(job, time_limit)
            return
        if not pdf and not job.wanted.marked_copy:
            raise typer.BadParameter("--no-pdf goes with --write-back or --write")
        jobs = job.for_each_harp() if part == "all" else (job,)
        codes = [
            _marked(
                one,
                pdf=pdf,
                quiet=quiet or piped,
                verbose=verbose,
                strict=strict,
                open_pdf=open_pdf,
                bars=bars,
                only=only,
            )
            for one in jobs
        ]
    if any(codes):
        raise typer.Exit(max(codes))


def _marked(
    job: MarkJob,
    *,
    pdf: bool,
    quiet: bool,
    verbose: bool,
    strict: bool,
    open_pdf: bool,
    bars: str | None,
    only: str | None,
) -> int:
    """Do one job, tell of it, and return its exit code."""
    from pedalsetter.engrave.output.reports.entries import selected
    from pedalsetter.engrave.output.reports.report import print_summary

    with Steps(quiet) as progress:
        result: EngravedScore | None = None
        if pdf:
            result, written = job.run(progress)
            planned, notices = result.planned, result.notices
        else:
            planned, written, notices = job.run_without_pages(progress)
        selection = selected(planned.part, bars, only)
    if not quiet:
        if job.of_harp:
            typer.echo(f"\n{planned.part.part_name}")
        print_summary(
            planned, written, result, notices=notices, verbose=verbose, selection=selection
        )
    if open_pdf:
        typer.launch(str(next(path for path in written if path.suffix in (".pdf", ".json"))))
    edition = planned.edition
    try:
        exit_for_failures(job.score, () if result is None else result.proof.failures)
        if strict and edition is not None and edition.remaining.wrong:
            return 1
        exit_for(planned.plan.findings, strict)
    except typer.Exit as ended:
        return ended.exit_code
    return 0
