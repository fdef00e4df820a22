"""One letter by itself: the least that its changes can cost, whatever strings its notes take.

The letter is followed along a line of moments without regard to the other pedals of its foot. At
every moment where a note may or may not take one of its strings, both ways have a price (see
:mod:`pedalsetter.analysis.planning.shared_notes`). The sums over the letters are a lower bound of
every plan, and a close one: only moves of one foot that hurry each other are missing from it.
:mod:`pedalsetter.analysis.planning.foot_programme` adds those, and searches no further than the
bound allows.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from pedalsetter.analysis.planning.prices import Prices

__all__ = ["FAR", "UNSET", "Ask", "LetterBound", "State", "Variant", "next_state"]

FAR = -(1 << 50)
"""Time of what never happened, in microseconds."""

INFINITE = 1 << 60
"""Points of what cannot be."""

UNSET = 9
"""Position of a letter that nothing has needed yet and that will be set as it is first needed."""

State = tuple[int, int, int, int, int, int, int, int]
"""(position, place of the last note or −1, time until which a note is written to sound, time of the
last pluck in each of three registers, place of the need towards which the pedal has moved or −1,
position to which it has moved)."""

Variant = tuple[int, int, tuple[int, ...], int]
"""One way to need the letter: (position, time until which the note is written to sound, registers,
points)."""

Ask = tuple[int, tuple[Variant, ...], int | None]
"""(place, the ways to need the letter there, points for not needing it or None if it must be)."""


def next_state(state: State, place: int, time: int, variant: Variant) -> State:
    """The state after a note has been struck on the letter."""
    position, until, registers, _ = variant
    low, middle, high = state[3], state[4], state[5]
    for register in registers:
        if register == 0:
            low = time
        elif register == 1:
            middle = time
        else:
            high = time
    held = state[2]
    return (position, place, until if until > held else held, low, middle, high, -1, 0)


class LetterBound:
    """The cheapest way of one letter along a line, and from every state on the rest of it.

    Points are as in :class:`Prices`; all sums of costs above zero, so that a way that the bound
    calls too dear can be left out.
    """

    def __init__(self, prices: Prices, asks: Sequence[Ask], leave: int | None) -> None:
        self._prices = prices
        self._times = prices.line.times
        self._length = prices.length
        asked = list(asks)
        if leave is not None:
            asked.append((prices.length, ((leave, 0, (), 0),), None))
        self.asks = asked
        self.places = [place for place, _, _ in asked]
        self._skips = [0]
        for _, _, skip in asked:
            self._skips.append(self._skips[-1] + (skip or 0))
        weights = prices.weights
        self._fixed = (0, weights.change, weights.change + weights.second_notch)
        self._rings = prices.rings
        self._windows: dict[tuple[State, int, int], list[int]] = {}
        self._rests: list[dict[State, int] | None] = [None] * (prices.length + 2)
        self.certain: list[State] = []
        """For each ask what is certain to have sounded before it."""
        self._solve()

    def _solve(self) -> None:
        """Go through the asks from the last to the first."""
        asks = self.asks
        certain = self.certain
        state: State = (UNSET, -1, 0, FAR, FAR, FAR, -1, 0)
        for place, variants, skip in asks:
            certain.append(state)
            # What is certain to have sounded before can only make a later move dearer.
            if skip is None and len(variants) == 1 and place < self._length:
                state = next_state(state, place, self._times[place], variants[0])
        self.after: list[tuple[int, ...]] = [()] * len(asks)
        """For each ask and each way to meet it the least points after it."""
        self._least = [self._skips[-1]] * (len(asks) + 1)
        for number in range(len(asks) - 1, -1, -1):
            place, variants, skip = asks[number]
            if place == self._length:
                after = (0,) * len(variants)
            else:
                time = self._times[place]
                after = tuple(
                    self._rest(next_state(certain[number], place, time, variant), place + 1)
                    for variant in variants
                )
            self.after[number] = after
            # Where it stood before left out: what passing over the asks before it adds to.
            least = self._skips[number] + min(
                (variant[3] + rest for variant, rest in zip(variants, after, strict=True)),
                default=INFINITE,
            )
            self._least[number] = least if skip is None else min(least, self._least[number + 1])

    def first(self, place: int) -> int:
        """Index of the first ask at a place or after it."""
        return bisect_left(self.places, place)

    def must(self, number: int, place: int) -> bool:
        """Whether the ask ``number`` stands at a place and cannot be passed over."""
        return (
            number < len(self.asks)
            and self.places[number] == place
            and self.asks[number][2] is None
            and len(self.asks[number][1]) == 1
        )

    def rest(self, state: State, place: int) -> int:
        """Least points from ``place`` on, its own moves and needs included; never too many."""
        here = self._rests[place]
        if here is None:
            here = self._rests[place] = {}
        known = here.get(state)
        if known is None:
            known = self._promised(state, place) if state[6] >= 0 else self._rest(state, place)
            here[state] = known
        return known

    def _promised(self, state: State, place: int) -> int:
        begin = bisect_left(self.places, place)
        goal = bisect_left(self.places, state[6])
        for number in range(begin, goal):
            if self.asks[number][2] is None:
                return INFINITE
        least = INFINITE
        for variant, after in zip(self.asks[goal][1], self.after[goal], strict=True):
            if variant[0] == state[7] and variant[3] + after < least:
                least = variant[3] + after
        return self._skips[goal] - self._skips[begin] + least

    def _rest(self, state: State, place: int) -> int:
        asks, position = self.asks, state[0]
        begin = bisect_left(self.places, place)
        start = self._skips[begin]
        least = INFINITE
        for number in range(begin, len(asks)):
            at, variants, skip = asks[number]
            if self._least[number] - start >= least:
                return least
            passed = self._skips[number] - start
            after = self.after[number]
            for index, variant in enumerate(variants):
                points = passed + variant[3] + after[index]
                if points >= least:
                    continue
                if position not in (variant[0], UNSET):
                    points += self.window(state, at, variant[0], place)
                if points < least:
                    least = points
            if skip is None:
                return least
        return min(least, self._skips[-1] - start)

    def least_from(self, begin: int, number: int) -> int:
        """Least points after the asks from ``begin`` on if none before ``number`` is met."""
        return self._least[number] - self._skips[begin]

    def way(self, state: State) -> dict[int, Variant]:
        """The cheapest way from the beginning on: how the letter is needed at each place."""
        found: dict[int, Variant] = {}
        number = 0
        while True:
            place = self.places[number - 1] + 1 if number else 0
            start = self._skips[number]
            least, best = self._skips[-1] - start, (-1, -1)
            for later in range(number, len(self.asks)):
                at, variants, skip = self.asks[later]
                if self._least[later] - start > least:
                    break
                for index, variant in enumerate(variants):
                    points = self._skips[later] - start + variant[3] + self.after[later][index]
                    if state[0] not in (variant[0], UNSET):
                        points += self.window(state, at, variant[0], place)
                    if points < least or (points == least and best[0] < 0):
                        least, best = points, (later, index)
                if skip is None:
                    break
            later, index = best
            if later < 0 or self.asks[later][0] == self._length:
                return found
            at, variants, _ = self.asks[later]
            found[at] = variants[index]
            state = next_state(state, at, self._times[at], variants[index])
            number = later + 1

    def window(self, state: State, goal: int, position: int, place: int) -> int:
        """Least points of a change that serves a need at ``goal``, made at ``place`` or later."""
        key = (state, goal, position)
        known = self._windows.get(key)
        if known is None:
            known = self._windows[key] = self._priced(state, goal, position)
        back = goal - place
        if back < 0 or not known:
            return INFINITE
        return known[back if back < len(known) else -1]

    def _priced(self, state: State, goal: int, position: int) -> list[int]:
        """For 0, 1, 2 … places before the goal the least points from there on."""
        prices = self._prices
        fixed = self._fixed[abs(position - state[0])]
        least = INFINITE
        found: list[int] = []
        for place in range(goal, state[1], -1):
            if least < INFINITE and fixed + prices.wait(goal, place) > least:
                # Any earlier place is still earlier, and so dearer.
                break
            if prices.capacities[place]:
                points = self.local(state, goal, position, place)
                if points < least:
                    least = points
            found.append(least)
        return found

    def local(self, state: State, goal: int, position: int, place: int) -> int:
        """Points of a change at a place by itself."""
        prices = self._prices
        notches = abs(position - state[0])
        time = prices.time(place)
        return (
            self._fixed[notches]
            + prices.wait(goal, place)
            + prices.stand(goal, place)
            + self.sound(state, notches, time)
        )

    def sound(self, state: State, notches: int, time: int) -> int:
        """Points for haste after the last note, and for moving under a ringing string."""
        prices = self._prices
        points = 0
        if state[1] >= 0:
            points = prices.haste(time - self._times[state[1]], notches)
        if time < state[2]:
            points += prices.weights.under_note
        return points + prices.ringing(state[3:6], time)

    def faded(self, state: State, now: int) -> State:
        """The state without what no longer bears on a move after ``now``."""
        prices = self._prices
        position, struck, held, *plucked, goal, moved = state
        if struck == self._length or now - self._times[struck] >= prices.reach:
            struck = -1
        if held <= now:
            held = 0
        for register, ring in enumerate(self._rings):
            left = ring - (now - plucked[register])
            if left <= 0 or not prices.weights.resonance * left // ring:
                plucked[register] = FAR
        return (position, struck, held, plucked[0], plucked[1], plucked[2], goal, moved)

    def dearer(self, one: State, other: State, now: int) -> int:
        """By how much a move after ``now`` can at most cost more in one state than in the other.

        Both stand in the same position.
        """
        prices = self._prices
        points = 0
        if one[1] > other[1]:
            points = prices.haste(now - self._times[one[1]], 2)
        if one[2] > other[2]:
            points += prices.weights.under_note
        later = [
            this if this > that else None for this, that in zip(one[3:6], other[3:6], strict=True)
        ]
        return points + prices.ringing(later, now)
