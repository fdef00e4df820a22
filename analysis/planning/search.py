# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""The search: labels from place to place, for one foot or for both.

A *label* says for each letter its node (see :mod:`pedalsetter.analysis.planning.bounds`), for each
foot when it last moved, and by how much all this costs more than the letters by themselves: its
*rank*, which never falls. At each place a label is followed by one for every way to move and every
way to answer the notes there. Of labels alike the cheapest is kept, and of the others those that
:mod:`pedalsetter.analysis.planning.dominance` leaves.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import cython

from pedalsetter.analysis.planning.dominance import Done, Label
from pedalsetter.analysis.planning.effort import pulse
from pedalsetter.analysis.planning.layer import Layer
from pedalsetter.analysis.planning.states import Node, State

__all__ = ["COMPILED", "STATION", "OutOfEffortError", "Search"]

COMPILED: bool = cython.compiled
"""Whether the search runs as compiled code; the plans are the same either way."""

STATION = 32
"""At every so many places it is kept where the letters stand."""

_INFINITE = cython.declare(cython.longlong, 1 << 60)


class OutOfEffortError(Exception):
    """The labels that may be followed are used up."""


class Search(Layer):
    """The labels of some letters along a part.

    ``effort`` is how many labels may still be followed; ways to move that are tried, and answers,
    count as parts of one.
    """

    def __init__(self, *layer: Any) -> None:
        """As :class:`~.layer.Layer`."""
        super().__init__(*layer)
        self.effort = 1 << 60

    def run(
        self,
        begin: int,
        end: int,
        starts: list[tuple[int, list[Node]]],
        limits: list[int] | None,
        width: int = 0,
        most: int = 0,
    ) -> Label | None:
        """The best label at ``end`` of those whose rank is within its limit after each place.

        ``starts`` are the ranks and nodes to begin with. If there is none, ``missed`` is by how
        much the limits were too low at least. Without limits it is a beam, of each place the
        ``most`` best within ``width`` points; then ``missed`` is the least rank of all that was
        left out, so that a best label of no higher rank is proved.

        Raises:
            OutOfEffortError: more labels were needed than may be followed.
        """
        labels: list = [
            Label(rank, nodes, -1, -1, Done(None, begin, -2, self._left.still, self._left.still), 0)
            for rank, nodes in starts
        ]
        label: Label
        for label in labels:
            label.done.begun = self._positions(label.nodes)
        above: cython.longlong = _INFINITE
        room: cython.longlong = 0
        place: cython.int
        for place in range(begin, end):
            pulse()
            if limits is not None:
                self._forget_missed()
                labels = self._step(place, labels, limits[place])
                self._count_missed()
                if self.missed < _INFINITE:
                    above = min(above, self.missed - limits[place])
            else:
                lowest: cython.longlong = min([label.rank for label in labels])
                # Only as far up as there are too few; where every way is hurried all ranks rise.
                room = max(room // 3, 60)
                reached: list = []
                while True:
                    self._forget_missed()
                    reached = self._step(place, labels, lowest + room)
                    self._count_missed()
                    if reached and (len(reached) >= most or room >= width):
                        break
                    if room >= 1_000_000_000 or self.missed >= _INFINITE:
                        break
                    room = max(room * 3, self.missed - lowest)
                labels = reached[:most]
                above = min(above, self.missed)
                if len(reached) > most:
                    label = reached[most]
                    above = min(above, label.rank)
            if (place + 1) % STATION == 0:
                for label in labels:
                    still = self._left.still
                    label.done = Done(label.done, place, -1, still, still)
                    label.done.state = [node.state() for node in label.nodes]
            self.effort -= 1 + len(labels) + self._tried // 16
            self._tried = 0
            if not labels:
                self.missed = above
                return None
            if self.effort < 0:
                raise OutOfEffortError
        self.missed = above
        best: Label = labels[0]
        for label in labels:
            if label.rank < best.rank:
                best = label
        return best

    def stations(self, label: Label) -> dict[int, list[State]]:
        """Where the letters stand after some places of the way to a label."""
        found: dict[int, list[State]] = {}
        done: Done | None = label.done
        while done is not None:
            if done.state is not None:
                found[done.place] = done.state
            done = done.before
        return found

    def trace(self, label: Label) -> Iterator[tuple[int, int, tuple[Any, ...]]]:
        """What was done on the way to a label, the first thing first: (place, option, what).

        The option is −1 where there was but one. −2 stands for the beginning of a stretch, told by
        where the letters stand; else what each foot did is told.
        """
        found: list[Done] = []
        done: Done | None = label.done
        while done is not None:
            found.append(done)
            done = done.before
        for done in reversed(found):
            if done.state is not None:
                continue
            if done.option == -2:
                yield done.place, -2, done.begun
            elif self._both:
                ways = (self._left.told(done.left), self._right.told(done.right))
                yield done.place, done.option, ways
            else:
                yield done.place, done.option, (self._left.told(done.left),)
