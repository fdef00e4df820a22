"""Meetings of the feet: where they answer a note differently, and how they are brought to agree.

Each foot is searched by a beam. One is made to follow the other, which gives a plan; the shares of
the notes that they differ about are shifted.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import replace

from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.struck import Option
from pedalsetter.analysis.planning.teams import Found, Team, Teams, made

__all__ = ["Apart", "Meetings"]

_BEAMS = ((250, 8), (800, 32), (3000, 100))
"""Points and labels that a beam keeps at each place, from round to round."""

_ROUNDS = 8
"""How often the feet meet around the notes that they differ about."""

_BEFORE, _AFTER = 32, 64
"""Places before and after a note that are searched again with it."""

_STEP = 60
"""Points by which a share is shifted there at first."""

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
        return self._meet_at([one.options for one in found], None)

    def _meet_at(
        self, options: Sequence[Mapping[int, int]], places: Sequence[int] | None
    ) -> tuple[dict[int, Answer], list[Apart]]:
        answers: dict[int, Answer] = {}
        apart: list[Apart] = []
        told = [self.told(team)[1] for team in self._teams]
        every = self._notes.every()
        if places is not None:
            every = [(place, ways) for place in places if (ways := self._notes.answers(place))]
        for place, ways in every:
            if len(ways) == 1:
                answers[place] = ways[0]
                continue
            meant = [
                meanings[place][one.get(place, 0)]
                for meanings, one in zip(told, options, strict=True)
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
                undo.append((place, self.decide(place, own[:1])))
        again = [self._beamed(team, beam) for team in self._teams]
        answers, _ = self._meet(again)
        self._keep(sum(one.points for one in again) + self._notes.silent, again, answers)
        for place, before in undo:
            self.restore(place, before)

    def least_effort(self, beam: int) -> int:
        """Labels that two beams take from the beginning of the part to its end."""
        return 2 * _BEAMS[beam][1] * len(self._form.ends)

    def few(self, found: Sequence[Found], apart: Sequence[Apart]) -> bool:
        """Whether less than half of the part lies around the notes that the feet differ about."""
        return 2 * sum(end - begin for begin, end in self._spans(found, apart)) < len(
            self._form.ends
        )

    def _shift(self, found: Sequence[Found], apart: Sequence[Apart], gap: int) -> None:
        """Shift the shares of the notes that the feet differ about until they agree there.

        Where there are few, around them alone, which spares a long part many searches of the
        whole: 2,000 onsets take 0.7 instead of 1.4 s, and 6,000 are proved in 4 s where 8 s proved
        nothing. Else by so much that the feet would reach the plan that is known, ``gap`` points
        away, if they went on to differ (B. T. Polyak's step, from memory).
        """
        if not self.few(found, apart):
            self._move_shares(apart, gap // len(apart))
            return
        for _ in range(_ROUNDS):
            self._move_shares(apart, _STEP)
            spans = self._spans(found, apart)
            apart = self._met_within(found, spans)
            if not apart:
                return

    def _spans(self, found: Sequence[Found], apart: Sequence[Apart]) -> list[tuple[int, int]]:
        """Spans of places around notes, from a station on; those that overlap as one."""
        stations = sorted(set.intersection(*(set(one.stations) for one in found)))
        spans: list[tuple[int, int]] = []
        for place in sorted({place for place, _, _ in apart}):
            at = bisect_right(stations, place - _BEFORE) - 1
            begin = stations[at] + 1 if at >= 0 else 0
            end = min(place + _AFTER, len(self._form.ends))
            if spans and begin <= spans[-1][1]:
                begin = spans.pop()[0]
            spans.append((begin, end))
        return spans

    def _met_within(self, found: Sequence[Found], spans: Sequence[tuple[int, int]]) -> list[Apart]:
        """The notes within some spans that the feet differ about, as each was found before."""
        options: list[dict[int, int]] = [{} for _ in self._teams]
        for team, one, known in zip(self._teams, found, options, strict=True):
            search = self.search(team, self.told(team)[0])
            letters = [self.letter(number) for number in team.letters]
            for begin, end in spans:
                starts = self.starts(team)
                if begin:
                    states = zip(letters, one.stations[begin - 1], strict=True)
                    starts = [(0, [letter.again(begin, state) for letter, state in states])]
                label = search.run(begin, end, starts, None, *_BEAMS[0])
                if label is not None:
                    known.update(
                        (at, option) for at, option, _ in search.trace(label) if option >= 0
                    )
            self._effort -= (1 << 60) - search.effort
        places = [place for begin, end in spans for place in range(begin, end)]
        return self._meet_at(options, places)[1]

    def _move_shares(self, apart: Sequence[Apart], step: int) -> None:
        concerned: set[int] = set()
        for place, number, low in apart:
            concerned.update(self._notes.shift(place, number, low, step))
        self.forget(concerned)
