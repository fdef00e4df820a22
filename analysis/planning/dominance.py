# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""Which labels are worth keeping.

A label is dropped for another that costs no more even if all that it remembers turned out against
it: in the same positions, or where the other has made a move already that this one must make
before the next note of the letter.
"""

from __future__ import annotations

from operator import attrgetter

import cython

from pedalsetter.analysis.planning.foot import Way
from pedalsetter.analysis.planning.letter import Letter
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.states import Node, State

__all__ = ["Dominance", "Done", "Label"]

_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)


class Done:
    """What was done at a place, and before."""

    def __init__(
        self, before: Done | None, place: cython.int, option: cython.int, left: Way, right: Way
    ) -> None:
        """``option`` is how the notes were answered, −1 if there was but one way.

        −2 stands for the beginning of a stretch; then ``begun`` tells where the letters stand.
        """
        self.before, self.place, self.option, self.left, self.right = (
            before,
            place,
            option,
            left,
            right,
        )
        self.begun: tuple[int, ...] = ()
        self.state: list[State] | None = None
        """Where the letters stand afterwards, at every so many places."""


class Label:
    """A state of the search with the cheapest way to it that is known."""

    def __init__(
        self,
        rank: cython.longlong,
        nodes: list,
        first: cython.longlong,
        second: cython.longlong,
        done: Done,
        late: cython.longlong,
    ) -> None:
        """``first`` and ``second`` are when the feet last moved, or −1.

        ``late`` tells how late moves are made: of two ways that cost the same the later is taken.
        """
        self.rank, self.nodes, self.first, self.second = rank, nodes, first, second
        self.done, self.late = done, late
        self.next: Label | None = None

    @property
    def order(self) -> int:
        """Labels with less of it come first: those of lower rank, of equal rank the later."""
        return (self.rank << 33) - self.late


class Dominance:
    """Compares the labels of some letters."""

    def __init__(self, prices: Prices, letters: list[Letter]) -> None:
        self._prices, self._letters = prices, letters
        self._count = len(letters)

    def undominated(self, labels: list, place: cython.int) -> list:
        """Leave out labels that another one is at least as good as; the best come first."""
        if len(labels) < 2:
            return labels
        labels.sort(key=_order)
        kept: list = []
        alike: dict = {}
        label: Label
        for label in labels:
            own: cython.ulonglong = self._signs(label, 0)
            if not self._served(label, alike, place):
                kept.append(label)
                group = alike.get(own)
                if group is None:
                    alike[own] = [label]
                else:
                    group.append(label)
        return kept

    def _signs(self, label: Label, moved: cython.int) -> cython.ulonglong:
        """The signs of a label mixed, of the letters ``moved`` (a bit each) those after a move."""
        mixed: cython.ulonglong = 0
        one: cython.int
        for one in range(self._count):
            node: Node = label.nodes[one]
            mixed = (mixed * 1_000_003 ^ (node.also if moved >> one & 1 else node.sign)) & _MASK
        return mixed

    def _served(self, label: Label, alike: dict, place: cython.int) -> cython.bint:
        """Whether a label kept before is at least as good as another."""
        movable: cython.int = 0
        one: cython.int
        for one in range(self._count):
            node: Node = label.nodes[one]
            if node.also >= 0:
                movable |= 1 << one
        moved: cython.int = 0
        other: Label
        while True:
            group: list | None = alike.get(self._signs(label, moved))
            if group is not None:
                for other in group:
                    if self._serves(other, label, place):
                        return True
            if moved == movable:
                return False
            # The next set of letters out of those that can have moved.
            moved = (moved - movable) & movable

    def _serves(self, better: Label, label: Label, place: cython.int) -> cython.bint:
        """Whether one label, of no higher rank, is at least as good as another whatever comes."""
        prices = self._prices
        room: cython.longlong = label.rank - better.rank
        # In a rest before a diagram a move to come may be told earlier than at this place.
        now: cython.longlong = prices.times[place] - prices.rested[place]
        if better.first > label.first:
            room -= prices.haste(now - better.first, 2)
        if better.second > label.second:
            room -= prices.haste(now - better.second, 2)
        if room < 0:
            return False
        one: cython.int
        for one in range(self._count):
            this: Node = better.nodes[one]
            that: Node = label.nodes[one]
            if this is that:
                continue
            if this.sign == that.sign:
                # Ranks count what the letter costs by itself from here on. Where the one has moved
                # and the other has not, that of the other counts the least of its move.
                letter: Letter = self._letters[one]
                room += this.rest - that.rest
                room -= letter.excess(this, that)
            elif this.sign == that.also:
                room -= prices.dearer(this.past, that.past, place)
            else:
                return False
            if room < 0:
                return False
        return True


_order = attrgetter("order")
