"""How much a plan may cost to find, counted in labels, so that it is the same on every machine."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["QUICK", "THOROUGH", "USUAL", "Effort"]


@dataclass(frozen=True, slots=True)
class Effort:
    """How many labels may be followed; ways to move that are tried count as parts of one."""

    for_each_place: int

    def labels(self, places: int) -> int:
        """Labels for a part with so many places.

        A short one is given those of a hundred places. There are never more than four million, some
        ten seconds, unless it is thorough.
        """
        labels = self.for_each_place * max(places, 100) + 2_000
        return labels if self is THOROUGH else min(labels, _MOST)


_MOST = 4_000_000

QUICK = Effort(12)
"""For plans of which many are tried: the narrowest beam, and little more."""

USUAL = Effort(5000)
"""Proves most music, and leaves little to be found in the rest."""

THOROUGH = Effort(10**12)
"""Until the plan is proved."""
