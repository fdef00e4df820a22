"""``pedalsetter batch``: mark a whole catalogue of scores."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.engrave.commands.page_options import (
    ContactSheetOption,
    CriticalReportOption,
    DpiOption,
    FlagsOption,
    HouseStyleOption,
    KeepBreaksOption,
    PageRespellOption,
    PngOption,
    PreviewOption,
    ProofOption,
    SourceMarksOption,
    StandaloneOption,
    WriteBackOption,
    WriteOption,
    respell_values,
    wanted_of,
)
from pedalsetter.engrave.commands.shell import (
    AllowOption,
    ForceOption,
    MendsOption,
    NoDecisionsOption,
    PartOption,
    QuietOption,
    StrictOption,
    ThoroughOption,
    Told,
    TracebackOption,
)

if TYPE_CHECKING:
    from pedalsetter.engrave.batch.record import Ended, Record
    from pedalsetter.engrave.batch.task import Task

__all__ = ["batch"]


def batch(
    scores: Annotated[
        list[str],
        typer.Argument(
            metavar="FOLDER|GLOB|LIST ...",
            help="A folder with all below it; a pattern in quotes, as 'parts/**/*harp*.mxl'; or a "
            "text file with one of these a line, # before a comment.",
            show_default=False,
        ),
    ],
    out: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="OUT",
            help="Folder for the results, one folder a score in it.",
            show_default=False,
        ),
    ],
    jobs: Annotated[
        int | None,
        typer.Option(min=1, help="Scores at work at once. Default: one a processor core."),
    ] = None,
    resume: Annotated[
        bool, typer.Option("--resume", help="Go on with an earlier run, however it ended.")
    ] = False,
    cluster: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="Work on the Dask scheduler there, whose workers see the same paths.",
            show_default=False,
        ),
    ] = None,
    time_limit: Annotated[
        int, typer.Option("--time-limit", min=1, help="Seconds that one score may take.")
    ] = 600,
    memory_limit: Annotated[
        int,
        typer.Option("--memory-limit", min=256, help="Megabytes that one score may hold."),
    ] = 4096,
    part: PartOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: PageRespellOption = None,
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
    proof: ProofOption = False,
    write_back: WriteBackOption = False,
    write: WriteOption = None,
    mends: MendsOption = True,
    force: ForceOption = False,
    flat: Annotated[
        bool,
        typer.Option(
            "--flat", help="Also copy every PDF and every marked copy into one folder, OUT/all."
        ),
    ] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print how every score ended as JSON.")
    ] = False,
    strict: StrictOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Mark every score of a catalogue; one that fails never stops the others.

    Writes a folder for each score, journal.jsonl and summary.csv. After a break, --resume goes on.
    """
    if cluster is not None and jobs is not None:
        raise typer.BadParameter("--jobs is for this machine; a cluster has its own workers")
    with Told(traceback):
        from pedalsetter.analysis.naming.wording import many
        from pedalsetter.engrave.batch.catalogue import run_catalogue, tasks_of
        from pedalsetter.engrave.batch.cluster import work_on_cluster
        from pedalsetter.engrave.batch.flat import gather
        from pedalsetter.engrave.batch.journal import JOURNAL, Journal
        from pedalsetter.engrave.batch.local import processors, work_locally
        from pedalsetter.engrave.batch.lock import only_run
        from pedalsetter.engrave.batch.scores import find_scores, passed_over
        from pedalsetter.engrave.batch.summary import (
            SUMMARY,
            check_summary,
            exit_code,
            print_summary,
            summary_csv,
            summary_json,
        )
        from pedalsetter.engrave.batch.task import Treatment
        from pedalsetter.engrave.output.files import write_files
        from pedalsetter.engrave.output.reports.report import console_for_results
        from pedalsetter.engrave.output.reports.terminal import write_data
        from pedalsetter.engrave.road import decisions_for

        # A wrong option is told once, and not once a score.
        freedoms = tuple(sorted(set(allow or ())))
        respell, respelled_notes = respell_values(respell)
        decisions_for("", look=False, respell=respell, allow=freedoms)
        treatment = Treatment(
            part,
            _usable(house_style),
            dpi if png else None,
            wanted_of(
                standalone=standalone,
                keep_breaks=keep_breaks,
                preview=preview,
                flags=flags,
                contact_sheet=contact_sheet,
                mends=mends,
                critical_report=critical_report,
                proof=proof,
                write_back=write_back,
                write=write,
                respelled_notes=respelled_notes,
            ),
            source_marks,
            not no_decisions,
            respell,
            freedoms,
            thorough,
        )
        found = find_scores(scores, out)
        tasks = tasks_of(found, out, treatment, time_limit, memory_limit << 20, force=force)
        with only_run(out) as lock:
            if not (out / JOURNAL).exists():
                check_summary(out, None, force=force)
            journal = Journal(out, treatment, resume=resume)
            try:
                check_summary(out, journal.summary, force=force)

                def work(left: Sequence[Task]) -> Iterator[Ended]:
                    if cluster is not None:
                        return work_on_cluster(left, cluster)
                    _engraver_is_there()
                    return work_locally(left, jobs or processors(), (lock,))

                with _bar(len(found), quiet) as progress:
                    records = run_catalogue(found, tasks, journal, work, progress)
                summary = summary_csv(records)
                journal.write_summary(hashlib.sha256(summary).hexdigest())
                write_files(out, {SUMMARY: summary}, None, force=True)
            finally:
                journal.close()
            gathered = gather(out, records, force=force) if flat else None
        if json:
            write_data(summary_json(records))
        elif not quiet:
            print_summary(console_for_results(), records)
            for suffix, count in sorted(passed_over(scores, out).items()):
                typer.echo(f"Not read: {many(count, f'{suffix} file')}. Export MusicXML instead.")
            typer.echo(f"Results, {journal.path.name} and {SUMMARY} are in {out}")
            if gathered is not None:
                typer.echo(f"All pages are in {gathered}")
        code = exit_code(records, strict)
    if code:
        raise typer.Exit(code)


def _usable(house_style: str) -> str:
    """The house style, once it is known to be one; a file by its absolute path."""
    from pedalsetter.engrave.house_style import load_house_style

    load_house_style(house_style)
    path = Path(house_style)
    return str(path.absolute()) if path.is_file() else house_style


def _engraver_is_there() -> None:
    """Say at once, and not once a score, that the engraver is missing."""
    from pedalsetter.engrave.output.pages.engraver import find_lilypond

    find_lilypond()


@contextmanager
def _bar(scores: int, quiet: bool) -> Iterator[Callable[[Record], None]]:
    """A progress bar on a terminal; nothing in a pipe and with ``--quiet``."""
    from rich.console import Console

    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda _record: None
        return
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        TextColumn("{task.fields[told]}"),
    )
    with Progress(*columns, console=console, transient=True) as progress:
        bar = progress.add_task("", total=scores, told="")
        failed = 0

        def tell(record: Record) -> None:
            nonlocal failed
            failed += record.what is not None
            progress.update(bar, advance=1, told=f"{failed} with trouble" if failed else "")

        yield tell
