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

from pedalsetter.analysis.planning.sounded import Past, Sounded
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Prices"]

_INFINITE = cython.declare(cython.longlong, 1 << 60)


class Prices(Sounded):
    """The prices of moves along all stretches of a part."""

    def __init__(self, form: Any, weights: Weights) -> None:
        """``form`` is a :class:`pedalsetter.analysis.planning.form.Form`."""
        super().__init__(form, weights)
        second = 1_000_000
        w = weights
        self.ends = array("b", form.ends)
        self.capacities, self.begins = array("i", form.capacities), array("i", form.begins)
        self.stretch_of = array("i", form.stretch_of)
        self.reserved = array("b", [place in form.reserved for place in range(len(form.times))])
        self._place_prices = array("q", form.place_prices)
        self._changes = array("q", form.change_prices)
        self._counted, self._spread = array("q", form.counted), array("q", form.spread)
        self._settled = array("q", form.settled)
        self.rested = array("q", form.rested)
        self._shown = array("i", _last_shown(form))
        self._change, self._second_notch, self._between = w.change, w.second_notch, w.between
        self._on_need = w.on_need
        self._near = int(w.near_seconds * second)
        self._early, self._at_diagram = w.early, w.early_at_diagram
        self._told = min(w.at_diagram, w.at_section)
        self._very_early = w.very_early.numerator
        # A factor that the compiler would not take for a number of its own.
        self._very_early_over = w.very_early.denominator * second * second
        self.lost = w.lost
        self.slack = w.impossible + w.under_note + w.resonance + w.hurried
        self._windows: dict[int, list[int]] = {}

    def time(self, place: cython.int, later: cython.int) -> cython.longlong:
        """When a move is made that shares its place with ``later`` further turns of its foot.

        The last is made at the place itself, the one before it in the middle of the gap, the one
        before that in the middle of the rest. At the end of a stretch there is no moment to move
        at, unless a diagram follows: the last turn is made in the middle of the gap. In a rest
        before a diagram they follow each other at leisure.
        """
        now: cython.longlong = self.times[place]
        if self._spread[place]:
            return self._settled[place] - later * self._spread[place]
        if self.ends[place] and self._shown[place] != place:
            later += 1
        if not later:
            return now
        before: cython.longlong = self.times[place - 1]
        return before + ((now - before) >> later)

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

    def shown(self, place: cython.int) -> cython.bint:
        """Whether the diagram of a section stands there."""
        return self._shown[place] == place

    def early(self, goal: cython.int, place: cython.int) -> cython.longlong:
        """The price of moving at a place long before the note at ``goal``.

        It grows with the time between; of two places with a diagram, or without, with distance.
        """
        # Beyond a thousand seconds nothing more is said by it, and its square would not fit.
        wait: cython.longlong = min(max(self.times[goal] - self._from(place), 0), 1_000_000_000)
        squared: cython.longlong = self._very_early * wait * wait
        points: cython.longlong = self._early * wait // 1_000_000 + squared // self._very_early_over
        return points // self._at_diagram if self._shown[place] == place else points

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
                # Any earlier place is still earlier, and so dearer, but for diagrams.
                shown: cython.int = self._shown[place]
                if shown < begin or self._told + self.early(goal, shown) > best:
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
