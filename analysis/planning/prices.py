# cython: language_level=3, boundscheck=False, wraparound=False, cdivision=True
"""What a move costs at each place of a part, in points: the only place where prices are computed.

A *place* is a moment of a line (a bar may be played in several orders, but its places are numbered
once), or the end of a stretch, after its last moment. Times are in microseconds since the
beginning of the stretch. The search, the bill and the explanations all ask here, so that what a
plan is said to cost is what it was chosen for.
"""

from __future__ import annotations

from array import array
from typing import Any

import cython

from pedalsetter.analysis.planning.weights import Weights

__all__ = ["DECIDED", "FAR", "INFINITE", "MOVED", "Past", "Prices", "Variant"]

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


class Prices:
    """The prices of moves along all stretches of a part."""

    def __init__(self, form: Any, weights: Weights) -> None:
        """``form`` is a :class:`pedalsetter.analysis.planning.form.Form`."""
        second = 1_000_000
        w = weights
        self.times, self.ends = array("q", form.times), array("b", form.ends)
        self.capacities, self.begins = array("i", form.capacities), array("i", form.begins)
        self.stretch_of = array("i", form.stretch_of)
        self.reserved = array("b", [place in form.reserved for place in range(len(form.times))])
        self._place_prices = array("q", form.place_prices)
        self._changes = array("q", form.change_prices)
        self._counted, self._spread = array("q", form.counted), array("q", form.spread)
        self._settled = array("q", form.settled)
        self.rested = array("q", form.rested)
        self._shown = array("i", _last_shown(form))
        self._comfortable = int(w.comfortable_seconds * second)
        self._comfortable_twice = int(w.comfortable_seconds * w.two_notches * second)
        self._least = int(w.least_seconds * second)
        self._least_twice = int(w.least_seconds * w.two_notches * second)
        self._low, self._middle, self._high = (int(one * second) for one in w.ring_seconds)
        self._change, self._second_notch, self._between = w.change, w.second_notch, w.between
        self._hurried, self._impossible = w.hurried, w.impossible
        self._under_note, self._resonance, self._on_need = w.under_note, w.resonance, w.on_need
        self._near = int(w.near_seconds * second)
        self._early = w.early
        self._very_early = w.very_early.numerator
        # A factor that the compiler would not take for a number of its own.
        self._very_early_over = w.very_early.denominator * second * second
        self.lost = w.lost
        self.slack = w.impossible + w.under_note + w.resonance + w.hurried
        self._count = 0
        self._pasts: dict[int, Past] = {}
        self._windows: dict[int, list[int]] = {}
        self.nothing = self._past(-1, FAR, 0, FAR, FAR, FAR)

    def time(self, place: cython.int, later: cython.int) -> cython.longlong:
        """When a move is made that shares its place with ``later`` further turns of its foot.

        The last is made at the place itself, the one before it in the middle of the gap, the one
        before that in the middle of the rest. At the end of a stretch there is no moment to move
        at: the last turn is made in the middle of the gap. In a rest before a diagram they follow
        each other at leisure.
        """
        now: cython.longlong = self.times[place]
        if self._spread[place]:
            return self._settled[place] - later * self._spread[place]
        if self.ends[place]:
            later += 1
        if not later:
            return now
        before: cython.longlong = self.times[place - 1]
        return before + ((now - before) >> later)

    def haste(self, gap: cython.longlong, notches: cython.int) -> cython.longlong:
        """The price of having only ``gap`` for a move."""
        if gap >= (self._comfortable_twice if notches == 2 else self._comfortable):
            return 0
        least: cython.longlong = self._least_twice if notches == 2 else self._least
        return self._hurried if gap >= least else self._impossible

    def spread(self, place: cython.int) -> cython.bint:
        """Whether turns of one foot at a place follow each other at leisure."""
        return self._spread[place] > 0

    def between(self, place: cython.int) -> cython.longlong:
        """The price of one more turn of a foot at a place."""
        return 0 if self._spread[place] else self._between

    def fixed(self, notches: cython.int, place: cython.int) -> cython.longlong:
        """What a move at a place costs in any case."""
        return self._changes[place] + (self._second_notch if notches == 2 else 0)

    def place(self, place: cython.int) -> cython.longlong:
        """The price of a mark at a place."""
        return self._place_prices[place]

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

    def early(self, goal: cython.int, place: cython.int) -> cython.longlong:
        """The price of moving at a place long before the note at ``goal``."""
        # Beyond a thousand seconds nothing more is said by it, and its square would not fit.
        wait: cython.longlong = min(max(self.times[goal] - self._from(place), 0), 1_000_000_000)
        squared: cython.longlong = self._very_early * wait * wait
        return self._early * wait // 1_000_000 + squared // self._very_early_over

    def _from(self, place: cython.int) -> cython.longlong:
        """When a move at a place begins to be early."""
        return self.time(place, 0) if self.ends[place] else self._counted[place]

    def near(self, goal: cython.int, place: cython.int) -> cython.longlong:
        """The price of a mark so near before the note at ``goal`` that it is hardly read in time.

        It falls evenly from the note itself to ``near_seconds`` before it. A diagram is read in
        time.
        """
        if self.ends[goal] or self._shown[place] == place:
            return 0
        left: cython.longlong = self._near - (self.times[goal] - self.time(place, 0))
        return self._on_need * left // self._near if left > 0 else 0

    def move(self, past: Past, notches: cython.int, place: cython.int) -> cython.longlong:
        """Points of a move at a place, what depends on the need that it serves left out."""
        points: cython.longlong = self.fixed(notches, place) + self._place_prices[place]
        return points + self.sound(past, notches, self.time(place, 0))

    # What has sounded.

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

    # From one need to the next.

    def window(
        self,
        past: Past,
        position: cython.int,
        goal: cython.int,
        target: cython.int,
        kind: cython.int,
        place: cython.int,
    ) -> cython.longlong:
        """Least points of a move that serves a need at ``goal``, made at ``place`` or later.

        ``kind`` is that of the need, ``position`` where the letter stands and ``target`` where it
        is to stand.
        """
        back: cython.int = goal - place
        if back < 0:
            return _INFINITE
        key: cython.ulonglong = past.number
        key = ((key * len(self.times) + goal) << 6) + ((position + 1) << 4) + ((target + 1) << 2)
        key += kind
        known: list | None = self._windows.get(key)
        if known is None:
            known = self._windows[key] = self._priced(past, position, goal, target, kind)
        if not known:
            return _INFINITE
        points: cython.longlong = known[back if back < len(known) else len(known) - 1]
        return points

    def _priced(
        self,
        past: Past,
        position: cython.int,
        goal: cython.int,
        target: cython.int,
        kind: cython.int,
    ) -> list[int]:
        """For 0, 1, 2 … places before the goal the least points from there on."""
        notches: cython.int = abs(target - position)
        best: cython.longlong = _INFINITE
        points: cython.longlong
        early: cython.longlong
        found: list[int] = []
        begin: cython.int = self.begins[self.stretch_of[goal]]
        place: cython.int = goal
        while place >= begin and place > past.lock:
            early = self.early(goal, place)
            if best < _INFINITE and early + self._change > best:
                # Any earlier place is still earlier, and so dearer, but for the last diagram.
                shown: cython.int = self._shown[place]
                if shown < begin or self._changes[shown] + self.early(goal, shown) > best:
                    break
            if self.capacities[place]:
                points = self.move(past, notches, place) + early
                if self.reserved[place] and place != goal:
                    points += self.lost
                if not kind & 1:
                    points += self.near(goal, place)
                best = min(best, points)
            found.append(best)
            if kind & 2:
                break
            place -= 1
        return found


def _last_shown(form: Any) -> list[int]:
    """For each place the last one up to it at which a diagram stands, or −1."""
    found = []
    last = -1
    for place, shown in enumerate(form.shown):
        last = place if shown else last
        found.append(last)
    return found
