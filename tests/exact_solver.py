"""The cheapest way to pedal a small part, found by a general constraint solver.

Written from the documented prices of ``Weights`` and not from the planner's code: every letter has
a position after every slot of time, every note a choice of strings, and a solver (OR-tools CP-SAT)
finds the least sum of prices. Parts may have chords, ties and repeats, but no grace notes, trills,
tremolos or glissandi.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import exact_places
from exact_places import stretches
from ortools.sat.python import cp_model

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position
from pedalsetter.analysis.instrument.respelling import Sounding
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning.weights import Weights


@dataclass
class Pinned:
    """What a plan must hold to, by index of the bar and offset of a place in it."""

    standing: list[tuple[int, Fraction, Letter, Position]] = field(default_factory=list)
    """A letter stands so when the notes of the place are struck."""
    moving: list[tuple[int, Fraction, Letter, Position]] = field(default_factory=list)
    """A letter moves to a position, and this is printed at the place. It is never moved away only
    to be moved there."""
    strings: dict[str, Letter] = field(default_factory=dict)
    """The letter that plays a note."""
    opening: dict[Letter, Position] = field(default_factory=dict)
    """Where letters stand before the first bar."""


@dataclass
class Place:
    """An onset, a beat or a barline of one stretch; the last one of a stretch may be its end."""

    read: exact_places.Place
    needs: dict[Letter, list[Choice]] = field(default_factory=dict)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.read, name)


@dataclass
class Choice:
    """A note may be sounded by a letter in a position."""

    literal: cp_model.IntVar
    position: Position
    until: int
    register: int


def least_points(
    part: HarpPart,
    weights: Weights,
    strings: dict[str, Sounding | None] | None = None,
    *,
    known: int | None = None,
    seconds: float = 60,
    pinned: Pinned | None = None,
) -> int | None:
    """The least sum of points; None if the time does not suffice to prove it.

    ``strings`` prescribes the string of each note. ``known`` is the price of a plan that is known:
    the solver looks for one that costs no more, and fails if there is none. ``pinned`` is what all
    plans must hold to.
    """
    return _Model(part, weights, strings, pinned or Pinned()).solve(known, seconds)


class _Model:
    def __init__(
        self,
        part: HarpPart,
        weights: Weights,
        strings: dict[str, Sounding | None] | None,
        pinned: Pinned,
    ) -> None:
        self.part, self.weights, self.strings = part, weights, strings
        self.pinned = pinned
        self.model = cp_model.CpModel()
        self.terms: list[cp_model.LinearExprT] = []

    def solve(self, known: int | None, seconds: float) -> int | None:
        stands: dict[int, dict[Letter, cp_model.IntVar]] = {}

        def stand(node: int) -> dict[Letter, cp_model.IntVar]:
            if node not in stands:
                stands[node] = {
                    letter: self.model.new_int_var(-1, 1, f"at{node}{letter.value}")
                    for letter in LETTERS
                }
            return stands[node]

        read = stretches(self.part, self.weights, tuple(self.pinned.strings))
        for letter, position in self.pinned.opening.items():
            self.model.add(stand(read[0].entry)[letter] == int(position))
        for stretch in read:
            leave = None if stretch.leave is None else stand(stretch.leave)
            self.stretch(stretch, stand(stretch.entry), leave)
        if known is not None:
            self.model.add(sum(self.terms) <= known)
        self.model.minimize(sum(self.terms))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 2
        solver.parameters.random_seed = 1
        solver.parameters.max_time_in_seconds = seconds
        status = solver.solve(self.model)
        if status in (cp_model.FEASIBLE, cp_model.UNKNOWN):
            return None
        assert status == cp_model.OPTIMAL, solver.status_name(status)
        return round(solver.objective_value)

    def served(self, read: exact_places.Place) -> Place:
        """A place at which each written note is given to one of its strings, or lost."""
        model = self.model
        place = Place(read)
        for group in read.groups:
            options = []
            lost = model.new_bool_var("lost")
            self.terms.append(self.weights.lost * len(group.notes) * lost)
            for option in group.options:
                taken = model.new_bool_var(f"{option.letter.value}{int(option.position)}")
                options.append(taken)
                self.terms.append(option.price * taken)
                place.needs.setdefault(option.letter, []).extend(
                    Choice(taken, option.position, until, register)
                    for until, register in option.sounds
                )
                for note in group.notes:
                    if self.strings is not None:
                        given = self.strings[note]
                        chosen = given is not None and given.letter is option.letter
                        model.add(taken == chosen)
                    if note in self.pinned.strings:
                        model.add(taken == (self.pinned.strings[note] is option.letter))
            model.add_exactly_one([*options, lost])
        return place

    def haste(self, gap: int, factor: Fraction) -> int:
        if gap >= int(self.weights.comfortable_seconds * factor * 1_000_000):
            return 0
        if gap >= int(self.weights.least_seconds * factor * 1_000_000):
            return self.weights.hurried
        return self.weights.impossible

    def stretch(
        self,
        read: exact_places.Stretch,
        entry: dict[Letter, cp_model.IntVar],
        leave: dict[Letter, cp_model.IntVar] | None,
    ) -> None:
        model, weights = self.model, self.weights
        places, end = [self.served(place) for place in read.places], read.end
        moves: dict[tuple[Letter, int, int], cp_model.IntVar] = {}
        far: dict[tuple[Letter, int, int], cp_model.IntVar] = {}
        wanted: dict[tuple[Letter, int], cp_model.IntVar] = {}
        for letter in LETTERS:
            standing = entry[letter]
            for number, place in enumerate(places):
                for later in reversed(range(len(place.slots))):
                    name = f"{letter.value}{number}{later}"
                    after = model.new_int_var(-1, 1, "p" + name)
                    moved = model.new_bool_var("m" + name)
                    two = model.new_bool_var("t" + name)
                    distance = model.new_int_var(0, 2, "d" + name)
                    model.add_abs_equality(distance, after - standing)
                    model.add(distance == moved + two)
                    model.add(two <= moved)
                    moves[letter, number, later], far[letter, number, later] = moved, two
                    self.terms.append(place.read.move * moved + weights.second_notch * two)
                    standing = after
                choices = place.needs.get(letter, [])
                need = model.new_bool_var(f"n{letter.value}{number}")
                wanted[letter, number] = need
                model.add_max_equality(need, [c.literal for c in choices] or [0])
                for choice in choices:
                    model.add(standing == int(choice.position)).only_enforce_if(choice.literal)
                for pin in self.pinned.standing + self.pinned.moving:
                    if pin[:3] == (*(place.at or ()), letter):
                        model.add(standing == int(pin[3]))
            if leave is not None:
                model.add(standing == leave[letter])
        for letter in LETTERS:
            self.straight(places, letter, moves, wanted)
        for bar, offset, letter, _ in self.pinned.moving:
            self.pinned_move(places, (bar, offset), letter, moves, wanted)
        for (letter, number, later), moved in moves.items():
            self.one_move(places, end, letter, number, later, moved, far, moves, wanted)
        for foot in Foot:
            self.foot(places, [one for one in LETTERS if one.foot is foot], moves, far)

    def straight(self, places, letter, moves, wanted) -> None:  # type: ignore[no-untyped-def]
        """A letter moves at most once for a note or a decision: no mark is printed for nothing."""
        model = self.model
        served = {pin[:2] for pin in self.pinned.standing + self.pinned.moving if pin[2] is letter}
        pending = model.new_constant(0)
        for number, place in enumerate(places):
            for later in reversed(range(len(place.slots))):
                moved = moves[letter, number, later]
                model.add(moved + pending <= 1)
                after = model.new_bool_var("")
                model.add(after >= moved)
                model.add(after >= pending)
                pending = after
            if place.at not in served:
                after = model.new_bool_var("")
                model.add(after >= pending - wanted[letter, number])
                pending = after
            else:
                pending = model.new_constant(0)

    def pinned_move(self, places, at, letter, moves, wanted) -> None:  # type: ignore[no-untyped-def]
        """The letter moves at this place, and before it only for a note or a decision."""
        there = [number for number, place in enumerate(places) if place.at == at]
        if not there:
            return
        self.model.add(moves[letter, there[0], 0] == 1)
        served = {pin[:2] for pin in self.pinned.standing + self.pinned.moving if pin[2] is letter}
        for (other, number, later), moved in moves.items():
            if other is letter and (number, -later) < (there[0], 0):
                between = range(number, there[0])
                asked = sum(places[one].at in served for one in between)
                self.model.add(moved <= asked + sum(wanted[letter, one] for one in between))

    def one_move(self, places, end, letter, number, later, moved, far, moves, wanted) -> None:  # type: ignore[no-untyped-def]
        """The prices that a change has by itself."""
        model, weights = self.model, self.weights
        place, time = places[number], places[number].slots[later]
        self.terms.append(place.price * moved)
        # Near before the first need from here on.
        close = model.new_int_var(0, weights.on_need, "")
        near = int(weights.near_seconds * 1_000_000)
        for goal in range(number, len(places)):
            left = near - (places[goal].time - place.time)
            if left > 0 and not place.shown:
                asked = moved + wanted[letter, goal] - 1
                between = sum(wanted[letter, at] for at in range(number, goal))
                model.add(close >= weights.on_need * left // near * (asked - between))
        self.terms.append(close)
        # Early: until the first need from here on, or the end of the stretch.
        early = model.new_int_var(0, 10**7, "")
        for goal in range(number, len(places) + 1):
            last = goal == len(places)
            until = end if last else places[goal].time
            if not last and goal == len(places) - 1 and places[goal].price == weights.after_last:
                until = end
            wait = max(0, until - place.counted)
            squared = weights.very_early.numerator * wait * wait
            price = weights.early * wait // 1_000_000 + squared // (
                weights.very_early.denominator * 10**12
            )
            if place.shown:
                price //= weights.early_at_diagram
            between = [wanted[letter, at] for at in range(number, goal)]
            model.add(early >= price * moved - price * sum(between))
        self.terms.append(early)
        # Haste after the last need, unless the letter has moved since.
        hasty = model.new_int_var(0, weights.impossible, "")
        under = model.new_bool_var("")
        ringing = model.new_int_var(0, weights.resonance, "")
        for before in range(number):
            since = [
                moves[letter, at, slot]
                for at in range(before + 1, number + 1)
                for slot in range(len(places[at].slots))
                if (at, -slot) < (number, -later)
            ]
            now = place.slots[0] if place.spread else time
            gap = now - places[before].time
            for two, factor in ((0, Fraction(1)), (1, weights.two_notches)):
                price = self.haste(gap, factor)
                if price:
                    is_two = far[letter, number, later]
                    fits = is_two if two else 1 - is_two
                    model.add(
                        hasty >= price * (moved + wanted[letter, before] + fits - 2 - sum(since))
                    )
            for choice in places[before].needs.get(letter, []):
                if now < choice.until:
                    model.add(under >= moved + choice.literal - 1)
                ring = int(weights.ring_seconds[choice.register] * 1_000_000)
                if gap < ring:
                    price = weights.resonance * (ring - gap) // ring
                    model.add(ringing >= price * (moved + choice.literal - 1))
        self.terms += [hasty, weights.under_note * under, ringing]

    def foot(self, places, letters, moves, far) -> None:  # type: ignore[no-untyped-def]
        """One pedal at a time, and the time between two moves."""
        model, weights = self.model, self.weights
        slots = [
            (number, later)
            for number, place in enumerate(places)
            for later in reversed(range(len(place.slots)))
        ]
        used = {}
        for number, later in slots:
            busy = model.new_bool_var("")
            model.add(sum(moves[letter, number, later] for letter in letters) == busy)
            used[number, later] = busy
            if later and not places[number].spread:
                self.terms.append(weights.between * busy)
        for number, later in slots:
            if later:
                model.add_implication(used[number, later], used[number, later - 1])
        for second, slot in enumerate(slots):
            hasty = model.new_int_var(0, weights.impossible, "")
            time = places[slot[0]].slots[slot[1]]
            two_here = sum(far[letter, *slot] for letter in letters)
            for first in slots[:second]:
                gap = time - places[first[0]].slots[first[1]]
                one = self.haste(gap, Fraction(1))
                two = self.haste(gap, weights.two_notches)
                if two:
                    model.add(
                        hasty
                        >= one * (used[slot] + used[first] - 1)
                        + (two - one) * (two_here + used[first] - 1)
                        - (two - one) * (1 - used[first])
                    )
            self.terms.append(hasty)
