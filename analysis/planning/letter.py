# cython: language_level=3, boundscheck=False, wraparound=False
"""One letter by itself: its states, what a step costs it, and the least that the rest can cost.

A state of a letter is *standing* (its position, and what has sounded on it) or *moved* (its new
position, and where it moved): a pedal goes straight from the note that needs one position to the
note that needs the next, so a letter that has moved does not move again before it has sounded.
States are kept as *nodes*, lists of fixed layout that :mod:`pedalsetter.analysis.planning.search`
reads in its inner loop::

    [rest, number, sign, values, moves, place, position, moved, waits, past, certain, memory, also,
     least]

``rest`` is a lower bound of all that the letter still costs from the node on. It is found from the
end backwards and knows of the past only what is *certain* to have sounded: the note last met, and
every note before it that no other string can play. So it depends on the note last met alone, and
never falls by more than a step costs, which makes it a consistent bound (A*). ``memory`` holds the
positions at barlines that a later pass comes back to.
"""

from __future__ import annotations

from bisect import bisect_left
from typing import Any

import cython

from pedalsetter.analysis.planning.prices import FAR, INFINITE, NO_PAST, Prices

__all__ = ["DECIDED", "MOVED", "UNSET", "WILD", "Letter"]

UNSET: int = 9
"""Position of a letter that nothing has needed yet and that will be set as it is first needed."""

WILD: int = 8
"""Position of a letter at the beginning of an excerpt: wherever suits it best."""

DECIDED: int = 1
"""Kind of a need without a note: the musician wants the pedal to stand so."""

MOVED: int = 2
"""Kind of a need for which the pedal must move right there, because the musician wants it."""

Node = list[Any]
Variant = tuple[int, int, tuple[int, ...], int, int, int, int, int]
"""One way to need a letter: (position, time until which the note is written to sound, registers,
points, kind, last place at which it is struck again or −1, time of its last stroke or −1, points if
the letter stands elsewhere, so that the note is lost)."""

Ask = tuple[int, tuple[Variant, ...], int]
"""(place, the ways to need the letter there, points for not needing it, INFINITE if it must be)."""


@cython.cclass
class Letter:
    """One letter along all stretches of a part."""

    _prices: Any
    _form: Any
    _candidates: list
    _asks: list
    _places: list
    _skips: list
    _nodes: dict
    _signs: dict
    _rests: dict
    _windows: dict
    _tables: dict
    _certain: list
    _ends: list
    _capacities: list
    _reserved: frozenset
    _lost: cython.longlong

    def __init__(
        self,
        prices: Prices,
        form: Any,
        asks: list[Ask],
        candidates: list[tuple[int, ...]],
        slack: int,
        lost: int,
    ) -> None:
        """Read the ``asks`` of the letter.

        ``candidates`` tell for each junction where it can stand, best liked first; ``slack`` is the
        most that a move can cost by what has sounded, ``lost`` the points of a mark where none can
        be read.
        """
        self._prices, self._form = prices, form
        self._candidates = candidates
        self._asks = asks
        self._places = [ask[0] for ask in asks]
        self._ends, self._capacities = form.ends, form.capacities
        self._reserved = form.reserved
        self._lost = lost
        self._skips = [0]
        total = 0
        for _, variants, passed in asks:
            # A note that is left out has not sounded, which may save as much as the slack.
            least = min([variant[7] for variant in variants]) - slack
            total += min(passed, max(least, 0))
            self._skips.append(total)
        self._nodes, self._signs, self._rests, self._windows = {}, {}, {}, {}
        self._tables = {}
        self._certain = []
        past: tuple = NO_PAST
        stretch = -1
        for place, variants, passed in asks:
            if form.stretch_of[place] != stretch:
                stretch, past = form.stretch_of[place], NO_PAST
            self._certain.append(past)
            # What is certain to have sounded before can only make a later move dearer.
            if passed == INFINITE and len(variants) == 1:
                past = self._after(past, place, variants[0], True)
        for stretch in range(len(form.exits) - 1, -1, -1):
            for memory in self._memories(stretch):
                self._table(stretch, memory)

    # What follows a state.

    @cython.cfunc
    def _after(self, past: tuple, place: cython.int, variant: tuple, moved: cython.bint) -> tuple:
        """The past after a need has been met."""
        if variant[4] & DECIDED:
            # A letter that has moved since its last note is no longer hurried by it.
            return (-1, FAR, *past[2:]) if moved else past
        return self._prices.struck(past, place, variant)

    @cython.cfunc
    def _node(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        waits: tuple,
        past: tuple,
        certain: tuple,
        memory: tuple,
    ) -> list:
        key = (place, position, moved, waits, past, certain, memory)
        node: Any = self._nodes.get(key)
        if node is None:
            rest: cython.longlong = 0
            if position != WILD:
                rest = self._rest(place, position, moved, waits, certain, memory)
            sign = self._sign(position, memory)
            number = len(self._nodes)
            node = [rest, number, sign, None, None, place, position, moved, waits, past, certain]
            node += [memory, self._also(node, memory), INFINITE]
            self._nodes[key] = node
        return node

    @cython.cfunc
    def _sign(self, position: cython.int, memory: tuple) -> Any:
        """A number for the position and the memory, alike in labels that can be compared."""
        return self._signs.setdefault((position, memory), len(self._signs))

    @cython.cfunc
    def _also(self, node: list, memory: tuple) -> Any:
        """The sign of a letter that has moved already to where this one must move next, or −1."""
        if node[7] >= 0 or node[6] == WILD or node[6] == UNSET or node[5] >= len(self._ends):
            return -1
        number: cython.int = bisect_left(self._places, node[5])
        if number == len(self._asks):
            return -1
        place, variants, passed = self._asks[number]
        if self._form.stretch_of[place] != self._form.stretch_of[node[5]]:
            return -1
        if passed != INFINITE or len(variants) > 1 or variants[0][4]:
            return -1
        if variants[0][0] == node[6]:
            return -1
        return self._sign(variants[0][0], memory)

    def starts(self) -> list[Node]:
        """Where the letter can stand before the first place, nearest to home first."""
        return [
            self._node(0, position, -1, (), NO_PAST, NO_PAST, memory)
            for position, memory in self._crossed(-1, UNSET, ())
        ]

    def wild(self, place: int) -> list[Node]:
        """The letter as it can be at a place for all that is known: once for each memory."""
        stretch = self._form.stretch_of[place]
        return [
            self._node(place, WILD, -1, (), NO_PAST, NO_PAST, memory)
            for memory in self._memories(stretch)
        ]

    def _memories(self, stretch: int) -> list[tuple[int, ...]]:
        found: list[tuple[int, ...]] = [()]
        for junction in self._form.open[stretch]:
            found = [(*one, more) for one in found for more in self._candidates[junction]]
        return found

    def _crossed(self, stretch: int, position: int, memory: tuple) -> list:
        """How the letter begins the next stretch if it ends one in a position; none if it may not.

        Each is a position and the memory there.
        """
        free, slot, entry, junction, codes = self._form.crossings[stretch + 1]
        if not free and slot >= 0 and memory[slot] != position:
            return []
        if entry == -1:
            begins: tuple = (position,)
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
                    [
                        memory[code] if code >= 0 else position if code == -1 else begin
                        for code in codes
                    ]
                ),
            )
            for begin in begins
        ]

    @cython.cfunc
    def _exits(self, stretch: cython.int, position: cython.int, memory: tuple) -> list:
        """Every way out of a stretch: (the next position, the next memory)."""
        positions: tuple = (position,)
        if position in (UNSET, WILD):
            free, slot, _, _, _ = self._form.crossings[stretch + 1]
            leave = self._form.exits[stretch]
            positions = (0,) if free else (memory[slot],) if slot >= 0 else self._candidates[leave]
        found: list = []
        for one in positions:
            found += self._crossed(stretch, one, memory)
        return found

    # The least that is still to come.

    @cython.cfunc
    def _table(self, stretch: cython.int, memory: tuple) -> tuple:
        """(least points by position at the end, points after each ask and way, least from each)."""
        key = (stretch, memory)
        known = self._tables.get(key)
        if known is not None:
            return known
        begin: cython.int = bisect_left(self._places, self._form.begins[stretch])
        end: cython.int = bisect_left(self._places, self._form.begins[stretch + 1])
        final: dict = {}
        beyond: cython.int = self._form.begins[stretch + 1]
        for position in (-1, 0, 1):
            ways: list = self._crossed(stretch, position, memory)
            if ways:
                final[position] = min(
                    [self._rest(beyond, one, -1, (), NO_PAST, held) for one, held in ways]
                )
        after: dict = {}
        least: dict = {end: self._skips[end] + min(final.values())}
        table: tuple = (final, after, least, begin, end)
        self._tables[key] = table
        number: cython.int
        for number in range(end - 1, begin - 1, -1):
            place, variants, _ = self._asks[number]
            found: list = []
            best: cython.longlong = INFINITE
            for variant in variants:
                past: tuple = self._after(self._certain[number], place, variant, True)
                waits = (place,) if variant[4] == DECIDED | MOVED else ()
                rest: cython.longlong = self._rest(
                    place + 1, variant[0], -1, waits, self._prices.faded(past, place), memory
                )
                found.append(rest)
                best = min(best, rest + variant[3])
            after[number] = found
            least[number] = min(self._skips[number] + best, least[number + 1])
        return table

    @cython.cfunc
    def _rest(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        waits: tuple,
        past: tuple,
        memory: tuple,
    ) -> Any:
        """Least points from a place on, its own moves and needs included; never too many."""
        if place >= len(self._ends):
            return 0
        key = (place, position, moved, waits, past, memory)
        known = self._rests.get(key)
        if known is None:
            known = self._least(place, position, moved, waits, past, memory)
            self._rests[key] = known
        return known

    @cython.cfunc
    def _least(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        waits: tuple,
        past: tuple,
        memory: tuple,
    ) -> Any:
        stretch: cython.int = self._form.stretch_of[place]
        final, after, least, first, end = self._table(stretch, memory)
        number: cython.int = max(bisect_left(self._places, place), first)
        start: cython.longlong = self._skips[number]
        best: cython.longlong = INFINITE
        last: cython.int = self._form.begins[stretch + 1] - 1
        pending: tuple = waits if moved < 0 else (*waits, moved)
        while number < end:
            if least[number] - start >= best:
                return best
            passed: cython.longlong = self._skips[number] - start
            at: cython.int = self._asks[number][0]
            rests: list = after[number]
            index: cython.int = 0
            for variant in self._asks[number][1]:
                points: cython.longlong = passed + variant[3] + rests[index]
                index += 1
                if points >= best:
                    continue
                points += self._towards(place, position, moved, pending, past, at, variant)
                best = min(best, points)
            number += 1
        ahead: cython.longlong = self._skips[end] - start
        for one in pending:
            ahead += self._prices.early(last, one)
        for target, beyond in final.items():
            points = ahead + beyond
            if points < best and position != target and position != UNSET:
                points += (
                    INFINITE if moved >= 0 else self._window(past, position, last, target, 0, place)
                )
            best = min(best, points)
        return best

    @cython.cfunc
    def _towards(
        self,
        place: cython.int,
        position: cython.int,
        moved: cython.int,
        pending: tuple,
        past: tuple,
        at: cython.int,
        variant: tuple,
    ) -> cython.longlong:
        """Points on the way from a state to a need."""
        points: cython.longlong = 0
        kind: cython.int = variant[4]
        if moved >= 0:
            if position != variant[0] or (kind & MOVED and moved != at):
                return INFINITE
        elif kind & MOVED and position == variant[0]:
            return INFINITE
        elif kind & MOVED and position == UNSET:
            points = self._window(NO_PAST, _beside(variant[0]), at, variant[0], kind, place)
        elif position != variant[0] and position != UNSET:
            points = self._window(past, position, at, variant[0], kind, place)
        if pending and not kind & DECIDED:
            points += self._pending(pending, at)
        return points

    @cython.cfunc
    def _pending(self, moves: tuple, goal: cython.int) -> cython.longlong:
        """Points of moves for being early, or near, to the note at ``goal``."""
        points: cython.longlong = 0
        for moved in moves:
            points += self._prices.early(goal, moved) + self._prices.near(goal, moved)
        return points

    @cython.cfunc
    def _window(
        self,
        past: tuple,
        position: cython.int,
        goal: cython.int,
        target: cython.int,
        kind: cython.int,
        place: cython.int,
    ) -> cython.longlong:
        """Least points of a move that serves a need at ``goal``, made at ``place`` or later."""
        key = (past, position, goal, target)
        known: Any = self._windows.get(key)
        if known is None:
            known = self._windows[key] = self._priced(past, position, goal, target, kind)
        back: cython.int = goal - place
        if back < 0 or not known:
            return INFINITE
        return known[back if back < len(known) else len(known) - 1]

    @cython.cfunc
    def _priced(
        self,
        past: tuple,
        position: cython.int,
        goal: cython.int,
        target: cython.int,
        kind: cython.int,
    ) -> list:
        """For 0, 1, 2 … places before the goal the least points from there on."""
        prices = self._prices
        notches: cython.int = abs(target - position)
        fixed: cython.longlong = prices.fixed(notches)
        best: cython.longlong = INFINITE
        found: list = []
        begin: cython.int = self._form.begins[self._form.stretch_of[goal]]
        place: cython.int = goal
        while place >= begin and place > past[0]:
            early: cython.longlong = prices.early(goal, place)
            if best < INFINITE and fixed + early > best:
                # Any earlier place is still earlier, and so dearer.
                break
            if self._capacities[place]:
                points: cython.longlong = self._move(past, notches, place) + early
                if place in self._reserved and place != goal:
                    points += self._lost
                if not kind & DECIDED:
                    points += prices.near(goal, place)
                best = min(best, points)
            found.append(best)
            if kind & MOVED:
                break
            place -= 1
        return found

    @cython.cfunc
    def _move(self, past: tuple, notches: cython.int, place: cython.int) -> cython.longlong:
        """Points of a move at a place, what depends on the need that it serves left out."""
        prices = self._prices
        points: cython.longlong = prices.fixed(notches) + prices.place(place)
        return points + prices.sound(past, notches, prices.time(place, 0))

    def way(self) -> dict[int, int]:
        """The cheapest way of the letter by itself: how it is needed at each place, from 1."""
        found: dict[int, int] = {}
        start = min(self.starts(), key=_rest_of)
        place: cython.int = 0
        position: cython.int = start[6]
        memory: tuple = start[11]
        past: tuple = NO_PAST
        waits: tuple = ()
        while place < len(self._ends):
            stretch: cython.int = self._form.stretch_of[place]
            best: cython.longlong = INFINITE
            number: cython.int = bisect_left(self._places, place)
            begin: cython.longlong = self._skips[number]
            chosen: tuple = ()
            final, after, _, _, end = self._table(stretch, memory)
            while number < end:
                passed: cython.longlong = self._skips[number] - begin
                index: cython.int
                ask: tuple = self._asks[number]
                for index in range(len(ask[1])):
                    variant: tuple = ask[1][index]
                    points: cython.longlong = passed + variant[3] + after[number][index]
                    if points < best:
                        points += self._towards(place, position, -1, waits, past, ask[0], variant)
                    if points < best:
                        best = points
                        chosen = (number, index, variant)
                if ask[2] == INFINITE and best < INFINITE:
                    break
                number += 1
            if chosen and best <= self._rest(place, position, -1, waits, past, memory):
                number, index, variant = chosen
                at: cython.int = self._asks[number][0]
                found[at] = index + 1
                position = variant[0]
                waits = (at,) if variant[4] == DECIDED | MOVED else ()
                past = self._prices.faded(self._after(self._certain[number], at, variant, True), at)
                place = at + 1
                continue
            ways: list = self._exits(stretch, position, memory)
            if not ways:
                ways = self._exits(stretch, min(final, key=final.__getitem__), memory)
            place = self._form.begins[stretch + 1]
            position, memory = ways[0]
            past, waits = NO_PAST, ()
        return found

    # What a node can do.

    def moves(self, node: list) -> list:
        """The moves that a letter can make at its place, those that raise the bound least first.

        Each is (rise of the bound, points, the node after it, notches, new position).
        """
        if node[4] is None:
            node[4] = self._moves(node)
        return node[4]

    @cython.cfunc
    def _moves(self, node: list) -> list:
        place: cython.int = node[5]
        position: cython.int = node[6]
        past: tuple = node[9]
        found: list = []
        if node[7] >= 0 or position == WILD or not self._capacities[place] or past[0] >= place:
            return found
        number: cython.int = bisect_left(self._places, place)
        if position == UNSET:
            # Decided to move here first of all, it stood a notch away.
            asked = number < len(self._asks) and self._places[number] == place
            if not asked or not self._asks[number][1][0][4] & MOVED:
                return found
            position = _beside(self._asks[number][1][0][0])
        stretch: cython.int = self._form.stretch_of[place]
        targets: set = set()
        end: cython.int = self._form.begins[stretch + 1]
        certain: cython.bint = False
        while number < len(self._asks) and self._places[number] < end:
            ask: tuple = self._asks[number]
            held: cython.bint = ask[0] > place
            for variant in ask[1]:
                if not (held and variant[4] & MOVED):
                    targets.add(variant[0])
            if ask[2] == INFINITE:
                certain = True
                break
            number += 1
        if not certain and not self._form.crossings[stretch + 1][0]:
            targets.update(self._table(stretch, node[11])[0])
        rest: cython.longlong = node[0]
        for target in sorted(targets):
            if target == position:
                continue
            notches: cython.int = abs(target - position)
            points: cython.longlong = self._move(past, notches, place)
            after: list = self._node(
                place,
                target,
                place,
                node[8],
                (-1, FAR, *past[2:]),
                NO_PAST,
                node[11],
            )
            ahead: cython.longlong = after[0]
            if ahead < INFINITE:
                found.append((points + ahead - rest, points, after, notches, target))
        found.sort(key=_by_rise)
        return found

    def values(self, node: list) -> list:
        """What follows if the letter is not needed at its place, or is in one of the ways.

        For each (points and the least after it, the next node), None where it cannot be; at the
        end of a stretch one for each way into the next. The ``least`` of them is noted in the node.
        """
        if node[3] is None:
            ends = self._ends[node[5]]
            node[3] = self._leaving(node) if ends else self._values(node)
            points = [value[0] for value in node[3] if value is not None]  # type: ignore[attr-defined]
            node[13] = min(points) if points else INFINITE
        return node[3]

    @cython.cfunc
    def _leaving(self, node: list) -> list:
        place: cython.int = node[5]
        stretch: cython.int = self._form.stretch_of[place]
        points: cython.longlong = 0
        for moved in node[8] if node[7] < 0 else (*node[8], node[7]):
            points += self._prices.early(place, moved)
        found: list = []
        for position, memory in self._exits(stretch, node[6], node[11]):
            after: list = self._node(place + 1, position, -1, (), NO_PAST, NO_PAST, memory)
            ahead: cython.longlong = after[0]
            found.append((0 if node[6] == WILD else points + ahead, after))
        return found

    @cython.cfunc
    def _values(self, node: list) -> list:
        place: cython.int = node[5]
        position: cython.int = node[6]
        moved: cython.int = node[7]
        waits: tuple = node[8]
        past: tuple = node[9]
        certain: tuple = node[10]
        memory: tuple = node[11]
        prices = self._prices
        number: cython.int = bisect_left(self._places, place)
        asked: cython.bint = number < len(self._asks) and self._places[number] == place
        passed: cython.longlong = 0
        still: list = self._node(
            place + 1,
            position,
            moved,
            waits,
            prices.faded(past, place),
            prices.faded(certain, place),
            memory,
        )
        if moved == place and place in self._reserved:
            passed = self._lost
        ahead: cython.longlong = passed + still[0]
        if not asked:
            return [(ahead, still)]
        ask: tuple = self._asks[number]
        skip: cython.longlong = ask[2]
        found: list = [None if skip >= INFINITE else (ahead + skip, still)]
        if position == WILD:
            return self._wild(node, number, still)
        pending: tuple = waits if moved < 0 else (*waits, moved)
        for variant in ask[1]:
            kind: cython.int = variant[4]
            stands: cython.bint = position == variant[0] or position == UNSET
            if kind & MOVED and moved != place:
                stands = False
            if not stands:
                found.append((ahead + variant[7], still))
                continue
            points: cython.longlong = variant[3]
            after: tuple = ()
            if kind & DECIDED:
                after = pending
            elif pending:
                points += self._pending(pending, place)
            own: tuple = self._after(past, place, variant, moved >= 0)
            known: tuple = self._after(self._certain[number], place, variant, True)
            following: list = self._node(
                place + 1,
                variant[0],
                -1,
                after,
                prices.faded(own, place),
                prices.faded(known, place),
                memory,
            )
            points += following[0]
            found.append((points, following))
        return found

    @cython.cfunc
    def _wild(self, node: list, number: cython.int, still: list) -> list:
        """What follows for a letter that began wherever suits it best, above what it costs alone.

        It may have moved before towards the very note that it sounds first, at a price that was
        paid before too, so only the ways to sound that note in one position are told apart.
        """
        ask: tuple = self._asks[number]
        place: cython.int = node[5]
        memory: tuple = node[11]
        table: tuple = self._table(self._form.stretch_of[place], memory)
        rests: list = table[1][number]
        least: dict = {}
        index: cython.int
        for index in range(len(ask[1])):
            points = ask[1][index][3] + rests[index]
            position = ask[1][index][0]
            least[position] = min(points, least.get(position, points))
        found: list = [None if ask[2] >= INFINITE else (0, still)]
        for index in range(len(ask[1])):
            variant: tuple = ask[1][index]
            known: tuple = self._prices.faded(
                self._after(self._certain[number], place, variant, True), place
            )
            waits = (place,) if variant[4] == DECIDED | MOVED else ()
            after: list = self._node(place + 1, variant[0], -1, waits, known, known, memory)
            charge: cython.longlong = variant[3] + rests[index] - least[variant[0]]
            found.append((charge, after))
        return found

    def excess(self, one: list, other: list) -> int:
        """By how much more one node can at most cost than another of its sign, whatever comes."""
        place: cython.int = one[5] - 1
        if one[7] >= 0 and other[7] < 0:
            return INFINITE
        points: cython.longlong = 0
        if one[7] >= 0 and one[7] != other[7]:
            if one[7] < other[7]:
                return INFINITE
            number: cython.int = bisect_left(self._places, one[5])
            if number < len(self._places):
                goal: cython.int = self._places[number]
                points = self._prices.near(goal, one[7]) - self._prices.near(goal, other[7]) + 1
                points = max(points, 0)
        if one[8] and not set(one[8]) <= set(other[8]):
            return INFINITE
        if one[9] == other[9]:
            return points
        return points + self._prices.dearer(one[9], other[9], place)


def _beside(position: int) -> int:
    """A position one notch away: where a pedal best stands that is to move to this one."""
    return -1 if position == 0 else 0


def _rest_of(node: list) -> int:
    return node[0]


def _by_rise(move: tuple) -> int:
    return move[0]
