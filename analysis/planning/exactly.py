"""One team searched exactly, within the cost of a plan that is known.

The labels of :mod:`pedalsetter.analysis.planning.search` are followed with limits on their ranks
instead of a beam, and the limits are raised until a way is found. What the ranks must still rise
by at least from each place on is found first, from the end backwards, by the same search begun in
the middle of the music with every letter *wild*, that is, wherever suits it best.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import Any

from pedalsetter.analysis.planning.dominance import Label
from pedalsetter.analysis.planning.letter import Letter
from pedalsetter.analysis.planning.search import OutOfEffortError, Search
from pedalsetter.analysis.planning.sounded import INFINITE

__all__ = ["Exact"]

_STRIDE = 16
"""Places from one beginning to the one before it."""

_AHEAD = 128
"""Places that an excerpt is followed for; then what is known from there on counts."""

_MOST_WILD = 64
"""Ways to begin an excerpt, by what the letters remember of barlines; with more there is none."""

_FOR_EXCERPT = 4_000
"""Labels for one excerpt; with more, no more is known than by how much too low its limits were."""

_NEAR = 200
"""Points of rank up to which nothing need be known from the end backwards."""

_STEP = 30
"""Points by which a limit is raised at least, a third more each time."""


class Exact:
    """The exact search of one team."""

    def __init__(
        self,
        search: Search,
        letters: Sequence[Letter],
        starts: list[tuple[int, list[Any]]],
        places: int,
    ) -> None:
        """``starts`` are the ranks and nodes of the team's ``letters`` to begin with."""
        self._search, self._letters, self._starts = search, letters, starts
        self._places = places
        self._rises = [0] * (places + 1)
        self._reached = self.spent = 0
        self.least = 0
        """No way to the end has a lower rank, as far as is known when the effort is used up."""

    def best(self, most: int, effort: int, *, near: bool = False) -> Label | None:
        """The best label at the end whose rank is below ``most``; None if there is none.

        With ``near`` only low ranks are looked for, without the bounds from the end.

        Raises:
            OutOfEffortError: it took more labels than ``effort``.
        """
        starts = self._starts
        self._search.effort = effort
        try:
            # Where little is missing, nothing need be known from the end backwards.
            label, least = self._deepen(0, self._places, starts, 0, min(most, _NEAR))
            if label is not None or least >= most or near:
                return label
            self.least = least
            self._from_the_end(most)
            self.least = max(least, self._rises[0])
            label, _ = self._deepen(0, self._places, starts, max(least, self._rises[0]), most)
            return label
        finally:
            self.spent = effort - self._search.effort

    def _deepen(
        self,
        begin: int,
        end: int,
        starts: list[tuple[int, list[Any]]],
        total: int,
        most: int,
    ) -> tuple[Label | None, int]:
        """The best label below ``most``, or None; and what there is at least."""
        step = _STEP
        rises = self._rises
        self._reached = total
        while total < most:
            limits = [0] * begin + [total - rises[place + 1] for place in range(begin, end)]
            label = self._search.run(begin, end, starts, limits)
            if label is not None:
                return label, label.rank
            if not begin:
                self.least = max(self.least, min(total + self._search.missed, most))
            missed = self._search.missed
            if missed >= INFINITE:
                return None, INFINITE
            self._reached = total + missed
            total = min(total + max(step, missed), max(total + missed, most - 1))
            step += step // 3
        return None, total

    def _from_the_end(self, most: int) -> None:
        rises = self._rises
        known = self._places
        for begin in range((self._places - 1) // _STRIDE * _STRIDE, 0, -_STRIDE):
            rises[begin:known] = [rises[known]] * (known - begin)
            wild = list(product(*(letter.wild(begin) for letter in self._letters)))
            if len(wild) <= _MOST_WILD:
                self._excerpt(begin, [(0, list(nodes)) for nodes in wild], rises[known], most)
            known = begin
            self.least = max(self.least, rises[begin])
            if rises[begin] >= most:
                break
        rises[:known] = [rises[known]] * known

    def _excerpt(
        self, begin: int, starts: list[tuple[int, list[Any]]], least: int, most: int
    ) -> None:
        """Find by how much the ranks rise from a place on, which is ``least`` at least."""
        end = min(self._places, begin + _AHEAD)
        left = self._search.effort
        self._search.effort = granted = min(left, _FOR_EXCERPT)
        try:
            label, least = self._deepen(begin, end, starts, least, most)
            if label is not None:
                least = label.rank + self._rises[end]
        except OutOfEffortError:
            least = self._reached
            if left <= granted:
                raise
        finally:
            self._rises[begin] = max(self._rises[begin], least)
            self._search.effort += left - granted
