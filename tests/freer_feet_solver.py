"""The exact solver with feet that may cross, and that may move two pedals at once.

Written from the documented prices of ``Weights``, as :mod:`exact_solver`, which it extends: every
change has a foot, and every movement of a foot is one change or two that fit together.
"""

from __future__ import annotations

from typing import Any

from exact_solver import Pinned, _Model
from ortools.sat.python import cp_model

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter
from pedalsetter.analysis.instrument.respelling import Sounding
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning.weights import Weights

_PAIRS = [
    (Letter(one), Letter(other)) for one, other in ("DC", "CB", "EF", "FG", "GA")
]  # one foot on two pedals: the five pairs of M3, from memory
_REACHED = {Foot.LEFT: Letter.E, Foot.RIGHT: Letter.B}
_MOST_AT_ONE_PLACE = 4


def least_points(
    part: HarpPart,
    weights: Weights,
    strings: dict[str, Sounding | None] | None = None,
    *,
    known: int | None = None,
    seconds: float = 60,
) -> int | None:
    """As ``exact_solver.least_points``, with the freedoms that the weights give the feet."""
    return _FreeModel(part, weights, strings, Pinned()).solve(known, seconds)


class _Named(cp_model.CpModel):
    """A model that finds its variables again by their last name."""

    def __init__(self) -> None:
        super().__init__()
        self.named: dict[str, cp_model.IntVar] = {}

    def new_int_var(self, lb: Any, ub: Any, name: str) -> cp_model.IntVar:
        self.named[name] = super().new_int_var(lb, ub, name)
        return self.named[name]


class _FreeModel(_Model):
    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.model = _Named()
        self.travel = 0
        if self.weights.crossed is not None:
            self.travel = int(self.weights.crossing_seconds * 1_000_000)

    def stretch(self, read: Any, entry: Any, leave: Any) -> None:
        self.entry = entry
        super().stretch(read, entry, leave)

    def foot(self, places: Any, letters: Any, moves: Any, far: Any) -> None:
        """Both feet at once, when the second is asked for."""
        if letters[0].foot is Foot.LEFT:
            return
        model, weights = self.model, self.weights
        slots = [
            (number, later)
            for number, place in enumerate(places)
            for later in reversed(range(len(place.slots)))
        ]
        by: dict[Any, Any] = {}
        for slot in slots:
            for letter in LETTERS:
                crossed: Any = 0
                if weights.crossed is not None and letter in (Letter.E, Letter.B):
                    crossed = model.new_bool_var("")
                    model.add(crossed <= moves[letter, *slot])
                    self.terms.append(weights.crossed * crossed)
                by[letter.foot, letter, slot] = moves[letter, *slot] - crossed
                by[letter.foot.other, letter, slot] = crossed
        for foot in Foot:
            self.one_foot(foot, places, slots, by, far)

    def one_foot(self, foot: Foot, places: Any, slots: Any, by: Any, far: Any) -> None:
        """The movements of a foot: how many at a place, and the time between two."""
        model, weights = self.model, self.weights
        reached = [one for one in LETTERS if one.foot is foot or one is _REACHED[foot]]
        used = {}
        for slot in slots:
            used[slot] = model.new_bool_var("")
            pairs = []
            if weights.two_pedals is not None:
                pairs = [
                    self.pair(one, other, foot, slots, slot, by)
                    for one, other in _PAIRS
                    if one.foot is foot
                ]
                self.terms += [weights.two_pedals * pair for pair in pairs]
            model.add(sum(by[foot, one, slot] for one in reached) == used[slot] + sum(pairs))
            if pairs:
                model.add(sum(pairs) <= used[slot])
            if slot[1] and not places[slot[0]].spread:
                self.terms.append(weights.between * used[slot])
        for number, later in slots:
            if later:
                model.add_implication(used[number, later], used[number, later - 1])
        for number in range(len(places)):
            made = [by[foot, one, slot] for one in reached for slot in slots if slot[0] == number]
            model.add(sum(made) <= _MOST_AT_ONE_PLACE)
        for second, slot in enumerate(slots):
            hasty = model.new_int_var(0, weights.impossible, "")
            time = places[slot[0]].slots[slot[1]]
            for at, first in enumerate(slots[:second]):
                between = sum(used[one] for one in slots[at + 1 : second])
                gap = time - places[first[0]].slots[first[1]]
                for letter in reached:
                    for before in reached:
                        left = gap - self.travel * (
                            (letter.foot is not foot) + (before.foot is not foot)
                        )
                        both = by[foot, letter, slot] + by[foot, before, first] - 1 - between
                        one, two = self.haste(left, 1), self.haste(left, weights.two_notches)
                        if one:
                            model.add(hasty >= one * both)
                        if two:
                            model.add(hasty >= two * (both + far[letter, *slot] - 1))
            self.terms.append(hasty)

    def pair(self, one: Any, other: Any, foot: Foot, slots: Any, slot: Any, by: Any) -> Any:
        """Two pedals at once: the same foot, from one position to one other."""
        model = self.model
        pair = model.new_bool_var("")
        for letter in (one, other):
            model.add(by[foot, letter, slot] == 1).only_enforce_if(pair)
        place = slots.index(slot)
        for at in (place - 1, place):
            here = [
                self.entry[letter]
                if at < 0
                else model.named[f"p{letter.value}{slots[at][0]}{slots[at][1]}"]
                for letter in (one, other)
            ]
            model.add(here[0] == here[1]).only_enforce_if(pair)
        return pair
