"""What two hands can do: every limit of the player in one place.

Four fingers of each hand pluck, the little finger does not (N. Rimsky-Korsakov, *Principles of
Orchestration*, ch. I, "Harp"; the little finger common practice). The other figures are common
practice without a source and vary by player.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.errors import DecisionsError

__all__ = ["Limits"]


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of the hands.

    Raises:
        DecisionsError: limits that contradict each other.
    """

    fingers: int = 4
    """Fingers of one hand that pluck."""
    comfortable_span: int = 10
    """Strings from the lowest to the highest of one hand, both counted: a tenth."""
    greatest_span: int = 12
    """What some players reach, rolled or in slow music."""
    quick_seconds: Fraction = Fraction(1, 4)
    """A string that is plucked again sooner, several times on end, is hard to keep ringing."""
    choking_seconds: Fraction = Fraction(3, 20)
    """A string that is plucked again sooner is choked by the returning finger."""
    repeats: int = 3
    """Strikes on end that make a repetition."""
    run_notes: int = 6
    """Notes a semitone apart that make a chromatic run: five can lie on five strings."""
    run_seconds: Fraction = Fraction(1, 2)
    """A run whose notes take longer is no fast one."""

    def __post_init__(self) -> None:
        if not 1 <= self.comfortable_span <= self.greatest_span or self.fingers < 1:
            raise DecisionsError(
                "the limits of the hands contradict each other",
                mend="Let the comfortable span not exceed the greatest one.",
            )
        if (
            not 0 <= self.choking_seconds <= self.quick_seconds
            or min(self.repeats, self.run_notes) < 2
        ):
            raise DecisionsError(
                "the limits of repeated notes and runs contradict each other",
                mend="Let the choking time not exceed the quick one, and count two notes or more.",
            )
