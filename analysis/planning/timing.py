"""How much time the feet really have: a walk through the music as it is played."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import Foot, Letter
from pedalsetter.analysis.part import Place
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.needs import Need
from pedalsetter.analysis.playing.moments import Moments
from pedalsetter.analysis.playing.playing_order import PlayingOrder

__all__ = ["Move", "Timing", "time_moves"]


@dataclass(frozen=True, slots=True)
class Move:
    """A change as the walk sees it."""

    place: Place
    letter: Letter
    foot: Foot
    microseconds: int
    """Time on the page, each bar once."""
    together: Letter | None = None
    """The neighbouring pedal that the foot moves at the same time."""
    travel: int = 0
    """How much longer the foot needs on its way there, and back, because it crosses."""


@dataclass(slots=True)
class Timing:
    """The least time that a change has on any pass, in microseconds."""

    free: int | None = None
    """Since the last stroke that needed the old position; a trill strikes on to its end."""
    free_place: Place | None = None
    free_notes: tuple[str, ...] = ()
    struck_on: bool = False
    """Those are trilled or tremble, and are struck again after their last moment."""
    same_foot: int | None = None
    """Since the same foot last moved."""
    travel: int = 0
    """What of that time the foot needs to cross, or to come back."""
    under: int = 0
    """How long a note on the old position is written to sound beyond the move."""
    under_notes: tuple[str, ...] = ()


def time_moves(
    order: PlayingOrder,
    moments: Moments,
    demands: Demands,
    moves: Sequence[Move],
    bar_times: Sequence[tuple[int, int]],
) -> list[Timing]:
    """Return the timing of every move, worst pass first; linear in visits times moments.

    ``bar_times`` gives each bar's beginning and end in microseconds on the page.
    """
    timings = [Timing() for _ in moves]
    by_bar: dict[int, list[int]] = {}
    for index, move in enumerate(moves):
        by_bar.setdefault(move.place.bar, []).append(index)
    starts = set(order.movement_starts)
    elapsed = 0
    walk = _Walk(moves, timings)
    for number, visit in enumerate(order.visits):
        if number in starts:
            walk = _Walk(moves, timings)
        begin, end = bar_times[visit.bar]
        shift = elapsed - begin
        waiting = by_bar.get(visit.bar, [])
        turn = 0
        for moment in moments.of_bar(visit.bar):
            place = moments.places[moment]
            while turn < len(waiting) and moves[waiting[turn]].place <= place:
                walk.move(waiting[turn], shift)
                turn += 1
            needs = demands.needs[moment]
            if needs:
                walk.strike(place, needs, moments.microseconds[moment], shift)
        for index in waiting[turn:]:
            walk.move(index, shift)
        elapsed += end - begin
    return timings


class _Walk:
    def __init__(self, moves: Sequence[Move], timings: Sequence[Timing]) -> None:
        self._moves = moves
        self._timings = timings
        self._foot: dict[Foot, tuple[int, int]] = {}
        self._pair: dict[Letter, tuple[Place, int]] = {}
        self._pair_before: dict[Letter, tuple[int, int] | None] = {}
        self._last: dict[Letter, tuple[int, Place, Need]] = {}
        self._held: dict[Letter, tuple[int, tuple[str, ...]]] = {}

    def strike(self, place: Place, needs: Mapping[Letter, Need], page: int, shift: int) -> None:
        for letter, need in needs.items():
            if not need.notes:
                continue  # decided, not struck
            time = (page if need.stroke is None else need.stroke) + shift
            self._last[letter] = (time, place, need)
            until = need.until + shift
            if letter not in self._held or until > self._held[letter][0]:
                self._held[letter] = (until, need.notes)

    def move(self, index: int, shift: int) -> None:
        move, timing = self._moves[index], self._timings[index]
        time = move.microseconds + shift
        before = self._foot.get(move.foot)
        if move.together is not None and self._pair.get(move.together) == (move.place, time):
            # The second of two pedals at once: the foot has moved for both what it moved for one.
            before = self._pair_before.get(move.together)
        elif move.together is not None:
            self._pair[move.letter] = (move.place, time)
            self._pair_before[move.letter] = before
        if before is not None:
            gap, travel = max(0, time - before[0]), before[1] + move.travel
            if timing.same_foot is None or gap - travel < timing.same_foot - timing.travel:
                timing.same_foot, timing.travel = gap, travel
        self._foot[move.foot] = (time, move.travel)
        last = self._last.pop(move.letter, None)
        if last is not None:
            gap = max(0, time - last[0])
            if timing.free is None or gap < timing.free:
                timing.free, timing.free_place = gap, last[1]
                timing.free_notes = last[2].notes
                timing.struck_on = last[2].stroke is not None
        held = self._held.pop(move.letter, None)
        if held is not None and held[0] - time > timing.under:
            timing.under, timing.under_notes = held[0] - time, held[1]
