"""Crossing, change by change: the left foot may take E, and the right foot B.

Given which foot makes which change, each foot is solved for itself. So the changes are first placed
as if no foot ever crossed. Where a change of E or B takes part in something that costs more than
the changes do by themselves, it is tried on the other foot: all ways to share out the changes of
one region if they are few, else one or two changes at a time for as long as that lowers the cost.

That this is the best there is shows where it costs no more than
:mod:`pedalsetter.analysis.planning.string_search` finds that any plan must: there each foot may
give its pedal in the middle to the other one, which is taken to be free.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise, product

from pedalsetter.analysis.harp import MIDDLE, Foot, Letter
from pedalsetter.analysis.planning.feet import Schedule, place_quickly
from pedalsetter.analysis.planning.optimum import Solver, essence
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Window

__all__ = ["may_cross", "place_across"]

_MOST_IN_REGION = 6
"""Changes whose feet are chosen together in all ways."""

_ROUNDS = 12
"""How often a region is gone through where it is too large for that."""

_MOST_UNPLACED = 40
"""Changes of E and B that are tried where the feet by themselves leave one without a moment."""


def may_cross(letter: Letter, letters: Sequence[Letter]) -> bool:
    """Whether the other foot can take over a letter of a foot that works ``letters``.

    A letter that is decided to belong to the foot of the other side stays with it.
    """
    outer = Letter.D if letter.foot is Foot.LEFT else Letter.A
    return letter in MIDDLE and outer in letters


def place_across(
    windows: Sequence[Window], prices: Prices, feet: Sequence[tuple[Letter, ...]]
) -> tuple[Schedule, ...]:
    """Return a cheap schedule of both feet, a foot crossing where that pays.

    It is never dearer than without crossing. A change that a foot crosses for is marked so. Changes
    for which no moment is left are in ``failed``.
    """
    return _Crossing(windows, prices, feet).schedules()


class _Crossing:
    def __init__(
        self, windows: Sequence[Window], prices: Prices, feet: Sequence[tuple[Letter, ...]]
    ) -> None:
        self._prices = prices
        self._own = [[one for one in windows if one.letter in letters] for letters in feet]
        self._solvers = [Solver(prices) for _ in feet]
        self._open = [
            [one for one in own if may_cross(one.letter, letters)]
            for own, letters in zip(self._own, feet, strict=True)
        ]
        self._crossed: set[int] = set()
        """Ids of the windows that the other foot takes."""
        self._twins = {
            id(one): replace(one, crossed=True) for windows in self._open for one in windows
        }

    def schedules(self) -> tuple[Schedule, ...]:
        if any(self._open):
            if not self._settled():
                self._make_room()
            if self._settled():
                for region in self._regions():
                    self._improve(region)
        return tuple(solver.schedule(self._of(foot)) for foot, solver in enumerate(self._solvers))

    def _of(self, foot: int) -> list[Window]:
        """The changes that a foot makes as they are shared out now."""
        stay = [one for one in self._own[foot] if id(one) not in self._crossed]
        come = [self._twins[id(one)] for one in self._open[1 - foot] if id(one) in self._crossed]
        return stay + come

    def _settled(self) -> bool:
        return all(solver.settle(self._of(foot)) for foot, solver in enumerate(self._solvers))

    def _make_room(self) -> None:
        """Where a change has no moment, let the other foot take changes until each has one."""
        failed = [one for own in self._own for one in place_quickly(own, self._prices).failed]
        near = [
            one
            for own in self._open
            for one in own
            if any(one.first <= other.last and other.first <= one.last for other in failed)
        ]
        found: tuple[int, set[int]] | None = None
        for count in (1, 2):
            for some in combinations(near[:_MOST_UNPLACED], count):
                self._crossed = set(map(id, some))
                points = [
                    solver.points(self._of(foot)) for foot, solver in enumerate(self._solvers)
                ]
                if None in points:
                    continue
                total = sum(one for one in points if one is not None)
                if found is None or total < found[0]:
                    found = (total, self._crossed)
            if found is not None:
                break
        self._crossed = found[1] if found is not None else set()

    def _regions(self) -> Iterator[list[tuple[int, Window]]]:
        """Changes with their foot that may gain by crossing; those of two regions are far apart."""
        price = self._prices.weights.crossed or 0
        hard: set[tuple[object, ...]] = set()
        for solver in self._solvers:
            hard |= {essence(one) for one, _, beyond in solver.shares() if beyond > price}
        every = sorted(
            ((foot, one) for foot, own in enumerate(self._open) for one in own),
            key=lambda known: (known[1].first, known[1].last, known[1].letter.index),
        )
        spans: list[list[int]] = []
        for _, one in every:
            if id(one) not in self._crossed and essence(one) not in hard:
                continue
            if spans and one.first <= spans[-1][1]:
                spans[-1][1] = max(spans[-1][1], one.last)
            else:
                spans.append([one.first, one.last])
        # Where one foot helps the other, the other may have to help in turn.
        found = [known for known in every if _meets(spans, known[1])]
        region: list[tuple[int, Window]] = []
        end = -1
        for foot, one in found:
            if region and self._far(end, one.first):
                yield region
                region = []
            region.append((foot, one))
            end = max(end, one.last)
        if region:
            yield region

    def _far(self, end: int, first: int) -> bool:
        """Whether changes up to one place and from another on do not hurry each other."""
        times = self._prices.line.times
        if first <= end or first >= len(times):
            return False
        return times[first] - times[end] >= self._prices.reach + 2 * self._prices.travel

    def _improve(self, region: Sequence[tuple[int, Window]]) -> None:
        """Choose the foot of every change of a region."""
        if len(region) <= _MOST_IN_REGION:
            choices = product((False, True), repeat=len(region))
            self._take_best(
                [one for one, yes in zip(region, choice, strict=True) if yes] for choice in choices
            )
            return
        ways = [[one] for one in region] + [[one, other] for one, other in pairwise(region)]
        for _ in range(_ROUNDS):
            if not self._take_best(ways):
                return

    def _take_best(self, ways: Iterable[list[tuple[int, Window]]]) -> bool:
        """Let the feet exchange some changes, of all ways those that save most."""
        best: tuple[int, list[tuple[int, Window]]] | None = None
        for way in ways:
            rise = self._rise(way)
            if rise is not None and rise < (best[0] if best is not None else 0):
                best = (rise, way)
        if best is None:
            return False
        for foot, solver in enumerate(self._solvers):
            removed, added = self._difference(foot, best[1])
            if not removed and not added:
                continue
            every = [one for one in self._of(foot) if not any(one is gone for gone in removed)]
            solver.replace(removed, added, every + added)
        self._crossed ^= {id(one) for _, one in best[1]}
        return True

    def _rise(self, way: Sequence[tuple[int, Window]]) -> int | None:
        total = 0
        for foot, solver in enumerate(self._solvers):
            removed, added = self._difference(foot, way)
            if removed or added:
                rise = solver.difference(removed, added)
                if rise is None:
                    return None
                total += rise
        return total

    def _difference(
        self, foot: int, way: Sequence[tuple[int, Window]]
    ) -> tuple[list[Window], list[Window]]:
        """What a foot gives up and takes over if the changes of a way go to the other foot."""
        removed: list[Window] = []
        added: list[Window] = []
        for own, one in way:
            crossed = id(one) in self._crossed
            mine = (own == foot) is not crossed
            which = one if own == foot else self._twins[id(one)]
            (removed if mine else added).append(which)
        return removed, added


def _meets(spans: Sequence[Sequence[int]], window: Window) -> bool:
    """Whether a change could be made inside one of some spans of places, which are in order."""
    after = bisect_right(spans, window.last, key=lambda span: span[0])
    return bool(after) and spans[after - 1][1] >= window.first
