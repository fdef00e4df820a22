"""The best plan of all: strings, moves, openings and settings at repeats, chosen together.

The feet share nothing but the notes that a letter of either could sound (D♯/E♭ and A♯/B♭), unless
they may cross. With the prices of those notes shared out each foot is searched for itself; what
the two cost together is a lower bound of every plan. Where they answer a note differently, one is
made to follow the other, which gives a plan; then the shares are shifted and both are searched
again. A beam serves first, wider from round to round; what it leaves out bounds what it may have
missed. Where that proves nothing, the search is followed exactly, within the plan that is known.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import count
from typing import Any

from pedalsetter.analysis.harp import LETTERS
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.dominance import Label
from pedalsetter.analysis.planning.exactly import Exact
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.letter import Letter
from pedalsetter.analysis.planning.notes import Notes, Option, Struck
from pedalsetter.analysis.planning.prices import INFINITE, MOVED, Prices
from pedalsetter.analysis.planning.search import OutOfEffortError, Search
from pedalsetter.analysis.planning.two_pedals import are_neighbours
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Solution", "Solver", "Step", "Team"]

_BEAMS = ((250, 8), (800, 32), (3000, 100))
"""Points and labels that a beam keeps at each place, from round to round."""

_NEAR = 8
"""Where less than such a part of the cost is open, three tenths of the effort go to a proof at
once; elsewhere eight tenths go to wider beams first."""

_EASY = 12
"""Labels a place for music that asks little of the feet."""

_BALANCES = 6
"""How often the shares of the letters are balanced before the feet are searched."""

_MEETINGS = (2, 3, 3)
"""How often the feet meet in each round of beams."""

_PROVING = 24
"""How often they meet where a proof is wanted, and in each branch a sixth of that."""

_IDLE = 4
"""Fewer, if the bound has not risen in so many meetings."""


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


@dataclass(frozen=True, slots=True)
class _Found:
    """The best way of a team that was found, and what none costs less than."""

    points: int
    bound: int
    options: Mapping[int, int]
    """For each place with several options the number of the one taken."""
    done: tuple[tuple[int, int, tuple[Any, ...]], ...]
    """What is done, as :meth:`Search.trace` tells it."""


_Branch = tuple[int, int, tuple[tuple[int, tuple[int, ...]], ...], dict[tuple[int, int], int]]
"""What is decided: (its bound, a number, places with the answers left there, the shares)."""

_Apart = tuple[int, int, bool]
"""A note that the feet differ about: place, number, and whether both pass it by."""


class Solver:
    """Searches one part; what it knows is kept, so that more effort goes on from there."""

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
        self._found: dict[tuple[Team, int], _Found] = {}
        self._known = INFINITE
        self._bound = 0
        self._plan: tuple[list[_Found], dict[int, Answer]] | None = None
        self._effort = 0

    # Letters and teams.

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
                self._told.pop(team, None)
                for key in [key for key in self._found if key[0] == team]:
                    del self._found[key]

    def told(self, team: Team) -> tuple[list[list[Option]], list[list[list[int]]]]:
        """A team's options by place, and the answers that each stands for."""
        if team not in self._told:
            self._told[team] = self._notes.options(team.letters)
        return self._told[team]

    def search(self, team: Team, options: list[list[Option]]) -> Search:
        """A search of a team that answers the notes by some options."""
        decided = {
            (place, at)
            for at, number in enumerate(team.letters)
            for place, variants, _ in self._notes.asks(number)
            if any(variant.kind & MOVED for variant in variants)
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
            _pulse,
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

    # The rounds.

    def solve(self, effort: int) -> Solution:
        """The best plan found with so many labels, as :class:`Effort` counts them.

        Raises:
            KeyboardInterrupt: only before there is a plan at all.
        """
        self._effort = effort
        later = 0
        try:
            self._go(self._balance, self._easily, self._beams(0))
            if self._known - self._bound < self._known // _NEAR:
                later, self._effort = self._effort * 7 // 10, self._effort * 3 // 10
                self._go(self._prove)
            later += max(self._effort, 0)
            self._effort = later * 8 // 10
            self._go(self._beams(1), self._beams(2))
            self._effort = max(self._effort, 0) + later - later * 8 // 10
            self._go(self._prove)
        except KeyboardInterrupt:
            if self._plan is None:
                raise
        return self._solution()

    def _go(self, *steps: Callable[[], None]) -> None:
        """Take one step after the other until the plan is proved or the effort used up."""
        with suppress(OutOfEffortError):
            for step in steps:
                if self._known > self._bound and (self._effort > 0 or self._plan is None):
                    step()

    def _beams(self, beam: int) -> Callable[[], None]:
        return partial(self._meetings, beam)

    def _balance(self) -> None:
        """Share out the prices of respelled notes so that the letters come near the whole."""
        if not self._notes.open:
            return
        concerned = set(range(7))
        ways: dict[int, Mapping[int, int]] = {}
        for _ in range(_BALANCES):
            for number in concerned:
                ways[number] = self.letter(number).way()
            concerned = self._notes.balance(ways)
            if not concerned:
                return
            self.forget(concerned)

    def _easily(self) -> None:
        """Prove music that asks little of the feet at once, without any beam.

        Limits a few changes above the letters by themselves leave few labels. Without this such
        music takes half as long again (0.25 instead of 0.15 ms an onset for BWV 846).
        """
        found: list[_Found] = []
        for team in self._teams:
            search = self.search(team, self.told(team)[0])
            exact = self._exact(team, search)
            try:
                label = exact.best(INFINITE, _EASY * len(self._form.ends), near=True)
            except OutOfEffortError:
                return
            finally:
                self._effort -= exact.spent
            if label is None:
                return
            points = self.least(team) + label.rank
            found.append(_made(points, points, search, label))
        answers, apart = self._meet(found)
        if not apart:
            points = sum(one.points for one in found) + self._notes.silent
            self._keep(points, found, answers)
            self._bound = points

    def _meetings(self, beam: int) -> None:
        """Let the feet meet some times, each searched by a beam."""
        for meeting in range(_MEETINGS[beam]):
            found = [self._beamed(team, beam) for team in self._teams]
            bound = sum(one.bound for one in found) + self._notes.silent
            self._bound = max(self._bound, min(bound, self._known))
            answers, apart = self._meet(found)
            points = sum(one.points for one in found) + self._notes.silent
            if not apart:
                self._keep(points, found, answers)
                return
            if self._bound >= self._known:
                return
            self._follow(found, beam)
            if self._plan is None:
                self._obey(found, beam)
            if self._bound >= self._known or self._effort <= 0:
                return
            if meeting + 1 < _MEETINGS[beam]:
                self._shift(apart, self._known - bound)

    def _beamed(self, team: Team, beam: int) -> _Found:
        key = (team, beam)
        if key not in self._found:
            found = self._run(team, self.told(team)[0], beam)
            assert found is not None  # noqa: S101 - whatever a letter misses is lost, not forbidden
            self._found[key] = found
        return self._found[key]

    def _run(self, team: Team, options: list[list[Option]], beam: int) -> _Found | None:
        search = self.search(team, options)
        least, end = self.least(team), len(self._form.ends)
        width, most = _BEAMS[beam]
        if self._plan is not None:
            search.effort = granted = max(self._effort, 0)
        else:
            granted = search.effort
        try:
            label = search.run(0, end, self.starts(team), None, width, most)
        finally:
            self._effort -= granted - search.effort
        if label is None:
            return None
        bound = least + min(label.rank, search.missed)
        return _made(least + label.rank, bound, search, label)

    def _meet(self, found: Sequence[_Found]) -> tuple[dict[int, Answer], list[_Apart]]:
        """The answers that all teams give, and the notes that they differ about."""
        answers: dict[int, Answer] = {}
        apart: list[_Apart] = []
        told = [self.told(team)[1] for team in self._teams]
        for place, ways in self._notes.every():
            if len(ways) == 1:
                answers[place] = ways[0]
                continue
            meant = [
                meanings[place][one.options.get(place, 0)]
                for meanings, one in zip(told, found, strict=True)
            ]
            both = set.intersection(*map(set, meant))
            if both:
                answers[place] = ways[self._notes.cheapest(place, both)]
                continue
            contested = self._notes.contested(place, [team.letters for team in self._teams], meant)
            apart += [(place, number, low) for number, low in contested.items()]
        return answers, apart

    def _follow(self, found: Sequence[_Found], beam: int) -> None:
        """Make a plan: one foot answers the notes that they differ about as the other one has."""
        for leader in range(len(found)):
            follower = 1 - leader
            _, meanings = self.told(self._teams[leader])
            theirs, their_meanings = self.told(self._teams[follower])
            allowed = list(theirs)
            kept: dict[int, list[int]] = {}
            for place, ways in self._notes.every():
                if len(ways) == 1:
                    continue
                own = set(meanings[place][found[leader].options.get(place, 0)])
                fits = [
                    number
                    for number, meant in enumerate(their_meanings[place])
                    if not own.isdisjoint(meant)
                ]
                if len(fits) < len(theirs[place]):
                    kept[place] = fits
                    allowed[place] = [theirs[place][number] for number in fits]
            other = self._run(self._teams[follower], allowed, beam)
            if other is None:
                # All ways that the beam kept had moved for a note that is now played otherwise.
                continue
            points = found[leader].points + other.points + self._notes.silent
            if points >= self._known:
                continue
            taken = {
                place: kept[place][number] if place in kept else number
                for place, number in other.options.items()
            }
            for place, fits in kept.items():
                taken.setdefault(place, fits[0])
            pair = [found[leader], replace(other, options=taken)]
            if leader:
                pair.reverse()
            told, apart = self._meet(pair)
            assert not apart  # noqa: S101 - the follower was given no other choice
            self._keep(points, pair, told)

    def _obey(self, found: Sequence[_Found], beam: int) -> None:
        """Make a plan in any case: all letters are asked anew, as the first foot has answered."""
        meanings = self.told(self._teams[0])[1]
        undo = []
        for place, ways in self._notes.every():
            own = meanings[place][found[0].options.get(place, 0)]
            if len(ways) > 1:
                before, concerned = self._notes.decide(place, own[:1])
                undo.append((place, before))
                self.forget(concerned)
        again = [self._beamed(team, beam) for team in self._teams]
        answers, _ = self._meet(again)
        self._keep(sum(one.points for one in again) + self._notes.silent, again, answers)
        for place, before in undo:
            self.forget(self._notes.restore(place, before))

    def _shift(self, apart: Sequence[_Apart], gap: int) -> None:
        """Shift the shares of the notes that the feet differ about.

        By so much that the feet would reach the plan that is known, ``gap`` points away, if they
        went on to differ (B. T. Polyak's step, from memory).
        """
        step = gap // max(1, len(apart))
        concerned: set[int] = set()
        for place, number, low in apart:
            concerned.update(self._notes.shift(place, number, low, step))
        self._notes.forget(concerned)
        self.forget(concerned)

    def _keep(self, points: int, found: Sequence[_Found], answers: Mapping[int, Answer]) -> None:
        if points < self._known:
            self._known = points
            self._plan = (list(found), dict(answers))

    # The proof.

    def _prove(self) -> None:
        """Branch and bound over the notes that the feet never agree about."""
        order = count()
        waiting: list[_Branch] = [(self._bound, next(order), (), self._notes.shares())]
        while waiting:
            bound, _, decisions, shares = heapq.heappop(waiting)
            if bound >= self._known:
                waiting = []
                break
            undo = self._decide(decisions, shares)
            meetings = _PROVING if not decisions else _PROVING // 6
            branches: list[tuple[tuple[int, tuple[int, ...]], ...]] = []
            try:
                bound, shares, apart = self._agree(meetings, bound, whole=not decisions)
                if bound < self._known and apart:
                    branches = [(*decisions, one) for one in self._split(apart[0])]
            finally:
                for place, before in reversed(undo):
                    self.forget(self._notes.restore(place, before))
            for branch in branches:
                heapq.heappush(waiting, (bound, next(order), branch, shares))
            least = min((one[0] for one in waiting), default=self._known)
            self._bound = max(self._bound, min(least, self._known))
        self._bound = self._known

    def _decide(
        self,
        decisions: Sequence[tuple[int, tuple[int, ...]]],
        shares: Mapping[tuple[int, int], int],
    ) -> list[tuple[int, Struck]]:
        """Make these decisions and shares the ones that hold; what :meth:`_prove` undoes."""
        self.forget(self._notes.share_out(shares))
        undo: list[tuple[int, Struck]] = []
        for place, answers in decisions:
            before, concerned = self._notes.decide(place, answers)
            undo.append((place, before))
            self.forget(concerned)
        return undo

    def _split(self, apart: _Apart) -> list[tuple[int, tuple[int, ...]]]:
        """The two ways to decide a note: for one of its letters, or not."""
        place, number, _ = apart
        letter = self._notes.letters_of(place, number)[0]
        ways = self._notes.answers(place)
        first = tuple(
            at
            for at, answer in enumerate(ways)
            if answer[number] is not None and answer[number][0].index == letter  # type: ignore[index]
        )
        rest = tuple(at for at in range(len(ways)) if at not in first)
        return [(place, one) for one in (first, rest) if one]

    def _agree(
        self, meetings: int, floor: int, *, whole: bool
    ) -> tuple[int, dict[tuple[int, int], int], list[_Apart]]:
        """Let the feet, each searched exactly, agree as far as they do.

        Returns the bound of what is decided, the shares that it was found with, and the notes about
        which they differ. With ``whole`` nothing is decided, and the bound is that of all plans.
        """
        best, kept, where = floor, self._notes.shares(), []
        idle = 0
        for meeting in range(meetings):
            found: list[_Found] = []
            lower = [self.least(team) for team in self._teams]
            silent = self._notes.silent
            for at, team in enumerate(self._teams):
                others = silent + sum(lower) - lower[at]
                exact = self._exactly(team, self._known - others, others if whole else 0)
                if exact is None:
                    return self._known, kept, []
                found.append(exact)
                lower[at] = exact.bound
            bound = sum(lower) + silent
            answers, apart = self._meet(found)
            idle = 0 if bound > best else idle + 1
            if bound > best or not meeting:
                best, kept, where = max(best, bound), self._notes.shares(), apart
            if whole:
                self._bound = max(self._bound, min(best, self._known))
            if not apart:
                self._keep(bound, found, answers)
                return bound, kept, []
            if best >= self._known:
                return best, kept, []
            if meeting % 3 == 0:
                self._follow(found, 1)
            if idle >= _IDLE:
                break
            self._shift(apart, max(self._known - bound, 1))
        return best, kept, where

    def _exactly(self, team: Team, most: int, others: int) -> _Found | None:
        """The best way of a team, None if it costs ``most`` points or more.

        If the effort does not suffice, what is known by then bounds all plans, of which
        ``others`` are the least points that are not this team's (0 if not of all plans).
        """
        search = self.search(team, self.told(team)[0])
        exact = self._exact(team, search)
        try:
            label = exact.best(most - self.least(team), self._effort)
        except OutOfEffortError:
            if others:
                bound = self.least(team) + exact.least + others
                self._bound = max(self._bound, min(bound, self._known))
            raise
        finally:
            self._effort -= exact.spent
        if label is None:
            return None
        points = self.least(team) + label.rank
        return _made(points, points, search, label)

    def _exact(self, team: Team, search: Search) -> Exact:
        letters = [self.letter(number) for number in team.letters]
        return Exact(search, letters, self.starts(team), len(self._form.ends))

    # What was found.

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
        return Solution(self._known, min(self._bound, self._known), answers, tuple(steps), begun)


def _pulse() -> None:
    """An interruption that is waiting is raised as this is called."""


def _made(points: int, bound: int, search: Search, label: Label) -> _Found:
    done = tuple(search.trace(label))
    return _Found(points, bound, {place: option for place, option, _ in done if option >= 0}, done)
