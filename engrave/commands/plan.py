"""``pedalsetter plan``: print the plan."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from pedalsetter.engrave.commands.shell import (
    PartOption,
    QuietOption,
    Score,
    Steps,
    StrictOption,
    Told,
    TracebackOption,
    exit_for,
)

__all__ = ["plan"]


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
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.engrave.road import plan_score

        planned = plan_score(score, part, progress)
    if json:
        from pedalsetter.engrave.output.plan_document import plan_json

        sys.stdout.write(plan_json(planned.part, planned.plan, planned.markings))
    else:
        from pedalsetter.engrave.output.report import print_plan

        print_plan(planned)
    exit_for(planned.plan.findings, strict)
