"""``pedalsetter plan``: print the plan, explain a bar of it, or write it down as decisions."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pedalsetter.analysis.errors import OutputError
from pedalsetter.engrave.commands.shell import (
    AllowOption,
    BarsOption,
    DecisionsOption,
    MendsOption,
    NoDecisionsOption,
    OnlyOption,
    PartOption,
    QuietOption,
    RespellOption,
    Score,
    Steps,
    StrictOption,
    ThoroughOption,
    Told,
    TracebackOption,
    effort_of,
    exit_for,
    read_decisions,
)
from pedalsetter.engrave.output.reports.terminal import write_data

__all__ = ["plan"]


def plan(
    score: Score,
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print the plan as JSON (the same as STEM.plan.json).")
    ] = False,
    why: Annotated[
        str | None,
        typer.Option(
            "--why",
            metavar="BAR|SPAN|all",
            help="Explain the changes that are made or needed in a bar (5), a span (5-12) or all, "
            "and what cannot be played there.",
            show_default=False,
        ),
    ] = None,
    pin: Annotated[
        bool,
        typer.Option(
            "--pin", help="Write the plan as a file of decisions, STEM.pedals.toml, to be edited."
        ),
    ] = False,
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Where --pin writes; - prints it. Default: beside the score.",
            show_default=False,
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Let --pin replace a file that is there.")
    ] = False,
    beside: Annotated[
        str | None,
        typer.Option(
            "--beside",
            metavar="NAME|NUMBER",
            help="The part of a second harp: says where one harp could play both.",
            show_default=False,
        ),
    ] = None,
    bars: BarsOption = None,
    only: OnlyOption = None,
    mends: MendsOption = True,
    strict: StrictOption = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Print the plan: opening setting, every change, and what cannot be played."""
    if sum((json, why is not None, pin)) > 1:
        raise typer.BadParameter("give one of --json, --why and --pin")
    if (output is not None or force) and not pin:
        raise typer.BadParameter("--output and --force belong to --pin")
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.road import plan_score

        target = _target(score, output, force=force) if pin else None
        decided = read_decisions(score, decisions, no_decisions, respell, allow)
        planned = plan_score(
            score,
            part,
            progress,
            decisions=decided,
            effort=effort_of(thorough),
            elsewhere=why is not None,
            mends=mends and why is None and target is None,
            beside=beside,
        )
        from pedalsetter.engrave.output.reports.entries import selected

        selection = selected(planned.part, bars, only)
        if target is not None:
            from pedalsetter.engrave.output.files import write_files
            from pedalsetter.engrave.output.reports.decisions_text import decisions_text

            text = decisions_text(planned.part, planned.plan, decided)
            if str(target) == "-":
                write_data(text)
            else:
                write_files(target.parent, {target.name: text.encode()}, score, force=force)
        elif why is not None:
            from pedalsetter.engrave.output.reports.why_report import print_why

            print_why(planned, why)
    if target is not None:
        if not quiet and str(target) != "-":
            typer.echo(f"Written: {target}")
    elif json:
        from pedalsetter.engrave.output.reports.plan_document import plan_json

        write_data(plan_json(planned.part, planned.plan, planned.markings))
    elif why is None:
        from pedalsetter.engrave.output.reports.report import print_plan

        print_plan(planned, selection)
    exit_for(planned.plan.findings, strict)


def _target(score: Path, output: Path | None, *, force: bool) -> Path:
    """Where the decisions are written.

    Raises:
        OutputError: a file is there already, and may be the musician's own.
    """
    from pedalsetter.analysis.decisions.file import decisions_beside

    target = decisions_beside(score) if output is None else output
    if str(target) != "-" and target.exists() and not force:
        raise OutputError(
            "the file is there already",
            file=str(target),
            mend="Give --force to replace it, or another name with -o.",
        )
    return target
