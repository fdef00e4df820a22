# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""What a foot can do in the gap before a place: any of its letters' moves, one after the other.

The ways are followed letter by letter. A letter that must move here, since it would cost too much
to stay, is known to: what each of those still to come must at least add, or can at most save, is
part of the bound, so that no way is begun that cannot be ended within the limit.
"""

from __future__ import annotations

from itertools import permutations

import cython

from pedalsetter.analysis.planning.letter import Letter, Move
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import Past
from pedalsetter.analysis.planning.states import Node
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Foot", "Way"]

_INFINITE = cython.declare(cython.longlong, 1 << 60)


class Way:
    """One way in which a foot moves in a gap, staying included."""

    def __init__(self, points: cython.longlong, gain: cython.longlong) -> None:
        """``gain`` is by how much it raises what the letters cost at least, notes considered."""
        self.points, self.gain = points, gain
        self.last = -1
        """When the foot is free again, or −1 if it has not moved."""
        self.moves: tuple[Move, ...] = ()
        """In the order in which they are made."""
        self.letters: tuple[int, ...] = ()
        """The letter of each move."""
        self.later: tuple[int, ...] = ()
        """How many turns of the foot follow each."""


class Foot:
    """One foot and the letters that it can move.

    ``missed`` is the least that a way left out would have come to, ``tried`` how many ways were
    priced.
    """

    def __init__(
        self,
        prices: Prices,
        letters: list[Letter],
        own: list[int],
        given: list[int],
        weights: Weights,
        pairs: frozenset[tuple[int, int]],
        decided: frozenset[tuple[int, int]],
        *,
        alone: bool,
    ) -> None:
        """``own`` are the numbers of its letters, ``given`` those that it can cross for.

        ``pairs`` are neighbours that it can move at once; ``decided`` are places with letters that
        the musician wants to move right there. Unless it is ``alone`` the other foot may move what
        this one does not.
        """
        self._prices, self._letters, self._own = prices, letters, own
        self._numbers = own + given
        self._pairs, self._decided, self._alone = pairs, decided, alone
        self._at_once = -1 if weights.two_pedals is None else weights.two_pedals
        self._crossed = -1 if weights.crossed is None else weights.crossed
        self._travel = 0 if self._crossed < 0 else int(weights.crossing_seconds * 1_000_000)
        self._free = self._at_once >= 0 or self._crossed >= 0
        self.still = Way(0, 0)
        self.missed, self.tried = 1 << 60, 0
        self._floor_place = -1
        self._floors = [0] * 6
        self._able: list[list[Move]] = [[] for _ in self._numbers]
        self._saved = [0] * (len(self._numbers) + 1)
        self._taken: list[Move] = []
        self._whose: list[int] = []
        self._found: list[Way] = []
        self._nodes: list[Node] = []

    def ways(
        self,
        place: cython.int,
        nodes: list,
        last: cython.longlong,
        rank: cython.longlong,
        ahead: cython.longlong,
        limit: cython.longlong,
    ) -> list:
        """Every way in which the foot moves from some nodes with which nothing exceeds a limit.

        ``last`` is when it last moved, or −1. ``rank`` is that of the label, ``ahead`` the same
        with the notes of the place considered, if nothing moved. Where another foot's moves can
        still save something, only ranks are compared, which no move can lower.
        """
        if not self._prices.capacities[place]:
            return [self.still]
        count: cython.int = len(self._numbers)
        at: cython.int
        several: cython.bint = False
        for at in range(count - 1, -1, -1):
            number: cython.int = self._numbers[at]
            saved: cython.longlong = self._able_to(at, number, nodes[number], rank, limit)
            self._saved[at] = self._saved[at + 1] + min(saved, 0)
            several = several or bool(self._able[at])
        if not several:
            return [self.still]
        room: cython.int = self._prices.capacities[place]
        if self._at_once >= 0:
            room = min(2 * room, 4)
        if self._floor_place != place:
            self._share(place)
        self._found = [self.still]
        self._place, self._last, self._limit, self._room = place, last, limit, room
        self._nodes = nodes
        self._more(0, ahead if self._alone else rank, 0)
        return self._found

    def _able_to(
        self,
        at: cython.int,
        number: cython.int,
        node: Node,
        rank: cython.longlong,
        limit: cython.longlong,
    ) -> cython.longlong:
        """Note the moves of one letter that can be made within the limit; the most they save."""
        price: cython.longlong = self._crossed if at >= len(self._own) else 0
        best: cython.longlong = _INFINITE
        letter: Letter = self._letters[number]
        able: list[Move] = []
        move: Move
        for move in letter.moves_of(node):
            rise: cython.longlong = rank + move.rise + price
            if rise > limit:
                self.missed = min(self.missed, rise)
                break
            if move.after.values is None:
                letter.expand(move.after)
            able.append(move)
            best = min(best, self._weighed(move, node))
        self._able[at] = able
        return best

    def _share(self, place: cython.int) -> None:
        """For 0 moves, 1 move and so on the least that they cost by being made in one gap."""
        least: cython.longlong = 0
        turn: cython.int
        self._floor_place = place
        for turn in range(4):
            if self._at_once < 0 and turn + 1 < self._prices.capacities[place]:
                gap: cython.longlong = self._prices.time(place, turn) - self._prices.time(
                    place, turn + 1
                )
                least += self._prices.between(place) + self._prices.haste(gap, 1)
            self._floors[turn + 2] = least

    def _more(self, at: cython.int, ahead: cython.longlong, points: cython.longlong) -> None:
        """Add the ways that go on from some moves with letters from ``at`` on."""
        taken: cython.int = len(self._taken)
        if at == len(self._numbers) or taken == self._room:
            if taken:
                self._ordered(ahead, points)
            return
        price: cython.longlong = self._crossed if at >= len(self._own) else 0
        to_come: cython.longlong = self._saved[at + 1]
        floor: cython.longlong = self._floors[taken + 1]
        number: cython.int = self._numbers[at]
        node: Node = self._nodes[number]
        move: Move
        for move in self._able[at]:
            least: cython.longlong = ahead + self._weighed(move, node) + price
            if least + to_come + floor > self._limit:
                self.missed = min(self.missed, least + to_come + floor)
                continue
            self._taken.append(move)
            self._whose.append(number)
            self._more(at + 1, least, points + move.points + price)
            self._taken.pop()
            self._whose.pop()
        floor = self._floors[taken]
        if ahead + to_come + floor > self._limit:
            # This letter must move.
            self.missed = min(self.missed, ahead + to_come + floor)
            return
        self._more(at + 1, ahead, points)

    def _ordered(self, ahead: cython.longlong, points: cython.longlong) -> None:
        """Add the moves taken in the order of letters, and in others where that could cost less."""
        count: cython.int = len(self._taken)
        beyond: cython.longlong = 1
        order: tuple
        if not self._free:
            beyond = self._priced(tuple(range(count)), (1,) * count, ahead, points)
        if count > 1 and (self._free or beyond > self._floors[count]):
            for order in permutations(range(count)):
                for turns in self._turns(order):
                    self._priced(order, turns, ahead, points)
        elif self._free:
            self._priced((0,), (1,), ahead, points)

    def _turns(self, order: tuple) -> list:
        """Every way to make moves in an order, one by one or two neighbours at once."""
        if self._at_once < 0 or len(order) == 1:
            return [(1,) * len(order)]
        found: list[tuple[int, ...]] = [()]
        done: list[tuple[int, ...]] = []
        while found:
            sizes = found.pop()
            at = sum(sizes)
            if at == len(order):
                if len(sizes) <= self._prices.capacities[self._place]:
                    done.append(sizes)
                continue
            found.append((*sizes, 1))
            if at + 1 < len(order) and self._fit(order[at], order[at + 1]):
                found.append((*sizes, 2))
        return sorted(done)

    def _fit(self, one: cython.int, other: cython.int) -> cython.bint:
        """Whether one movement of the foot can make both moves."""
        first: Move = self._taken[one]
        second: Move = self._taken[other]
        return (
            first.target == second.target
            and self._node(one).position == self._node(other).position
            and self._whose[one] in self._own
            and self._whose[other] in self._own
            and (self._whose[one], self._whose[other]) in self._pairs
        )

    def _priced(
        self,
        order: tuple,
        turns: tuple,
        ahead: cython.longlong,
        points: cython.longlong,
    ) -> cython.longlong:
        """Add the way that makes the moves taken turn by turn in the gap before the place.

        Returns what they cost beyond the moves by themselves.
        """
        prices = self._prices
        place: cython.int = self._place
        self.tried += 1
        count: cython.int = len(turns)
        extra: cython.longlong = prices.between(place) * (count - 1)
        final: cython.longlong = prices.time(place, 0)
        time: cython.longlong = prices.time(place, count - 1)
        if len(order) > count:
            extra += self._at_once * (len(order) - count)
        number: cython.int = 0
        at: cython.int = order[0]
        move: Move = self._taken[at]
        before: cython.longlong
        if self._last >= 0:
            extra += prices.haste(
                time - self._travel * self._crosses(at) - self._last, move.notches
            )
        turn: cython.int
        later: cython.int
        for turn in range(count):
            later = count - 1 - turn
            at = order[number]
            move = self._taken[at]
            if turn:
                before = time
                time = prices.time(place, later)
                gap: cython.longlong = time - before
                gap -= self._travel * (self._crosses(at) + self._crosses(order[number - 1]))
                extra += prices.haste(gap, move.notches)
            end: cython.int = number
            end += turns[turn]
            while number < end:
                at = order[number]
                number += 1
                move = self._taken[at]
                if later and not prices.spread(place):
                    # Never a gain, so that the price by itself stays a lower bound.
                    past: Past = self._node(at).past
                    sooner: cython.longlong = prices.sound(past, move.notches, time)
                    extra += max(0, sooner - prices.sound(past, move.notches, final))
                    if (place, self._whose[at]) in self._decided and not prices.shown(place):
                        # A diagram there would show it moved all the same.
                        extra += prices.lost
        if ahead + extra > self._limit:
            self.missed = min(self.missed, ahead + extra)
            return extra
        way = Way(points + extra, 0)
        way.last = final + self._travel * self._crosses(order[number - 1])
        self._note(way, order, turns, extra)
        self._found.append(way)
        return extra

    def _weighed(self, move: Move, node: Node) -> cython.longlong:
        """What a move adds to the bound by which ways are left out."""
        if self._alone:
            return move.points + move.after.least - node.least
        return move.rise

    def _node(self, at: cython.int) -> Node:
        """The node that a move taken begins in."""
        return self._nodes[self._whose[at]]

    def _crosses(self, at: cython.int) -> cython.int:
        """1 if the foot crosses for a move, else 0."""
        if self._crossed < 0:
            return 0
        return 0 if self._whose[at] in self._own else 1

    def _note(self, way: Way, order: tuple, turns: tuple, extra: cython.longlong) -> None:
        """Write down which moves a way makes."""
        count: cython.int = len(order)
        gain: cython.longlong = extra
        at: cython.int
        for at in range(count):
            move: Move = self._taken[at]
            gain += move.points + move.after.least - self._node(at).least
            if self._crosses(at):
                gain += self._crossed
        way.gain = gain
        if count == 1:
            way.moves, way.letters, way.later = (self._taken[0],), (self._whose[0],), (0,)
            return
        way.moves = tuple([self._taken[one] for one in order])
        way.letters = tuple([self._whose[one] for one in order])
        later: list[int] = []
        for turn in range(len(turns)):
            later += [len(turns) - 1 - turn] * turns[turn]
        way.later = tuple(later)

    def told(self, way: Way) -> tuple[tuple[int, int, int, bool], ...]:
        """A way as (letter, new position, later turns, whether the foot crosses), in order."""
        return tuple(
            (letter, move.target, later, letter not in self._own)
            for letter, move, later in zip(way.letters, way.moves, way.later, strict=True)
        )
