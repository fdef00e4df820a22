"""``pedalsetter setting``: how the pedals stand at a place."""

from __future__ import annotations

from typing import Annotated

import typer

from pedalsetter.engrave.commands.shell import (
    AllowOption,
    DecisionsOption,
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
from pedalsetter.engrave.output.reports.terminal import write_data

__all__ = ["setting"]


def setting(
    score: Score,
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="BAR[:BEAT]",
            help="The place: a bar by its printed number, and a beat (2, 2½, 2.5 or 3+1/3).",
        ),
    ],
    movement: Annotated[
        int | None,
        typer.Option(
            "--movement",
            metavar="NUMBER",
            help="Which movement, counted from 1, where several have a bar of this number.",
            show_default=False,
        ),
    ] = None,
    part: PartOption = None,
    decisions: DecisionsOption = None,
    no_decisions: NoDecisionsOption = False,
    respell: RespellOption = None,
    allow: AllowOption = None,
    thorough: ThoroughOption = False,
    json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    quiet: QuietOption = False,
    traceback: TracebackOption = False,
) -> None:
    """Print how the pedals stand at a place, what moved last and what moves next."""
    with Told(traceback), Steps(quiet) as progress:
        from pedalsetter.analysis.asking.standing import standing_at
        from pedalsetter.analysis.naming.places import place_named
        from pedalsetter.engrave.road import plan_score

        decided = read_decisions(score, decisions, no_decisions, respell, allow)
        planned = plan_score(score, part, progress, decisions=decided, effort=effort_of(thorough))
        place = place_named(planned.part, at, movement)
        standing = standing_at(planned.part, planned.plan, place)
    from pedalsetter.engrave.output.reports.standing_report import print_standing, standing_json

    if json:
        write_data(standing_json(planned.part, standing))
    else:
        print_standing(planned.part, standing)
