"""How much a plan may cost to find, counted in labels, so that it is the same on every machine."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["QUICK", "THOROUGH", "USUAL", "Effort", "pulse"]


@dataclass(frozen=True, slots=True)
class Effort:
    """How many labels may be followed; ways to move that are tried count as parts of one."""

    for_each_place: int
    at_most: int = 4_000_000
    """Some ten seconds, however long the part is."""
    yields: bool = True
    """Whether an interruption ends the search with the best plan so far, rather than everything."""

    def labels(self, places: int) -> int:
        """Labels for a part with so many places.

        A short one is given those of a hundred places.
        """
        return min(self.for_each_place * max(places, 100) + 2_000, self.at_most)


QUICK = Effort(12, yields=False)
"""For plans of which many are tried: the narrowest beam, and little more."""

USUAL = Effort(5000)
"""Proves most music, and leaves little to be found in the rest."""

THOROUGH = Effort(10**12, at_most=10**18)
"""Until the plan is proved."""


def pulse() -> None:
    """To be called at every place: an interruption that is waiting is raised as this is called.

    Python looks for one between its own steps alone, so that compiled code lets none through.
    """
