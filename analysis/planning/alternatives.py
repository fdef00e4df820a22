"""Where else a change could have been made, and how much dearer that would be.

All other changes stay where they are; a place where the same foot already moves is left out.
"""

from __future__ import annotations

from collections.abc import Iterator

from pedalsetter.analysis.planning.feet import Schedule, price_of
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Window

__all__ = ["other_places"]

_LOOK_BACK = 32
"""Moments before the need that are weighed."""

_AROUND = 6
"""Moves of the foot on either side that are priced; further ones are not hurried by it."""


def other_places(
    schedule: Schedule, prices: Prices
) -> Iterator[tuple[Window, tuple[tuple[int, int], ...]]]:
    """For each change its other places along the line, each with the points it would cost more.

    Cheapest first; among equals the later place first.
    """
    groups = schedule.groups
    for number, (place, sharing) in enumerate(groups):
        near = groups[max(0, number - _AROUND) : number + _AROUND + 1]
        taken = {at for at, _ in groups}
        now = price_of(Schedule(near), prices)
        for window in sharing:
            rest = tuple(one for one in sharing if one is not window)
            others = tuple(
                (at, rest if at == place else shared) for at, shared in near if at != place or rest
            )
            found: list[tuple[int, int]] = []
            for other in range(max(window.first, window.last - _LOOK_BACK), window.last + 1):
                if other in taken or not prices.capacities[other]:
                    continue
                moved = Schedule(tuple(sorted((*others, (other, (window,))), key=_by_place)))
                found.append((other, price_of(moved, prices) - now))
            found.sort(key=lambda one: (one[1], -one[0]))
            yield window, tuple(found)


def _by_place(group: tuple[int, tuple[Window, ...]]) -> int:
    return group[0]
