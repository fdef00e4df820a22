"""How far a plan may be from the best one, in words."""

from __future__ import annotations

from math import ceil

from pedalsetter.analysis.pedal_plan import PedalPlan

__all__ = ["best_told"]


def best_told(plan: PedalPlan) -> str:
    """One sentence: how much better another plan could be, in whole per cent of the cost.

    >>> from fractions import Fraction
    >>> best_told(PedalPlan((), (), {}, (), Fraction(40), bound=Fraction(39)))
    'No plan is more than 3 % better.'
    >>> best_told(PedalPlan((), (), {}, (), Fraction(40), bound=Fraction(40), proved_optimal=True))
    'No plan is better.'
    """
    gap = plan.gap
    if plan.proved_optimal:
        return "No plan is better."
    if gap is None:
        return "How much better a plan could be is not known."
    if gap == 0:
        # As where a house style has moved letters of the best plan.
        return "No better plan was found."
    if 100 * gap < 1:
        return "A better plan would be less than 1 % better."
    return f"No plan is more than {ceil(100 * gap)} % better."
