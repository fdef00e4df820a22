# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""What a letter can do in a state: move, be needed, or go on; and what states are worth."""

from __future__ import annotations

import cython

from pedalsetter.analysis.planning.bounds import Bounds, Table
from pedalsetter.analysis.planning.sounded import INFINITE, Past, Variant
from pedalsetter.analysis.planning.states import Ask, Held, Node

__all__ = ["Letter", "Move", "Value"]

_UNSET = cython.declare(cython.int, 9)
_WILD = cython.declare(cython.int, 8)
_INFINITE = cython.declare(cython.longlong, 1 << 60)


class Move:
    """A move that a letter can make where it is."""

    def __init__(
        self,
        rise: cython.longlong,
        points: cython.longlong,
        after: Node,
        notches: cython.int,
    ) -> None:
        """``rise`` is by how much it raises the least that the letter costs."""
        self.rise, self.points, self.after = rise, points, after
        self.notches, self.target = notches, after.position


class Value:
    """What follows if a letter is needed in one way, or not at all: points with the least after."""

    def __init__(self, points: cython.longlong, after: Node) -> None:
        self.points, self.after = points, after


class Letter(Bounds):
    """One letter with what it can do.

    The moves and values of a state are found once and kept in its node.
    """

    def moves_of(self, node: Node) -> list[Move]:
        """The moves that a letter can make at its place, those that raise the bound least first."""
        if node.moves is None:
            node.moves = self._moves(node)
        return node.moves

    def _moves(self, node: Node) -> list[Move]:
        prices = self.prices
        place: cython.int = node.place
        position: cython.int = node.position
        found: list[Move] = []
        if (
            node.moved >= 0
            or position == _WILD
            or not prices.capacities[place]
            or node.past.lock >= place
        ):
            return found
        number: cython.int = self.first[place]
        if position == _UNSET:
            # Decided to move here first of all, it stood a notch away.
            if number == len(self.places) or self.places[number] != place:
                return found
            first: Variant = self.asks[number][1][0]
            if not first.kind & 2:
                return found
            position = self.beside(first.position)
        past: Past = prices.moved(node.past)
        target: cython.int
        for target in sorted(self._targets(node, number)):
            if target == position:
                continue
            notches: cython.int = abs(target - position)
            points: cython.longlong = prices.move(node.past, notches, place)
            after: Node = self.node(place, target, place, node.held, past, prices.nothing)
            if after.rest < _INFINITE:
                found.append(Move(points + after.rest - node.rest, points, after, notches))
        found.sort(key=_rise_of)
        return found

    def _targets(self, node: Node, number: cython.int) -> set[int]:
        """Where a letter may be wanted next, the needs from a number on."""
        stretch: cython.int = self.prices.stretch_of[node.place]
        end: cython.int = self.prices.begins[stretch + 1]
        bits: cython.int = 8
        if number < len(self.places) and self.places[number] < end:
            bits = self.targets[number]
            if self.places[number] == node.place:
                # Here it may also be decided to move.
                variant: Variant
                for variant in self.asks[number][1]:
                    bits |= 1 << (variant.position + 1)
        targets = {position for position in (-1, 0, 1) if bits & 1 << (position + 1)}
        if bits & 8 and not self.form.crossings[stretch + 1][0]:
            table: Table = self.table(stretch, node.held)
            targets.update(table.final)
        return targets

    def expand(self, node: Node) -> None:
        """Find the ``values`` of a node and the ``least`` of them.

        The first is for not being needed at its place, the others for the ways to be needed there,
        None where it cannot be; at the end of a stretch there is one for each way into the next.
        """
        if self.prices.ends[node.place]:
            node.values = self._leaving(node)
        else:
            node.values = self._values(node)
        least: cython.longlong = _INFINITE
        value: Value | None
        for value in node.values:
            if value is not None:
                least = min(least, value.points)
        node.least = least

    def _leaving(self, node: Node) -> list[Value]:
        place: cython.int = node.place
        points: cython.longlong = 0
        held: Held = node.held
        moved: cython.int
        for moved in held.waits if node.moved < 0 else (*held.waits, node.moved):
            points += self.prices.early(place, moved)
        nothing = self.prices.nothing
        found: list[Value] = []
        for position, memory in self.exits(
            self.prices.stretch_of[place], node.position, held.memory
        ):
            after: Node = self.node(
                place + 1, position, -1, self.holding((), memory), nothing, nothing
            )
            found.append(Value(0 if node.position == _WILD else points + after.rest, after))
        return found

    def _values(self, node: Node) -> list[Value | None]:
        prices = self.prices
        place: cython.int = node.place
        moved: cython.int = node.moved
        held: Held = node.held
        number: cython.int = self.first[place]
        still: Node = self.node(
            place + 1,
            node.position,
            moved,
            held,
            prices.faded(node.past, place),
            prices.faded(node.certain, place),
        )
        ahead: cython.longlong = still.rest
        if moved == place and prices.reserved[place]:
            ahead += prices.lost
        if number == len(self.places) or self.places[number] != place:
            return [Value(ahead, still)]
        ask: tuple = self.asks[number]
        skip: cython.longlong = ask[2]
        found: list[Value | None] = [None if skip >= _INFINITE else Value(ahead + skip, still)]
        if node.position == _WILD:
            return self._wild(node, number, still)
        pending: tuple = held.waits if moved < 0 else (*held.waits, moved)
        variant: Variant
        for variant in ask[1]:
            stands: cython.bint = node.position == variant.position or node.position == _UNSET
            if not stands or (variant.kind & 2 and moved != place):
                found.append(Value(ahead + variant.lost, still))
                continue
            points: cython.longlong = variant.points
            after: Held = held.calm
            if variant.kind & 1:
                after = self.holding(pending, held.memory) if moved >= 0 else held
            elif pending:
                points += self.pending(pending, place)
            following: Node = self.node(
                place + 1,
                variant.position,
                -1,
                after,
                self.after(node.past, place, variant, moved >= 0),
                self.after(self.certain[number], place, variant, True),
            )
            found.append(Value(points + following.rest, following))
        return found

    def _wild(self, node: Node, number: cython.int, still: Node) -> list[Value | None]:
        """What follows for a letter that began wherever suits it best, above what it costs alone.

        It may have moved before towards the very note that it sounds first, at a price that was
        paid before too, so only the ways to sound that note in one position are told apart.
        """
        ask: Ask = self.asks[number]
        place: cython.int = node.place
        table: Table = self.table(self.prices.stretch_of[place], node.held)
        rests: list[int] = table.after[number - table.begin]
        least: dict[int, int] = {}
        for variant, rest in zip(ask[1], rests, strict=True):
            points = variant.points + rest
            least[variant.position] = min(points, least.get(variant.position, points))
        found: list[Value | None] = [None if ask[2] >= INFINITE else Value(0, still)]
        for variant, rest in zip(ask[1], rests, strict=True):
            known: Past = self.after(self.certain[number], place, variant, True)
            after: Node = self.node(
                place + 1,
                variant.position,
                -1,
                self.met(node.held, place, variant),
                known,
                known,
            )
            found.append(Value(variant.points + rest - least[variant.position], after))
        return found

    def excess(self, one: Node, other: Node) -> cython.longlong:
        """By how much more one node can at most cost than another of its sign, whatever comes."""
        points: cython.longlong = 0
        if one.moved >= 0 and one.moved != other.moved:
            if other.moved < 0 or one.moved < other.moved:
                return _INFINITE
            if self.prices.shown(other.moved) and not self.prices.shown(one.moved):
                # The other has moved with a diagram, for which being early costs less.
                return _INFINITE
            number: cython.int = self.first[one.place]
            if number < len(self.places):
                goal: cython.int = self.places[number]
                points = self.prices.near(goal, one.moved) - self.prices.near(goal, other.moved) + 1
                points = max(points, 0)
        if one.held is not other.held and not set(one.held.waits) <= set(other.held.waits):
            return _INFINITE
        if one.past is other.past:
            return points
        return points + self.prices.dearer(one.past, other.past, one.place - 1)


def _rise_of(move: Move) -> int:
    return move.rise
