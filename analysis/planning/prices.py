# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""What a move costs at each place of a part, in points: the only place where prices are computed.

A *place* is a moment of a line (a bar may be played in several orders, but its places are numbered
once), or the end of a stretch, after its last moment. Times are in microseconds since the
beginning of the stretch. The search, the bill and the explanations all ask here, so that what a
plan is said to cost is what it was chosen for.
"""

from __future__ import annotations

import cython

from pedalsetter.analysis.planning.weights import Weights

__all__ = ["FAR", "INFINITE", "NO_PAST", "Past", "Prices"]

FAR: int = -(1 << 50)
"""Time of what never happened."""

INFINITE: int = 1 << 60
"""Points of what cannot be."""

Past = tuple[int, int, int, int, int, int]
"""What has sounded on a letter: (place up to which something trilled keeps its pedal or −1, time of
the last stroke that needs its position, time until which a note is written to sound, time of the
last pluck in the low, middle and high register)."""

NO_PAST: Past = (-1, FAR, 0, FAR, FAR, FAR)


@cython.cclass
class Prices:
    """The prices of moves along all stretches of a part."""

    _times: list
    _ends: list
    _place_prices: list
    _comfortable: tuple
    _least: tuple
    _rings: tuple
    _change: cython.longlong
    _second_notch: cython.longlong
    _hurried: cython.longlong
    _impossible: cython.longlong
    _under_note: cython.longlong
    _resonance: cython.longlong
    _near: cython.longlong
    _on_need: cython.longlong
    _early: cython.longlong
    _very_early: cython.longlong
    _very_early_over: cython.longlong

    def __init__(
        self, times: list[int], ends: list[bool], place_prices: list[int], weights: Weights
    ) -> None:
        """``ends`` tells which places are the end of a stretch; ``weights`` are :class:`Weights`.

        ``place_prices`` are the points of a mark at each place.
        """
        second = 1_000_000
        w = weights
        self._times, self._ends, self._place_prices = times, ends, place_prices
        self._comfortable = tuple(
            int(w.comfortable_seconds * factor * second) for factor in (1, 1, w.two_notches)
        )
        self._least = tuple(
            int(w.least_seconds * factor * second) for factor in (1, 1, w.two_notches)
        )
        self._rings = tuple(int(one * second) for one in w.ring_seconds)
        self._change = w.change
        self._second_notch = w.second_notch
        self._hurried = w.hurried
        self._impossible = w.impossible
        self._under_note = w.under_note
        self._resonance = w.resonance
        self._near = int(w.near_seconds * second)
        self._on_need = w.on_need
        self._early = w.early
        self._very_early = w.very_early.numerator
        self._very_early_over = w.very_early.denominator

    def time(self, place: cython.int, later: cython.int) -> int:
        """When a move is made that shares its place with ``later`` further turns of its foot.

        The last is made at the place itself, the one before it in the middle of the gap, the one
        before that in the middle of the rest. At the end of a stretch there is no moment to move
        at: the last turn is made in the middle of the gap.
        """
        now: cython.longlong = self._times[place]
        if self._ends[place]:
            later += 1
        if not later:
            return now
        before: cython.longlong = self._times[place - 1]
        return before + ((now - before) >> later)

    def haste(self, gap: cython.longlong, notches: cython.int) -> int:
        """The price of having only ``gap`` for a move."""
        if gap >= self._comfortable[notches]:
            return 0
        return self._hurried if gap >= self._least[notches] else self._impossible

    def fixed(self, notches: cython.int) -> int:
        """What a move costs wherever it is made."""
        return self._change + (self._second_notch if notches == 2 else 0)

    def place(self, place: cython.int) -> int:
        """The price of a mark at a place."""
        points: cython.longlong = self._place_prices[place]
        return points

    def ringing(self, past: tuple, time: cython.longlong) -> int:
        """The price of strings that still ring."""
        points: cython.longlong = 0
        register: cython.int
        for register in range(3):
            plucked: cython.longlong = past[3 + register]
            ring: cython.longlong = self._rings[register]
            left: cython.longlong = ring - (time - plucked)
            if left > 0:
                points = max(points, self._resonance * left // ring)
        return points

    def sound(self, past: tuple, notches: cython.int, time: cython.longlong) -> int:
        """The price of moving so soon after what has sounded: haste, a written note, resonance."""
        points: cython.longlong = 0
        stroke: cython.longlong = past[1]
        held: cython.longlong = past[2]
        if stroke != FAR:
            points = self.haste(time - stroke, notches)
        if time < held:
            points += self._under_note
        return points + self.ringing(past, time)

    def early(self, goal: cython.int, place: cython.int) -> int:
        """The price of moving at a place long before the note at ``goal``."""
        goal_time: cython.longlong = self._times[goal]
        # Beyond a thousand seconds nothing more is said by it, and its square would not fit.
        wait: cython.longlong = min(goal_time - self.time(place, 0), 1_000_000_000)
        squared: cython.longlong = self._very_early * wait * wait
        return self._early * wait // 1_000_000 + squared // (
            self._very_early_over * 1_000_000_000_000
        )

    def near(self, goal: cython.int, place: cython.int) -> int:
        """The price of a mark so near before the note at ``goal`` that it is hardly read in time.

        It falls evenly from the note itself to ``near_seconds`` before it.
        """
        if self._ends[goal]:
            return 0
        goal_time: cython.longlong = self._times[goal]
        left: cython.longlong = self._near - (goal_time - self.time(place, 0))
        return self._on_need * left // self._near if left > 0 else 0

    def faded(self, past: tuple, place: cython.int) -> tuple:
        """The past without what no longer bears on a move after a place."""
        lock: cython.longlong = past[0]
        stroke: cython.longlong = past[1]
        held: cython.longlong = past[2]
        now: cython.longlong = self._times[place]
        if lock <= place:
            lock = -1
            if now - stroke >= self._comfortable[2]:
                stroke = FAR
        if held <= now:
            held = 0
        plucked: list = [past[3], past[4], past[5]]
        register: cython.int
        for register in range(3):
            ring: cython.longlong = self._rings[register]
            at: cython.longlong = plucked[register]
            left: cython.longlong = ring - (now - at)
            if left <= 0 or not self._resonance * left // ring:
                plucked[register] = FAR
        return (lock, stroke, held, plucked[0], plucked[1], plucked[2])

    def dearer(self, one: tuple, other: tuple, place: cython.int) -> int:
        """By how much a move after a place can at most cost more with one past than another."""
        now: cython.longlong = self._times[place]
        points: cython.longlong = 0
        if one[0] > place and one[0] > other[0]:
            return INFINITE
        if one[1] > other[1]:
            points = self.haste(now - one[1], 2)
        if one[2] > other[2]:
            points += self._under_note
        later: list = [0, 0, 0]
        register: cython.int
        for register in range(3, 6):
            later.append(one[register] if one[register] > other[register] else FAR)
        return points + self.ringing(tuple(later), now)

    def struck(self, past: tuple, place: cython.int, variant: tuple) -> tuple:
        """The past after a note has been struck on the letter at a place."""
        stroke: cython.longlong = self._times[place]
        if variant[6] > stroke:
            stroke = variant[6]
        plucked: list = [past[3], past[4], past[5]]
        for register in variant[2]:
            if stroke > plucked[register]:
                plucked[register] = stroke
        return (
            max(past[0], variant[5]),
            max(past[1], stroke),
            max(past[2], variant[1]),
            plucked[0],
            plucked[1],
            plucked[2],
        )
