"""When each foot makes its changes: a quick plan, one change after the other.

The changes with the least choice are placed first, each where it costs least beside those already
placed. The result is correct (no foot is in two places at once, no change comes too late) but need
not be the best; it is the upper bound from which the optimum is found.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Window, distance

__all__ = ["Schedule", "Turn", "place_quickly", "price_of", "turns_taken"]

_LOOK_BACK = 48
"""Moments before the need that are weighed."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """Changes of one foot along one line."""

    groups: tuple[tuple[int, tuple[Window, ...]], ...]
    """By place: the changes made there, in order."""
    failed: tuple[Window, ...] = ()
    """Changes for which no moment is left."""


def place_quickly(windows: Sequence[Window], prices: Prices) -> Schedule:
    """Place the changes of one foot, those with the least choice first."""
    at: dict[int, list[Window]] = {}
    times: list[int] = []
    failed: list[Window] = []
    order = sorted(windows, key=lambda one: (one.last - one.first, one.last, one.letter.index))
    for window in order:
        best: tuple[int, int] | None = None
        lowest = max(window.first, window.last - _LOOK_BACK)
        for place in range(window.last, lowest - 1, -1):
            sharing = at.get(place, ())
            together: tuple[Window, ...] = (window,)
            if len(sharing) >= prices.room(place):
                continue
            if sharing:
                together = _ordered([*sharing, window], prices, place)
                if not together:
                    continue
            price = prices.local(window, place)
            time = prices.time(place)
            near = bisect_left(times, time)
            for other in times[max(0, near - 1) : near + 1]:
                price += prices.haste(abs(time - other), window.notches)
            if sharing:
                turns = prices.turns(together, place, None)
                price += prices.sharing(together, place, turns)
            if best is None or price < best[0]:
                best = (price, place)
        if best is None:
            failed.append(window)
            continue
        at.setdefault(best[1], []).append(window)
        insort(times, prices.time(best[1]))
    groups = tuple((place, _ordered(at[place], prices, place)) for place in sorted(at))
    return Schedule(groups, tuple(failed))


def _ordered(windows: Sequence[Window], prices: Prices, place: int) -> tuple[Window, ...]:
    """An order in which the foot can make changes at a place; empty if there is none."""
    order = sorted(windows, key=lambda one: (one.pinned, one.last, one.letter.index))
    if len(order) <= prices.capacities[place]:
        return tuple(order)
    for other in permutations(order):
        if prices.orders([distance(one) for one in other], place):
            return other
    return ()


def price_of(schedule: Schedule, prices: Prices) -> int:
    """The points of a whole schedule, :meth:`Prices.fixed` left out."""
    total = 0
    last: int | None = None
    for place, windows in schedule.groups:
        total += sum(prices.local(window, place) for window in windows)
        turns = prices.turns(windows, place, last)
        total += prices.sharing(windows, place, turns) + prices.hurry(windows, place, turns, last)
        last = prices.end(windows, place)
    return total


@dataclass(frozen=True, slots=True)
class Turn:
    """One movement of the foot."""

    place: int
    later: int
    """How many turns follow in the same gap."""
    windows: tuple[Window, ...]
    """The change, or two at once."""


def turns_taken(schedule: Schedule, prices: Prices) -> Iterator[Turn]:
    """The movements of the foot, one after the other."""
    last: int | None = None
    for place, windows in schedule.groups:
        turns = prices.turns(windows, place, last)
        number = 0
        for turn, size in enumerate(turns, start=1):
            yield Turn(place, len(turns) - turn, windows[number : number + size])
            number += size
        last = prices.end(windows, place)
