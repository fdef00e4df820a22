"""The cheapest way of one foot along a line, looked for where the music is hard.

Most music is found at once, for the rank of its best way (how much more it costs than the letters
by themselves) is near 0. Elsewhere the rank has to rise in certain *passages*. How much it must
rise from each place of a passage on, however the letters stand there, is found out from the end of
the passage backwards: what is known of the later places tells how little the rank may have risen at
the earlier ones, so that each excerpt costs little more than the one before. With that a way need
not be followed further than what lies before it allows.
"""

from __future__ import annotations

from pedalsetter.analysis.planning.foot_programme import FootProgramme, Found
from pedalsetter.analysis.planning.letter_bound import INFINITE

__all__ = ["Rises", "best_way"]

_FIRST_LIMIT = 100
"""How high the rank may be in the first look at a line."""

_SLACK = 20
"""The first step by which a limit is raised; the next ones are twice as wide each."""

_WIDTH = 120
_MOST = 5
"""The rough way, which shows where it is hard: how many points above the best label of a moment are
followed, and how many labels."""

_MERGED = 40
"""Rises of the rank that are fewer moments apart belong to one passage."""

_STRIDE = 8
"""Moments between the beginnings of two excerpts at most."""

_QUIET = 10
"""An excerpt that begins so many moments before the rank last rose tells no more than the one
before it."""


class Rises:
    """By how much the rank of every way must rise from each place of a line on.

    That holds wherever the letters stand there, and so for every way to enter the line.
    """

    def __init__(self) -> None:
        self.passages: list[tuple[int, int]] | None = None
        """First and last places between which the rank has to rise; None if not yet known."""
        self._rest: list[int] = []
        self._known = 0
        """The place from which on ``_rest`` is right."""

    @property
    def least(self) -> int:
        """By how much it must rise from the beginning on; 0 if that is not known."""
        return self._rest[0] if self._rest and not self._known else 0

    def forget(self, place: int) -> None:
        """The notes of a place have other prices now, which bears on it and all before it."""
        self._known = max(self._known, place + 1)
        if self.passages is not None:
            self.passages = _merged(sorted([*self.passages, (place, place)]))

    def within(self, total: int) -> list[int]:
        """How high the rank may be after each place if it is to be ``total`` at most in the end."""
        return [total - later for later in self._rest[1:]]

    def find(self, programme: FootProgramme, most: int) -> int:
        """Return :attr:`least`, or, where the rank rises by ``most``, that or more."""
        places = len(programme.options)
        if not self._rest:
            self._rest = [0] * (places + 1)
            self._known = places
        passages = self.passages or []
        for number in range(len(passages) - 1, -1, -1):
            before = passages[number - 1][1] + 1 if number else 0
            if before < self._known:
                rise = self._passage(programme, before, passages[number], most)
                if rise >= most:
                    return rise
        self._carry(0)
        return self._rest[0]

    def _passage(
        self, programme: FootProgramme, before: int, passage: tuple[int, int], most: int
    ) -> int:
        """Find out what is to be known from ``before`` on, where the passage before it has ended.

        Returns by how much the rank rises from there on, or from the place on from which that is
        ``most`` already.
        """
        begin, end = passage
        rest = self._rest
        if end < self._known:
            self._carry(end + 1)
        later = rest[end + 1]
        place, stride = self._known - 1, 1
        while place >= before and place + _QUIET > begin:
            known = rest[self._known]
            self._carry(place)
            rest[place] = max(known, later + self._excerpt(programme, place, end + 1))
            if rest[place] >= most:
                return rest[place]
            if rest[place] > known:
                begin, stride = min(begin, place), 1
            else:
                stride = min(_STRIDE, stride * 2)
            place -= stride
        self._carry(before)
        return rest[before]

    def _carry(self, place: int) -> None:
        """What is known of later places holds from ``place`` on too."""
        self._rest[place : self._known] = [self._rest[self._known]] * (self._known - place)
        self._known = place

    def _excerpt(self, programme: FootProgramme, begin: int, end: int) -> int:
        """The least rise of the rank in an excerpt, where more is known of its later places."""
        total, step = self._rest[begin], _SLACK
        while True:
            found = programme.excerpt(begin, end, self.within(total))
            if isinstance(found, Found):
                return found.rank
            if found == INFINITE:
                return INFINITE
            total += max(step, found)
            step *= 2


def best_way(programme: FootProgramme, most: int, rises: Rises) -> Found | int:
    """The cheapest way of a foot, if its rank is less than ``most``.

    Else the least that the rank can be: ``most`` or more, INFINITE if there is no way at all.
    ``rises`` gains what is found out on the way.
    """
    least = rises.least
    if least >= most:
        return least
    if rises.passages is None:
        limit = min(_FIRST_LIMIT, most - 1)
        found = programme.within([limit] * len(programme.options))
        if isinstance(found, Found):
            return found
        least = max(least, limit + found)
        if least >= most:
            return least
        rough = programme.narrowly(_WIDTH, _MOST)
        if rough is None:
            return INFINITE
        if rough.missed >= rough.rank:
            return rough if rough.rank < most else rough.rank
        rises.passages = _passages(rough)
    least = max(least, rises.find(programme, most))
    step = _SLACK
    while least < most:
        found = programme.within(rises.within(least))
        if isinstance(found, Found):
            return found
        if found == INFINITE:
            return INFINITE
        least = min(least + max(step, found), max(least + found, most - 1))
        step *= 2
    return least


def _passages(found: Found) -> list[tuple[int, int]]:
    """Where the rank of a way rises: first and last place."""
    before = 0
    places = []
    for place, rank in found.trace:
        if rank > before:
            places.append((place, place))
        before = rank
    return _merged(places)


def _merged(passages: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Passages in order, those that lie near each other made one."""
    found: list[tuple[int, int]] = []
    for begin, end in passages:
        if found and begin - found[-1][1] <= _MERGED:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((begin, end))
    return found
