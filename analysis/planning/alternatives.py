"""Where else a change could have been made, and how much dearer that would be.

All other changes stay where they are; a place where the same foot already moves is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from pedalsetter.analysis.planning.bill import Bill, groups_of
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.walk import Movement
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["other_places"]

_LOOK_BACK = 32
"""Moments before the need that are weighed."""

_AROUND = 6
"""Moves of the foot on either side that are priced; further ones are not hurried by it."""


def other_places(
    movements: Sequence[Movement], form: Form, prices: Prices, weights: Weights
) -> Iterator[tuple[Movement, tuple[tuple[int, int], ...]]]:
    """For each move of one foot its other places, each with the points it would cost more.

    Cheapest first; among equals the later place first.
    """

    def points(some: Sequence[Movement]) -> int:
        bill = Bill(form, prices, weights)
        bill.add_groups(groups_of(some))
        return bill.total

    for number, one in enumerate(movements):
        near = movements[max(0, number - _AROUND) : number + _AROUND + 1]
        taken = {other.place for other in near}
        now = points(near)
        # Without its neighbours in the gap it is made at the place itself.
        rest = [other for other in near if other is not one]
        found: list[tuple[int, int]] = []
        last = one.goal if one.need is None else one.need
        for place in range(max(one.first, last - _LOOK_BACK), last + 1):
            if place in taken or not form.capacities[place]:
                continue
            moved = replace(one, place=place, later=0, decided=False)
            others = [_closed_up(other, one) for other in rest]
            order = sorted([*others, moved], key=lambda other: (other.place, -other.later))
            found.append((place, points(order) - now))
        found.sort(key=lambda each: (each[1], -each[0]))
        yield one, tuple(found)


def _closed_up(other: Movement, gone: Movement) -> Movement:
    """A move as it is made where another has left its gap."""
    if other.place == gone.place and other.later > gone.later:
        return replace(other, later=other.later - 1)
    return other
