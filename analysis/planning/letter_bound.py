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

__all__ = [
    "BESIDE",
    "DECIDED",
    "FAR",
    "INFINITE",
    "MOVED",
    "UNSET",
    "Ask",
    "LetterBound",
    "State",
    "Variant",
    "beginning",
    "next_state",
]

FAR = -(1 << 50)
"""Time of what never happened, in microseconds."""

INFINITE = 1 << 60
"""Points of what cannot be."""

UNSET = 9
"""Position of a letter that nothing has needed yet and that will be set as it is first needed."""

BESIDE = {-1: 0, 0: -1, 1: 0}
"""For each position one that is a notch away: where a pedal best stands that is to move to it."""

DECIDED = 1
"""Kind of a need without a note: the musician wants the pedal to stand so."""

MOVED = 2
"""Kind of a need for which the pedal must move right there, because the musician wants it."""

State = tuple[int, int, int, int, int, int, int, int, tuple[int, ...], int]
"""(position, place of the last note or −1, time until which a note is written to sound, time of the
last pluck in each of three registers, place of the need towards which the pedal has moved or −1,
position to which it has moved, places of moves that were decided before the letter's next note,
time of the last stroke). What is trilled has its last note at the last place that it lasts over,
which may be still to come: up to there the letter cannot move."""

Variant = tuple[int, int, tuple[int, ...], int, int, int, int]
"""One way to need the letter: (position, time until which the note is written to sound, registers,
points, kind: 0 or a sum of ``DECIDED`` and ``MOVED``, last place at which it is struck again or −1,
time of its last stroke or −1 if it is struck once)."""

Ask = tuple[int, tuple[Variant, ...], int | None]
"""(place, the ways to need the letter there, points for not needing it or None if it must be)."""


def beginning(position: int) -> State:
    """The state of a letter of which nothing has sounded."""
    return (position, -1, 0, FAR, FAR, FAR, -1, 0, (), FAR)


def next_state(
    state: State, place: int, time: int, variant: Variant, *, moved: bool = False
) -> State:
    """The state after a note has been struck on the letter, or a decision has been met.

    ``moved`` says that the pedal has moved, or may have, for all that is known, even if the state
    does not tell.
    """
    position, until, registers, _, kind, lasts, stroke = variant
    if kind & DECIDED:
        # A letter that has moved since its last note is no longer hurried by it.
        if moved or state[6] == place:
            return (position, -1, *state[2:6], -1, 0, state[8], FAR)
        return (position, *state[1:6], -1, 0, state[8], state[9])
    if stroke < time:
        stroke = time
    low, middle, high = state[3], state[4], state[5]
    for register in registers:
        if register == 0:
            low = stroke if stroke > low else low
        elif register == 1:
            middle = stroke if stroke > middle else middle
        else:
            high = stroke if stroke > high else high
    held = state[2]
    struck = place if state[1] < place else state[1]
    if struck < lasts:
        struck = lasts
    return (
        position,
        struck,
        until if until > held else held,
        low,
        middle,
        high,
        -1,
        0,
        (),
        stroke if stroke > state[9] else state[9],
    )


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
            asked.append((prices.length, ((leave, 0, (), 0, 0, -1, -1),), None))
        self.asks = asked
        self.places = [place for place, _, _ in asked]
        self._skips = [0]
        for _, _, skip in asked:
            self._skips.append(self._skips[-1] + (skip or 0))
        weights = prices.weights
        self._fixed = (0, weights.change, weights.change + weights.second_notch)
        self._rings = prices.rings
        self._decided = {
            place: max(variant[4] for variant in variants)
            for place, variants, _ in asked
            if any(variant[4] for variant in variants)
        }
        self._windows: dict[tuple[State, int, int], list[int]] = {}
        self._rests: list[dict[State, int] | None] = [None] * (prices.length + 2)
        self.certain: list[State] = []
        """For each ask what is certain to have sounded before it."""
        self._solve()

    def _solve(self) -> None:
        """Go through the asks from the last to the first."""
        asks = self.asks
        certain = self.certain
        state = beginning(UNSET)
        for place, variants, skip in asks:
            certain.append(state)
            # What is certain to have sounded before can only make a later move dearer.
            if skip is None and len(variants) == 1 and place < self._length:
                state = self.certainly(state, place, variants[0])
        self.after: list[tuple[int, ...]] = [()] * len(asks)
        """For each ask and each way to meet it the least points after it."""
        self._least = [self._skips[-1]] * (len(asks) + 1)
        for number in range(len(asks) - 1, -1, -1):
            place, variants, skip = asks[number]
            if place == self._length:
                after = (0,) * len(variants)
            else:
                after = tuple(
                    self._rest(self.certainly(certain[number], place, variant), place + 1)
                    for variant in variants
                )
            self.after[number] = after
            # Where it stood before left out: what passing over the asks before it adds to.
            least = self._skips[number] + min(
                (variant[3] + rest for variant, rest in zip(variants, after, strict=True)),
                default=INFINITE,
            )
            self._least[number] = least if skip is None else min(least, self._least[number + 1])

    def certainly(self, state: State, place: int, variant: Variant) -> State:
        """What is certain to have sounded after a need is met, if the state was before."""
        time = self._times[place] if place < self._length else self._prices.line.end
        after = next_state(state, place, time, variant, moved=True)
        kind = variant[4]
        waits = (place,) if kind & DECIDED and kind & MOVED else ()
        return (*after[:8], waits, after[9])

    def kind(self, place: int) -> int:
        """The greatest kind of a need of the letter at a place."""
        return self._decided.get(place, 0)

    def waits(self, place: int) -> bool:
        """Whether a move for the needs of a place is one whose next note is not known yet."""
        return bool(self._decided.get(place, 0) & DECIDED)

    def pending(self, state: State, goal: int) -> int:
        """Points of decided moves for being early, or near, to their next note at ``goal``."""
        prices = self._prices
        return sum(prices.wait(goal, place) + prices.near(goal, place) for place in state[8])

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
            and place not in self._decided
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
        at, variants, _ = self.asks[goal]
        for variant, after in zip(variants, self.after[goal], strict=True):
            if variant[0] != state[7]:
                continue
            points = variant[3]
            if not state[8]:
                points += after
            elif variant[4] & DECIDED:
                following = next_state(state, at, self._times[at], variant)
                points += self.rest(following, at + 1)
            else:
                points += after + self.pending(state, at)
            least = min(least, points)
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
                if variant[4] or state[8]:
                    points += self._decided_way(state, at, variant, place)
                elif position not in (variant[0], UNSET):
                    points += self.window(state, at, variant[0], place)
                if points < least:
                    least = points
            if skip is None:
                return least
        points = self._skips[-1] - start
        if state[8] and points < least:
            points += self.pending(state, self._length)
        return min(least, points)

    def _decided_way(self, state: State, at: int, variant: Variant, place: int) -> int:
        """Points on the way to a need, where that or something before it has been decided."""
        position, kind = state[0], variant[4]
        points = 0
        if kind & MOVED and position == UNSET:
            points = self.window(beginning(BESIDE[variant[0]]), at, variant[0], place)
        elif kind & MOVED and position == variant[0]:
            return INFINITE
        elif position not in (variant[0], UNSET):
            points = self.window(state, at, variant[0], place)
        if state[8]:
            if kind & DECIDED:
                # What it costs beyond this depends on the note that comes next.
                points += sum(self._prices.wait(at, moved) for moved in state[8])
            else:
                points += self.pending(state, at)
        return points

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
                    if variant[4] or state[8]:
                        points += self._decided_way(state, at, variant, place)
                    elif state[0] not in (variant[0], UNSET):
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
            state = self.certainly(state, at, variants[index])
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
        first = goal - 1 if self.kind(goal) & MOVED else state[1]
        waits = self.waits(goal)
        for place in range(goal, first, -1):
            if least < INFINITE and fixed + prices.wait(goal, place) > least:
                # Any earlier place is still earlier, and so dearer.
                break
            if prices.capacities[place]:
                points = self.local(state, goal, position, place)
                if waits:
                    points += prices.wait(goal, place)
                if points < least:
                    least = points
            found.append(least)
        return found

    def local(self, state: State, goal: int, position: int, place: int) -> int:
        """Points of a change at a place by itself.

        Of a decided one those that depend on the letter's next note are left out.
        """
        prices = self._prices
        notches = abs(position - state[0])
        points = self._fixed[notches] + self.sound(state, notches, prices.time(place))
        if self.waits(goal):
            return points + prices.place(goal, place)
        return points + prices.wait(goal, place) + prices.stand(goal, place)

    def sound(self, state: State, notches: int, time: int) -> int:
        """Points for haste after the last note, and for moving under a ringing string."""
        prices = self._prices
        points = 0
        if state[1] >= 0:
            points = prices.haste(time - state[9], notches)
        if time < state[2]:
            points += prices.weights.under_note
        return points + prices.ringing(state[3:6], time)

    def faded(self, state: State, now: int) -> State:
        """The state without what no longer bears on a move after ``now``."""
        prices = self._prices
        position, struck, held, *plucked, goal, moved, waits, stroke = state
        # What is trilled may be struck again after ``now``.
        if struck == self._length or (
            struck >= 0 and self._times[struck] <= now and now - stroke >= prices.reach
        ):
            struck, stroke = -1, FAR
        if held <= now:
            held = 0
        for register, ring in enumerate(self._rings):
            left = ring - (now - plucked[register])
            if left <= 0 or not prices.weights.resonance * left // ring:
                plucked[register] = FAR
        low, middle, high = plucked
        return (position, struck, held, low, middle, high, goal, moved, waits, stroke)

    def dearer(self, one: State, other: State, place: int, now: int) -> int:
        """By how much a move after ``place`` can at most cost more in one state than in the other.

        Both stand in the same position; ``now`` is when the place is.
        """
        prices = self._prices
        if one[1] > place and one[1] > other[1]:
            return INFINITE
        if one[8] and not set(one[8]) <= set(other[8]):
            return INFINITE
        points = 0
        if one[9] > other[9]:
            points = prices.haste(now - one[9], 2)
        if one[2] > other[2]:
            points += prices.weights.under_note
        later = [
            this if this > that else None for this, that in zip(one[3:6], other[3:6], strict=True)
        ]
        return points + prices.ringing(later, now)
