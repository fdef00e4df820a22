# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""One place of the search: the labels that follow from those before it.

A label is followed by one for every way to move and every way to answer the notes there. Of labels
in the same state the cheapest is kept, and of the others those that are not dominated.
"""

from __future__ import annotations

import cython

from pedalsetter.analysis.planning.dominance import Dominance, Done, Label
from pedalsetter.analysis.planning.foot import Foot, Way
from pedalsetter.analysis.planning.letter import Letter, Move, Value
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import INFINITE
from pedalsetter.analysis.planning.states import Node
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Layer"]

_WILD = cython.declare(cython.int, 8)
_INFINITE = cython.declare(cython.longlong, 1 << 60)
_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)


class Layer:
    """The labels of some letters, worked by one foot or two, from one place to the next.

    ``missed`` is the least rank of all that was left out, ``tried`` how much else was weighed.
    """

    def __init__(
        self,
        prices: Prices,
        letters: list[Letter],
        feet: list[list[int]],
        given: list[list[int]],
        options: list[list[tuple[int, tuple[int, ...]]]],
        weights: Weights,
        pairs: frozenset[tuple[int, int]],
        decided: frozenset[tuple[int, int]],
    ) -> None:
        """``feet`` are the numbers of each foot's letters among ``letters``.

        ``given`` are for each foot the letters of the other one that it can cross for. ``options``
        are by place the ways to answer its notes: points, and for each letter the number of its
        way, 0 for none. ``pairs`` are neighbours that one foot can move at once; ``decided`` are
        places with letters that the musician wants to move right there.
        """
        self._prices, self._letters, self._options = prices, letters, options
        alone = len(feet) == 1
        both = [
            Foot(prices, letters, own, more, weights, pairs, decided, alone=alone)
            for own, more in zip(feet, given, strict=True)
        ]
        self._left, self._right = both[0], both[len(both) - 1]
        self._both = not alone
        self._count = len(letters)
        # Nothing that a foot has done so long ago bears on what comes.
        crossing = 0 if weights.crossed is None else int(weights.crossing_seconds * 1_000_000)
        comfortable = weights.comfortable_seconds * weights.two_notches
        self._reach = crossing + int(comfortable * 1_000_000)
        self._dominance = Dominance(prices, letters)
        self.missed, self._tried = INFINITE, 0
        self._found: dict[int, Label] = {}
        self._labels: list[Label] = []

    def _forget_missed(self) -> None:
        self.missed = self._left.missed = self._right.missed = _INFINITE

    def _count_missed(self) -> None:
        """Of what the feet have left out the least is missed, and what they tried is effort."""
        self.missed = min(self.missed, self._left.missed, self._right.missed)
        self._tried += 8 * self._left.tried
        self._left.tried = 0
        if self._both:
            self._tried += 8 * self._right.tried
            self._right.tried = 0

    def _step(self, place: cython.int, labels: list, limit: cython.longlong) -> list:
        """The labels after the moves made at a place and the notes played there."""
        self._found = {}
        self._labels = []
        options: list = self._options[place]
        ends: cython.bint = self._prices.ends[place]
        label: Label
        left: Way
        right: Way
        for label in labels:
            base: cython.longlong = label.rank
            least: cython.longlong = 0
            one: cython.int
            for one in range(self._count):
                node: Node = label.nodes[one]
                if node.position != _WILD:
                    base -= node.rest
                if node.values is None:
                    letter: Letter = self._letters[one]
                    letter.expand(node)
                least += node.least
            least += base
            ways: list = self._left.ways(place, label.nodes, label.first, label.rank, least, limit)
            if not self._both:
                for left in ways:
                    if least + left.gain > limit:
                        self.missed = min(self.missed, least + left.gain)
                        continue
                    self._go(place, label, left, self._right.still, base, limit, options, ends)
                continue
            other: list = self._right.ways(
                place, label.nodes, label.second, label.rank, least, limit
            )
            for left in ways:
                for right in other:
                    if least + left.gain + right.gain > limit:
                        self.missed = min(self.missed, least + left.gain + right.gain)
                    elif set(left.letters).isdisjoint(right.letters):
                        self._go(place, label, left, right, base, limit, options, ends)
        self._found = {}
        return self._dominance.undominated(self._labels, place)

    def _go(
        self,
        place: cython.int,
        label: Label,
        left: Way,
        right: Way,
        base: cython.longlong,
        limit: cython.longlong,
        options: list,
        ends: cython.bint,
    ) -> None:
        """Add the labels that follow one when the feet move in one way."""
        nodes: list = label.nodes
        late: cython.longlong = label.late
        if left.moves or right.moves:
            nodes = nodes[:]
            late += self._moved(place, nodes, left)
            if self._both:
                late += self._moved(place, nodes, right)
        made: cython.longlong = base + left.points + right.points
        if ends:
            self._leave(place, label, nodes, left, right, made, limit, late)
            return
        now: cython.longlong = self._prices.times[place]
        reach: cython.longlong = self._reach
        # In a rest before a diagram a foot may be told to move earlier than at this place.
        reach += self._prices.rested[place]
        first: cython.longlong = left.last
        if first < 0 and label.first >= 0 and now - label.first < reach:
            first = label.first
        second: cython.longlong = -1
        if self._both:
            second = right.last
            if second < 0 and label.second >= 0 and now - label.second < reach:
                second = label.second
        self._answer(place, label, nodes, left, right, made, limit, late, options, first, second)

    def _moved(self, place: cython.int, nodes: list, way: Way) -> cython.longlong:
        """Put a foot's moves among the nodes; return how late they are."""
        at: cython.int
        for at in range(len(way.moves)):
            move: Move = way.moves[at]
            nodes[way.letters[at]] = move.after
        return place * len(way.moves)

    def _answer(
        self,
        place: cython.int,
        label: Label,
        nodes: list,
        left: Way,
        right: Way,
        made: cython.longlong,
        limit: cython.longlong,
        late: cython.longlong,
        options: list,
        first: cython.longlong,
        second: cython.longlong,
    ) -> None:
        """Add a label for every way to answer the notes of a place."""
        count: cython.int = self._count
        one: cython.int
        at: cython.int
        node: Node
        value: Value
        values: list = []
        for one in range(count):
            node = nodes[one]
            values.append(node.values)
        number: cython.int = -1
        self._tried += len(options)
        for option in options:
            number += 1
            total: cython.longlong = option[0]
            total += made
            needs: tuple = option[1]
            mixed: cython.ulonglong = first + 1
            mixed = (mixed * 1_000_003 ^ (second + 1)) & _MASK
            possible: cython.bint = True
            for one in range(count):
                at = needs[one]
                way: list = values[one]
                if way[at] is None:
                    possible = False
                    break
                value = way[at]
                total += value.points
                mixed = (mixed * 1_000_003 ^ value.after.number) & _MASK
            if not possible:
                continue
            if total > limit:
                self.missed = min(self.missed, total)
                continue
            reached: list = []
            for one in range(count):
                at = needs[one]
                way = values[one]
                value = way[at]
                reached.append(value.after)
            self._keep(
                mixed,
                total,
                reached,
                first,
                second,
                label,
                place,
                number if len(options) > 1 else -1,
                left,
                right,
                late,
            )

    def _keep(
        self,
        mixed: cython.ulonglong,
        total: cython.longlong,
        reached: list,
        first: cython.longlong,
        second: cython.longlong,
        before: Label,
        place: cython.int,
        option: cython.int,
        left: Way,
        right: Way,
        late: cython.longlong,
    ) -> Label | None:
        """Keep a label unless there is one in the same state that is as good."""
        chain: Label | None = self._found.get(mixed)
        label: Label | None = chain
        while label is not None:
            if label.first == first and label.second == second and _alike(label.nodes, reached):
                break
            label = label.next
        done: Done = before.done
        if label is not None and (
            label.rank < total or (label.rank == total and label.late >= late)
        ):
            return None
        if option >= 0 or left.moves or right.moves:
            done = Done(before.done, place, option, left, right)
        if label is not None:
            label.rank, label.late, label.done = total, late, done
            return label
        label = Label(total, reached, first, second, done, late)
        label.next = chain
        self._found[mixed] = label
        self._labels.append(label)
        return label

    def _leave(
        self,
        place: cython.int,
        label: Label,
        nodes: list,
        left: Way,
        right: Way,
        made: cython.longlong,
        limit: cython.longlong,
        late: cython.longlong,
    ) -> None:
        """Add a label for every way into the next stretch; there all feet are at rest."""
        ways: list = [(made, [])]
        for node in nodes:
            ways = [
                (total + value.points, [*reached, value.after])
                for total, reached in ways
                for value in node.values
            ]
        for total, reached in ways:
            if total > limit:
                self.missed = min(self.missed, total)
                continue
            mixed: cython.ulonglong = 0
            for after in reached:
                number: cython.int = after.number
                mixed = (mixed * 1_000_003 ^ number) & _MASK
            kept = self._keep(mixed, total, reached, -1, -1, label, place, -1, left, right, late)
            if kept is not None:
                kept.done = Done(kept.done, place + 1, -2, self._left.still, self._left.still)
                kept.done.begun = self._positions(reached)

    def _positions(self, nodes: list) -> tuple:
        return tuple([node.position for node in nodes])


def _alike(one: list, other: list) -> cython.bint:
    at: cython.int
    for at in range(len(one)):  # noqa: SIM110 - a generator would be slower
        if one[at] is not other[at]:
            return False
    return True
