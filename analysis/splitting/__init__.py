"""A second harp: one part divided between two players so that both can play it.

Of all ways that are tried the one is taken that moves the fewest notes and cuts the fewest phrases
(``phrases`` says what that costs, ``search`` tries, ``halves`` writes the two parts). What no
second harp can help, such as a note without a string, stays where it is and is told.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedalsetter.analysis.findings import Limits, with_all_findings
from pedalsetter.analysis.instrument.harp import Harp
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.patience import searched
from pedalsetter.analysis.pedal_plan import Finding, FindingKind, PedalPlan, Severity
from pedalsetter.analysis.planning import USUAL, Effort, Weights, plan_changes
from pedalsetter.analysis.splitting.halves import halves
from pedalsetter.analysis.splitting.phrases import Phrases
from pedalsetter.analysis.splitting.search import Searcher

__all__ = ["Split", "split_part"]


@dataclass(frozen=True, slots=True)
class Split:
    """One part for two harps."""

    parts: tuple[HarpPart, HarpPart]
    plans: tuple[PedalPlan, PedalPlan]
    """Each with all its findings."""
    moved: tuple[str, ...]
    """Ids of the struck noteheads that the second harp plays, in order."""
    cost: int
    """Notes moved, and what the phrases cost that both harps share."""

    @property
    def unplayable(self) -> tuple[tuple[int, Finding], ...]:
        """What still cannot be played: (1 or 2, the harp's finding)."""
        return tuple(
            (number, finding)
            for number, plan in enumerate(self.plans, 1)
            for finding in plan.findings
            if finding.severity is Severity.UNPLAYABLE
        )

    @property
    def suffices(self) -> bool:
        """Whether two harps can play it."""
        return not self.unplayable


def split_part(
    part: HarpPart,
    plan: PedalPlan | None = None,
    harp: Harp = Harp(),  # noqa: B008 - frozen
    weights: Weights = Weights(),  # noqa: B008 - frozen
    limits: Limits = Limits(),  # noqa: B008 - frozen
    *,
    effort: Effort = USUAL,
) -> Split:
    """Divide a part between two harps so that nothing in either cannot be played.

    ``plan`` is the plan of the part with all its findings, if it is known. A part that one harp can
    play keeps all its notes, and the second harp rests. Takes some tenths of a second for each
    finding that cannot be played; ``effort`` is how much the plans of the two may cost to find.
    """

    def planned(whole: HarpPart) -> PedalPlan:
        return searched(lambda effort: plan_changes(whole, harp, weights, effort=effort), effort)

    if plan is None:
        plan = with_all_findings(part, planned(part))
    searcher = Searcher(part, plan, harp, weights, limits)

    def divided() -> Split:
        parts = halves(part, searcher.moved)
        first, second = (with_all_findings(half, planned(half), harp, limits) for half in parts)
        phrases = Phrases(part)
        moved = tuple(
            head.id
            for _, head in part.notes()
            if head.id in searcher.moved and head.id in phrases.struck
        )
        return Split(parts, (first, second), moved, phrases.price(searcher.moved))

    searcher.solve([finding for finding in plan.findings if _can_be_shared(finding)])
    split = divided()
    # What was shared passage by passage may fail as a whole; that is shared anew, once.
    left = [finding for _, finding in split.unplayable if _can_be_shared(finding)]
    known = searcher.moved
    searcher.solve(left)
    if searcher.moved != known:
        again = divided()
        if len(again.unplayable) < len(split.unplayable):
            return again
    return split


def _can_be_shared(finding: Finding) -> bool:
    """Whether a second harp may help: not where no harp has the string."""
    grave = finding.severity is Severity.UNPLAYABLE
    return grave and finding.kind is not FindingKind.OUT_OF_RANGE
