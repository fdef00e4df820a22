# cython: language_level=3, boundscheck=False, wraparound=False
"""The search: labels from place to place, for one foot or for both.

A *label* says for each letter its node (see :mod:`pedalsetter.analysis.planning.letter`), for each
foot when it last moved, and by how much all this costs more than the letters by themselves: its
*rank*, which never falls. At each place a label is followed by one for every way to move and every
way to answer the notes there. Of labels alike the cheapest is kept; one is also dropped for another
in the same positions that costs no more even if all that it remembers turned out against it.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import permutations
from typing import Any

import cython

from pedalsetter.analysis.planning.prices import INFINITE, Prices
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["COMPILED", "Label", "OutOfEffortError", "Search"]

COMPILED: bool = cython.compiled
"""Whether the search runs as compiled code; the plans are the same either way."""

Label = list[Any]
"""[rank, nodes, times of the feet's last moves or −1, what was done, how late moves are made]."""

_REST = cython.declare(cython.int, 0)
_NUMBER = cython.declare(cython.int, 1)
_SIGN = cython.declare(cython.int, 2)
_VALUES = cython.declare(cython.int, 3)
_MOVES = cython.declare(cython.int, 4)
_POSITION = cython.declare(cython.int, 6)
_PAST = cython.declare(cython.int, 9)
_ALSO = cython.declare(cython.int, 12)
_LEAST = cython.declare(cython.int, 13)
_WILD = cython.declare(cython.int, 8)


class OutOfEffortError(Exception):
    """The labels that may be followed are used up."""


@cython.cclass
class Search:
    """The labels of some letters, worked by one foot or two, along a part.

    ``effort`` is how many labels may still be followed.
    """

    effort = cython.declare(cython.longlong, visibility="public")
    missed = cython.declare(cython.longlong, visibility="public")
    peak = cython.declare(cython.longlong, visibility="public")
    _prices: Any
    _letters: list
    _feet: list
    _given: list
    _options: list
    _ends: list
    _times: list
    _capacities: list
    _decided: frozenset
    _pulse: Any
    _count: cython.int
    _tried: cython.longlong
    _between: cython.longlong
    _at_once: cython.longlong
    _crossed: cython.longlong
    _travel: cython.longlong
    _reach: cython.longlong
    _lost: cython.longlong
    _floors: list
    _pairs: frozenset
    _found: list
    _path: list

    def __init__(
        self,
        prices: Prices,
        form: Any,
        letters: list[Any],
        feet: list[list[int]],
        given: list[list[int]],
        options: list[list[tuple[int, tuple[int, ...]]]],
        weights: Weights,
        pairs: frozenset[tuple[int, int]],
        decided: frozenset[tuple[int, int]],
        pulse: Callable[[], None],
    ) -> None:
        """``feet`` are the numbers of each foot's letters among ``letters``.

        ``given`` are for each foot the letters of the other one that it can cross for. ``options``
        are by place the ways to answer its notes: points, and for each letter the number of its
        way, 0 for none. ``pairs`` are neighbours that one foot can move at once; ``decided`` are
        places with letters that the musician wants to move right there. ``pulse`` is called at
        each place: compiled code by itself would not let an interruption through.
        """
        self._prices, self._letters, self._feet, self._given = prices, letters, feet, given
        self._options = options
        self._ends, self._times, self._capacities = form.ends, form.times, form.capacities
        self._decided = decided
        self._pulse = pulse
        self._count = len(letters)
        self._between = weights.between
        self._at_once = -1 if weights.two_pedals is None else weights.two_pedals
        self._crossed = -1 if weights.crossed is None else weights.crossed
        self._travel = 0 if self._crossed < 0 else int(weights.crossing_seconds * 1_000_000)
        self._reach = self._travel + int(
            weights.comfortable_seconds * weights.two_notches * 1_000_000
        )
        self._lost = weights.lost
        self._pairs = pairs
        self._floors = [self._sharing(place) for place in range(len(form.ends))]
        self.effort = 1 << 60
        self.missed, self.peak, self._tried = INFINITE, 0, 0

    def _begun(self, nodes: list[Any], place: int) -> Any:
        """What is noted of the beginning: where the letters stand."""
        return (None, place, -2, tuple([node[_POSITION] for node in nodes]), ())

    def _sharing(self, place: int) -> list[int]:
        """For 0 moves, 1 move and so on at a place the least that they cost by being together."""
        floors = [0, 0]
        least = 0
        for turn in range(4):
            if self._at_once < 0 and turn + 1 < self._capacities[place]:
                gap = self._prices.time(place, turn) - self._prices.time(place, turn + 1)
                least += self._between + self._prices.haste(gap, 1)
            floors.append(least)
        return floors

    def run(
        self,
        begin: int,
        end: int,
        starts: list[tuple[int, list[Any]]],
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
            [rank, nodes, [-1] * len(self._feet), self._begun(nodes, begin), 0]
            for rank, nodes in starts
        ]
        above: cython.longlong = INFINITE
        room: cython.longlong = 0
        place: cython.int
        for place in range(begin, end):
            self._pulse()
            if limits is not None:
                self.missed = INFINITE
                labels = self._step(place, labels, limits[place])
                if self.missed < INFINITE:
                    above = min(above, self.missed - limits[place])
            else:
                lowest: cython.longlong = min([label[0] for label in labels])
                # Only as far up as there are too few; where every way is hurried all ranks rise.
                room = max(room // 3, 60)
                self.missed = INFINITE
                reached: list = self._step(place, labels, lowest + room)
                while (not reached or (len(reached) < most and room < width)) and (
                    room < 1_000_000_000 and self.missed < INFINITE
                ):
                    room = max(room * 3, self.missed - lowest)
                    self.missed = INFINITE
                    reached = self._step(place, labels, lowest + room)
                labels = reached[:most]
                above = min(above, self.missed)
                if len(reached) > most:
                    above = min(above, reached[most][0])
                self.missed = INFINITE
            self.effort -= 1 + len(labels) + self._tried // 16
            self._tried = 0
            self.peak = max(self.peak, len(labels))
            if not labels:
                self.missed = above
                return None
            if self.effort < 0:
                raise OutOfEffortError
        self.missed = above
        best: list = labels[0]
        for label in labels:
            if label[0] < best[0]:
                best = label
        return best

    @cython.cfunc
    def _step(self, place: cython.int, labels: list, limit: cython.longlong) -> list:
        """The labels after the moves made at a place and the notes struck there."""
        found: dict = {}
        options: list = self._options[place]
        several: cython.bint = len(options) > 1
        ends: cython.bint = self._ends[place]
        stay: list = [(0, 0, (), -1, ())]
        for label in labels:
            rank: cython.longlong = label[0]
            nodes: list = label[1]
            base: cython.longlong = rank
            one: cython.int
            for one in range(self._count):
                node: list = nodes[one]
                if node[_POSITION] != _WILD:
                    base -= node[_REST]
            lasts: list = label[2]
            ways: list = stay
            other: list = stay
            if self._capacities[place]:
                ways = self._ways(0, place, nodes, lasts[0], rank, limit)
                if len(self._feet) > 1:
                    other = self._ways(1, place, nodes, lasts[1], rank, limit)
            least: cython.longlong = base
            for one in range(self._count):
                least += self._least(one, nodes[one])
            for left in ways:
                ahead: cython.longlong = least + left[0] + self._gained(left, nodes)
                for right in other:
                    rise: cython.longlong = ahead
                    if right[2]:
                        rise += right[0] + self._gained(right, nodes)
                    if rise > limit:
                        self.missed = min(self.missed, rise)
                        continue
                    reached: list = nodes
                    if left[2] or right[2]:
                        if self._crossed >= 0 and _overlap(left[2], right[2]):
                            continue
                        reached = nodes[:]
                        for number, after in left[2]:
                            reached[number] = after
                        for number, after in right[2]:
                            reached[number] = after
                    made: cython.longlong = base + left[0] + right[0]
                    own: list = [self._last(left[3], lasts[0], place)]
                    if len(lasts) > 1:
                        own.append(self._last(right[3], lasts[1], place))
                    done = label[3]
                    late: cython.longlong = label[4]
                    if left[2] or right[2]:
                        done = (done, place, -1, left[4], right[4])
                        late += place * (len(left[2]) + len(right[2]))
                    if ends:
                        self._leave(place, reached, made, limit, done, late, found)
                    else:
                        self._answer(
                            place, reached, made, limit, own, done, late, options, several, found
                        )
        if len(found) < 2:
            return list(found.values())
        return self._undominated(list(found.values()), place)

    @cython.cfunc
    def _least(self, one: cython.int, node: list) -> cython.longlong:
        """The least points of a letter from the notes of the place on."""
        if node[_VALUES] is None:
            self._letters[one].values(node)
        least: cython.longlong = node[_LEAST]
        return least

    @cython.cfunc
    def _gained(self, way: tuple, nodes: list) -> cython.longlong:
        """By how much the least points from the notes on change with the moves of a way."""
        points: cython.longlong = 0
        for one, after in way[2]:
            points += self._least(one, after) - self._least(one, nodes[one])
        return points

    @cython.cfunc
    def _last(self, moved: cython.longlong, last: cython.longlong, place: cython.int) -> Any:
        """When a foot last moved, −1 if that no longer bears on what comes."""
        if moved >= 0:
            return moved
        now: cython.longlong = self._times[place]
        return last if last >= 0 and now - last < self._reach else -1

    @cython.cfunc
    def _answer(
        self,
        place: cython.int,
        nodes: list,
        made: cython.longlong,
        limit: cython.longlong,
        lasts: list,
        done: Any,
        late: cython.longlong,
        options: list,
        several: cython.bint,
        found: dict,
    ) -> None:
        """Add a label for every way to answer the notes of a place."""
        count: cython.int = self._count
        one: cython.int
        values: list = []
        for one in range(count):
            node: list = nodes[one]
            values.append(node[_VALUES])
        number: cython.int = -1
        self._tried += len(options)
        for option in options:
            number += 1
            total: cython.longlong = made
            total += option[0]
            needs: tuple = option[1]
            at: cython.int
            for one in range(count):
                at = needs[one]
                way: list = values[one]
                value = way[at]
                if value is None:
                    break
                ahead: cython.longlong = cython.cast(tuple, value)[0]
                total += ahead
            else:
                if total > limit:
                    self.missed = min(self.missed, total)
                    continue
                reached: list = []
                key: list = []
                for one in range(count):
                    at = needs[one]
                    way = values[one]
                    after: list = cython.cast(tuple, way[at])[1]
                    reached.append(after)
                    key.append(after[_NUMBER])
                key += lasts
                self._keep(
                    found,
                    tuple(key),
                    total,
                    reached,
                    lasts,
                    done,
                    late,
                    place,
                    number if several else -1,
                )

    @cython.cfunc
    def _keep(
        self,
        found: dict,
        key: tuple,
        total: cython.longlong,
        nodes: list,
        lasts: list,
        done: Any,
        late: cython.longlong,
        place: cython.int,
        option: cython.int,
    ) -> None:
        known: Any = found.get(key)
        if known is not None and (known[0] < total or (known[0] == total and known[4] >= late)):
            return
        if option >= 0:
            done = (done, place, option, (), ())
        found[key] = [total, nodes, lasts, done, late]

    @cython.cfunc
    def _leave(
        self,
        place: cython.int,
        nodes: list,
        made: cython.longlong,
        limit: cython.longlong,
        done: Any,
        late: cython.longlong,
        found: dict,
    ) -> None:
        """Add a label for every way into the next stretch; there all feet are at rest."""
        ways: list = [(made, [])]
        one: cython.int
        for one in range(self._count):
            node: list = nodes[one]
            values = node[_VALUES]
            ways = [
                (total + value[0], [*reached, value[1]])
                for total, reached in ways
                for value in values
            ]
        for total, reached in ways:
            if total > limit:
                self.missed = min(self.missed, total)
                continue
            key = tuple([after[_NUMBER] for after in reached])
            lasts = [-1] * len(self._feet)
            begun = (done, place + 1, -2, tuple([after[_POSITION] for after in reached]), ())
            self._keep(found, key, total, reached, lasts, begun, late, place, -1)

    # What a foot can do at a place.

    @cython.cfunc
    def _ways(
        self,
        foot: cython.int,
        place: cython.int,
        nodes: list,
        last: cython.longlong,
        rank: cython.longlong,
        limit: cython.longlong,
    ) -> list:
        """Every way in which a foot moves, staying included.

        Each is (points, rise of the rank, letters with their nodes after it, time of the foot's
        last move or −1, what it does).
        """
        found: list = [(0, 0, (), -1, ())]
        able: list = []
        own: list = self._feet[foot]
        given: list = self._given[foot]
        for one in own + given:
            node: list = nodes[one]
            moves = node[_MOVES]
            if moves is None:
                moves = self._letters[one].moves(node)
            crossed: cython.bint = one not in own
            price: cython.longlong = self._crossed if crossed else 0
            for move in moves:
                rise: cython.longlong = rank + move[0] + price
                if rise > limit:
                    self.missed = min(self.missed, rise)
                    break
                able.append((one, move, price, node, crossed))
        if not able:
            return found
        room: cython.int = self._capacities[place]
        if self._at_once >= 0:
            room = min(2 * room, 4)
        self._found = found
        self._more(place, able, 0, [], 0, last, rank, limit, room)
        return found

    @cython.cfunc
    def _more(
        self,
        place: cython.int,
        able: list,
        begin: cython.int,
        taken: list,
        rise: cython.longlong,
        last: cython.longlong,
        rank: cython.longlong,
        limit: cython.longlong,
        room: cython.int,
    ) -> None:
        """Add the ways that make some moves and of others only those from ``begin`` on."""
        count: cython.int = len(taken) + 1
        floor: cython.longlong = self._floors[place][count]
        number: cython.int
        for number in range(begin, len(able)):
            one: tuple = able[number]
            move: tuple = one[1]
            higher: cython.longlong = rise + move[0] + one[2]
            if rank + higher + floor > limit:
                self.missed = min(self.missed, rank + higher + floor)
                continue
            if taken and taken[count - 2][0] == one[0]:
                continue
            taken.append(one)
            self._ordered(place, taken, floor, higher, last, rank, limit)
            if count < room:
                self._more(place, able, number + 1, taken, higher, last, rank, limit, room)
            taken.pop()

    @cython.cfunc
    def _ordered(
        self,
        place: cython.int,
        taken: list,
        floor: cython.longlong,
        rise: cython.longlong,
        last: cython.longlong,
        rank: cython.longlong,
        limit: cython.longlong,
    ) -> None:
        """Add some moves in the order given, and in others where that could cost less."""
        free: cython.bint = self._at_once >= 0 or self._crossed >= 0
        beyond: cython.longlong = 1
        if not free:
            beyond = self._priced(place, taken, [1] * len(taken), rise, last, rank, limit)
        if len(taken) > 1 and (free or beyond > floor):
            for order in permutations(taken):
                for turns in self._turns(list(order), place):
                    self._priced(place, list(order), turns, rise, last, rank, limit)
        elif free:
            self._priced(place, taken, [1], rise, last, rank, limit)

    @cython.cfunc
    def _turns(self, taken: list, place: cython.int) -> list:
        """Every way to make moves in their order, one by one or two neighbours at once."""
        count: cython.int = len(taken)
        capacity: cython.int = self._capacities[place]
        if self._at_once < 0 or count == 1:
            return [[1] * count]
        found: list = [[]]
        done: list = []
        while found:
            sizes = found.pop()
            at: cython.int = sum(sizes)
            if at == count:
                if len(sizes) <= capacity:
                    done.append(sizes)
                continue
            found.append([*sizes, 1])
            if at + 1 < count and self._fit(taken[at], taken[at + 1]):
                found.append([*sizes, 2])
        return sorted(done)

    @cython.cfunc
    def _fit(self, one: tuple, other: tuple) -> cython.bint:
        """Whether one movement of a foot can make both moves."""
        alike: cython.bint = (
            one[1][4] == other[1][4]
            and _stood(one[3]) == _stood(other[3])
            and not one[4]
            and not other[4]
        )
        return alike and (one[0], other[0]) in self._pairs

    @cython.cfunc
    def _priced(
        self,
        place: cython.int,
        taken: list,
        turns: list,
        rise: cython.longlong,
        last: cython.longlong,
        rank: cython.longlong,
        limit: cython.longlong,
    ) -> cython.longlong:
        """Add the way that makes some moves turn by turn in the gap before a place.

        Returns what they cost beyond the moves by themselves.
        """
        prices = self._prices
        self._tried += 8
        count: cython.int = len(turns)
        extra: cython.longlong = self._between * (count - 1)
        crossing: cython.longlong = self._travel if taken[0][4] else 0
        final: cython.longlong = prices.time(place, 0)
        time: cython.longlong = prices.time(place, count - 1)
        if len(taken) > count:
            extra += self._at_once * (len(taken) - count)
        if last >= 0:
            extra += prices.haste(time - crossing - last, taken[0][1][3])
        number: cython.int = 0
        points: cython.longlong = 0
        turn: cython.int
        how: list = []
        after: list = []
        for turn in range(count):
            later: cython.int = count - 1 - turn
            if turn:
                before: cython.longlong = time
                time = prices.time(place, later)
                gap: cython.longlong = time - before
                if taken[number][4]:
                    gap -= self._travel
                if taken[number - 1][4]:
                    gap -= self._travel
                extra += prices.haste(gap, taken[number][1][3])
            for _ in range(turns[turn]):
                one: tuple = taken[number]
                move: tuple = one[1]
                if later:
                    # Never a gain, so that the price by itself stays a lower bound.
                    past: tuple = one[3][_PAST]
                    sooner: cython.longlong = prices.sound(past, move[3], time)
                    extra += max(0, sooner - prices.sound(past, move[3], final))
                    if (place, one[0]) in self._decided:
                        extra += self._lost
                points += move[1] + one[2]
                after.append((one[0], move[2]))
                how.append((one[0], move[4], later, one[4]))
                number += 1
        if rank + rise + extra > limit:
            self.missed = min(self.missed, rank + rise + extra)
            return extra
        crossing = self._travel if taken[number - 1][4] else 0
        self._found.append(
            (points + extra, rise + extra, tuple(after), final + crossing, tuple(how))
        )
        return extra

    # Which labels are worth keeping.

    @cython.cfunc
    def _undominated(self, labels: list, place: cython.int) -> list:
        """Leave out labels that another one is at least as good as; the best come first."""
        labels.sort(key=_by_rank)
        kept: list = []
        alike: dict = {}
        for label in labels:
            own: list = []
            ways: list = [()]
            for node in label[1]:
                sign = node[_SIGN]
                own.append(sign)
                also: cython.longlong = node[_ALSO]
                if also < 0:
                    ways = [(*way, sign) for way in ways]
                else:
                    ways = [(*way, one) for way in ways for one in (sign, also)]
            served: cython.bint = False
            for way in ways:
                for other in alike.get(way, ()):
                    if self._serves(other, label, place):
                        served = True
                        break
                if served:
                    break
            if not served:
                kept.append(label)
                alike.setdefault(tuple(own), []).append(label)
        return kept

    @cython.cfunc
    def _serves(self, better: list, label: list, place: cython.int) -> cython.bint:
        """Whether one label, of no higher rank, is at least as good as another whatever comes."""
        room: cython.longlong = label[0] - better[0]
        now: cython.longlong = self._times[place]
        foot: cython.int
        for foot in range(len(self._feet)):
            last: cython.longlong = better[2][foot]
            if last > label[2][foot]:
                room -= self._prices.haste(now - last, 2)
        if room < 0:
            return False
        one: cython.int
        for one in range(self._count):
            this: list = better[1][one]
            that: list = label[1][one]
            if this is that:
                continue
            if this[_SIGN] == that[_SIGN]:
                # Ranks count what the letter costs by itself from here on. Where the one has moved
                # and the other has not, that of the other counts the least of its move.
                room += this[_REST] - that[_REST]
                room -= self._letters[one].excess(this, that)
            else:
                room -= self._prices.dearer(this[_PAST], that[_PAST], place)
            if room < 0:
                return False
        return True


def _by_rank(label: Label) -> tuple[int, int]:
    return (label[0], -label[4])


def _overlap(one: tuple, other: tuple) -> bool:
    return bool({number for number, _ in one} & {number for number, _ in other})


def _stood(node: list) -> int:
    """Where a pedal stood before a move of its node."""
    return node[_POSITION]
