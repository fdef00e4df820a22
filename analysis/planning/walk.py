"""A solution of the search, followed once more from note to note: what moves, and what is lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position
from pedalsetter.analysis.planning.form import Form
from pedalsetter.analysis.planning.notes import Notes
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.sounded import DECIDED, MOVED, Past, Variant
from pedalsetter.analysis.planning.states import UNSET
from pedalsetter.analysis.planning.teams import Solution, Step

__all__ = ["Group", "Movement", "Unmet", "Walk", "walked"]


@dataclass(frozen=True, slots=True)
class Movement:
    """One pedal moved, with all that its price depends on."""

    letter: Letter
    old: Position
    new: Position
    place: int
    later: int
    """How many turns of the foot follow in the same gap."""
    past: Past
    """What has sounded on the letter before."""
    first: int
    """The earliest place at which it could be made."""
    goal: int
    """The place of the next note of its letter, or the end of the stretch."""
    decided: bool
    """The musician wants it to be made right there."""
    crossed: bool
    foot: int
    need: int | None = None
    """The place that needs the new position; None if it only prepares a re-entry."""

    @property
    def notches(self) -> int:
        """1, or 2 where the pedal passes the natural notch."""
        return abs(int(self.new) - int(self.old))


Group = tuple[int, tuple[Movement, ...]]
"""A place, and what one foot moves there, in order."""


class Unmet(NamedTuple):
    """A decision that is not met: the pedal stands elsewhere, or does not move there."""

    place: int
    letter: Letter
    position: Position
    locked: bool
    """Something that goes on keeps the pedal elsewhere."""
    stands: bool
    """It is to move to where it stands."""


@dataclass(slots=True)
class Walk:
    """What a solution comes to."""

    movements: list[Movement] = field(default_factory=list)
    """In the order in which they are made; those of one foot in the order of their turns."""
    lost: dict[int, dict[Letter, bool]] = field(default_factory=dict)
    """By place the letters that stand elsewhere than their notes need, each with whether something
    that goes on keeps them there."""
    unmet: list[Unmet] = field(default_factory=list)
    """Decisions that are not met."""
    settings: dict[int, dict[Letter, Position]] = field(default_factory=dict)
    """At the junction where each stretch begins, where the pedals stand."""


def walked(
    form: Form,
    prices: Prices,
    notes: Notes,
    solution: Solution,
    home: Sequence[Sequence[int]],
    entries: Sequence[int],
) -> Walk:
    """Follow a solution through all stretches.

    ``home`` tells for each letter and junction where it stands if nothing asks for more, and
    ``entries`` the junction at which each stretch begins.
    """
    walk = Walk()
    by_letter: dict[int, dict[int, Step]] = {}
    for step in solution.steps:
        by_letter.setdefault(step.letter, {})[step.place] = step
    made: dict[tuple[int, int], Movement] = {}
    ends: dict[tuple[int, int], int] = {}
    asked = [
        (
            place,
            {number: way for number in range(7) if (way := notes.needed(place, answer, number))},
        )
        for place, answer in solution.answers.items()
    ]
    for number in range(7):
        _Follower(form, prices, solution, by_letter.get(number, {}), number, walk, made, ends).run(
            [(place, needs[number]) for place, needs in asked if number in needs]
        )
    walk.movements = [
        made[step.letter, step.place]
        for step in sorted(solution.steps, key=lambda one: (one.place, one.foot, -one.later))
    ]
    for stretch, junction in enumerate(entries):
        known = walk.settings.setdefault(junction, {})
        for number, letter in enumerate(LETTERS):
            position = ends[stretch, number]
            if position == UNSET:
                # Nothing needs it here: it stands as what comes next has it.
                after = [at for at, node in enumerate(entries) if node == form.exits[stretch]]
                position = ends[after[0], number] if after else UNSET
            if position == UNSET:
                position = home[number][junction]
            known.setdefault(letter, Position(position))
    return walk


class _Follower:
    """One letter, stretch by stretch."""

    def __init__(
        self,
        form: Form,
        prices: Prices,
        solution: Solution,
        steps: Mapping[int, Step],
        number: int,
        walk: Walk,
        made: dict[tuple[int, int], Movement],
        begun: dict[tuple[int, int], int],
    ) -> None:
        self._form, self._prices, self._solution = form, prices, solution
        self._steps, self._number, self._walk, self._made = steps, number, walk, made
        self._begun = begun
        self._letter = LETTERS[number]

    def run(self, needs: Sequence[tuple[int, Variant]]) -> None:
        """Follow the letter; ``needs`` are its needs by place."""
        form = self._form
        by_place = dict(needs)
        places = sorted({*by_place, *self._steps})
        at = 0
        for stretch, begin in enumerate(form.begins[:-1]):
            end = form.begins[stretch + 1] - 1
            self._position = self._solution.begun[stretch, self._number]
            self._begun[stretch, self._number] = self._position
            self._past: Past = self._prices.nothing
            self._since = begin
            self._pending: list[Movement] = []
            while at < len(places) and places[at] <= end:
                place = places[at]
                at += 1
                need = by_place.get(place)
                if place in self._steps:
                    self._move(self._steps[place], need)
                if need is not None:
                    self._meet(stretch, place, need)
            self._confirm(end, None)

    def _move(self, step: Step, need: Variant | None) -> None:
        old = self._position
        if old == UNSET:
            # Decided to move here first of all, it stood a notch away.
            old = -1 if step.new == 0 else 0
            stretch = self._form.stretch_of[step.place]
            self._begun[stretch, self._number] = old
        self._pending.append(
            Movement(
                self._letter,
                Position(old),
                Position(step.new),
                step.place,
                step.later,
                self._past,
                max(self._since, self._past.lock + 1),
                -1,
                need is not None and bool(need.kind & MOVED),
                step.crossed,
                step.foot,
            )
        )
        self._position = step.new
        self._past = self._prices.moved(self._past)

    def _meet(self, stretch: int, place: int, need: Variant) -> None:
        moved = bool(self._pending) and self._pending[-1].need is None
        stands = self._position in (need.position, UNSET)
        if need.kind & MOVED and not (self._pending and self._pending[-1].place == place):
            stands = False
        if not stands:
            locked = self._past.lock >= place
            if need.kind & DECIDED:
                self._walk.unmet.append(
                    Unmet(
                        place,
                        self._letter,
                        Position(need.position),
                        locked,
                        self._position == need.position,
                    )
                )
            else:
                self._walk.lost.setdefault(place, {})[self._letter] = locked
            return
        if self._position == UNSET:
            self._begun[stretch, self._number] = need.position
            self._position = need.position
        if need.kind & DECIDED:
            if moved:
                self._past = self._prices.moved(self._past)
                self._pending[-1] = replace(self._pending[-1], need=place)
        else:
            self._confirm(place, place)
            self._past = self._prices.played(self._past, place, need)
        self._since = place + 1

    def _confirm(self, goal: int, need: int | None) -> None:
        """The moves that were waiting for the next note of their letter have found it."""
        for number, one in enumerate(self._pending):
            last = number + 1 == len(self._pending)
            served = need if last and need is not None else one.need
            self._made[self._number, one.place] = replace(one, goal=goal, need=served)
        self._pending = []
