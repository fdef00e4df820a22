"""What one change costs at one moment, and what two moves of one foot cost one after the other.

Given the strings, the last note before a change and the first note after it are known, so all but
the haste between two moves of one foot belongs to one change alone. That is what makes the optimum
cheap to find.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pedalsetter.analysis.planning.moments import Moments, Strength
from pedalsetter.analysis.planning.two_pedals import Distance, turns_of
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.planning.windows import Line, Window, distance

__all__ = ["Prices", "Turns"]

_SECOND = 1_000_000

_MOST_SHARING = 4
"""One foot has four pedals at most, so no more of its changes can share a gap."""

Turns = tuple[int, ...]
"""How many changes of one foot at one place are made at once, turn by turn: 1 or 2."""


class Prices:
    """The prices of changes along one line of moments, in points; times in microseconds."""

    def __init__(
        self,
        line: Line,
        moments: Moments,
        frozen: frozenset[int],
        sounding: Sequence[bool],
        weights: Weights,
    ) -> None:
        self.line = line
        self.weights = weights
        self.length = len(line.moments)
        self._moments = moments
        by_strength = {
            Strength.BARLINE: 0,
            Strength.BEAT: weights.beat,
            Strength.OFF_BEAT: weights.off_beat,
            Strength.FINE: weights.off_beat + weights.fine,
            Strength.GRACE: weights.at_grace,
            Strength.BETWEEN: 0,
        }
        self._place_price = [
            by_strength[moments.strengths[moment]]
            + weights.after_grace * moments.ends_graces(moment)
            + weights.under_notes * sounds
            for moment, sounds in zip(line.moments, sounding, strict=True)
        ]
        if self._place_price:
            # Within a movement a line begins only after a repeat or jump; where the pedals are set
            # afresh nothing moves at its first place.
            self._place_price[0] += weights.at_turn
        self._place_price.append(weights.after_last)
        self._reserved = frozenset(
            place
            for place, moment in enumerate(line.moments)
            if moments.strengths[moment] is Strength.BETWEEN
        )
        for place in sorted(self._reserved, reverse=True):
            # As a change that shares the gap before the next place.
            shared = weights.between * (place + 1 < self.length)
            self._place_price[place] += self._place_price[place + 1] + shared
        self.capacities = [self._capacity(place, frozen) for place in range(self.length + 1)]
        """How many turns one foot can be told to take in the gap that ends at each place."""
        self._at_once = weights.two_pedals
        self.travel = 0
        """How much longer a foot needs on its way to a pedal of the other side, and back."""
        if weights.crossed is not None:
            self.travel = int(weights.crossing_seconds * _SECOND)
        self._comfortable = tuple(
            int(weights.comfortable_seconds * factor * _SECOND)
            for factor in (1, 1, weights.two_notches)
        )
        self._least = tuple(
            int(weights.least_seconds * factor * _SECOND) for factor in (1, 1, weights.two_notches)
        )
        self.reach = self._comfortable[2]
        """Moves further apart than this never hurry each other."""
        self.rings = tuple(int(seconds * _SECOND) for seconds in weights.ring_seconds)
        """How long strings ring in each register, in microseconds."""
        self._near = int(weights.near_seconds * _SECOND)
        self._early = weights.early
        self._very_early = weights.very_early.numerator
        self._very_early_over = weights.very_early.denominator

    def _capacity(self, place: int, frozen: frozenset[int]) -> int:
        line, length = self.line, self.length
        if place < length and line.moments[place] in frozen:
            return 0
        if place == length:
            if not length or line.times[-1] >= line.end:
                return 0
            # A glissando may lead over the barline to the next printed bar.
            return 0 if line.moments[-1] + 1 in frozen else _MOST_SHARING
        if place == 0 or self._moments.places[line.moments[place - 1]].grace:
            # No mark can stand before the first moment, or between a grace note and the next.
            return 1
        return _MOST_SHARING

    def time(self, place: int, later: int = 0) -> int:
        """When a change is made that shares its place with ``later`` further ones of its foot.

        The last is made at the place itself, the one before it in the middle of the gap, the one
        before that in the middle of the rest. So a change is never made earlier for another's
        being left out, on which the proof of the optimum rests.
        """
        times = self.line.times
        if place == self.length:
            return times[-1] + (self.line.end - times[-1] >> later + 1)
        if not later:
            return times[place]
        return times[place - 1] + (times[place] - times[place - 1] >> later)

    def haste(self, gap: int, notches: int) -> int:
        """The price of having only ``gap`` for a move."""
        if gap >= self._comfortable[notches]:
            return 0
        return self.weights.hurried if gap >= self._least[notches] else self.weights.impossible

    def sound(self, window: Window, time: int) -> tuple[int, int, int]:
        """(haste after the last note, under a written note, resonance) for a move at a time."""
        notches = window.notches
        hasty = 0
        if window.before is not None:
            hasty = self.haste(time - window.last_stroke, notches)
        under = self.weights.under_note if time < window.held else 0
        return hasty, under, self.ringing(window.plucked, time)

    def ringing(self, plucked: Sequence[int | None], time: int) -> int:
        """The price of strings that still ring, given when each register was last plucked."""
        points = 0
        for ring, at in zip(self.rings, plucked, strict=True):
            left = ring - (time - at) if at is not None else 0
            if left > 0:
                points = max(points, self.weights.resonance * left // ring)
        return points

    def early(self, window: Window, place: int) -> int:
        """The price of moving long before the need."""
        return self.wait(window.goal, place)

    def wait(self, goal: int, place: int) -> int:
        """The price of moving at ``place`` long before a need at ``goal``."""
        wait = (self.line.times[goal] if goal < self.length else self.line.end) - self.time(place)
        squared = self._very_early * wait * wait // (self._very_early_over * _SECOND * _SECOND)
        return self._early * wait // _SECOND + squared

    def stand(self, goal: int, place: int) -> int:
        """The price of where the mark stands that serves a note at ``goal``."""
        return self.place(goal, place) + self.near(goal, place)

    def place(self, last: int, place: int) -> int:
        """The price of a mark at a place, where ``last`` is the last one at which it could stand.

        What was made a moment only for one decision is no place for other changes.
        """
        if place in self._reserved and place != last:
            return self._place_price[place] + self.weights.lost
        return self._place_price[place]

    def near(self, goal: int, place: int) -> int:
        """The price of a mark so near before the note at ``goal`` that it is hardly read in time.

        It falls evenly from the note itself to ``near_seconds`` before it.
        """
        if goal >= self.length:
            return 0
        left = self._near - (self.line.times[goal] - self.time(place))
        return self.weights.on_need * left // self._near if left > 0 else 0

    def position(self, window: Window, place: int) -> int:
        """The price of where the mark stands."""
        return self.place(window.last, place) + self.near(window.goal, place)

    def fixed(self, window: Window) -> int:
        """What the change costs wherever it is made."""
        crossed = (self.weights.crossed or 0) if window.crossed else 0
        return self.weights.change + crossed + self.weights.second_notch * (window.notches - 1)

    def local(self, window: Window, place: int) -> int:
        """All that a change costs at a place by itself, ``fixed`` left out."""
        return (
            sum(self.sound(window, self.time(place)))
            + self.early(window, place)
            + self.position(window, place)
        )

    def least_sharing(self, place: int) -> tuple[int, ...]:
        """For 0 changes, 1 change and so on at one place a lower bound of :meth:`sharing`.

        It tells as many as fit there, and never falls from one to the next.
        """
        found = [0, 0]
        if self.capacities[place] > 1:
            for turns in range(2, _MOST_SHARING + 1):
                gap = self.time(place, turns - 2) - self.time(place, turns - 1)
                found.append(found[-1] + self.weights.between + self.haste(gap, 1))
        if self._at_once is None:
            return tuple(found)
        return tuple(
            min(
                found[turns] + self._at_once * (count - turns)
                for turns in range((count + 1) // 2, min(count + 1, len(found)))
            )
            for count in range(self.room(place) + 1)
        )

    def room(self, place: int) -> int:
        """How many changes one foot can make in the gap that ends at a place."""
        turns = self.capacities[place]
        return turns if self._at_once is None else min(2 * turns, _MOST_SHARING)

    def orders(self, moves: Sequence[Distance | None], place: int) -> Sequence[Turns]:
        """The turns in which changes can be made at a place in their order; None is never paired.

        Where no two pedals may be moved at once that is one after the other.
        """
        if self._at_once is None:
            return ((1,) * len(moves),)
        return turns_of(moves, self.capacities[place])

    def turns(self, windows: Sequence[Window], place: int, last: int | None) -> Turns:
        """The turns that cost least for changes at one place, in their order.

        ``last`` is when the foot is free after its move before them, None if there is none.
        """
        if self._at_once is None or len(windows) == 1:
            return (1,) * len(windows)
        return min(
            self.orders([distance(one) for one in windows], place),
            key=lambda turns: (
                self.sharing(windows, place, turns) + self.hurry(windows, place, turns, last)
            ),
        )

    def hurry(self, windows: Sequence[Window], place: int, turns: Turns, last: int | None) -> int:
        """The price of the time between the foot's last move and changes at one place."""
        if last is None:
            return 0
        return self.haste(self.start(windows, place, turns) - last, windows[0].notches)

    def start(self, windows: Sequence[Window], place: int, turns: Turns) -> int:
        """When the foot must be free for the first of some changes at one place."""
        time = self.time(place, len(turns) - 1)
        return time - self.travel if windows[0].crossed else time

    def end(self, windows: Sequence[Window], place: int) -> int:
        """When the foot is free after the last of some changes at one place."""
        time = self.time(place)
        return time + self.travel if windows[-1].crossed else time

    def sharing(self, windows: Sequence[Window], place: int, turns: Turns) -> int:
        """What changes of one foot at one place cost beyond their local prices.

        They are made in the order given, at the times that :meth:`time` tells.
        """
        if len(windows) == 1:
            return 0
        # Only those of the last turn are printed at the place itself.
        pinned = self.weights.lost * sum(window.pinned for window in windows[: -turns[-1]])
        return pinned + self.together(
            place,
            [window.notches for window in windows],
            lambda number, time: sum(self.sound(windows[number], time)),
            turns,
            [window.crossed for window in windows],
        )

    def together(
        self,
        place: int,
        notches: Sequence[int],
        sound: Callable[[int, int], int],
        turns: Turns,
        crossed: Sequence[bool] = (),
    ) -> int:
        """What moves cost by being made turn by turn in the gap that ends at a place.

        ``sound`` tells what the move of a number costs at a time by what has sounded before.
        """
        count = len(turns)
        points = self.weights.between * (count - 1)
        points += (self._at_once or 0) * (len(notches) - count)
        times = [self.time(place, count - turn) for turn in range(1, count + 1)]
        alone = times[-1]
        number = 0
        for turn, (time, size) in enumerate(zip(times, turns, strict=True)):
            if turn:
                gap = time - times[turn - 1]
                if crossed:
                    gap -= self.travel * (crossed[number] + crossed[number - 1])
                points += self.haste(gap, notches[number])
            if turn < count - 1:
                for one in range(number, number + size):
                    # Never a gain, so that the local price stays a lower bound.
                    points += max(0, sound(one, time) - sound(one, alone))
            number += size
        return points
