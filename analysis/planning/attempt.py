"""One plan under some decisions: read, searched, followed once more and billed."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Harp, Letter, Position, Setting
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.planning.bill import Bill
from pedalsetter.analysis.planning.chord import Answer
from pedalsetter.analysis.planning.demands import Demands, read_demands
from pedalsetter.analysis.planning.effort import Effort
from pedalsetter.analysis.planning.form import Form, homes
from pedalsetter.analysis.planning.junctions import Route
from pedalsetter.analysis.planning.laying import lay_form
from pedalsetter.analysis.planning.notes import Notes
from pedalsetter.analysis.planning.pins import Pins
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.solve import Solver
from pedalsetter.analysis.planning.sounded import MOVED
from pedalsetter.analysis.planning.teams import Solution, Team
from pedalsetter.analysis.planning.telling import Made
from pedalsetter.analysis.planning.walk import Movement, Unmet, Walk, walked
from pedalsetter.analysis.planning.weights import Weights
from pedalsetter.analysis.playing.clock import Clock
from pedalsetter.analysis.playing.moments import Moments
from pedalsetter.analysis.playing.strikes import Strike

__all__ = ["Attempt", "Source", "attempt"]


@dataclass(frozen=True, slots=True)
class Source:
    """What all attempts at a part share."""

    part: HarpPart
    harp: Harp
    weights: Weights
    moments: Moments
    clock: Clock
    graces: Mapping[str, int]
    strikes: Mapping[int, list[Strike]]
    route: Route
    afresh: Collection[int]
    """Junctions at which pedals are set as the first notes want them."""
    signatures: Mapping[int, Setting]
    bar_ends: Sequence[int]
    """Microseconds on the page."""
    respell: bool
    """Weigh all strings; otherwise the written ones, unless they clash at one moment."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A plan, not yet told in words."""

    demands: Demands
    form: Form
    prices: Prices
    settings: Sequence[Mapping[Letter, Position]]
    """At each junction."""
    made: Sequence[Made]
    unmet: Sequence[tuple[Place, Unmet]]
    """Decisions where pedals are to stand that are not met, with their places on the page."""
    bill: Bill
    points: int
    """What the search said that it costs, which the bill must come to."""
    bound: int
    """No plan costs fewer points."""
    proved: bool
    untimely: bool
    """A note is left out for want of time."""
    interrupted: bool
    """The search was ended before its effort was used up."""

    @property
    def movements(self) -> list[Movement]:
        """All moves along the form."""
        return [one.movement for one in self.made]


def attempt(source: Source, pins: Pins, effort: Effort) -> Attempt:
    """The best plan under some decisions that is found with an effort."""
    return _Attempt(source, pins).run(effort)


class _Attempt:
    def __init__(self, source: Source, pins: Pins) -> None:
        self._source, self._pins = source, pins
        weights, route = source.weights, source.route
        self._written = self._read({}, {}, {})
        demands = self._written
        sounding = [any(need.notes for need in needs.values()) for needs in demands.needs]
        until = [
            max((need.until for need in needs.values() if need.notes), default=0)
            for needs in demands.needs
        ]
        self._form = lay_form(
            route,
            source.moments,
            source.bar_ends,
            sounding,
            until,
            source.afresh,
            # Where a movement begins, its opening is printed, and nothing moves for it.
            {one.bar for one in source.part.sections} - {bar for _, bar, _ in route.openings},
            {
                place
                for place, stands in pins.stands.items()
                if any(stand.moved for stand in stands.values())
            },
            weights,
        )
        self._prices = Prices(self._form, weights)
        self._notes = Notes(self._form, demands, source.moments, weights, source.respell)
        home = homes(route, source.signatures)
        self._home = [[int(setting[letter]) for setting in home] for letter in LETTERS]

    def _read(
        self,
        lost: Mapping[str, str],
        answers: Mapping[int, Answer],
        untimely: Mapping[tuple[int, int], str],
    ) -> Demands:
        source = self._source
        return read_demands(
            source.part,
            source.harp,
            source.moments,
            source.clock,
            source.graces,
            lost,
            answers,
            self._pins,
            source.strikes,
            untimely,
        )

    def run(self, effort: Effort) -> Attempt:
        solver = Solver(
            self._form,
            self._prices,
            self._notes,
            self._source.weights,
            self._teams(),
            self._candidates(),
        )
        solution = solver.solve(effort)
        entries = [stretch.entry for stretch in self._source.route.stretches]
        walk = walked(self._form, self._prices, self._notes, solution, self._home, entries)
        demands, untimely = self._answered(solution, walk)
        bill = Bill(self._form, self._prices, self._source.weights)
        bill.add_strings(demands)
        bill.add_movements(walk.movements)
        made = self._made(walk, demands)
        places = self._source.moments.places
        settings = [
            walk.settings.get(node)
            or {letter: Position(self._home[number][node]) for number, letter in enumerate(LETTERS)}
            for node in range(self._source.route.junctions)
        ]
        return Attempt(
            demands,
            self._form,
            self._prices,
            settings,
            made,
            [(places[self._form.moments[one.place]], one) for one in walk.unmet],
            bill,
            solution.points + self._stringless(),
            solution.bound + self._stringless(),
            # What is left out for want of time was weighed where its pedal stood elsewhere only.
            solution.bound >= solution.points and not untimely,
            untimely,
            solution.interrupted,
        )

    def _stringless(self) -> int:
        """Points of notes that no setting gives a string, which the search therefore never sees.

        They lie outside the compass, or on a string without pedal that is tuned otherwise.
        """
        known = {**self._written.chords, **self._written.held}
        seen = {
            strike.head.id
            for chord, _ in known.values()
            for _, group in chord.groups
            for strike in group
        }
        silent = sum(
            use.sounding is None and note not in seen for note, use in self._written.strings.items()
        )
        return self._source.weights.lost * silent

    # What the search is given.

    def _teams(self) -> list[Team]:
        crossed = self._pins.crossed
        feet = [
            tuple(
                number
                for number, letter in enumerate(LETTERS)
                if (letter.foot is foot) is not (letter in crossed)
            )
            for foot in Foot
        ]
        if self._source.weights.crossed is None:
            return [
                Team(letters, (tuple(range(len(letters))),), ((),), (number,))
                for number, letters in enumerate(feet)
            ]
        # A letter that is decided to belong to the foot of the other side stays with it.
        given = tuple(
            tuple(number for number in feet[1 - foot] if self._may_cross(number, feet[1 - foot]))
            for foot in (0, 1)
        )
        return [Team(tuple(range(7)), (feet[0], feet[1]), given, (0, 1))]

    @staticmethod
    def _may_cross(number: int, own: Sequence[int]) -> bool:
        letter = LETTERS[number]
        outer = Letter.D if letter.foot is Foot.LEFT else Letter.A
        return letter in (Letter.B, Letter.E) and outer.index in own

    def _candidates(self) -> list[list[tuple[int, ...]]]:
        """For each letter and junction the positions in which it can stand, nearest home first.

        Only positions between those that its notes ask for can be best. With two pedals at once it
        may have gone anywhere along with its neighbour.
        """
        source = self._source
        fixed = {
            node: self._pins.openings[number]
            for number, _, node in source.route.openings
            if number in self._pins.openings
        }
        found = []
        for number, letter in enumerate(LETTERS):
            asked: set[int] = set()
            for _, variants, _ in self._notes.asks(number):
                for variant in variants:
                    asked.add(variant.position)
                    if variant.kind & MOVED:
                        asked.update(one for one in (-1, 0, 1) if abs(one - variant.position) == 1)
            for known in fixed.values():
                asked.update(int(known[letter]) for _ in (1,) if letter in known)
            if asked and source.weights.two_pedals is not None:
                asked = {-1, 0, 1}
            between = range(min(asked), max(asked) + 1) if asked else ()
            of_letter = []
            for node, home in enumerate(self._home[number]):
                order = sorted(between, key=lambda one, home=home: (abs(one - home), one))
                if node in fixed and letter in fixed[node]:
                    order = [int(fixed[node][letter])]
                of_letter.append(tuple(order) or (home,))
            found.append(of_letter)
        return found

    # What is made of its solution.

    def _answered(self, solution: Solution, walk: Walk) -> tuple[Demands, bool]:
        """The demands as the solution answers them; whether notes are left out for want of time."""
        answers: dict[int, Answer] = {}
        lost: dict[str, str] = {}
        untimely: dict[tuple[int, int], str] = {}
        for place, answer in solution.answers.items():
            moment = self._form.moments[place]
            missing = walk.lost.get(place, {})
            if moment in self._written.sliding:
                for letter in missing:
                    reason = self._no_moment(letter, self._written.needs[moment][letter].position)
                    for note in self._written.needs[moment][letter].notes:
                        lost[note] = reason
                continue
            if missing:
                for number, choice in enumerate(answer):
                    if choice is not None and choice[0] in missing and not missing[choice[0]]:
                        untimely[moment, number] = self._no_moment(*choice)
                answer = tuple(
                    None if choice is not None and choice[0] in missing else choice
                    for choice in answer
                )
            if answer:
                answers[moment] = answer
        if not answers and not lost:
            return self._written, False
        return self._read(lost, answers, untimely), bool(untimely or lost)

    def _no_moment(self, letter: Letter, position: Position) -> str:
        foot = letter.foot.other if letter in self._pins.crossed else letter.foot
        text = f"{letter.value}{position.sign}"
        return f"no moment is left in which the {foot.value} foot could set {text}"

    def _made(self, walk: Walk, demands: Demands) -> list[Made]:
        """The moves at their places on the page."""
        found: list[Made] = []
        turns: dict[tuple[int, int, int], list[Movement]] = {}
        for one in walk.movements:
            turns.setdefault((one.place, one.foot, one.later), []).append(one)
        for one in walk.movements:
            together = [
                other.letter for other in turns[one.place, one.foot, one.later] if other is not one
            ]
            found.append(self.on_page(one, demands, together[0] if together else None))
        found.sort(key=lambda made: (made.place, made.microseconds, made.movement.letter.index))
        return found

    def on_page(self, one: Movement, demands: Demands, together: Letter | None) -> Made:
        """Find the printed place of a move."""
        source, form = self._source, self._form
        shift = self._prices.time(one.place, one.later) - form.times[one.place]
        place, time = printed(source, form, one.place, one.later, shift)
        needed = None
        notes: tuple[str, ...] = ()
        if one.need is not None:
            moment = form.moments[one.need]
            need = demands.needs[moment].get(one.letter)
            if need is not None and need.notes:
                needed, notes = source.moments.places[moment], need.notes
        at_barline = form.shown[one.place] and form.moments[one.place] < 0
        return Made(one, place, time, needed, notes, together, at_barline)


def printed(source: Source, form: Form, place: int, later: int, shift: int) -> tuple[Place, int]:
    """Where on the page, and when, a change is made that ``later`` turns of its foot follow.

    ``shift`` is by how many microseconds it comes after the place itself.
    """
    places = source.moments.places
    moment = form.moments[place]
    if form.shown[place] and moment >= 0:
        # All of them are read in the diagram there.
        return places[moment], source.moments.microseconds[moment] + shift
    after: Place | None = None
    halves = later + 1
    if moment >= 0:
        after, halves = places[moment], later
        if not later:
            return after, source.moments.microseconds[moment]
    before = places[form.moments[place - 1]]
    bar = source.part.bars[before.bar]
    limit = after.offset if after is not None and after.bar == before.bar else bar.length
    gap = limit - before.offset
    # What the diagram after a barline tells is moved at the barline, its letter stands before it.
    time = before.offset + gap / 2 ** (later if form.shown[place] else halves)
    offset = before.offset + gap / 2**halves
    return Place(before.bar, offset), source.clock.microseconds(bar.start + time)
