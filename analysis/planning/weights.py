"""What the planner tries to avoid, and how much: every limit and price in one place."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Weights"]


@dataclass(frozen=True, slots=True)
class Weights:
    """The limits of the feet.

    The times are rules of thumb (common practice, not measured); they vary by player.
    """

    comfortable_seconds: Fraction = Fraction(1, 2)
    """One foot, one pedal, one notch: this much time or more is comfortable."""
    least_seconds: Fraction = Fraction(1, 4)
    """Less than this is impossible; between the two the foot is hurried."""
    two_notches: Fraction = Fraction(3, 2)
    """Factor on both times where the pedal passes the natural notch."""
