# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""One letter by itself: its states, and the least that the rest of it can cost.

A state of a letter is *standing* (its position, and what has sounded on it) or *moved* (its new
position, and where it moved): a pedal goes straight from the note that needs one position to the
note that needs the next, so a letter that has moved does not move again before it has sounded.

The ``rest`` of a state is a lower bound of all that the letter still costs. It is found from the
end backwards and knows of the past only what is *certain* to have sounded: the note last met, and
every note before it that no other string can play. So it depends on the note last met alone, and
never falls by more than a step costs, which makes it a consistent bound (A*).
"""

from __future__ import annotations

from array import array
from typing import Any

import cython

from pedalsetter.analysis.planning.prices import INFINITE, Past, Prices, Variant

__all__ = ["UNSET", "WILD", "Ask", "Bounds", "Held", "Node", "Table"]

UNSET: int = 9
"""Position of a letter that nothing has needed yet and that will be set as it is first needed."""

WILD: int = 8
"""Position of a letter at the beginning of an excerpt: wherever suits it best."""

_UNSET = cython.declare(cython.int, 9)
_WILD = cython.declare(cython.int, 8)
_INFINITE = cython.declare(cython.longlong, 1 << 60)
_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)

Ask = tuple[int, tuple[Variant, ...], int]
"""(place, the ways to need the letter there, points for not needing it, INFINITE if it must be)."""


class Held:
    """What a letter remembers beside its past; one object for all that are equal."""

    def __init__(self, number: int, waits: tuple[int, ...], memory: tuple[int, ...]) -> None:
        """``waits`` are places at which it has moved and whose moves no note has met yet.

        ``memory`` holds its positions at barlines that a later pass comes back to.
        """
        self.number, self.waits, self.memory = number, waits, memory
        self.calm: Held = self
        """The same, waiting for nothing."""


class Node:
    """A state of a letter at a place; one object for all that are equal."""

    def __init__(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        held: Held,
        past: Past,
        certain: Past,
    ) -> None:
        """``moved`` is where it has moved since its last note, or −1."""
        self.place, self.position, self.moved = place, position, moved
        self.held, self.past, self.certain = held, past, certain
        self.rest = self.number = self.sign = 0
        """Nodes of one sign can be compared: they stand alike and remember the same."""
        self.also = -1
        """The sign of a letter that has moved already to where this one must move next, or −1."""
        self.least = INFINITE
        """The least points from the notes of the place on, once ``values`` are known."""
        self.moves: list[Any] | None = None
        self.values: list[Any] | None = None
        self.next: Node | None = None


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


class Bounds:
    """One letter along all stretches of a part, with the least that each state of it can cost."""

    def __init__(
        self, prices: Prices, form: Any, asks: list[Ask], candidates: list[tuple[int, ...]]
    ) -> None:
        """Read the ``asks`` of the letter.

        ``candidates`` tell for each junction where it can stand, best liked first.
        """
        self.prices, self.form, self.asks, self._candidates = prices, form, asks, candidates
        self._count = 0
        self._nodes: dict[int, Node] = {}
        self._helds: dict[tuple[tuple[int, ...], tuple[int, ...]], Held] = {}
        self._tables: dict[int, Table] = {}
        self.certain: list[Past] = []
        self._number_asks()
        past: Past = prices.nothing
        stretch: cython.int = -1
        for place, variants, passed in asks:
            if form.stretch_of[place] != stretch:
                stretch, past = form.stretch_of[place], prices.nothing
            self.certain.append(past)
            # What is certain to have sounded before can only make a later move dearer.
            if passed == INFINITE and len(variants) == 1:
                past = self.after(past, place, variants[0], True)
        for stretch in range(len(form.exits) - 1, -1, -1):
            for memory in self._memories(stretch):
                self.table(stretch, self.holding((), memory))

    def _number_asks(self) -> None:
        """Note which ask comes first from each place on, and what is passed by before each."""
        asks = self.asks
        self.places = array("i", [ask[0] for ask in asks])
        self.first = array("i", [0]) * (len(self.form.ends) + 1)
        self.skips = array("q", [0]) * (len(asks) + 1)
        at: cython.int = 0
        place: cython.int
        for place in range(len(self.form.ends) + 1):
            self.first[place] = at
            if at < len(asks) and self.places[at] == place:
                # A note that is left out has not sounded, which may save as much as the slack.
                least: cython.longlong = min([one.lost for one in asks[at][1]]) - self.prices.slack
                passed: cython.longlong = asks[at][2]
                self.skips[at + 1] = self.skips[at] + min(passed, max(least, 0))
                at += 1

    # States.

    def after(self, past: Past, place: cython.int, variant: Variant, moved: cython.bint) -> Past:
        """The past after a need has been met."""
        if variant.kind & 1:
            # A letter that has moved since its last note is no longer hurried by it.
            return self.prices.faded(self.prices.moved(past) if moved else past, place)
        return self.prices.played(past, place, variant)

    def holding(self, waits: tuple, memory: tuple) -> Held:
        """What a letter remembers, as one object."""
        known: Held | None = self._helds.get((waits, memory))
        if known is None:
            known = self._helds[waits, memory] = Held(len(self._helds), waits, memory)
            if waits:
                known.calm = self.holding((), memory)
        return known

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

    def _also(self, node: Node) -> cython.int:
        if node.moved >= 0 or node.position >= _WILD or node.place >= len(self.prices.ends):
            return -1
        number: cython.int = self.first[node.place]
        if number == len(self.places):
            return -1
        place: cython.int = self.places[number]
        if self.prices.stretch_of[place] != self.prices.stretch_of[node.place]:
            return -1
        ask: tuple = self.asks[number]
        variant: Variant = ask[1][0]
        if ask[2] != INFINITE or len(ask[1]) > 1 or variant.kind:
            return -1
        if variant.position == node.position:
            return -1
        return (node.held.calm.number << 4) + variant.position + 1

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
            for memory in self._memories(self.form.stretch_of[place])
        ]

    def _memories(self, stretch: int) -> list[tuple[int, ...]]:
        found: list[tuple[int, ...]] = [()]
        for junction in self.form.open[stretch]:
            found = [(*one, more) for one in found for more in self._candidates[junction]]
        return found

    def crossed(
        self, stretch: int, position: int, memory: tuple[int, ...]
    ) -> list[tuple[int, tuple[int, ...]]]:
        """How the letter begins the next stretch if it ends one in a position; none if it may not.

        Each is a position and the memory there.
        """
        free, slot, entry, junction, codes = self.form.crossings[stretch + 1]
        if not free and slot >= 0 and memory[slot] != position:
            return []
        if entry == -1:
            begins: tuple[int, ...] = (position,)
        elif entry == -3:
            begins = (UNSET,)
        elif entry == -4:
            begins = self._candidates[junction]
        else:
            begins = (memory[entry],)
        return [
            (
                begin,
                tuple(
                    memory[code] if code >= 0 else position if code == -1 else begin
                    for code in codes
                ),
            )
            for begin in begins
        ]

    def exits(
        self, stretch: int, position: int, memory: tuple[int, ...]
    ) -> list[tuple[int, tuple[int, ...]]]:
        """Every way out of a stretch: (the next position, the next memory)."""
        positions: tuple[int, ...] = (position,)
        if position in (UNSET, WILD):
            free, slot, _, _, _ = self.form.crossings[stretch + 1]
            leave = self.form.exits[stretch]
            positions = (0,) if free else (memory[slot],) if slot >= 0 else self._candidates[leave]
        return [way for one in positions for way in self.crossed(stretch, one, memory)]

    # The least that is still to come.

    def table(self, stretch: cython.int, held: Held) -> Table:
        """What the letter costs by itself in a stretch, with what it remembers there."""
        key: cython.longlong = held.calm.number
        key = key * len(self.prices.begins) + stretch
        known: Table | None = self._tables.get(key)
        if known is None:
            known = self._solved(stretch, held.calm)
            self._tables[key] = known
        return known

    def _solved(self, stretch: cython.int, held: Held) -> Table:
        """Solve a stretch from its end backwards."""
        prices = self.prices
        nothing = prices.nothing
        beyond: cython.int = prices.begins[stretch + 1]
        table = Table(self.first[prices.begins[stretch]], self.first[beyond])
        self._tables[held.number * len(prices.begins) + stretch] = table
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
        return table

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
