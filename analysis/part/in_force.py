"""What holds from a moment on: clef, key signature, speed."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["ClefChange", "KeyChange", "Tempo"]


@dataclass(frozen=True, slots=True)
class ClefChange:
    """A clef from a moment on."""

    onset: Fraction
    bar: int
    staff: int
    sign: str
    """``G``, ``F``, ``C``, ``percussion`` …"""
    line: int
    octave_change: int = 0


@dataclass(frozen=True, slots=True)
class KeyChange:
    """A key signature from a moment on."""

    onset: Fraction
    bar: int
    fifths: int
    """−7 (seven flats) to 7 (seven sharps)."""
    mode: str | None = None
    staff: int | None = None
    """None for all staves."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """Speed from a moment on."""

    onset: Fraction
    quarters_per_minute: Fraction
    towards: Fraction | None = None
    """Gradual change: the speed reached at the next :class:`Tempo`, or None where it is steady."""
