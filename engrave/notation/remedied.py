"""What of the music is written otherwise than at first, because the engraved page asked for it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["AS_WRITTEN", "Remedied"]


@dataclass(frozen=True, slots=True)
class Remedied:
    """Moments at which something is written otherwise; quarters from the beginning of the score."""

    flat_slurs: frozenset[Fraction] = frozenset()
    """Slurs that begin here are held flat."""
    roomy_dynamics: frozenset[Fraction] = frozenset()
    """Dynamics here push barlines and what follows away."""
    moved_rests: frozenset[tuple[int, Fraction]] = frozenset()
    """(staff, moment): rests here stand clear of all heads of their bar."""


AS_WRITTEN = Remedied()
"""Nothing."""
