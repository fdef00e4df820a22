"""Which string sounds each note, where the written one gives a foot too little time.

A respelling is dear (:attr:`Weights.respelled`), so it can only pay where a change is hurried,
impossible or made under a sounding note. There the notes on both sides of the change are tried on
their equivalents, alone and together with the notes around them that want the same position, and
what lowers the cost of the whole is kept, until nothing does.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from pedalsetter.analysis.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.needs import Need
from pedalsetter.analysis.planning.optimum import Solver, essence
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.variants import LetterLine
from pedalsetter.analysis.planning.windows import Line, Window, lay_tracks

__all__ = ["Trial", "better_answers"]

_LONGEST_RUN = 6
"""Moments that are respelled together at most: more would cost more than they could save."""

_MOST_VARIANTS = 12
"""Ways to answer one moment, or one run of moments, that are tried."""

_NEAR = 4
"""Moments around a change whose answers are tried together."""

_MOST_COMBINED = 81

_FAR = 24
"""Moments beyond which a new answer no longer bears on a change."""

_ROUNDS = 8

_LEAST_EFFORT = 300
_EFFORT_PER_MOMENT = 2
"""Variants priced in full at most; music that needs more of them is not playable anyway."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One line with everything that pricing its variants takes."""

    line: Line
    prices: Prices
    entry: Mapping[Letter, Position] | None
    """None where the pedals are set afresh, and so as the first notes want them."""
    leave: Mapping[Letter, Position] | None
    """None where nothing follows."""
    feet: Sequence[tuple[Letter, ...]]
    """The letters that each foot works."""


def better_answers(trial: Trial, demands: Demands, moments: Moments) -> dict[int, Answer]:
    """Return other answers for some moments of a line that lower its cost; empty if none do."""
    return _Search(trial, demands, moments).run()


class _Search:
    def __init__(self, trial: Trial, demands: Demands, moments: Moments) -> None:
        self._trial = trial
        self._demands = demands
        self._moments = moments
        self._weights = trial.prices.weights
        self._solvers = {foot: Solver(trial.prices) for foot in trial.feet}
        self._place_of = {moment: place for place, moment in enumerate(trial.line.moments)}
        tracks = lay_tracks(trial.line, demands)
        self._lines = {
            letter: LetterLine(
                letter,
                tracks[letter],
                trial.line,
                moments,
                trial.entry[letter] if trial.entry is not None else None,
                trial.leave[letter] if trial.leave is not None else None,
            )
            for letter in LETTERS
        }
        self._answers: dict[int, Answer] = {}
        self._tried: dict[tuple[object, ...], int] = {}
        self._moved: list[int] = []
        self._effort = _LEAST_EFFORT + _EFFORT_PER_MOMENT * len(trial.line.moments)

    def run(self) -> dict[int, Answer]:
        if not all(self._base(foot) for foot in self._trial.feet):
            return {}
        for _ in range(_ROUNDS):
            improved = False
            for moment in self._undecided():
                if self._keep_best({moment: answer} for answer in self._as_cheap(moment)):
                    improved = True
            for window in self._troubles():
                # An earlier gain may have done away with this change.
                held = self._lines[window.letter].holds(window)
                if (
                    held
                    and self._worth_trying(window)
                    and self._keep_best(self._affordable(window))
                ):
                    improved = True
            if not improved:
                break
        return self._answers

    def _base(self, foot: tuple[Letter, ...]) -> bool:
        windows = [one for letter in foot for one in self._lines[letter].windows]
        return self._solvers[foot].settle(windows)

    def _troubles(self) -> list[Window]:
        """Changes that are hurried or worse, the gravest first."""
        prices = self._trial.prices
        found: list[tuple[int, int, Window]] = []
        for foot in self._trial.feet:
            windows = [one for letter in foot for one in self._lines[letter].windows]
            groups = self._solvers[foot].schedule(windows).groups
            blame: dict[Window, int] = {}
            last: int | None = None
            earlier: tuple[Window, ...] = ()
            for place, sharing in groups:
                turns = prices.turns(sharing, place, last)
                shared = prices.sharing(sharing, place, turns)
                for window in sharing:
                    haste, under, _ = prices.sound(window, prices.time(place))
                    blame[window] = haste + under + shared
                hasty = prices.hurry(sharing, place, turns, last)
                if hasty:
                    blame[sharing[0]] += hasty
                    blame[earlier[-1]] += hasty
                last, earlier = prices.end(sharing, place), sharing
            found += [(-points, window.last, window) for window, points in blame.items() if points]
        found.sort(key=lambda one: (one[0], one[1], one[2].letter.index))
        return [window for _, _, window in found]

    def _keep_best(self, variants: Iterable[dict[int, Answer]]) -> bool:
        """Try some variants and keep the best, if it lowers the cost."""
        best: tuple[int, dict[int, Answer]] | None = None
        for variant in variants:
            enough = best[0] if best is not None else 0
            gain = self._gain(variant, enough)
            if gain > enough:
                best = (gain, variant)
        if best is None:
            return False
        self._take(best[1])
        return True

    def _worth_trying(self, window: Window) -> bool:
        """Whether something near a change has changed since nothing was found for it."""
        key = essence(window)
        since = self._tried.get(key, 0)
        untried = key not in self._tried
        self._tried[key] = len(self._moved)
        return untried or any(
            window.first - _FAR < place < window.last + _FAR for place in self._moved[since:]
        )

    def _affordable(self, window: Window) -> Iterator[dict[int, Answer]]:
        """Variants around a change that respell no more than could be won there."""
        foot = next(foot for foot in self._trial.feet if window.letter in foot)
        most = self._solvers[foot].around(window) + 3 * self._weights.change
        for variant in self._variants(window):
            points = sum(
                chord.respelled(answer) - chord.respelled(self._answer(moment))
                for moment, answer in variant.items()
                for chord in (self._demands.chords[moment][0],)
            )
            if points * self._weights.respelled < most:
                yield variant

    def _undecided(self) -> list[int]:
        """Moments that another answer suits as well: double alterations, notes respelled anyway."""
        return [
            moment
            for moment in self._trial.line.moments
            if moment in self._demands.chords
            and (
                self._demands.chords[moment][0].respelled(self._answer(moment))
                or any(
                    wish.free and len(wish.choices) > 1
                    for wish, _ in self._demands.chords[moment][0].groups
                )
            )
        ]

    def _answer(self, moment: int) -> Answer:
        return self._answers.get(moment, self._demands.chords[moment][1])

    def _as_cheap(self, moment: int) -> list[Answer]:
        """Other answers of a moment that respell no more notes."""
        chord, now = self._demands.chords[moment][0], self._answer(moment)
        if chord.lost(now):
            return []
        most = chord.respelled(now)
        return [
            answer
            for answer in chord.answers()
            if answer != now and chord.respelled(answer) <= most
        ][:_MOST_VARIANTS]

    def _near(self, window: Window) -> list[int]:
        """The moments nearest to a change that have more than one answer."""
        moments = self._trial.line.moments
        low, high = window.first - 1, min(window.last, len(moments) - 1)
        found: list[int] = []
        for distance in range(_NEAR):
            for place in (high - distance, low + distance, high + distance, low - distance):
                if not 0 <= place < len(moments) or moments[place] in found:
                    continue
                chord = self._demands.chords.get(moments[place])
                if chord is not None and len(chord[0].answers()) > 1:
                    found.append(moments[place])
        return found[:_NEAR]

    def _variants(self, window: Window) -> Iterator[dict[int, Answer]]:
        """Other answers for the notes before and after a change."""
        letter = window.letter
        for run in (self._run_after(window), self._run_before(window)):
            for count in sorted({1, len(run)} - {0}):
                ways = [self._without(moment, letter) for moment in run[:count]]
                if not all(ways):
                    continue
                for number, picks in enumerate(product(*ways)):
                    if number == _MOST_VARIANTS:
                        break
                    yield dict(zip(run, picks, strict=False))
        near = self._near(window)
        ways = []
        for moment in near:
            chord, now = self._demands.chords[moment][0], self._answer(moment)
            if chord.lost(now):
                ways.append([now])
                continue
            others = sorted(chord.answers(), key=lambda one: (one != now, chord.respelled(one)))
            ways.append(others[:3])
        picked = [dict(zip(near, picks, strict=True)) for picks in product(*ways)]
        # The fewest moments answered anew come first.
        for variant in picked:
            for moment in near:
                if variant[moment] == self._answer(moment):
                    del variant[moment]
        picked.sort(key=len)
        yield from (variant for variant in picked[:_MOST_COMBINED] if variant)

    def _run_after(self, window: Window) -> list[int]:
        """Moments from the need on that want the new position, until another is wanted."""
        places = self._lines[window.letter].places
        first = bisect_left(places, window.last)
        return self._run(places[first : first + _LONGEST_RUN + 1], window.letter, window.new)

    def _run_before(self, window: Window) -> list[int]:
        """Moments before the change that want the old position, the last one first."""
        places = self._lines[window.letter].places
        end = bisect_left(places, window.first)
        last = places[max(0, end - _LONGEST_RUN - 1) : end]
        return self._run(last[::-1], window.letter, window.old)

    def _run(self, places: Sequence[int], letter: Letter, position: Position) -> list[int]:
        run = []
        for place in places:
            if self._lines[letter].need(place).position is not position:
                break
            run.append(self._trial.line.moments[place])
            if len(run) > _LONGEST_RUN:
                return run[:1]
        return run

    def _without(self, moment: int, letter: Letter) -> list[Answer]:
        """Answers of a moment that do not want the letter as it is wanted now, cheapest first."""
        if moment not in self._demands.chords:
            return []
        chord, answer = self._demands.chords[moment][0], self._answer(moment)
        if chord.lost(answer):
            return []
        now = chord.needs(answer)[letter].position
        found = [
            other
            for other in chord.answers()
            if other != answer
            and all(choice[0] is not letter or choice[1] is not now for choice in other if choice)
        ]
        found.sort(key=chord.respelled)
        return found[:_MOST_VARIANTS]

    def _changed(
        self, variant: Mapping[int, Answer]
    ) -> tuple[int, dict[Letter, dict[int, Need | None]]]:
        """(points of respelling gained or lost, the needs that a variant changes)."""
        points = 0
        changed: dict[Letter, dict[int, Need | None]] = {}
        for moment, answer in variant.items():
            chord, before = self._demands.chords[moment][0], self._answer(moment)
            points += self._weights.respelled * (chord.respelled(answer) - chord.respelled(before))
            place = self._place_of[moment]
            old, new = chord.needs(before), chord.needs(answer)
            for letter in old.keys() | new.keys():
                if old.get(letter) != new.get(letter):
                    changed.setdefault(letter, {})[place] = new.get(letter)
        return points, changed

    def _gain(self, variant: Mapping[int, Answer], enough: int) -> int:
        """Points saved by a variant; 0 if they are not more than ``enough``."""
        if self._effort <= 0:
            return 0
        points, changed = self._changed(variant)
        differences = []
        most = 0
        for foot in self._trial.feet:
            removed: list[Window] = []
            added: list[Window] = []
            for letter in foot:
                if letter in changed:
                    gone, come = self._lines[letter].vary(changed[letter])
                    removed += gone
                    added += come
            if removed or added:
                differences.append((self._solvers[foot], removed, added))
                most += self._solvers[foot].headroom(removed, added)
        if most <= points + enough:
            return 0
        self._effort -= 1
        gain = -points
        for solver, removed, added in differences:
            more = solver.difference(removed, added)
            if more is None:
                return 0
            gain -= more
        return gain

    def _take(self, variant: Mapping[int, Answer]) -> None:
        _, changed = self._changed(variant)
        for foot in self._trial.feet:
            removed: list[Window] = []
            added: list[Window] = []
            for letter in foot:
                if letter in changed:
                    line = self._lines[letter]
                    gone, come = line.vary(changed[letter])
                    line.change(changed[letter], gone, come)
                    removed += gone
                    added += come
            if removed or added:
                every = [one for letter in foot for one in self._lines[letter].windows]
                self._solvers[foot].replace(removed, added, every)
        self._answers.update(variant)
        self._moved += [self._place_of[moment] for moment in variant]
