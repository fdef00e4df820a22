"""A moment on the page, where readers, planner and marks meet."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Place"]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A moment on the page."""

    bar: int
    """Index of the bar in score order, from 0."""
    offset: Fraction
    """Quarters after the bar's left barline."""
    grace: int = 0
    """0 for what is struck at the offset itself; the grace notes before it are −1 (the nearest),
    −2 … so that places sort in the order of playing."""
