"""The cost of a plan, term by term, named after the weights."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from pedalsetter.analysis.instrument.harp import Position
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.planning.demands import Demands
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import FAR
from pedalsetter.analysis.planning.walk import Group, Movement
from pedalsetter.analysis.planning.weights import Weights

__all__ = ["Bill", "groups_of"]


class Bill:
    """Adds up points by term."""

    def __init__(self, form: Form, prices: Prices, weights: Weights) -> None:
        self._form, self._prices, self._weights = form, prices, weights
        self._travel = 0
        if weights.crossed is not None:
            self._travel = int(weights.crossing_seconds * 1_000_000)
        self.terms: dict[str, int] = dict.fromkeys(
            (
                "change",
                "second notch",
                "haste",
                "under a note",
                "resonance",
                "place",
                "sharing a gap",
                "two pedals",
                "crossed",
                "early",
                "respelled",
                "lost",
            ),
            0,
        )

    @property
    def total(self) -> int:
        """All points."""
        return sum(self.terms.values())

    def add_movements(self, movements: Sequence[Movement]) -> None:
        """Add all moves of both feet."""
        for foot in (0, 1):
            self.add_groups(groups_of(one for one in movements if one.foot == foot))

    def add_groups(self, groups: Iterable[Group]) -> None:
        """Add what one foot moves, place by place."""
        last: int | None = None
        stretch = -1
        for place, movements in groups:
            if self._form.stretch_of[place] != stretch:
                stretch, last = self._form.stretch_of[place], None
            last = self._add_group(place, movements, last)
            for one in movements:
                self._add_alone(one)

    def _add_alone(self, one: Movement) -> None:
        """All that a move costs by itself."""
        terms, weights, prices = self.terms, self._weights, self._prices
        time = prices.time(one.place, 0)
        terms["change"] += prices.fixed(1, one.place)
        terms["second notch"] += weights.second_notch * (one.notches - 1)
        terms["crossed"] += (weights.crossed or 0) if one.crossed else 0
        if one.past.stroke != FAR:
            terms["haste"] += prices.haste(time - one.past.stroke, one.notches)
        terms["under a note"] += weights.under_note if time < one.past.until else 0
        terms["resonance"] += prices.ringing(one.past, time)
        terms["place"] += prices.place(one.place) + prices.near(one.goal, one.place)
        if one.place in self._form.reserved and not one.decided and one.place != one.goal:
            terms["place"] += weights.lost
        terms["early"] += prices.early(one.goal, one.place)

    def _add_group(self, place: int, movements: Sequence[Movement], last: int | None) -> int:
        """What moves of one foot in one gap cost together; returns when the foot is free."""
        terms, weights, prices = self.terms, self._weights, self._prices
        turns = [list(turn) for _, turn in groupby(movements, key=lambda one: one.later)]
        terms["sharing a gap"] += prices.between(place) * (len(turns) - 1)
        terms["two pedals"] += (weights.two_pedals or 0) * (len(movements) - len(turns))
        travel = self._travel
        final: int = prices.time(place, 0)
        before = 0
        for number, turn in enumerate(turns):
            first = turn[0]
            time = prices.time(place, first.later)
            if number:
                gap = time - before - travel * (first.crossed + turns[number - 1][-1].crossed)
                terms["sharing a gap"] += prices.haste(gap, first.notches)
            elif last is not None:
                terms["haste"] += prices.haste(time - travel * first.crossed - last, first.notches)
            for one in turn if first.later and not prices.spread(place) else ():
                sooner = prices.sound(one.past, one.notches, time)
                later = prices.sound(one.past, one.notches, final)
                terms["sharing a gap"] += max(0, sooner - later)
                terms["sharing a gap"] += weights.lost if one.decided else 0
            before = time
        return final + travel * movements[-1].crossed

    def add_strings(self, demands: Demands) -> None:
        """Add the notes that are respelled or lost; a lost neighbour of a trill is half a note.

        A double alteration's equivalent is free, unless it evades a natural (B♯ for D♭♭).
        """
        weights = self._weights
        self.terms["respelled"] += weights.respelled * len(demands.neighbours)
        self.terms["lost"] += weights.lost // 2 * len(demands.silent_neighbours)
        for use in demands.strings.values():
            if use.sounding is None:
                self.terms["lost"] += weights.lost
            elif abs(use.written.alter) == 2:
                natural = any(one.position is Position.NATURAL for one in strings_for(use.written))
                evades = natural and use.sounding.position is not Position.NATURAL
                self.terms["respelled"] += weights.respelled * evades
            elif use.respelled:
                self.terms["respelled"] += weights.respelled


def groups_of(movements: Iterable[Movement]) -> Iterator[Group]:
    """What one foot moves, by place."""
    for place, group in groupby(movements, key=lambda one: one.place):
        yield place, tuple(group)
