"""``pedalsetter check``: hold the marks of the source against its notes."""

from __future__ import annotations

from typing import Annotated

import typer

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
    ThoroughOption,
    Told,
    TracebackOption,
    effort_of,
    read_decisions,
)
from pedalsetter.engrave.output.reports.terminal import write_data

__all__ = ["check"]


def check(
    score: Score,
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    json: Annotated[bool, typer.Option("--json", help="Print the entries as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print the entries as CSV.")] = False,
    bars: BarsOption = None,
    only: OnlyOption = None,
    mends: MendsOption = True,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Check the pedal marks that the score already has against its notes.

    Says what cannot be played as well, and what would help.
    Exits with 1 if any of them is wrong, or one is missing.
    """
    if json and csv:
        raise typer.BadParameter("give either --json or --csv")
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.analysis.collation import collate
        from pedalsetter.engrave.road import plan_score

        decided = read_decisions(score, decisions, no_decisions, respell, allow)
        planned = plan_score(
            score,
            part,
            progress,
            decisions=decided,
            effort=effort_of(thorough),
            mends=mends,
            own_marks=True,
        )
        from pedalsetter.engrave.output.reports.entries import selected

        collation = collate(planned.part, planned.plan)
        selection = selected(planned.part, bars, only)
    from pedalsetter.engrave.output.reports import collation_report

    if json:
        told = collation_report.collation_json(planned.part, planned.plan, collation)
        write_data(told)
    elif csv:
        write_data(collation_report.collation_csv(planned.part, collation))
    else:
        collation_report.print_collation(
            planned.part, collation, planned.plan, tried=mends, selection=selection
        )
    if collation.wrong:
        raise typer.Exit(1)
