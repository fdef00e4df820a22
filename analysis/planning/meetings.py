"""Meetings of the feet: where they answer a note differently, and how they are brought to agree.

Each foot is searched by a beam. One is made to follow the other, which gives a plan; the shares of
the notes that they differ about are shifted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.notes import Option
from pedalsetter.analysis.planning.teams import Found, Team, Teams, made

__all__ = ["Apart", "Meetings"]

_BEAMS = ((250, 8), (800, 32), (3000, 100))
"""Points and labels that a beam keeps at each place, from round to round."""

Apart = tuple[int, int, bool]
"""A note that the feet differ about: place, number, and whether both pass it by."""


class Meetings(Teams):
    """Searches of both feet by beams, and plans that are made of them."""

    def _beamed(self, team: Team, beam: int) -> Found:
        key = (team, beam)
        if key not in self._found:
            found = self._run(team, self.told(team)[0], beam)
            assert found is not None  # noqa: S101 - whatever a letter misses is lost, not forbidden
            self._found[key] = found
        return self._found[key]

    def _run(self, team: Team, options: list[list[Option]], beam: int) -> Found | None:
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
        return made(least + label.rank, bound, search, label)

    def _meet(self, found: Sequence[Found]) -> tuple[dict[int, Answer], list[Apart]]:
        """The answers that all teams give, and the notes that they differ about."""
        answers: dict[int, Answer] = {}
        apart: list[Apart] = []
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
            letters = [team.letters for team in self._teams]
            contested = self._notes.at(place).contested(letters, meant)
            apart += [(place, number, low) for number, low in contested.items()]
        return answers, apart

    def _follow(self, found: Sequence[Found], beam: int) -> None:
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

    def _obey(self, found: Sequence[Found], beam: int) -> None:
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

    def _shift(self, apart: Sequence[Apart], gap: int) -> None:
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
