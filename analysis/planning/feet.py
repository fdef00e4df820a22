"""When each foot makes its changes: one pedal at a time, near the need, where it does not jar.

A quick planner: the changes with the least choice are placed first, each where it costs least
beside those already placed. It is correct (no foot is in two places at once, no change comes too
late) but need not be the best.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from pedalsetter.analysis.harp import Foot
from pedalsetter.analysis.planning.moments import Moments, Strength
from pedalsetter.analysis.planning.windows import Line, Window

__all__ = ["Placed", "assign_moments"]

_LOOK_BACK = 48
"""Moments before the need that are weighed; no one moves a pedal much earlier than that."""

_STRENGTH_PRICE = {
    Strength.BARLINE: 0,
    Strength.BEAT: 10,
    Strength.OFF_BEAT: 40,
    Strength.GRACE: 400,
}
_ON_THE_NEED = 30
_EARLY_PER_SECOND = 8
_UNDER_A_NOTE = 900
_HURRIED = 300
_TOO_FAST = 3000
_SHARED = 6000
_COMFORTABLE = 500_000
_LEAST = 250_000


@dataclass(frozen=True, slots=True)
class Placed:
    """A change with the place at which it is made."""

    window: Window
    place: int
    """Index into the line; its length stands for "after the last moment"."""
    turn: tuple[int, int]
    """(k, n): the k-th of n changes that one foot makes in the gap before the place."""


def assign_moments(
    windows: Sequence[Window],
    line: Line,
    moments: Moments,
    frozen: frozenset[int],
    sounding: Sequence[bool],
) -> tuple[list[Placed], list[Window]]:
    """Place every change; the second list holds those for which no moment is left.

    ``sounding`` tells for each place of the line whether anything is struck there.
    """
    placed: list[Placed] = []
    failed: list[Window] = []
    for foot in Foot:
        own = [window for window in windows if window.letter.foot is foot]
        made, left = _Foot(line, moments, frozen, sounding).place(own)
        placed += made
        failed += left
    placed.sort(key=lambda one: (one.place, one.turn[0] - one.turn[1], one.window.letter.index))
    return placed, failed


class _Foot:
    def __init__(
        self,
        line: Line,
        moments: Moments,
        frozen: frozenset[int],
        sounding: Sequence[bool],
    ) -> None:
        self._line = line
        self._moments = moments
        self._frozen = frozen
        self._sounding = sounding
        self._at: dict[int, list[Window]] = {}
        self._times: list[int] = []

    def place(self, windows: Sequence[Window]) -> tuple[list[Placed], list[Window]]:
        order = sorted(windows, key=lambda one: (one.last - one.first, one.last, one.letter.index))
        failed = []
        for window in order:
            place = self._best(window)
            if place is None:
                failed.append(window)
                continue
            self._at.setdefault(place, []).append(window)
            time = self._time(place)
            self._times.insert(bisect_left(self._times, time), time)
        placed = []
        for place, sharing in self._at.items():
            sharing.sort(key=lambda one: (one.last, one.letter.index))
            for turn, window in enumerate(sharing, start=1):
                placed.append(Placed(window, place, (turn, len(sharing))))
        return placed, failed

    def _time(self, place: int) -> int:
        times = self._line.times
        if place < len(times):
            return times[place]
        return (times[-1] + self._line.end) // 2 if times else 0

    def _best(self, window: Window) -> int | None:
        best: tuple[int, int] | None = None
        lowest = max(window.first, window.last - _LOOK_BACK)
        for place in range(window.last, lowest - 1, -1):
            price = self._price(window, place)
            if price is not None and (best is None or price < best[0]):
                best = (price, place)
        return best[1] if best is not None else None

    def _price(self, window: Window, place: int) -> int | None:
        """What it costs to move at a place; None where the foot cannot."""
        length = len(self._line.moments)
        taken = len(self._at.get(place, ()))
        if taken >= _capacity(place, self._line, self._moments, self._frozen):
            return None
        if place < length:
            moment = self._line.moments[place]
            strength = self._moments.strengths[moment]
            price = _STRENGTH_PRICE[strength]
            if not self._sounding[place]:
                price -= 5
        else:
            # After the last moment there is nothing to read the mark by.
            price = 60
        time = self._time(place)
        goal = self._time(window.last) if window.last < length else self._line.end
        if place == window.last and window.need is not None:
            price += _ON_THE_NEED
        price += min((goal - time) * _EARLY_PER_SECOND // 1_000_000, 200)
        if time < window.held:
            price += _UNDER_A_NOTE
        stretch = 3 if window.old.notches_to(window.new) == 2 else 2
        if window.before is not None:
            price += _haste(time - self._time(window.first - 1), stretch)
        for other in self._near(time):
            price += _haste(abs(time - other), stretch)
        if taken:
            price += _SHARED
        return price

    def _near(self, time: int) -> list[int]:
        index = bisect_left(self._times, time)
        return self._times[max(0, index - 1) : index + 1]


def _haste(gap: int, stretch: int) -> int:
    """The price of having ``gap`` microseconds; ``stretch`` is 3 halves for two notches."""
    if 2 * gap < stretch * _LEAST:
        return _TOO_FAST
    if 2 * gap < stretch * _COMFORTABLE:
        return _HURRIED
    return 0


def _capacity(place: int, line: Line, moments: Moments, frozen: frozenset[int]) -> int:
    """How many changes one foot can be told to make in the gap that ends at ``place``."""
    length = len(line.moments)
    if place < length and line.moments[place] in frozen:
        return 0
    if place == length:
        if not length or line.times[-1] >= line.end:
            return 0
        # A glissando may lead over the barline to the next printed bar.
        return 0 if line.moments[-1] + 1 in frozen else 4
    if place == 0 or not _splits(line.moments[place - 1], moments):
        return 1
    return 4


def _splits(before: int, moments: Moments) -> bool:
    """Whether marks can stand between a moment and the next: not among grace notes."""
    return not moments.places[before].grace
