# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""The least that one letter can still cost by itself.

The ``rest`` of a state is a lower bound of all that the letter still costs. It is found from the
end backwards and knows of the past only what is *certain* to have sounded: the note last met, and
every note before it that no other string can play. So it depends on the note last met alone, and
never falls by more than a step costs, which makes it a consistent bound (A*).
"""

from __future__ import annotations

from array import array
from typing import Any

import cython

from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import INFINITE, Past, Variant
from pedalsetter.analysis.planning.states import UNSET, WILD, Ask, Held, Node, State, States

__all__ = ["Bounds", "Table"]

_UNSET = cython.declare(cython.int, 9)
_WILD = cython.declare(cython.int, 8)
_INFINITE = cython.declare(cython.longlong, 1 << 60)
_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)


class Table:
    """What a letter costs by itself in one stretch, with one memory, from each ask on."""

    def __init__(self, begin: int, end: int) -> None:
        """The asks of the stretch are those from ``begin`` to before ``end``."""
        self.begin, self.end = begin, end
        self.final: dict[int, int] = {}
        """Least points beyond the stretch by where the letter stands at its end."""
        self.after: list[list[int]] = [[] for _ in range(end - begin)]
        """Least points after each ask, for each way in which it is met."""
        self.least = array("q", [0]) * (end - begin + 1)
        """Least points from each ask on, counted from the beginning of the part."""


class Bounds(States):
    """One letter with the least that each state of it can cost."""

    def __init__(
        self, prices: Prices, form: Any, asks: list[Ask], candidates: list[tuple[int, ...]]
    ) -> None:
        """As :class:`~.states.States`; the tables are made from the end backwards."""
        super().__init__(prices, form, asks, candidates)
        self._count = 0
        self._tables: dict[int, Table] = {}
        self._nodes: dict[int, Node] = {}
        stretch: cython.int
        for stretch in range(len(form.exits) - 1, -1, -1):
            for memory in self.memories(stretch):
                self.table(stretch, self.holding((), memory))

    # States.

    def node(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        held: Held,
        past: Past,
        certain: Past,
    ) -> Node:
        """A state, as one object."""
        mixed: cython.ulonglong = place
        mixed = (mixed << 4) + (position + 1)
        mixed = (mixed * 1_000_003 ^ (moved + 1)) & _MASK
        mixed = (mixed * 1_000_003 ^ held.number) & _MASK
        mixed = (mixed * 1_000_003 ^ past.number) & _MASK
        mixed = (mixed * 1_000_003 ^ certain.number) & _MASK
        first: Node | None = self._nodes.get(mixed)
        node: Node | None = first
        while node is not None:
            if (
                node.place == place
                and node.position == position
                and node.moved == moved
                and node.held is held
                and node.past is past
                and node.certain is certain
            ):
                return node
            node = node.next
        node = Node(place, position, moved, held, past, certain)
        node.next = first
        if position != _WILD:
            node.rest = self.rest(place, position, moved, held, certain)
        node.number = self._count
        self._count += 1
        node.sign = (held.calm.number << 4) + position + 1
        node.also = self._also(node)
        self._nodes[mixed] = node
        return node

    def starts(self) -> list[Node]:
        """Where the letter can stand before the first place, nearest to home first."""
        nothing = self.prices.nothing
        return [
            self.node(0, position, -1, self.holding((), memory), nothing, nothing)
            for position, memory in self.crossed(-1, UNSET, ())
        ]

    def wild(self, place: int) -> list[Node]:
        """The letter as it can be at a place for all that is known: once for each memory."""
        nothing = self.prices.nothing
        return [
            self.node(place, WILD, -1, self.holding((), memory), nothing, nothing)
            for memory in self.memories(self.form.stretch_of[place])
        ]

    def again(self, place: int, state: State) -> Node:
        """A state that was reached before some price was changed."""
        position, moved, waits, memory, past, certain = state
        return self.node(place, position, moved, self.holding(waits, memory), past, certain)

    # The least that is still to come.

    def table(self, stretch: cython.int, held: Held) -> Table:
        """What the letter costs by itself in a stretch, with what it remembers there."""
        prices = self.prices
        key: cython.longlong = held.calm.number
        key = key * len(prices.begins) + stretch
        known: Table | None = self._tables.get(key)
        if known is None:
            known = Table(
                self.first[prices.begins[stretch]], self.first[prices.begins[stretch + 1]]
            )
            # What is being solved asks for its own later parts.
            self._tables[key] = known
            self._solve(known, stretch, held.calm)
        return known

    def _solve(self, table: Table, stretch: cython.int, held: Held) -> None:
        """Solve a stretch from its end backwards."""
        nothing = self.prices.nothing
        beyond: cython.int = self.prices.begins[stretch + 1]
        begin: cython.int = table.begin
        end: cython.int = table.end
        for position in (-1, 0, 1):
            ways: list = self.crossed(stretch, position, held.memory)
            if ways:
                table.final[position] = min(
                    [
                        self.rest(beyond, one, -1, self.holding((), memory), nothing)
                        for one, memory in ways
                    ]
                )
        least: cython.longlong = min(table.final.values())
        table.least[end - begin] = self.skips[end] + least
        number: cython.int
        for number in range(end - 1, begin - 1, -1):
            place: cython.int = self.places[number]
            variant: Variant
            best: cython.longlong = _INFINITE
            found: list = table.after[number - begin]
            for variant in self.asks[number][1]:
                past: Past = self.after(self.certain[number], place, variant, True)
                rest: cython.longlong = self.rest(
                    place + 1, variant.position, -1, self.met(held, place, variant), past
                )
                found.append(rest)
                best = min(best, rest + variant.points)
            table.least[number - begin] = min(
                self.skips[number] + best, table.least[number - begin + 1]
            )

    def met(self, held: Held, place: cython.int, variant: Variant) -> Held:
        """What is remembered after a need has been met by a letter of which no more is known."""
        if variant.kind == 3:
            return self.holding((place,), held.memory)
        return held.calm

    def rest(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        held: Held,
        past: Past,
    ) -> cython.longlong:
        """Least points from a place on, its own moves and needs included; never too many."""
        if place >= len(self.prices.ends):
            return 0
        stretch: cython.int = self.prices.stretch_of[place]
        table: Table = self.table(stretch, held)
        number: cython.int = max(self.first[place], table.begin)
        start: cython.longlong = self.skips[number]
        best: cython.longlong = _INFINITE
        points: cython.longlong
        variant: Variant
        pending: tuple = held.waits if moved < 0 else (*held.waits, moved)
        while number < table.end:
            if table.least[number - table.begin] - start >= best:
                return best
            passed: cython.longlong = self.skips[number] - start
            rests: list = table.after[number - table.begin]
            index: cython.int = 0
            for variant in self.asks[number][1]:
                rest: cython.longlong = rests[index]
                points = passed + variant.points + rest
                index += 1
                if points >= best:
                    continue
                points += self._towards(
                    place, position, moved, pending, past, self.places[number], variant
                )
                best = min(best, points)
            number += 1
        ahead: cython.longlong = self.skips[table.end] - start
        last: cython.int = self.prices.begins[stretch + 1] - 1
        for one in pending:
            ahead += self.prices.early(last, one)
        for target, beyond in table.final.items():
            points = beyond
            points += ahead
            if points < best and position != target and position != _UNSET:
                if moved >= 0:
                    continue
                points += self.prices.window(past, position, last, target, 0, place)
            best = min(best, points)
        return best

    def _towards(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        pending: tuple,
        past: Past,
        at: cython.int,
        variant: Variant,
    ) -> cython.longlong:
        """Points on the way from a state to a need."""
        points: cython.longlong = 0
        kind: cython.int = variant.kind
        target: cython.int = variant.position
        if moved >= 0:
            if position != target or (kind & 2 and moved != at):
                return _INFINITE
        elif kind & 2 and position == target:
            return _INFINITE
        elif kind & 2 and position == _UNSET:
            points = self.prices.window(
                self.prices.nothing, self.beside(target), at, target, kind, place
            )
        elif position != target and position != _UNSET:
            points = self.prices.window(past, position, at, target, kind, place)
        if pending and not kind & 1:
            points += self.pending(pending, at)
        return points

    def beside(self, position: cython.int) -> cython.int:
        """A position one notch away: where a pedal best stands that is to move to this one."""
        return -1 if position == 0 else 0

    def pending(self, moves: tuple, goal: cython.int) -> cython.longlong:
        """Points of moves for being early, or near, to the note at ``goal``."""
        points: cython.longlong = 0
        moved: cython.int
        for moved in moves:
            points += self.prices.early(goal, moved) + self.prices.near(goal, moved)
        return points

    def way(self) -> dict[int, int]:
        """The cheapest way of the letter by itself: how it is needed at each place, from 1."""
        found: dict[int, int] = {}
        start = min(self.starts(), key=_rest_of)
        place, position, held = start.place, start.position, start.held
        past = self.prices.nothing
        while place < len(self.form.ends):
            stretch = self.form.stretch_of[place]
            table = self.table(stretch, held)
            number, index = self._cheapest(place, position, held, past, table)
            if number >= 0:
                at = self.places[number]
                variant = self.asks[number][1][index]
                found[at] = index + 1
                position, held = variant.position, self.met(held, at, variant)
                past = self.after(self.certain[number], at, variant, True)
                place = at + 1
                continue
            ways = self.exits(stretch, position, held.memory)
            if not ways:
                final = table.final
                ways = self.exits(stretch, min(final, key=final.__getitem__), held.memory)
            place = self.form.begins[stretch + 1]
            position, held = ways[0][0], self.holding((), ways[0][1])
            past = self.prices.nothing
        return found

    def _cheapest(
        self, place: cython.int, position: cython.int, held: Held, past: Past, table: Table
    ) -> tuple[int, int]:
        """The next need that the letter meets best, and how; −1 for none in the stretch."""
        best: cython.longlong = self.rest(place, position, -1, held, past)
        number: cython.int = max(self.first[place], table.begin)
        start: cython.longlong = self.skips[number]
        while number < table.end:
            rests: list = table.after[number - table.begin]
            ways: tuple = self.asks[number][1]
            index: cython.int
            for index in range(len(ways)):
                variant: Variant = ways[index]
                rest: cython.longlong = rests[index]
                rest += self.skips[number] - start + variant.points
                if rest <= best:
                    rest += self._towards(
                        place, position, -1, held.waits, past, self.places[number], variant
                    )
                if rest <= best:
                    return number, index
            if self.asks[number][2] == INFINITE:
                break
            number += 1
        return -1, 0


def _rest_of(node: Node) -> int:
    return node.rest
