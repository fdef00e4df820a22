"""The first half of the road: a score is read, decided about and planned, and nothing engraved."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from pedalsetter.analysis.decisions.file import decisions_beside, load_decisions
from pedalsetter.analysis.decisions.small_notes import with_small_notes
from pedalsetter.analysis.decisions.values import NO_DECISIONS, Decisions, Respell
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.findings import shareable, with_all_findings, with_mends
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.patience import searched
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import THOROUGH, USUAL, Effort, Weights, plan_changes
from pedalsetter.analysis.planning.pins import weights_under
from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.analysis.reading.harp_part import score_bytes
from pedalsetter.engrave.output.results import PlannedScore

__all__ = ["Progress", "decisions_for", "plan_score", "silent", "with_tried_mends"]

Progress = Callable[[str], None]


def silent(_step: str) -> None:
    """Progress that nobody wants to see."""


_LONG = "planning as long as a plan could be better; Ctrl-C takes the best so far"
"""The step that may take long enough to be ended by hand."""


def plan_score(
    score: str | os.PathLike[str],
    part: str | int | None = None,
    progress: Progress = silent,
    *,
    decisions: Decisions = NO_DECISIONS,
    effort: Effort = USUAL,
    elsewhere: bool = False,
    mends: bool = False,
    beside: str | None = None,
    own_marks: bool = False,
) -> PlannedScore:
    """Read the harp part of ``score``, plan it, and decide what is printed where.

    With ``mends`` each finding has the mends that were tried and help. ``beside`` picks a second
    harp's part: what one harp could play of both is then among the findings.
    ``part`` picks by name, id or number (from 1) where the score leaves a doubt. ``decisions`` are
    the musician's, as from :func:`decisions_for`. ``effort`` is how much the plan may cost to find.
    With ``elsewhere`` each change also tells its other places and their prices. Marks that an
    earlier run has written into the score are no marks of the source, unless ``own_marks`` asks
    for all that stand there.

    Raises:
        ScoreError: the file cannot be read.
        PartError: the harp part cannot be told.
        DecisionsError: the decisions contradict themselves.
    """
    part = None if part is None else str(part)
    progress("reading")
    harp_part = read_part(score, part) if own_marks else _read_source(score, part)
    harp_part, small_notes = with_small_notes(harp_part, decisions)
    progress(_LONG if effort == THOROUGH else "planning")
    plan = searched(
        lambda effort: plan_changes(
            harp_part, decisions=decisions, effort=effort, elsewhere=elsewhere
        ),
        effort,
    )
    plan = replace(plan, decisions=(*plan.decisions, *small_notes))
    plan = with_all_findings(harp_part, plan)
    if mends and plan.findings:
        plan = with_tried_mends(harp_part, plan, decisions, progress)
    if beside is not None:
        other = read_part(score, beside)
        plan = replace(plan, findings=(*plan.findings, *shareable(harp_part, other)))
    markings = place_marks(harp_part, plan)
    return PlannedScore(harp_part, plan, markings, decisions, mends_tried=mends)


def with_tried_mends(
    part: HarpPart, plan: PedalPlan, decisions: Decisions, progress: Progress
) -> PedalPlan:
    """The plan with the mends that help the player whose times and feet were decided."""
    many = len(plan.findings)

    def tell(number: int) -> None:
        progress(f"trying suggestions, {number} of {many}")

    return with_mends(part, plan, weights=weights_under(decisions, Weights()), tell=tell)


def _read_source(score: str | os.PathLike[str], part: str | None) -> HarpPart:
    """The part as its source has it, without marks of ours."""
    from pedalsetter.engrave.output.write_back.clearing import without_marks

    file = Path(score).name
    return read_score(without_marks(score_bytes(score), file), file, part)


def decisions_for(
    score: str | os.PathLike[str],
    file: str | os.PathLike[str] | None = None,
    *,
    look: bool = True,
    respell: str | None = None,
    allow: Sequence[str] = (),
) -> Decisions:
    """The musician's decisions about ``score``: from ``file``, or from the file beside the score.

    ``look`` False takes no file at all. ``respell`` is ``never``, ``when-needed`` or ``freely`` and
    goes before what the file says. ``allow`` names what the feet may do besides: ``crossing``,
    ``two-pedals``.

    Raises:
        DecisionsError: the file cannot be read or understood, or there is no such way to respell or
            to allow something.
    """
    decisions = NO_DECISIONS
    if file is not None:
        decisions = load_decisions(file)
    elif look and decisions_beside(score).is_file():
        decisions = load_decisions(decisions_beside(score))
    for freedom in allow:
        if freedom not in ("crossing", "two-pedals"):
            raise DecisionsError(
                f"there is nothing to allow that is called '{freedom}'",
                mend="Choose crossing or two-pedals.",
            )
    decisions = decisions.with_feet(
        crossing=True if "crossing" in allow else None,
        two_pedals=True if "two-pedals" in allow else None,
    )
    if respell is None:
        return decisions
    ways = {way.value: way for way in Respell}
    if respell not in ways:
        raise DecisionsError(
            f"there is no way to respell that is called '{respell}'",
            mend=f"Choose {', '.join(ways)}.",
        )
    return decisions.with_respell(ways[respell])
