"""The feet as teams of letters, each searched for itself with the prices of notes shared out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pedalsetter.analysis.instrument.harp import LETTERS
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.dominance import Label
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.letter import Letter
from pedalsetter.analysis.planning.notes import Notes
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.search import Search
from pedalsetter.analysis.planning.sounded import INFINITE
from pedalsetter.analysis.planning.states import State
from pedalsetter.analysis.planning.struck import Option, Struck
from pedalsetter.analysis.planning.two_pedals import are_neighbours
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Found", "Solution", "Step", "Team", "Teams"]


@dataclass(frozen=True, slots=True)
class Team:
    """Letters that are searched together: those of one foot, or all where a foot may cross."""

    letters: tuple[int, ...]
    feet: tuple[tuple[int, ...], ...]
    """The letters of each foot, as places in ``letters``."""
    given: tuple[tuple[int, ...], ...]
    """Those of the other foot that each can cross for."""
    numbers: tuple[int, ...]
    """0 for the left foot, 1 for the right one."""


@dataclass(frozen=True, slots=True)
class Step:
    """One move of one pedal."""

    place: int
    foot: int
    letter: int
    new: int
    later: int
    """How many turns of the foot follow in the same gap."""
    crossed: bool


@dataclass(frozen=True, slots=True)
class Solution:
    """A plan as the search gives it."""

    points: int
    """All that it costs."""
    bound: int
    """No plan costs less."""
    answers: Mapping[int, Answer]
    """By place how its notes are answered."""
    steps: tuple[Step, ...]
    """In the order in which they are made, foot by foot."""
    begun: Mapping[tuple[int, int], int]
    """For each stretch and letter where the pedal stands at its beginning."""
    interrupted: bool


@dataclass(frozen=True, slots=True)
class Found:
    """The best way of a team that was found, and what none costs less than."""

    points: int
    bound: int
    options: Mapping[int, int]
    """For each place with several options the number of the one taken."""
    done: tuple[tuple[int, int, tuple[Any, ...]], ...]
    """What is done, as :meth:`Search.trace` tells it."""
    stations: Mapping[int, list[State]]
    """Where its letters stand after some places."""


class Teams:
    """What is known of each team while one part is searched, and the best plan so far."""

    def __init__(
        self,
        form: Form,
        prices: Prices,
        notes: Notes,
        weights: Weights,
        teams: Sequence[Team],
        candidates: Sequence[list[tuple[int, ...]]],
    ) -> None:
        """``candidates`` tell for each letter where it can stand at each junction."""
        self._form, self._prices, self._notes, self._weights = form, prices, notes, weights
        self._teams, self._candidates = teams, candidates
        self._letters: dict[int, Letter] = {}
        self._told: dict[Team, tuple[list[list[Option]], list[list[list[int]]]]] = {}
        self._found: dict[tuple[Team, int], Found] = {}
        self._known = INFINITE
        self._bound = 0
        self._plan: tuple[list[Found], dict[int, Answer]] | None = None
        self._effort = 0
        self._interrupted = False

    def letter(self, number: int) -> Letter:
        """One letter, as the notes ask for it now."""
        if number not in self._letters:
            self._letters[number] = Letter(
                self._prices, self._form, self._notes.asks(number), self._candidates[number]
            )
        return self._letters[number]

    def forget(self, letters: Sequence[int] | set[int]) -> None:
        """What is asked of some letters has changed."""
        for number in letters:
            self._letters.pop(number, None)
        for team in self._teams:
            if not set(team.letters).isdisjoint(letters):
                for key in [key for key in self._found if key[0] == team]:
                    del self._found[key]

    def decide(self, place: int, answers: Sequence[int]) -> Struck:
        """Leave only some answers of a place; what :meth:`restore` takes is returned."""
        before, concerned = self._notes.decide(place, answers)
        self._told.clear()
        self.forget(concerned)
        return before

    def restore(self, place: int, struck: Struck) -> None:
        """Undo a decision."""
        concerned = self._notes.restore(place, struck)
        self._told.clear()
        self.forget(concerned)

    def told(self, team: Team) -> tuple[list[list[Option]], list[list[list[int]]]]:
        """A team's options by place, and the answers that each stands for."""
        if team not in self._told:
            self._told[team] = self._notes.options(team.letters)
        return self._told[team]

    def search(self, team: Team, options: list[list[Option]]) -> Search:
        """A search of a team that answers the notes by some options."""
        decided = {
            (place, team.letters.index(letter))
            for place, letter in self._notes.moved
            if letter in team.letters
        }
        pairs = {
            (at, other)
            for at, one in enumerate(team.letters)
            for other, two in enumerate(team.letters)
            if are_neighbours(LETTERS[one], LETTERS[two])
        }
        return Search(
            self._prices,
            [self.letter(number) for number in team.letters],
            list(map(list, team.feet)),
            list(map(list, team.given)),
            options,
            self._weights,
            frozenset(pairs),
            frozenset(decided),
        )

    def least(self, team: Team) -> int:
        """Points of a team's letters by themselves."""
        return sum(
            min(node.rest for node in self.letter(number).starts()) for number in team.letters
        )

    def starts(self, team: Team) -> list[tuple[int, list[Any]]]:
        """The ranks and nodes that a team can begin with."""
        ways: list[tuple[int, list[Any]]] = [(-self.least(team), [])]
        for number in team.letters:
            nodes = self.letter(number).starts()
            ways = [(rank + node.rest, [*way, node]) for rank, way in ways for node in nodes]
        return ways

    def _keep(self, points: int, found: Sequence[Found], answers: Mapping[int, Answer]) -> None:
        if points < self._known:
            self._known = points
            self._plan = (list(found), dict(answers))

    def _solution(self) -> Solution:
        assert self._plan is not None  # noqa: S101 - the first beam gives one
        found, answers = self._plan
        steps: list[Step] = []
        begun: dict[tuple[int, int], int] = {}
        for team, one in zip(self._teams, found, strict=True):
            for place, option, told in one.done:
                if option == -2:
                    stretch = self._form.begins.index(place)
                    for letter, position in zip(team.letters, told, strict=True):
                        begun[stretch, letter] = position
                    continue
                for foot, how in zip(team.numbers, told, strict=False):
                    steps.extend(
                        Step(place, foot, team.letters[at], new, later, crossed)
                        for at, new, later, crossed in how
                    )
        return Solution(
            self._known,
            min(self._bound, self._known),
            answers,
            tuple(steps),
            begun,
            self._interrupted,
        )


def made(points: int, bound: int, search: Search, label: Label) -> Found:
    """What a label at the end comes to."""
    done = tuple(search.trace(label))
    options = {place: option for place, option, _ in done if option >= 0}
    return Found(points, bound, options, done, search.stations(label))
