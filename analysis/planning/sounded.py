# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""What has sounded on a letter, for how long it bears on a move, and what that costs.

Times are in microseconds since the beginning of the stretch; see
:mod:`pedalsetter.analysis.planning.prices`.
"""

from __future__ import annotations

from array import array
from typing import Any

import cython

from pedalsetter.analysis.planning.weights import Weights

__all__ = ["DECIDED", "FAR", "INFINITE", "MOVED", "Past", "Sounded", "Variant"]

FAR: int = -(1 << 50)
"""Time of what never happened."""

INFINITE: int = 1 << 60
"""Points of what cannot be."""

DECIDED: int = 1
"""Kind of a need without a note: the musician wants the pedal to stand so."""

MOVED: int = 2
"""Kind of a need for which the pedal must move right there, because the musician wants it."""

_FAR = cython.declare(cython.longlong, -(1 << 50))
_INFINITE = cython.declare(cython.longlong, 1 << 60)
_MASK = cython.declare(cython.ulonglong, (1 << 61) - 1)


class Variant:
    """One way to need a letter."""

    def __init__(
        self,
        position: int,
        until: int,
        registers: int,
        points: int,
        kind: int,
        lock: int,
        stroke: int,
        lost: int,
    ) -> None:
        """``until`` is when the note is written to end; ``registers`` has a bit for each.

        ``lock`` is the last place at which it is played again, ``stroke`` the time of its last
        stroke, each −1 for none; ``lost`` are the points if the letter stands elsewhere, so that
        the note is lost.
        """
        self.position, self.until, self.registers, self.points = position, until, registers, points
        self.kind, self.lock, self.stroke, self.lost = kind, lock, stroke, lost


class Past:
    """What has sounded on a letter; one object for all that are equal."""

    def __init__(
        self, number: int, lock: int, stroke: int, until: int, low: int, middle: int, high: int
    ) -> None:
        """``lock`` is the place up to which something trilled keeps its pedal, or −1.

        ``stroke`` is the time of the last stroke that needs its position, ``until`` the time until
        which a note is written to sound; the others are those of the last pluck in each register.
        """
        self.number, self.lock, self.stroke, self.until = number, lock, stroke, until
        self.low, self.middle, self.high = low, middle, high
        self.next: Past | None = None


class Sounded:
    """The pasts of letters, and the prices of moving so soon after them."""

    def __init__(self, form: Any, weights: Weights) -> None:
        """``form`` is a :class:`pedalsetter.analysis.planning.form.Form`."""
        second = 1_000_000
        w = weights
        self.times = array("q", form.times)
        self._comfortable = int(w.comfortable_seconds * second)
        self._comfortable_twice = int(w.comfortable_seconds * w.two_notches * second)
        self._least = int(w.least_seconds * second)
        self._least_twice = int(w.least_seconds * w.two_notches * second)
        self._low, self._middle, self._high = (int(one * second) for one in w.ring_seconds)
        self._hurried, self._impossible = w.hurried, w.impossible
        self._under_note, self._resonance = w.under_note, w.resonance
        self._count = 0
        self._pasts: dict[int, Past] = {}
        self.nothing = self._past(-1, FAR, 0, FAR, FAR, FAR)

    def haste(self, gap: cython.longlong, notches: cython.int) -> cython.longlong:
        """The price of having only ``gap`` for a move."""
        if gap >= (self._comfortable_twice if notches == 2 else self._comfortable):
            return 0
        least: cython.longlong = self._least_twice if notches == 2 else self._least
        return self._hurried if gap >= least else self._impossible

    def ringing(self, past: Past, time: cython.longlong) -> cython.longlong:
        """The price of strings that still ring."""
        points: cython.longlong = self._ring(self._low - (time - past.low), self._low)
        points = max(points, self._ring(self._middle - (time - past.middle), self._middle))
        return max(points, self._ring(self._high - (time - past.high), self._high))

    def _ring(self, left: cython.longlong, ring: cython.longlong) -> cython.longlong:
        """The price of a string that rings so long, and still so long; it falls evenly."""
        return self._resonance * left // ring if left > 0 else 0

    def sound(self, past: Past, notches: cython.int, time: cython.longlong) -> cython.longlong:
        """The price of moving so soon after what has sounded: haste, a written note, resonance."""
        points: cython.longlong = 0
        if past.stroke != _FAR:
            points = self.haste(time - past.stroke, notches)
        if time < past.until:
            points += self._under_note
        return points + self.ringing(past, time)

    def _past(
        self,
        lock: cython.int,
        stroke: cython.longlong,
        until: cython.longlong,
        low: cython.longlong,
        middle: cython.longlong,
        high: cython.longlong,
    ) -> Past:
        mixed: cython.ulonglong = (lock + 1) * 1_000_003 ^ (stroke & _MASK)
        mixed = (mixed * 1_000_003 ^ (until & _MASK)) & _MASK
        mixed = (mixed * 1_000_003 ^ (low & _MASK)) & _MASK
        mixed = (mixed * 1_000_003 ^ (middle & _MASK)) & _MASK
        mixed = (mixed * 1_000_003 ^ (high & _MASK)) & _MASK
        first: Past | None = self._pasts.get(mixed)
        past: Past | None = first
        while past is not None:
            if (
                past.lock == lock
                and past.stroke == stroke
                and past.until == until
                and past.low == low
                and past.middle == middle
                and past.high == high
            ):
                return past
            past = past.next
        self._count += 1
        past = Past(self._count, lock, stroke, until, low, middle, high)
        past.next = first
        self._pasts[mixed] = past
        return past

    def moved(self, past: Past) -> Past:
        """The past of a letter that has moved: it is no longer hurried by its last note."""
        if past.lock < 0 and past.stroke == _FAR:
            return past
        return self._past(-1, _FAR, past.until, past.low, past.middle, past.high)

    def faded(self, past: Past, place: cython.int) -> Past:
        """The past without what no longer bears on a move after a place."""
        return self._fading(
            place, past.lock, past.stroke, past.until, past.low, past.middle, past.high
        )

    def played(self, past: Past, place: cython.int, variant: Variant) -> Past:
        """The past after a note has been played on the letter, without what no longer bears."""
        stroke: cython.longlong = max(self.times[place], variant.stroke)
        registers: cython.int = variant.registers
        return self._fading(
            place,
            max(past.lock, variant.lock),
            max(past.stroke, stroke),
            max(past.until, variant.until),
            max(past.low, stroke) if registers & 1 else past.low,
            max(past.middle, stroke) if registers & 2 else past.middle,
            max(past.high, stroke) if registers & 4 else past.high,
        )

    def _fading(
        self,
        place: cython.int,
        lock: cython.int,
        stroke: cython.longlong,
        until: cython.longlong,
        low: cython.longlong,
        middle: cython.longlong,
        high: cython.longlong,
    ) -> Past:
        now: cython.longlong = self.times[place]
        if lock <= place:
            lock = -1
            if now - stroke >= self._comfortable_twice:
                stroke = _FAR
        return self._past(
            lock,
            stroke,
            0 if until <= now else until,
            low if self._ring(self._low - (now - low), self._low) else _FAR,
            middle if self._ring(self._middle - (now - middle), self._middle) else _FAR,
            high if self._ring(self._high - (now - high), self._high) else _FAR,
        )

    def dearer(self, one: Past, other: Past, place: cython.int) -> cython.longlong:
        """By how much a move after a place can at most cost more with one past than another."""
        now: cython.longlong = self.times[place]
        points: cython.longlong = 0
        if one.lock > place and one.lock > other.lock:
            return _INFINITE
        if one.stroke > other.stroke:
            points = self.haste(now - one.stroke, 2)
        if one.until > other.until:
            points += self._under_note
        ring: cython.longlong = 0
        if one.low > other.low:
            ring = self._ring(self._low - (now - one.low), self._low)
        if one.middle > other.middle:
            ring = max(ring, self._ring(self._middle - (now - one.middle), self._middle))
        if one.high > other.high:
            ring = max(ring, self._ring(self._high - (now - one.high), self._high))
        return points + ring
