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
from functools import partial
from itertools import count

from pedalsetter.analysis.planning.effort import Effort
from pedalsetter.analysis.planning.exactly import Exact
from pedalsetter.analysis.planning.meetings import Apart, Meetings
from pedalsetter.analysis.planning.search import OutOfEffortError
from pedalsetter.analysis.planning.sounded import INFINITE
from pedalsetter.analysis.planning.struck import Struck
from pedalsetter.analysis.planning.teams import Found, Solution, Team, made

__all__ = ["Solver"]

_NEAR = 8
"""Where less than such a part of the cost is open, three tenths of the effort go to a proof at
once; elsewhere eight tenths go to wider beams first."""

_VERY_NEAR = 100
"""Where less than such a part is open, all of it goes to the proof."""

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


_Branch = tuple[int, int, tuple[tuple[int, tuple[int, ...]], ...], dict[tuple[int, int], int]]
"""What is decided: (its bound, a number, places with the answers left there, the shares)."""


class Solver(Meetings):
    """Searches one part; what it knows is kept, so that more effort goes on from there."""

    def solve(self, effort: Effort) -> Solution:
        """The best plan found with an effort.

        Raises:
            KeyboardInterrupt: before there is a plan at all, or if the effort does not yield to it.
        """
        self._effort = effort.labels(len(self._form.ends))
        later = 0
        try:
            self._go(self._balance, self._easily, self._beams(0))
            if self._known - self._bound < self._known // _NEAR:
                if self._known - self._bound > self._known // _VERY_NEAR:
                    later, self._effort = self._effort * 7 // 10, self._effort * 3 // 10
                self._go(self._prove)
            later += max(self._effort, 0)
            self._effort = later * 8 // 10
            self._go(self._beams(1), self._beams(2))
            self._effort = max(self._effort, 0) + later - later * 8 // 10
            self._go(self._prove)
        except KeyboardInterrupt:
            if self._plan is None or not effort.yields:
                raise
            self._interrupted = True
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
        found: list[Found] = []
        for team in self._teams:
            try:
                one = self._exactly(team, INFINITE, near=True)
            except OutOfEffortError:
                return
            if one is None:
                return
            found.append(one)
        answers, apart = self._meet(found)
        if not apart:
            points = sum(one.points for one in found) + self._notes.silent
            self._keep(points, found, answers)
            self._bound = points

    def _meetings(self, beam: int) -> None:
        """Let the feet meet some times, each searched by a beam.

        One that could not come to its end is not begun.
        """
        if self._plan is not None and self._effort < self.least_effort(beam):
            return
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
            last = meeting + 1 == _MEETINGS[beam] or self._effort <= 0
            if last or not self.few(found, apart):
                self._follow(found, beam)
                if self._plan is None:
                    self._obey(found, beam)
            if last or self._bound >= self._known or self._effort <= 0:
                return
            self._shift(found, apart, self._known - bound)

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
                    self.restore(place, before)
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
        return [(place, self.decide(place, answers)) for place, answers in decisions]

    def _split(self, apart: Apart) -> list[tuple[int, tuple[int, ...]]]:
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
    ) -> tuple[int, dict[tuple[int, int], int], list[Apart]]:
        """Let the feet, each searched exactly, agree as far as they do.

        Returns the bound of what is decided, the shares that it was found with, and the notes about
        which they differ. With ``whole`` nothing is decided, and the bound is that of all plans.
        """
        best, kept, where = floor, self._notes.shares(), []
        idle = 0
        for meeting in range(meetings):
            found: list[Found] = []
            lower = [self.least(team) for team in self._teams]
            silent = self._notes.silent
            for at, team in enumerate(self._teams):
                others = silent + sum(lower) - lower[at]
                exact = self._exactly(team, self._known - others, others=others if whole else 0)
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
            if meeting % 3 == 0 and not (meeting < 2 and self.few(found, apart)):
                self._follow(found, 1)
            if idle >= _IDLE:
                break
            self._shift(found, apart, max(self._known - bound, 1))
        return best, kept, where

    def _exactly(
        self, team: Team, most: int, *, others: int = 0, near: bool = False
    ) -> Found | None:
        """The best way of a team, None if it costs ``most`` points or more.

        If the effort does not suffice, what is known by then bounds all plans, of which
        ``others`` are the least points that are not this team's (0 if not of all plans). With
        ``near`` little effort is made, and low ranks alone are looked for.
        """
        search = self.search(team, self.told(team)[0])
        places, least = len(self._form.ends), self.least(team)
        letters = [self.letter(number) for number in team.letters]
        exact = Exact(search, letters, self.starts(team), places)
        try:
            label = exact.best(most - least, _EASY * places if near else self._effort, near=near)
        except OutOfEffortError:
            if others:
                self._bound = max(self._bound, min(least + exact.least + others, self._known))
            raise
        finally:
            self._effort -= exact.spent
        if label is None:
            return None
        return made(least + label.rank, least + label.rank, search, label)
