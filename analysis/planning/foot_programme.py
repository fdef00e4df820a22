"""One foot along a line, exactly: its moves and the strings of its notes, chosen together.

A dynamic programme from moment to moment. A *label* says where the letters of the foot stand, what
of their past still matters, which have already moved towards a later need, and when the foot last
moved. Each has a *rank*: how much more the best plan through it costs at least than the sum of the
letters by themselves (:mod:`pedalsetter.analysis.planning.letter_bound`). A rank never falls, so a
label can be left out as soon as its rank is too high to beat a plan that is known. Almost all
labels are; what remains is small, and the result is exact.

A label is also left out for another that is at least as good whatever comes: in the same positions
for no more points, or with a move already made for no more than it can still cost at best.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.harp import Letter
from pedalsetter.analysis.planning.foot_step import (
    WILD,
    FootLine,
    Labels,
    Option,
    Step,
    by_rank,
)
from pedalsetter.analysis.planning.letter_bound import (
    INFINITE,
    UNSET,
    LetterBound,
    State,
    beginning,
)
from pedalsetter.analysis.planning.prices import Prices

__all__ = ["FootProgramme", "Found", "OutOfEffortError", "least_points"]


class OutOfEffortError(Exception):
    """The foot has too many ways to be followed in the effort allowed."""


@dataclass(frozen=True, slots=True)
class Found:
    """The cheapest way of a foot."""

    rank: int
    """Points above the sum of the letters by themselves."""
    options: Mapping[int, int]
    """For each place with several options the index of the one taken."""
    trace: tuple[tuple[int, int], ...]
    """(place, rank from there on) wherever the rank rises."""
    missed: int
    """The least rank of what was left out without proof; INFINITE if nothing was."""


class FootProgramme:
    """The programme of one foot along one line."""

    def __init__(
        self,
        prices: Prices,
        bounds: Sequence[LetterBound],
        options: Sequence[Sequence[Option]],
        entry: Sequence[int] | None,
        effort: int,
        letters: Sequence[Letter] = (),
        shared: int | None = None,
    ) -> None:
        """``letters`` are those of the ``bounds``, for two pedals at once.

        ``shared`` is the number of the one that the other foot may cross for: it is then taken to
        be free, so that what is found is what no plan can cost less than.
        """
        self.options = options
        times = (*prices.line.times, prices.line.end)
        self._line = FootLine(
            prices, bounds, options, times, letters, shared, [None] * len(options)
        )
        self.effort = effort
        self._start = _start(len(bounds), entry)
        self.least = least_points(bounds, entry)
        """Points of the letters by themselves."""

    def narrowly(self, width: int, most: int) -> Found | None:
        """A good way: of each moment only the ``most`` best labels within ``width`` points.

        None if there is no way at all.
        """
        found = self._run(0, len(self.options), self._start, (), (width, most))
        return found if isinstance(found, Found) else None

    def within(self, limits: Sequence[int]) -> Found | int:
        """The best way whose rank after each place is within its limit.

        If there is none, by how much the limits are too low at least; INFINITE if no limits help.
        """
        return self._run(0, len(self.options), self._start, limits, None)

    def excerpt(self, begin: int, end: int, limits: Sequence[int]) -> Found | int:
        """The least rise of the rank from ``begin`` up to ``end``, wherever the letters stand.

        If the rank cannot stay within its limit after each place, by how much the limits are too
        low at least.
        """
        start = (beginning(WILD),) * len(self._line.bounds)
        return self._run(begin, end, start, limits, None)

    def _run(
        self,
        begin: int,
        end: int,
        start: tuple[State, ...],
        limits: Sequence[int],
        beam: tuple[int, int] | None,
    ) -> Found | int:
        labels: Labels = {(start, -1): (0, None)}
        missed, above = INFINITE, INFINITE
        for place in range(begin, end):
            if beam is None:
                step = self._step(place, limits[place], 0)
                labels = step.after(labels)
                above = min(above, step.missed - limits[place])
            else:
                lowest, width = min(rank for rank, _ in labels.values()), beam[0]
                step = self._step(place, lowest + width, lowest)
                # Where every way is hurried the ranks of all rise by more.
                while not (reached := step.after(labels)) and width < INFINITE:
                    width *= 3
                    step = self._step(place, lowest + width, lowest)
                labels = reached
                missed = min(missed, step.missed)
            if beam is not None and len(labels) > beam[1]:
                order = sorted(labels.items(), key=by_rank)
                missed = min(missed, order[beam[1]][1][0])
                labels = dict(order[: beam[1]])
            self.effort -= len(labels)
            if self.effort < 0:
                raise OutOfEffortError
            if not labels:
                return above
        rank, node = min(labels.values(), key=lambda one: one[0])
        options: dict[int, int] = {}
        trace: list[tuple[int, int]] = []
        while node is not None:
            if node.option >= 0:
                options[node.place] = node.option
            trace.append((node.place, node.rank))
            node = node.before
        return Found(rank, options, tuple(reversed(trace)), missed)

    def _step(self, place: int, limit: int, lowest: int) -> Step:
        return Step(self._line, place, limit, lowest)


def least_points(bounds: Sequence[LetterBound], entry: Sequence[int] | None) -> int:
    """Points of the letters by themselves, from where they stand at the beginning of a line."""
    return sum(
        bound.rest(state, 0)
        for bound, state in zip(bounds, _start(len(bounds), entry), strict=True)
    )


def _start(letters: int, entry: Sequence[int] | None) -> tuple[State, ...]:
    return tuple(beginning(UNSET if entry is None else entry[number]) for number in range(letters))
