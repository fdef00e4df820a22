"""The best strings for all notes, together with the moves of both feet and the settings at repeats.

The feet share nothing but the notes that a letter of either could sound (D♯/E♭ and A♯/B♭). With the
prices of those shared out (:mod:`pedalsetter.analysis.planning.shared_notes`) each foot is solved
for itself, exactly; what the two cost together is a lower bound of every plan. Where they answer a
note differently, the shares are shifted and both are solved again. As soon as they agree the bound
is reached, and the plan is the optimum.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pedalsetter.analysis.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.foot_programme import (
    FootProgramme,
    Found,
    Option,
    OutOfEffortError,
)
from pedalsetter.analysis.planning.junction_settings import Ends, StandChoice, open_stands
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.planning.letter_bound import FAR, UNSET, LetterBound
from pedalsetter.analysis.planning.moments import Moments
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.shared_notes import SharedNotes
from pedalsetter.analysis.planning.windows import Line

__all__ = ["BestStrings", "Whole", "best_strings"]

Stand = tuple[int, ...]

_ROUNDS = 8
"""How often the shares of the letters are balanced before the feet are solved."""

_MEETINGS = 10
"""How often the shares of the feet are shifted until they agree."""

_WIDTH = 300
_MOST = 40
"""The first look at a foot: labels of each moment, and how many points above the best."""

_LEAST_EFFORT = 4_000
_EFFORT_PER_MOMENT = 60
"""Labels followed at most; music that needs more has passages that no harpist can play."""

_MERGED = 12
"""Rises of the rank that are fewer moments apart belong to one passage."""

_RUN_IN = 10
"""Moments before a passage from which on it is looked at by itself."""


@dataclass(frozen=True, slots=True)
class Whole:
    """A part in stretches, with everything that strings and settings depend on."""

    route: Route
    lines: Sequence[Line]
    prices: Sequence[Prices]
    demands: Demands
    moments: Moments
    feet: Sequence[tuple[Letter, ...]]
    home: Sequence[Mapping[Letter, Position]]
    """For each junction where letters without a need stand."""
    fixed: Mapping[int, Mapping[Letter, Position]]
    """Positions at junctions that the musician has decided."""


@dataclass(frozen=True, slots=True)
class BestStrings:
    """The best strings found, and what no plan can cost less than."""

    answers: Mapping[int, Answer]
    """For each moment with a choice its answer."""
    least: int | None
    """Points of the moves and of the respelled notes of the best plan; None if unknown."""


def best_strings(whole: Whole) -> BestStrings:
    """Return the best strings of all notes, with a proof where it is found."""
    return _Search(whole).run()


@dataclass(slots=True)
class _Solved:
    """One foot along one stretch between two settings."""

    points: int
    options: Mapping[int, int]
    exact: bool


@dataclass(slots=True)
class _Foot:
    letters: tuple[Letter, ...]
    options: list[list[list[Option]]] = field(default_factory=list)
    """By stretch and place."""
    meanings: list[list[list[set[int]]]] = field(default_factory=list)
    solved: dict[tuple[int, Stand | None, Stand | None], _Solved] = field(default_factory=dict)


class _Search:
    def __init__(self, whole: Whole) -> None:
        self._whole = whole
        self._notes = [
            SharedNotes(line, whole.demands, whole.moments, prices.weights)
            for line, prices in zip(whole.lines, whole.prices, strict=True)
        ]
        self._bounds: dict[tuple[int, Letter, int | None], LetterBound] = {}
        touching = [node for one in whole.route.stretches for node in (one.entry, one.exit)]
        self._afresh = {
            node
            for _, _, node in whole.route.openings
            if touching.count(node) == 1 and not whole.fixed.get(node)
        }
        self._effort = sum(
            _LEAST_EFFORT + _EFFORT_PER_MOMENT * len(line.moments) for line in whole.lines
        )

    def run(self) -> BestStrings:
        self._balance()
        answers: dict[int, Answer] = {}
        least: int | None = None
        try:
            for meeting in range(_MEETINGS):
                feet = [self._foot(letters) for letters in self._whole.feet]
                chosen = [self._settle(foot) for foot in feet]
                if any(one is None for one in chosen):
                    return BestStrings(answers, None)
                points = sum(one[0] for one in chosen if one is not None)
                exact = all(one[2] for one in chosen if one is not None)
                if exact:
                    least = max(points, least or 0)
                picks = [one[1] for one in chosen if one is not None]
                answers, apart = self._meet(feet, picks, meeting)
                if not apart:
                    break
        except OutOfEffortError:
            return BestStrings(answers, None)
        return BestStrings(answers, least)

    # Letters.

    def _bound(self, index: int, letter: Letter, leave: int | None) -> LetterBound:
        key = (index, letter, leave)
        if key not in self._bounds:
            asks = self._notes[index].asks(letter)
            self._bounds[key] = LetterBound(self._whole.prices[index], asks, leave)
        return self._bounds[key]

    def _balance(self) -> None:
        """Share out the prices of respelled notes so that the letters come near the whole."""
        for index, notes in enumerate(self._notes):
            if not notes.open:
                continue
            concerned = set(LETTERS)
            ways: dict[Letter, Mapping[int, tuple[int, int, tuple[int, ...], int]]] = {}
            for _ in range(_ROUNDS):
                for letter in LETTERS:
                    if letter in concerned:
                        self._bounds.pop((index, letter, None), None)
                        bound = self._bound(index, letter, None)
                        ways[letter] = bound.way((UNSET, -1, 0, FAR, FAR, FAR, -1, 0))
                concerned = notes.balance(ways)
                if not concerned:
                    break
        self._bounds.clear()

    # Feet.

    def _foot(self, letters: tuple[Letter, ...]) -> _Foot:
        foot = _Foot(letters)
        for notes in self._notes:
            options, meanings = notes.options(letters)
            foot.options.append(options)
            foot.meanings.append(meanings)
        return foot

    def _settle(self, foot: _Foot) -> tuple[int, list[Mapping[int, int]], bool] | None:
        """The best settings at the junctions: (points, options by stretch and place, exact)."""
        route = self._whole.route
        ends = [
            {
                letter: Ends.of(
                    [
                        (tuple(variant[0] for variant in variants), skip is None)
                        for _, variants, skip in self._bound(index, letter, None).asks
                    ]
                )
                for letter in foot.letters
            }
            for index in range(len(route.stretches))
        ]
        stands = open_stands(
            foot.letters, route, ends, self._whole.home, self._whole.fixed, self._afresh
        )

        def price(index: int, entry: tuple[Position, ...], leave: tuple[Position, ...] | None) -> int:
            key = self._key(index, entry, leave)
            if key in foot.solved:
                return foot.solved[key].points
            return self._least(foot, key)

        while True:
            chosen, proved = StandChoice(route, stands, price).best()
            keys = [
                self._key(
                    index,
                    chosen[stretch.entry],
                    None if stretch.exit in route.ends else chosen[stretch.exit],
                )
                for index, stretch in enumerate(route.stretches)
            ]
            unsolved = [key for key in keys if key not in foot.solved]
            if not unsolved:
                break
            for key in unsolved:
                solved = self._solve(foot, key)
                if solved is None:
                    return None
                foot.solved[key] = solved
        found = [foot.solved[key] for key in keys]
        return (
            sum(one.points for one in found),
            [one.options for one in found],
            proved and all(one.exact for one in found),
        )

    def _key(
        self, index: int, entry: Sequence[Position], leave: Sequence[Position] | None
    ) -> tuple[int, Stand | None, Stand | None]:
        afresh = self._whole.route.stretches[index].entry in self._afresh
        return (
            index,
            None if afresh else tuple(int(position) for position in entry),
            None if leave is None else tuple(int(position) for position in leave),
        )

    def _programme(
        self, foot: _Foot, key: tuple[int, Stand | None, Stand | None]
    ) -> FootProgramme:
        index, entry, leave = key
        bounds = [
            self._bound(index, letter, None if leave is None else leave[number])
            for number, letter in enumerate(foot.letters)
        ]
        options = foot.options[index]
        if leave is not None:
            last = tuple((position, 0, (), 0) for position in leave)
            options = [*options, [(0, last)]]
        return FootProgramme(self._whole.prices[index], bounds, options, entry, self._effort)

    def _least(self, foot: _Foot, key: tuple[int, Stand | None, Stand | None]) -> int:
        """What the letters cost by themselves."""
        return self._programme(foot, key).least

    def _solve(
        self, foot: _Foot, key: tuple[int, Stand | None, Stand | None]
    ) -> _Solved | None:
        programme = self._programme(foot, key)
        least = programme.least
        found = programme.narrowly(_WIDTH, _MOST)
        exact = found is not None and found.missed >= found.rank
        if found is None:
            return None
        if not exact:
            places = len(programme.options)
            better = programme.within(_limits(programme, found, places))
            exact = True
            found = better if better is not None else found
        self._effort = programme.effort
        return _Solved(least + found.rank, found.options, exact)

    # Both.

    def _meet(
        self, feet: Sequence[_Foot], picks: Sequence[list[Mapping[int, int]]], meeting: int
    ) -> tuple[dict[int, Answer], bool]:
        """The answers that both feet give; where they differ, their shares are shifted."""
        answers: dict[int, Answer] = {}
        apart = False
        concerned: set[tuple[int, Letter]] = set()
        for index, (notes, line) in enumerate(zip(self._notes, self._whole.lines, strict=True)):
            for place, moment in enumerate(line.moments):
                ways = notes.answers(place)
                if not ways:
                    continue
                meant = [
                    foot.meanings[index][place][picked[index].get(place, 0)]
                    for foot, picked in zip(feet, picks, strict=True)
                ]
                both = set.intersection(*meant)
                if both:
                    answers[moment] = ways[notes.cheapest(place, both)]
                    continue
                apart = True
                answers[moment] = ways[0]
                step = max(20, 160 >> meeting // 2)
                letters = notes.reconcile(place, [foot.letters for foot in feet], meant, step)
                concerned |= {(index, letter) for letter in letters}
        for key in [key for key in self._bounds if key[:2] in concerned]:
            del self._bounds[key]
        return answers, apart


def _limits(programme: FootProgramme, found: Found, places: int) -> list[int]:
    """How high the rank of a label may be after each place if it is to beat the way ``found``.

    What the rank must rise by in later passages, from wherever they are entered, is taken off.
    """
    passages = _passages(found)
    unavoidable: list[tuple[int, int]] = []
    for number, (begin, end, rise) in enumerate(passages):
        after = passages[number - 1][1] + 1 if number else 0
        start = max(after, begin - _RUN_IN)
        unavoidable.append((start, programme.unavoidable(start, end + 1, rise)))
    limits = [found.rank] * places
    rest = 0
    stop = places
    for start, rise in reversed(unavoidable):
        for place in range(start, stop):
            limits[place] -= rest
        rest += rise
        stop = start
    for place in range(stop):
        limits[place] -= rest
    return limits


def _passages(found: Found) -> list[tuple[int, int, int]]:
    """Where the rank of a way rises: (first place, last place, by how much)."""
    passages: list[tuple[int, int, int]] = []
    before = 0
    for place, rank in found.trace:
        rise, before = rank - before, rank
        if not rise:
            continue
        if passages and place - passages[-1][1] <= _MERGED:
            begin, _, known = passages[-1]
            passages[-1] = (begin, place, known + rise)
        else:
            passages.append((place, place, rise))
    return passages
