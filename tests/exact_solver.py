"""The cheapest way to pedal a small part, found by a general constraint solver.

Written from the documented prices of ``Weights`` and not from the planner's code: every letter has
a position after every slot of time, every note a choice of strings, and a solver (OR-tools CP-SAT)
finds the least sum of prices. Parts may have chords, ties and repeats, but no grace notes, trills,
tremolos or glissandi.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from ortools.sat.python import cp_model
from replay import unfold

from pedalsetter.analysis.harp import LETTERS, Foot, Harp, Letter, Position
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.planning.weights import Weights, register_of
from pedalsetter.analysis.respelling import Sounding, strings_for


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

    time: int
    price: int
    at: tuple[int, Fraction] | None = None
    """The bar and the offset in it; None for the end."""
    slots: list[int] = field(default_factory=list)
    """Times of the slots in which one foot can move, the last one first."""
    needs: dict[Letter, list[Choice]] = field(default_factory=dict)


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
        self.tempo = part.tempi[0].quarters_per_minute if part.tempi else Fraction(72)

    def solve(self, known: int | None, seconds: float) -> int | None:
        part = self.part
        order = list(unfold(part))
        follows = {}
        leads = {}
        for before, after in pairwise(order):
            if part.bars[before].movement == part.bars[after].movement:
                follows.setdefault(before, set()).add(after)
                leads.setdefault(after, set()).add(before)
        for index in range(1, len(part.bars)):
            same = part.bars[index].movement == part.bars[index - 1].movement
            if index not in order and same:
                follows.setdefault(index - 1, set()).add(index)
                leads.setdefault(index, set()).add(index - 1)
        # Bars between which music always runs straight on are one stretch.
        nodes = list(range(2 * len(part.bars)))

        def root(node: int) -> int:
            while nodes[node] != node:
                node = nodes[node]
            return node

        for before, afters in follows.items():
            for after in afters:
                nodes[root(2 * before + 1)] = root(2 * after)
        ways_in: dict[int, int] = {}
        ways_out: dict[int, int] = {}
        for index in range(len(part.bars)):
            ways_out[root(2 * index)] = ways_out.get(root(2 * index), 0) + 1
            ways_in[root(2 * index + 1)] = ways_in.get(root(2 * index + 1), 0) + 1
        starts = {
            root(2 * index)
            for index in range(len(part.bars))
            if not index or part.bars[index].movement != part.bars[index - 1].movement
        }
        straight = {
            node
            for node in ways_out
            if ways_out[node] == 1 and ways_in.get(node) == 1 and node not in starts
        }
        stands: dict[int, dict[Letter, cp_model.IntVar]] = {}

        def stand(node: int) -> dict[Letter, cp_model.IntVar]:
            if node not in stands:
                stands[node] = {
                    letter: self.model.new_int_var(-1, 1, f"at{node}{letter.value}")
                    for letter in LETTERS
                }
            return stands[node]

        for index in range(len(part.bars)):
            if root(2 * index) in straight:
                continue
            bars = [index]
            while root(2 * bars[-1] + 1) in straight:
                node = root(2 * bars[-1] + 1)
                bars.append(next(b for b in range(len(part.bars)) if root(2 * b) == node))
            if not index:
                for letter, position in self.pinned.opening.items():
                    self.model.add(stand(root(0))[letter] == int(position))
            leave = root(2 * bars[-1] + 1)
            self.stretch(bars, stand(root(2 * index)), stand(leave) if leave in ways_out else None)
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

    def microseconds(self, onset: Fraction) -> int:
        return round(onset * 60 * 1_000_000 / self.tempo)

    def places(self, bars: list[int], followed: bool) -> tuple[list[Place], int]:
        """The places of a stretch, and when it ends."""
        part, weights = self.part, self.weights
        found: list[Place] = []
        shift = 0
        end = 0
        for number, index in enumerate(bars):
            bar = part.bars[index]
            if (number and index != bars[number - 1] + 1) or not number:
                shift = end - self.microseconds(bar.start)
            events: dict[Fraction, list] = {}
            rests = set()
            for event in part.events:
                if event.bar == index and event.heads:
                    events.setdefault(event.onset - bar.start, []).append(event)
                elif event.bar == index and event.visible:
                    rests.add(event.onset - bar.start)
            beats = set()
            beat = Fraction(0)
            while beat < bar.length:
                beats.add(beat)
                beat += bar.time.beat
            struck: dict[Fraction, list] = {
                offset: [
                    (event, head) for event in sounding for head in event.heads if not head.tie_stop
                ]
                for offset, sounding in events.items()
            }
            for offset in sorted(beats | rests | set(events)):
                heads = struck.get(offset, [])
                price = 0 if not offset else weights.beat if offset in beats else weights.off_beat
                if offset not in beats and (offset / bar.time.beat).denominator > 3:
                    price += weights.fine
                time = self.microseconds(bar.start + offset) + shift
                place = Place(time, price, (index, offset))
                if found:
                    gap = time - found[-1].time
                    place.slots = [found[-1].time + (gap >> later) for later in range(4)]
                    place.slots[0] = time
                else:
                    place.slots = [time]
                    place.price += weights.at_turn
                self.notes(place, heads, shift)
                if place.needs:
                    place.price += weights.under_notes
                found.append(place)
            end = self.microseconds(bar.end) + shift
        if followed:
            last = found[-1].time
            tail = Place(last + (end - last >> 1), weights.after_last)
            tail.slots = [last + (end - last >> later + 1) for later in range(4)]
            found.append(tail)
        return found, end

    def until(self, event, head, shift: int) -> int:
        """When a note is written to end, ties followed."""
        end = event.end
        open_tie = head.tie_start
        for other in self.part.events:
            for again in other.heads:
                if open_tie and other.onset == end and again.tie_stop and again.pitch == head.pitch:
                    end, open_tie = other.end, again.tie_start
                    break
        return self.microseconds(end) + shift

    def notes(self, place: Place, heads: list, shift: int) -> None:
        """Each written note of a place is given to one of its strings, or lost."""
        model, weights = self.model, self.weights
        alike: dict[tuple, list] = {}
        for event, head in heads:
            soundings = [one for one in strings_for(head.pitch) if Harp().has(one.string)]
            key = tuple(sorted((one.letter.value, one.position) for one in soundings))
            decided = head.id in self.pinned.strings
            name = (key, head.pitch.name, decided)
            alike.setdefault(name, []).append((event, head, soundings))
        for (key, _, _), group in alike.items():
            doubled = abs(group[0][1].pitch.alter) == 2
            options = []
            lost = model.new_bool_var("lost")
            self.terms.append(weights.lost * len(group) * lost)
            for letter_name, position in key:
                letter = Letter(letter_name)
                taken = model.new_bool_var(f"{letter_name}{position}")
                options.append(taken)
                for event, head, soundings in group:
                    sounding = next(one for one in soundings if one.letter is letter)
                    evades = position != 0 and any(at == 0 for _, at in key)
                    if evades if doubled else letter is not head.pitch.letter:
                        self.terms.append(weights.respelled * taken)
                    place.needs.setdefault(letter, []).append(
                        Choice(
                            taken,
                            position,
                            self.until(event, head, shift),
                            register_of(sounding.string.octave),
                        )
                    )
                    if self.strings is not None:
                        model.add(taken == (self.strings[head.id] == sounding))
                    if head.id in self.pinned.strings:
                        model.add(taken == (self.pinned.strings[head.id] is letter))
            model.add_exactly_one([*options, lost])

    def haste(self, gap: int, factor: Fraction) -> int:
        if gap >= int(self.weights.comfortable_seconds * factor * 1_000_000):
            return 0
        if gap >= int(self.weights.least_seconds * factor * 1_000_000):
            return self.weights.hurried
        return self.weights.impossible

    def stretch(
        self,
        bars: list[int],
        entry: dict[Letter, cp_model.IntVar],
        leave: dict[Letter, cp_model.IntVar] | None,
    ) -> None:
        model, weights = self.model, self.weights
        places, end = self.places(bars, leave is not None)
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
                    self.terms.append(weights.change * moved + weights.second_notch * two)
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
        for bar, offset, letter, _ in self.pinned.moving:
            self.pinned_move(places, (bar, offset), letter, moves, wanted)
        for (letter, number, later), moved in moves.items():
            self.one_move(places, end, letter, number, later, moved, far, moves, wanted)
        for foot in Foot:
            self.foot(places, [one for one in LETTERS if one.foot is foot], moves, far)

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
            if left > 0:
                asked = moved + wanted[letter, goal] - 1
                between = sum(wanted[letter, at] for at in range(number, goal))
                model.add(close >= weights.on_need * left // near * (asked - between))
        self.terms.append(close)
        # Early: until the first need from here on, or the end of the stretch.
        early = model.new_int_var(0, 10**7, "")
        for goal in range(number, len(places) + 1):
            last = goal == len(places)
            wait = (end if last else places[goal].time) - place.time
            if not last and goal == len(places) - 1 and places[goal].price == weights.after_last:
                wait = end - place.time
            squared = weights.very_early.numerator * wait * wait
            price = weights.early * wait // 1_000_000 + squared // (
                weights.very_early.denominator * 10**12
            )
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
            gap = time - places[before].time
            for two, factor in ((0, Fraction(1)), (1, weights.two_notches)):
                price = self.haste(gap, factor)
                if price:
                    is_two = far[letter, number, later]
                    fits = is_two if two else 1 - is_two
                    model.add(
                        hasty >= price * (moved + wanted[letter, before] + fits - 2 - sum(since))
                    )
            for choice in places[before].needs.get(letter, []):
                if time < choice.until:
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
            if later:
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
