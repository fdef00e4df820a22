"""Both feet along a line at once, exactly, a foot crossing wherever that pays.

The programme of one foot (:mod:`pedalsetter.analysis.planning.foot_programme`), with all seven
letters and two times of a last move. It takes far more labels, and is asked only where the feet
taken one by one leave open which of them should cross.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations
from typing import NamedTuple

from pedalsetter.analysis.harp import LETTERS, Letter
from pedalsetter.analysis.planning.crossing import may_cross
from pedalsetter.analysis.planning.foot_programme import FootProgramme, OutOfEffortError
from pedalsetter.analysis.planning.foot_step import Able, FootLine, Option, Step, Ways
from pedalsetter.analysis.planning.letter_bound import LetterBound, State
from pedalsetter.analysis.planning.prices import Prices

__all__ = ["BothFeet"]


class BothFeet(FootProgramme):
    """The programme of both feet along one line, all letters in pedal order."""

    def __init__(
        self,
        prices: Prices,
        bounds: Sequence[LetterBound],
        options: Sequence[Sequence[Option]],
        entry: Sequence[int] | None,
        effort: int,
        feet: Sequence[Sequence[Letter]],
    ) -> None:
        super().__init__(prices, bounds, options, entry, effort, LETTERS)
        self.feet = [frozenset(letter.index for letter in letters) for letters in feet]
        self.open = frozenset(
            letter.index for letters in feet for letter in letters if may_cross(letter, letters)
        )

    def _step(self, place: int, limit: int, lowest: int) -> Step:
        return _BothStep(self, self._line, place, limit, lowest)


_ROOM = 1 << 60

_WAYS_OF_A_LABEL = 8
"""Ways of both feet that are as much effort as a label."""


def _packed(lasts: tuple[int, int]) -> int:
    """When each foot is free after its last move (−1 if nothing is left of that), as one number."""
    return (lasts[0] + 1) * _ROOM + lasts[1] + 1


def _unpacked(last: int) -> tuple[int, int]:
    if last < 0:
        return -1, -1
    left, right = divmod(last, _ROOM)
    return left - 1, right - 1


class _Own(NamedTuple):
    """What one foot does at a place."""

    points: int
    rise: int
    """By how much the rank rises at least."""
    moved: tuple[tuple[int, State], ...]
    last: int


class _BothStep(Step):
    def __init__(
        self, programme: BothFeet, line: FootLine, place: int, limit: int, lowest: int
    ) -> None:
        super().__init__(line, place, limit, lowest)
        self._both = programme

    def _ways(self, states: tuple[State, ...], last: int, rank: int, before: Sequence[int]) -> Ways:
        lasts = self._still(_unpacked(last))
        ways: Ways = [(0, states, _packed(lasts))]
        able = self._able(states, rank, before) if self._capacity else []
        if not able:
            return ways
        left, right = (
            [
                _Own(0, 0, (), lasts[foot]),
                *self._foot(foot, able, states, _unpacked(last)[foot], rank),
            ]
            for foot in (0, 1)
        )
        self._both.effort -= len(left) * len(right) // _WAYS_OF_A_LABEL
        if self._both.effort < 0:
            raise OutOfEffortError
        for one in left:
            for other in right:
                if not (one.moved or other.moved):
                    continue
                if rank + one.rise + other.rise > self._limit:
                    self.missed = min(self.missed, rank + one.rise + other.rise)
                    continue
                if {number for number, _ in one.moved} & {number for number, _ in other.moved}:
                    continue
                after = list(states)
                for number, state in (*one.moved, *other.moved):
                    after[number] = state
                points = one.points + other.points
                ways.append((points, tuple(after), _packed((one.last, other.last))))
        return ways

    def _still(self, lasts: tuple[int, int]) -> tuple[int, int]:
        """The times that still bear on what comes later."""
        left, right = (
            last
            if last >= 0 and self._now - last < self._prices.reach + self._prices.travel
            else -1
            for last in lasts
        )
        return left, right

    def _foot(
        self, foot: int, able: Able, states: tuple[State, ...], last: int, rank: int
    ) -> Iterator[_Own]:
        """Every way in which a foot moves, pedals of the other side among them."""
        prices, place = self._prices, self._place
        price, travel = prices.weights.crossed or 0, prices.travel
        time = prices.time(place)
        own = self._both.feet[foot]
        reached = [one for one in able if one[0] in own or one[0] in self._both.open]
        floors = prices.least_sharing(place)
        for count in range(1, min(prices.room(place), len(reached)) + 1):
            if rank + floors[count] > self._limit:
                self.missed = min(self.missed, rank + floors[count])
                break
            for order in permutations(reached, count):
                numbers = [one for one, _ in order]
                crossed = [one not in own for one in numbers]
                extra = price * sum(crossed)
                for picks in self._picks(
                    [moves for _, moves in order], rank + floors[count] + extra
                ):
                    least = sum(
                        self._rise(moves, move)
                        for (_, moves), move in zip(order, picks, strict=True)
                    )
                    moved = tuple((one, move[1]) for one, move in zip(numbers, picks, strict=True))
                    for turns in self._turns(numbers, picks, crossed):
                        beyond = extra
                        if last >= 0:
                            first = prices.time(place, len(turns) - 1) - travel * crossed[0]
                            beyond += prices.haste(first - last, picks[0][2])
                        if count > 1:
                            beyond += self._together(states, numbers, picks, turns, crossed)
                        yield _Own(
                            beyond + sum(move[0] for move in picks),
                            beyond + least,
                            moved,
                            time + travel * crossed[-1],
                        )

    @staticmethod
    def _rise(moves: Sequence[tuple[int, tuple[int, State, int]]], move: object) -> int:
        return next(rise for rise, one in moves if one is move)

    def _later(self, better_last: int, last: int) -> int:
        points = 0
        for better, other in zip(_unpacked(better_last), _unpacked(last), strict=True):
            if better > other:
                points += self._prices.haste(self._now - better - self._prices.travel, 2)
        return points
