"""One place of a foot's line: every way to move there, and the labels after its notes.

What a place tells whatever the limits are is kept, for a line is gone through many times.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import permutations, product
from typing import NamedTuple

from pedalsetter.analysis.harp import Letter
from pedalsetter.analysis.planning.letter_bound import (
    BESIDE,
    DECIDED,
    INFINITE,
    MOVED,
    UNSET,
    LetterBound,
    State,
    Variant,
    beginning,
    next_state,
)
from pedalsetter.analysis.planning.prices import Prices, Turns

__all__ = ["WILD", "Able", "FootLine", "Labels", "Node", "Option", "Step", "Ways", "by_rank"]

Option = tuple[int, tuple[Variant | None, ...]]
"""One way to answer a moment as the foot sees it: (points beyond those of the variants, how each of
its letters is needed or None)."""

WILD = 8
"""Position of a letter at the beginning of an excerpt: wherever suits it best."""


class Node(NamedTuple):
    """A place at which something was decided on the way to a label, and the one before it."""

    before: Node | None
    place: int
    option: int
    rank: int


Labels = dict[tuple[tuple[State, ...], int], tuple[int, Node | None]]
"""(state of each letter, time of the foot's last move or −1) → (rank, the way there)."""

_Move = tuple[int, State, int]
"""(points of a move by itself, the state after it, its notches)."""

Able = Sequence[tuple[int, list[tuple[int, _Move]]]]
"""Numbers of letters that can move at a place, each with its moves and by how much they raise the
rank."""

Ways = list[tuple[int, tuple[State, ...], int]]
"""Ways to move at a place: (points, the states after it, time of the last move)."""


@dataclass(slots=True)
class _Known:
    """What has been found out about a place, whatever the limits are."""

    values: dict[tuple[int, State], dict[Variant | None, tuple[int, State]]] = field(
        default_factory=dict
    )
    mids: dict[tuple[int, State], int] = field(default_factory=dict)
    signs: dict[tuple[int, State], tuple[_Sign, ...]] = field(default_factory=dict)
    moves: dict[tuple[int, State], tuple[list[tuple[int, _Move]], int]] = field(
        default_factory=dict
    )
    """Moves, with the rise of the rank that each brings; and the rise up to which all are there."""


@dataclass(frozen=True, slots=True)
class FootLine:
    """One foot along one line, and what has been found out about its places."""

    prices: Prices
    bounds: Sequence[LetterBound]
    options: Sequence[Sequence[Option]]
    """By place."""
    times: Sequence[int]
    """By place, microseconds; that of the end is the last."""
    letters: Sequence[Letter]
    """Those of the ``bounds``, for two pedals at once; none where that is not to be."""
    shared: int | None
    """The number of the letter that the other foot may cross for; it is then taken to be free."""
    known: list[_Known | None]


class Step:
    """Everything about one place that several labels share."""

    def __init__(self, line: FootLine, place: int, limit: int, lowest: int) -> None:
        self._line = line
        self._prices = line.prices
        self._bounds = line.bounds
        self._place = place
        self._limit = limit
        self._lowest = lowest
        self._now = line.times[place]
        self._options = line.options[place]
        self._capacity = self._prices.capacities[place]
        self._asks = []
        self._pinned = []
        """For each letter whether it is decided that its pedal moves right here."""
        for bound in self._bounds:
            number = bound.first(place)
            here = number < len(bound.asks) and bound.places[number] == place
            self._asks.append((number, here))
            self._pinned.append(bool(bound.kind(place) & MOVED))
        known = line.known[place]
        if known is None:
            known = line.known[place] = _Known()
        self._values = known.values
        self._mids = known.mids
        self._known_signs = known.signs
        self._known_moves = known.moves
        self._moves: dict[tuple[int, State], list[_Move]] = {}
        self.missed = INFINITE

    def after(self, labels: Labels) -> Labels:
        """The labels after the moves made at the place and the notes struck there."""
        found: Labels = {}
        bounds, place, limit = self._bounds, self._place, self._limit
        letters = range(len(bounds))
        reach = self._prices.reach
        several = len(self._options) > 1
        for (states, last), (rank, node) in labels.items():
            before = [
                0 if states[one][0] == WILD else bounds[one].rest(states[one], place)
                for one in letters
            ]
            base = rank - sum(before)
            for made, moved, time in self._ways(states, last, rank, before):
                if time < 0:
                    time = last if last >= 0 and self._now - last < reach else -1
                values = [self._value(one, moved[one]) for one in letters]
                for option, (extra, needs) in enumerate(self._options):
                    total = base + made + extra
                    reached = []
                    for one in letters:
                        value = values[one].get(needs[one])
                        if value is None:
                            break
                        total += value[0]
                        reached.append(value[1])
                    else:
                        if total > limit:
                            self.missed = min(self.missed, total)
                            continue
                        key = (tuple(reached), time)
                        known = found.get(key)
                        if known is None or total < known[0]:
                            way = node
                            if several or total != rank:
                                way = Node(node, place, option if several else -1, total)
                            found[key] = (total, way)
        return self._undominated(found) if len(found) > 1 else found

    def _ways(self, states: tuple[State, ...], last: int, rank: int, before: Sequence[int]) -> Ways:
        """Every way to move at the place."""
        ways: Ways = [(0, states, -1)]
        if not self._capacity:
            return ways
        prices = self._prices
        able = self._able(states, rank, before)
        if not able:
            return ways
        self._add_own(ways, able, (states, states), last, (0, rank))
        for one, moves in able:
            if one == self._line.shared:
                rest = [other for other in able if other[0] != one]
                for rise, move in moves:
                    crossed = prices.weights.crossed or 0
                    if rank + rise + crossed > self._limit:
                        self.missed = min(self.missed, rank + rise + crossed)
                        continue
                    moved = (*states[:one], move[1], *states[one + 1 :])
                    given = (move[0] + crossed, rank + rise + crossed)
                    ways.append((given[0], moved, -1))
                    self._add_own(ways, rest, (states, moved), last, given)
        return ways

    def _able(self, states: tuple[State, ...], rank: int, before: Sequence[int]) -> Able:
        """The letters that can move at the place within the limit."""
        able: list[tuple[int, list[tuple[int, _Move]]]] = []
        for one, state in enumerate(states):
            moves = []
            for move in self._moves_of(one, state):
                rise = move[0] + self._mid(one, move[1]) - before[one]
                if rank + rise <= self._limit:
                    moves.append((rise, move))
                else:
                    self.missed = min(self.missed, rank + rise)
            if moves:
                able.append((one, moves))
        return able

    def _add_own(
        self,
        ways: Ways,
        able: Able,
        states: tuple[tuple[State, ...], tuple[State, ...]],
        last: int,
        given: tuple[int, int],
    ) -> None:
        """Add every way in which the foot itself moves.

        ``states`` are those before the place and after what the other foot has done for it, which
        is ``given``: its points, and the rank with it.
        """
        prices = self._prices
        spent, rank = given
        time = prices.time(self._place)
        floors = prices.least_sharing(self._place)
        for count in range(1, min(prices.room(self._place), len(able)) + 1):
            if rank + floors[count] > self._limit:
                self.missed = min(self.missed, rank + floors[count])
                break
            for order in permutations(able, count):
                numbers = [one for one, _ in order]
                for picks in self._picks([moves for _, moves in order], rank + floors[count]):
                    own = spent + sum(move[0] for move in picks)
                    moved = list(states[1])
                    for one, move in zip(numbers, picks, strict=True):
                        moved[one] = move[1]
                    after = tuple(moved)
                    for turns in self._turns(numbers, picks):
                        points = own
                        if last >= 0:
                            first = prices.time(self._place, len(turns) - 1)
                            points += prices.haste(first - last, picks[0][2])
                        if count > 1:
                            points += self._together(states[0], numbers, picks, turns)
                        ways.append((points, after, time))

    def _turns(
        self,
        order: Sequence[int],
        picks: Sequence[_Move],
        crossed: Sequence[bool] = (),
    ) -> Sequence[Turns]:
        """The turns in which some moves can be made in their order."""
        letters = self._line.letters
        if len(order) == 1 or not letters:
            return ((1,) * len(order),)
        return self._prices.orders(
            [
                None if crossed and crossed[turn] else (letters[one], move[1][0], move[1][7])
                for turn, (one, move) in enumerate(zip(order, picks, strict=True))
            ],
            self._place,
        )

    def _picks(
        self, moves: Sequence[Sequence[tuple[int, _Move]]], rank: int
    ) -> list[tuple[_Move, ...]]:
        """One move of each letter, where that leaves the rank within its limit."""
        found: list[tuple[int, tuple[_Move, ...]]] = [(rank, ())]
        for of_letter in moves:
            longer = []
            for reached, picks in found:
                for rise, move in of_letter:
                    if reached + rise <= self._limit:
                        longer.append((reached + rise, (*picks, move)))
                    else:
                        self.missed = min(self.missed, reached + rise)
            found = longer
        return [picks for _, picks in found]

    def _together(
        self,
        states: tuple[State, ...],
        order: Sequence[int],
        picks: Sequence[_Move],
        turns: Turns,
        crossed: Sequence[bool] = (),
    ) -> int:
        """What moves that share a gap cost beyond their own points."""

        def sound(number: int, time: int) -> int:
            one = order[number]
            return self._bounds[one].sound(states[one], picks[number][2], time)

        points = self._prices.together(
            self._place, [move[2] for move in picks], sound, turns, crossed
        )
        # Only those of the last turn are printed at the place itself.
        early = order[: -turns[-1]]
        return points + self._prices.weights.lost * sum(self._pinned[one] for one in early)

    def _moves_of(self, one: int, state: State) -> list[_Move]:
        """Moves of a letter at the place towards each need that it can have next."""
        key = (one, state)
        found = self._moves.get(key)
        if found is None:
            room = self._limit - self._lowest
            moves, up_to = self._known_moves.get(key, ((), -1))
            if up_to < room:
                moves, up_to = self._known_moves[key] = self._find_moves(one, state, room)
            found = self._moves[key] = [move for rise, move in moves if rise <= room]
            beyond = min((rise for rise, _ in moves if rise > room), default=INFINITE)
            self.missed = min(self.missed, self._lowest + min(beyond, up_to + 1))
        return found

    def _find_moves(self, one: int, state: State, room: int) -> tuple[list[tuple[int, _Move]], int]:
        """The moves that let the rank rise by ``room`` or less, and some more.

        The second value says up to which rise all are there; INFINITE if there are no others.
        """
        moves: list[tuple[int, _Move]] = []
        if state[6] >= 0 or state[0] == WILD or (state[0] == UNSET and not self._pinned[one]):
            return moves, INFINITE
        if state[1] >= self._place:
            # What is trilled on the letter keeps it.
            return moves, INFINITE
        bound, place = self._bounds[one], self._place
        begin = self._asks[one][0]
        rest = bound.rest(state, place)
        if state[0] == UNSET:
            # Decided to move here first of all, it stood a notch away.
            state = beginning(BESIDE[bound.asks[begin][1][0][0]])
        for number in range(begin, len(bound.asks)):
            goal, variants, skip = bound.asks[number]
            held = goal > place and bound.kind(goal) & MOVED
            waits = (*state[8], place) if bound.waits(goal) else state[8]
            for position in sorted({variant[0] for variant in variants}):
                if position == state[0] or held:
                    continue
                points = bound.local(state, goal, position, place)
                moved: State = (*state[:6], goal, position, waits, state[9])
                rise = points + self._mid(one, moved) - rest
                moves.append((rise, (points, moved, abs(position - state[0]))))
            if skip is None:
                break
            rise = bound.least_from(begin, number + 1) - rest
            if rise > room:
                # All later ones let it rise by this or more.
                return moves, rise - 1
        return moves, INFINITE

    def _mid(self, one: int, state: State) -> int:
        """Least points of a letter from the notes of the place on."""
        key = (one, state)
        known = self._mids.get(key)
        if known is None:
            values = self._value(one, state).values()
            known = self._mids[key] = min((value[0] for value in values), default=INFINITE)
        return known

    def _value(self, one: int, state: State) -> dict[Variant | None, tuple[int, State]]:
        """For each way to need a letter here: (its points and the least after it, the state)."""
        key = (one, state)
        known = self._values.get(key)
        if known is not None:
            return known
        bound, place, now = self._bounds[one], self._place, self._now
        number, here = self._asks[one]
        found: dict[Variant | None, tuple[int, State]] = {}
        position, goal = state[0], state[6]
        skip: int | None = 0
        if here:
            _, variants, skip = bound.asks[number]
            stands = state[7] if goal == place else position
            for index, variant in enumerate(variants):
                if goal > place or (stands not in (UNSET, WILD) and stands != variant[0]):
                    continue
                kind = variant[4]
                if kind & MOVED and goal != place and position != WILD:
                    continue
                if position == WILD:
                    before = bound.certain[number]
                    following = bound.faded(bound.certainly(before, place, variant), now)
                    points = bound.rest(following, place + 1)
                    points += self._charge(one, number, index)
                    points -= bound.after[number][index]
                else:
                    following = bound.faded(next_state(state, place, now, variant), now)
                    points = variant[3] + bound.rest(following, place + 1)
                    if state[8] and not kind & DECIDED:
                        points += bound.pending(state, place)
                found[variant] = (points, following)
        if skip is not None and goal != place:
            following = bound.faded(state, now)
            if position == WILD:
                found[None] = (0, following)
            else:
                found[None] = (skip + bound.rest(following, place + 1), following)
        self._values[key] = found
        return found

    def _charge(self, number: int, ask: int, index: int) -> int:
        """How far a letter that began wherever suits it best is from its best way.

        It may have moved before towards the very note that it sounds first, at a price that was
        paid before too, so only the ways to sound that note in one position are told apart.
        """
        bound = self._bounds[number]
        _, variants, _ = bound.asks[ask]
        after = bound.after[ask]
        least = min(
            variant[3] + later
            for variant, later in zip(variants, after, strict=True)
            if variant[0] == variants[index][0]
        )
        return variants[index][3] + after[index] - least

    def _undominated(self, labels: Labels) -> Labels:
        """Leave out labels that another one is at least as good as, whatever comes."""
        kept: Labels = {}
        alike: dict[tuple[_Sign, ...], list[tuple[tuple[State, ...], int, int]]] = {}
        for (states, last), (rank, node) in sorted(labels.items(), key=by_rank):
            served = False
            for signs in product(*(self._signs(one, state) for one, state in enumerate(states))):
                for other, moved, points in alike.get(signs, ()):
                    if self._serves(other, moved, points, states, last, rank):
                        served = True
                        break
                if served:
                    break
            if not served:
                kept[states, last] = (rank, node)
                own = tuple(map(_sign, states))
                alike.setdefault(own, []).append((states, last, rank))
        return kept

    def _signs(self, one: int, state: State) -> tuple[_Sign, ...]:
        """How a letter must stand in a label that can serve for one in which it is in ``state``.

        As there; or moved already towards the need that it must move to anyhow.
        """
        key = (one, state)
        known = self._known_signs.get(key)
        if known is not None:
            return known
        signs: tuple[_Sign, ...] = (_sign(state),)
        if state[6] < 0 and state[0] not in (UNSET, WILD):
            bound = self._bounds[one]
            number = bound.first(self._place + 1)
            if number < len(bound.asks) and bound.must(number, bound.places[number]):
                position = bound.asks[number][1][0][0]
                if position != state[0]:
                    signs = (*signs, (0, bound.places[number], position))
        self._known_signs[key] = signs
        return signs

    def _serves(
        self,
        better: tuple[State, ...],
        better_last: int,
        better_rank: int,
        states: tuple[State, ...],
        last: int,
        rank: int,
    ) -> bool:
        """Whether a label that stands alike and has no higher rank is at least as good."""
        room = rank - better_rank
        now, place = self._now, self._place
        if better_last != last:
            room -= self._later(better_last, last)
            if room < 0:
                return False
        for one, (this, that) in enumerate(zip(better, states, strict=True)):
            if this == that:
                continue
            bound = self._bounds[one]
            if this[6] == that[6]:
                # Ranks count what the letter costs by itself from here on. Where the one has moved
                # and the other has not, the rank of the other counts the least of that move.
                room += bound.rest(this, place + 1) - bound.rest(that, place + 1)
            room -= bound.dearer(this, that, place, now)
            if room < 0:
                return False
        return True

    def _later(self, better_last: int, last: int) -> int:
        """By how much a later last move of the foot can make its next one dearer at most."""
        if better_last <= last:
            return 0
        return self._prices.haste(max(0, self._now - better_last), 2)


_Sign = tuple[int, int, int]
"""(position, or 0 for a letter that has moved; place and position that it has moved towards)."""


def _sign(state: State) -> _Sign:
    return (state[0] if state[6] < 0 else 0, state[6], state[7])


def by_rank(label: tuple[tuple[tuple[State, ...], int], tuple[int, Node | None]]) -> int:
    """The rank of a label, for sorting."""
    return label[1][0]
