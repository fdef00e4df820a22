"""The ``pedalsetter`` command: parse, call the road, print; no logic of its own."""

from __future__ import annotations

import gc
import sys
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pedalsetter.analysis.errors import EngravingError, OutputError, PedalsetterError

if TYPE_CHECKING:
    from rich.status import Status

    from pedalsetter.engrave.road import Progress

__all__ = ["app", "main"]

_EXIT_CODES = (
    "Exit codes: 0 done; 1 done, but something is wrong (check) or findings remain (--strict); "
    "2 wrong use or unreadable input; 3 the engraver is missing or failed, or a mark stands badly."
)

app = typer.Typer(
    name="pedalsetter",
    help="Plan, prove and engrave the pedal changes of a concert-harp part. "
    "The plan is a proposal; the harpist decides.",
    epilog=_EXIT_CODES,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Score = Annotated[
    Path,
    typer.Argument(
        metavar="SCORE",
        help="MusicXML (.musicxml, .xml, .mxl), MEI, Humdrum **kern, ABC or MIDI.",
        show_default=False,
    ),
]
PartOption = Annotated[
    str | None,
    typer.Option(
        "--part",
        metavar="NAME|NUMBER",
        help="Which part is the harp: its name, or its number in the score counted from 1; "
        "1+2 joins two one-staff parts. Default: found by instrument or name.",
        show_default=False,
    ),
]
StrictOption = Annotated[
    bool, typer.Option("--strict", help="Exit with 1 if findings other than remarks remain.")
]
QuietOption = Annotated[
    bool, typer.Option("--quiet", "-q", help="Print nothing but results and errors.")
]
TracebackOption = Annotated[
    bool, typer.Option("--traceback", help="Show where in the program an error arose.", hidden=True)
]


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pedalsetter {version('pedalsetter')}")
        raise typer.Exit


@app.callback()
def _options(
    _version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    pass


@app.command(epilog=f"Example: pedalsetter mark sonata.musicxml -o out.  {_EXIT_CODES}")
def mark(
    score: Score,
    folder: Annotated[
        Path,
        typer.Option("-o", "--output", metavar="DIR", help="Folder for the results."),
    ] = Path(),
    part: PartOption = None,
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
    with _Told(traceback), _Steps(quiet) as progress:
        from pedalsetter.engrave.output.files import write_files
        from pedalsetter.engrave.output.plan_document import plan_json
        from pedalsetter.engrave.road import Wanted, mark_score, stem_of

        result = mark_score(
            score,
            part,
            house_style=house_style,
            dpi=dpi if png else None,
            wanted=Wanted(standalone, keep_breaks, preview, flags, contact_sheet),
            progress=progress,
        )
        planned = result.planned
        stem = stem_of(score)
        document = plan_json(planned.part, planned.plan, planned.markings)
        files = {
            f"{stem}.ly": result.source.encode(),
            f"{stem}.pdf": result.pdf,
            f"{stem}.plan.json": document.encode(),
        }
        for number, page in enumerate(result.pages, start=1):
            files[f"{stem}-{number}.png"] = page
        for number, system in enumerate(result.systems, start=1):
            files[f"{stem}-system-{number}.png"] = system
        if result.contact_sheet is not None:
            files[f"{stem}-pages.png"] = result.contact_sheet
        if result.stylesheet is not None:
            files["pedals.ily"] = result.stylesheet.encode()
        notices = result.notices
        if write:
            from pedalsetter.engrave.output.marked_copy import marked_copy

            copy = marked_copy(score, planned.part, planned.markings)
            files[f"{stem}-pedals{copy.suffix}"] = copy.data
            notices = (*notices, *copy.notices)
        written = write_files(folder, files, score)
    if not quiet:
        from pedalsetter.engrave.output.report import print_summary

        print_summary(replace(result, notices=notices), written)
    if not result.proof.holds:
        for failure in result.proof.failures:
            typer.echo(f"pedalsetter: {score.name}, {failure}", err=True)
        raise typer.Exit(EngravingError.exit_code)
    _exit_for(planned.plan.findings, strict)


@app.command(epilog=f"Example: pedalsetter plan sonata.musicxml --json.  {_EXIT_CODES}")
def plan(
    score: Score,
    part: PartOption = None,
    json: Annotated[
        bool, typer.Option("--json", help="Print the plan as JSON (the same as STEM.plan.json).")
    ] = False,
    strict: StrictOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Print the plan: opening setting, every change, and what cannot be played."""
    with _Told(traceback), _Steps(quiet) as progress:
        from pedalsetter.engrave.road import plan_score

        planned = plan_score(score, part, progress)
    if json:
        from pedalsetter.engrave.output.plan_document import plan_json

        sys.stdout.write(plan_json(planned.part, planned.plan, planned.markings))
    else:
        from pedalsetter.engrave.output.report import print_plan

        print_plan(planned)
    _exit_for(planned.plan.findings, strict)


@app.command(epilog=f"Example: pedalsetter check sonata.musicxml --csv.  {_EXIT_CODES}")
def check(
    score: Score,
    part: PartOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print the entries as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print the entries as CSV.")] = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Hold the pedal marks that the score already carries against its notes.

    Exits with 1 if any of them is wrong, or one is missing.
    """
    if json and csv:
        raise typer.BadParameter("give either --json or --csv")
    with _Told(traceback), _Steps(quiet) as progress:
        from pedalsetter.analysis.collation import collate
        from pedalsetter.engrave.road import plan_score

        planned = plan_score(score, part, progress)
        collation = collate(planned.part, planned.plan)
    from pedalsetter.engrave.output import collation_report

    if json:
        told = collation_report.collation_json(planned.part, planned.plan, collation)
        sys.stdout.write(told)
    elif csv:
        sys.stdout.write(collation_report.collation_csv(planned.part, collation))
    else:
        collation_report.print_collation(planned.part, collation)
    if collation.wrong:
        raise typer.Exit(1)


def _exit_for(findings: tuple[object, ...], strict: bool) -> None:
    from pedalsetter.engrave.output.plan_document import findings_that_matter

    if strict and findings_that_matter(findings):  # type: ignore[arg-type]
        raise typer.Exit(1)


class _Told:
    """Turns one of our errors into its one line and its exit code."""

    def __init__(self, traceback: bool) -> None:
        self.traceback = traceback

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, _trace: object
    ) -> None:
        if self.traceback:
            return
        if isinstance(error, KeyboardInterrupt):
            raise typer.Exit(130) from None
        if isinstance(error, MemoryError):
            error = OutputError("the memory of this machine does not suffice for this score")
        if isinstance(error, PedalsetterError):
            typer.echo(f"pedalsetter: {error}", err=True)
            raise typer.Exit(error.exit_code) from None


class _Steps:
    """Names the step at work on a terminal; silent in a pipe and with ``--quiet``."""

    def __init__(self, quiet: bool) -> None:
        self.wanted = not quiet and sys.stderr.isatty()
        self.status: Status | None = None

    def __enter__(self) -> Progress:
        if self.wanted:
            from rich.console import Console

            self.status = Console(stderr=True).status("")
            self.status.start()
        return self._step

    def __exit__(self, *_: object) -> None:
        if self.status is not None:
            self.status.stop()

    def _step(self, name: str) -> None:
        if self.status is not None:
            self.status.update(f"{name} …")


def main() -> None:
    """Run the command; the entry point of the installed script."""
    # Signs such as ♯ must not stop a run on a terminal with a narrow encoding.
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    # A run makes large trees and ends: looking for garbage in them costs time and frees nothing.
    gc.set_threshold(200_000, 50, 50)
    app()
