"""Whether other strings could pay at all: a bound that needs no search.

What other strings can save is bounded run by run. A *run* is a stretch of needs of one letter in
one position, between two of its changes. Only if every note of a run is respelled do its changes
vanish; if some notes at its edge are, its changes can at most become as cheap as a change can be.
Where that is never worth the price of the respelling, the written strings are the best.
"""

from __future__ import annotations

from dataclasses import dataclass

from pedalsetter.analysis.harp import LETTERS, Letter
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.equivalents import Trial
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.optimum import Solver
from pedalsetter.analysis.planning.variants import LetterLine
from pedalsetter.analysis.planning.windows import Window, lay_tracks

__all__ = ["nothing_pays"]


def nothing_pays(trial: Trial, demands: Demands, moments: Moments) -> bool:
    """Whether no other strings can lower the cost of a line that begins and ends freely.

    True is a proof; False means only that this bound cannot tell. Linear in the number of needs.
    """
    line = _BoundedLine(trial, demands, moments)
    return not line.hopeless and not any(
        run.can_pay() for letter in LETTERS for run in line.runs(letter)
    )


@dataclass(frozen=True, slots=True)
class _Run:
    """One letter in one position, with what its two changes cost and its notes cost to respell."""

    changes: int
    """Points that vanish with both its changes."""
    relief_before: int
    """Points that the change before it could save if its first notes were respelled."""
    relief_after: int
    whole: int | None
    """Points to respell all its notes; None if one of them has no other string."""
    edge_before: int | None
    """Points to respell the notes of its first moment."""
    edge_after: int | None
    excused: tuple[int, ...]
    """For each of its moments what other letters' changes might gain by a new need there."""

    def can_pay(self) -> bool:
        """Whether respelling it, whole or in part, could save more than it costs."""
        if self.whole is not None:
            saved = self.changes + sum(self.excused)
            if saved > self.whole:
                return True
        for relief, edge, excused in (
            (self.relief_before, self.edge_before, self.excused[0]),
            (self.relief_after, self.edge_after, self.excused[-1]),
        ):
            if edge is not None and relief and relief + excused > edge:
                return True
        return False


class _BoundedLine:
    def __init__(self, trial: Trial, demands: Demands, moments: Moments) -> None:
        self._trial = trial
        self._demands = demands
        self._weights = trial.prices.weights
        tracks = lay_tracks(trial.line, demands)
        self._letters = {
            letter: LetterLine(
                letter,
                tracks[letter],
                trial.line,
                moments,
                None,
                None,
            )
            for letter in LETTERS
        }
        self._price: dict[int, int] = {}
        self._relief: dict[int, int] = {}
        self._gains: dict[int, int] = {}
        self.hopeless = False
        """A change has no moment: then the bound does not hold."""
        for foot in trial.feet:
            solver = Solver(trial.prices)
            windows = [one for letter in foot for one in self._letters[letter].windows]
            if not solver.settle(windows):
                self.hopeless = True
                return
            own = {self._key(window): window for window in windows}
            for window, least, beyond in solver.shares():
                key = id(own[self._key(window)])
                self._relief[key] = least + beyond
                self._price[key] = trial.prices.fixed(window) + least + beyond
                waits = self._longest_wait(window, least)
                # Split in two by a new need, a wide change may come out of its haste.
                self._gains[key] = max(waits, beyond if window.notches == 2 else 0)

    @staticmethod
    def _key(window: Window) -> tuple[int, int, int]:
        return window.letter.index, window.first, window.last

    def _longest_wait(self, window: Window, least: int) -> int:
        """The most that being early can cost where the change is made at its least price."""
        longest = 0
        for place in range(window.last, window.first - 1, -1):
            early = self._trial.prices.early(window, place)
            if early > least:
                break
            longest = early
        return longest

    def _excused(self, place: int) -> int:
        """What changes of any letter that may be made around a place gain by a new need there."""
        gains = [0]
        for line in self._letters.values():
            window = line.around(place)
            if window is not None:
                gains.append(self._gains[id(window)])
        return max(gains)

    def runs(self, letter: Letter) -> list[_Run]:
        """Every run of the letter along the line."""
        line = self._letters[letter]
        starts = {window.last: window for window in line.windows}
        bounds = [*starts, *([] if not line.places else [line.places[0]])]
        begins = sorted({place for place in bounds if place < len(self._trial.line.moments)})
        found: list[_Run] = []
        places = line.places
        index = 0
        for number, begin in enumerate(begins):
            end = begins[number + 1] if number + 1 < len(begins) else None
            inside = []
            while index < len(places) and (end is None or places[index] < end):
                inside.append(places[index])
                index += 1
            if not inside:
                continue
            before = starts.get(begin)
            after = starts.get(end if end is not None else len(self._trial.line.moments))
            costs = [self._respelling(letter, place) for place in inside]
            known = [cost for cost in costs if cost is not None]
            around = [window for window in (before, after) if window is not None]
            found.append(
                _Run(
                    sum(self._price[id(window)] for window in around),
                    self._relief[id(before)] if before is not None else 0,
                    self._relief[id(after)] if after is not None else 0,
                    sum(known) if len(known) == len(costs) else None,
                    costs[0],
                    costs[-1],
                    tuple(map(self._excused, inside)),
                )
            )
        return found

    def _respelling(self, letter: Letter, place: int) -> int | None:
        """Points to free the letter at a place at least; None if that cannot be."""
        known = self._demands.chords.get(self._trial.line.moments[place])
        if known is None:
            return None
        chord, answer = known
        lost = chord.lost(answer)
        if lost:
            # Which notes are lost is open too, so any other answer may come free.
            return 0 if len(chord.answers(lost)) > 1 else None
        position = dict(one for one in answer if one is not None)[letter]
        others = [other for other in chord.answers() if (letter, position) not in other]
        if not others:
            return None
        points = min(map(chord.respelled, others)) - chord.respelled(answer)
        return max(0, points) * self._weights.respelled
