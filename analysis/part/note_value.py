"""Printed note values."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["NotatedLength"]


@dataclass(frozen=True, slots=True)
class NotatedLength:
    """A printed note value: ``2 ** -log`` whole notes, lengthened by ``dots``."""

    log: int
    """0 whole, 1 half, 2 quarter … 10; −1 breve, −2 longa, −3 maxima."""
    dots: int = 0

    @property
    def flags(self) -> int:
        """How many flags or beams it has."""
        return max(0, self.log - 2)

    @property
    def quarters(self) -> Fraction:
        """Length in quarters, tuplets disregarded."""
        base = Fraction(4) / 2**self.log if self.log >= 0 else Fraction(4 * 2**-self.log)
        return base * (2 - Fraction(1, 2**self.dots))
