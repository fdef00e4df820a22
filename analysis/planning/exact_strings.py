"""The best strings for all notes of a line, proved, where the line is short enough.

Branch and bound over the answers of its moments, in order. What the notes before a moment cost by
themselves and what the notes from it on cost at best by themselves add up to a lower bound: a
change that joins the two parts only adds to it. The second half of the bound is found by solving
ever longer ends of the line first, each with the help of the shorter ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pedalsetter.analysis.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Chord, Demands, Need
from pedalsetter.analysis.planning.equivalents import Trial
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.optimum import Solver
from pedalsetter.analysis.planning.windows import find_windows

__all__ = ["best_strings"]


class _OutOfBudgetError(Exception):
    """The line is too intricate to be solved in the steps allowed."""


def best_strings(
    trial: Trial,
    demands: Demands,
    moments: Moments,
    budget: int,
) -> dict[int, Answer] | None:
    """Return the best answer of every moment that has a choice; None if ``budget`` is used up.

    ``budget`` counts the moments that are looked at. Exact for a line whose pedals are set afresh
    at its beginning and free at its end; else exact for the settings given there.
    """
    search = _Search(trial, demands, moments, budget)
    # Even without a single wrong turn every end of the line is looked at once.
    if search.choices * len(trial.line.moments) > budget:
        return None
    try:
        return search.run()
    except _OutOfBudgetError:
        return None


class _Search:
    def __init__(self, trial: Trial, demands: Demands, moments: Moments, budget: int) -> None:
        self._trial = trial
        self._moments = moments
        self._budget = budget
        self._needs: list[Mapping[Letter, Need]] = []
        self._places: list[int] = []
        self._chords: list[Chord] = []
        self._options: list[list[tuple[Answer, int, dict[Letter, Need]]]] = []
        self._now: list[Answer] = []
        weights = trial.prices.weights
        for place, moment in enumerate(trial.line.moments):
            self._needs.append(demands.needs[moment])
            known = demands.chords.get(moment)
            if known is None:
                continue
            chord, now = known
            answers = chord.answers(chord.lost(now))
            if len(answers) < 2:
                continue
            answers.sort(key=lambda answer, now=now: answer != now)  # type: ignore[misc]
            self._places.append(place)
            self._chords.append(chord)
            self._now.append(now)
            self._options.append(
                [
                    (answer, weights.respelled * chord.respelled(answer), chord.needs(answer))
                    for answer in answers
                ]
            )
        self._solvers = {foot: Solver(trial.prices) for foot in _FEET}
        self._chosen: list[Mapping[Letter, Need]] = [options[0][2] for options in self._options]

    @property
    def choices(self) -> int:
        """How many moments have more than one answer."""
        return len(self._options)

    def run(self) -> dict[int, Answer]:
        count = len(self._options)
        # What the end of the line from each choice on costs at best, and how.
        ends = [0] * (count + 1)
        ways: list[list[int]] = [[] for _ in range(count + 1)]
        for begin in range(count - 1, -1, -1):
            whole = begin == 0
            ends[begin], ways[begin] = self._solve(begin, ends, ways[begin + 1], whole=whole)
        return {
            self._trial.line.moments[place]: self._options[number][pick][0]
            for number, (place, pick) in enumerate(zip(self._places, ways[0], strict=True))
        }

    def _solve(
        self, begin: int, ends: Sequence[int], after: Sequence[int], *, whole: bool
    ) -> tuple[int, list[int]]:
        """The least points of the line from one choice on, and the picks that reach them."""
        count = len(self._options)
        low = 0 if whole else self._places[begin]
        best: list[int] = []
        least = _INFINITE
        # The shorter end's own way is a good beginning.
        for pick in range(len(self._options[begin])):
            points = self._points_of(begin, [pick, *after], low)
            if points < least:
                least, best = points, [pick, *after]
        if least == _INFINITE:
            raise _OutOfBudgetError

        def descend(number: int, picks: list[int], spent: int) -> None:
            nonlocal least, best
            high = self._places[number + 1] if number + 1 < count else None
            bounds = []
            for pick, (_, respelled, needs) in enumerate(self._options[number]):
                self._chosen[number] = needs
                points = self._priced(begin, number, low, high) + spent + respelled
                bounds.append((points + ends[number + 1], pick, spent + respelled))
            bounds.sort()
            for bound, pick, cost in bounds:
                if bound >= least:
                    return
                if high is None:
                    least, best = bound, [*picks, pick]
                    return
                self._chosen[number] = self._options[number][pick][2]
                descend(number + 1, [*picks, pick], cost)

        descend(begin, [], 0)
        return least, best

    def _points_of(self, begin: int, picks: Sequence[int], low: int) -> int:
        spent = 0
        for number, pick in enumerate(picks, start=begin):
            _, respelled, self._chosen[number] = self._options[number][pick]
            spent += respelled
        return self._priced(begin, len(self._options) - 1, low, None) + spent

    def _priced(self, begin: int, end: int, low: int, high: int | None) -> int:
        """The points of the changes between the places ``low`` and ``high``, alone."""
        stop = len(self._needs) if high is None else high
        self._budget -= stop - low
        if self._budget < 0:
            raise _OutOfBudgetError
        decided = dict(
            zip(self._places[begin : end + 1], self._chosen[begin : end + 1], strict=True)
        )
        tracks: dict[Letter, list[tuple[int, Need]]] = {letter: [] for letter in LETTERS}
        for place in range(low, stop):
            for letter, need in decided.get(place, self._needs[place]).items():
                tracks[letter].append((place, need))
        trial = self._trial
        total = 0
        for foot in _FEET:
            windows = []
            for letter in foot:
                track = tracks[letter]
                leave = trial.leave[letter] if trial.leave and high is None else None
                entry = _first(track, leave)
                if not low and trial.entry is not None:
                    entry = trial.entry[letter]
                windows += find_windows(letter, track, trial.line, self._moments, entry, leave)
            points = self._solvers[foot].points(windows)
            if points is None:
                return _INFINITE
            total += points
        return total


def _first(track: Sequence[tuple[int, Need]], leave: Position | None) -> Position:
    if track:
        return track[0][1].position
    return leave if leave is not None else Position.NATURAL


_INFINITE = 1 << 60

_FEET = tuple(
    tuple(letter for letter in LETTERS if letter.foot is foot)
    for foot in (LETTERS[0].foot, LETTERS[-1].foot)
)
