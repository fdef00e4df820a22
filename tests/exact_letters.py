"""All that one pedal can have behind it in a stretch, for an exact search.

A letter's *memory* is its position and what can still cost something: when the old position was
last needed, until when its notes are written to sound, when each register was last plucked, and the
move that nothing has needed yet. :class:`LetterSteps` numbers the memories that can be reached at
every step and tells where each leads.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

import numpy as np
from exact_places import Option, Stretch

from pedalsetter.analysis.instrument.harp import Letter
from pedalsetter.analysis.planning.weights import REGISTERS, Weights

NEVER = -1
FAR = 1 << 40
"""A price that is never paid."""


class Memory(NamedTuple):
    """What one letter carries on; times in microseconds, ``NEVER`` where nothing counts any more.

    ``moved`` is the place of a move that no note has needed yet, ``hold`` the last place at which
    something is struck again that keeps the letter where it is.
    """

    position: int
    need: int = NEVER
    until: int = NEVER
    plucked: tuple[int, ...] = (NEVER,) * len(REGISTERS)
    moved: int = NEVER
    hold: int = NEVER


class Demand(NamedTuple):
    """A letter is struck in a position; its notes sound until then, in these registers.

    ``stroke`` and ``hold`` are those of :class:`exact_places.Option`.
    """

    position: int
    until: int
    registers: tuple[int, ...]
    stroke: int = NEVER
    hold: int = NEVER


@dataclass(frozen=True)
class Step:
    """A slot (``later`` 0 to 3, 0 the last), or the striking of a place (``later`` NEVER)."""

    place: int
    later: int
    time: int


@dataclass
class SlotMoves:
    """From each memory: where it is if the pedal stays, and where and at what price if it moves."""

    stay: np.ndarray
    moves: list[tuple[np.ndarray, np.ndarray, np.ndarray]]
    """For each position: the memory reached or ``NEVER``, the price, and whether by two notches."""


@dataclass
class Strikes:
    """From each memory, by what the letter is asked for: where it is then, and at what price."""

    to: dict[Demand | None, tuple[np.ndarray, np.ndarray]]


def steps_of(stretch: Stretch) -> list[Step]:
    """Slots and strikes in the order of time."""
    found = []
    for number, place in enumerate(stretch.places):
        for later in reversed(range(len(place.slots))):
            found.append(Step(number, later, place.slots[later]))
        found.append(Step(number, NEVER, place.time))
    return found


def haste(weights: Weights, gap: int, two: bool) -> int:
    """What a foot pays that has so many microseconds."""
    factor = weights.two_notches if two else Fraction(1)
    if gap >= int(weights.comfortable_seconds * factor * 1_000_000):
        return 0
    if gap >= int(weights.least_seconds * factor * 1_000_000):
        return weights.hurried
    return weights.impossible


def demand_of(options: Iterable[Option], letter: Letter) -> Demand | None:
    """What a letter is asked for by those of these options that are its own; None if none are.

    Raises ValueError where they want it in two positions.
    """
    taken = [option for option in options if option.letter is letter]
    if not taken:
        return None
    (position,) = {int(option.position) for option in taken}
    sounds = [sound for option in taken for sound in option.sounds]
    return Demand(
        position,
        max(until for until, _ in sounds),
        tuple(sorted({register for _, register in sounds})),
        max(option.stroke for option in taken),
        max(option.hold for option in taken),
    )


class LetterSteps:
    """The memories of one letter at each step of a stretch, and what leads from one to the next.

    Between two needs, or before the first or after the last, a letter moves at most once: a mark
    that no note asks for is never printed.
    """

    def __init__(
        self,
        stretch: Stretch,
        weights: Weights,
        letter: Letter,
        demands: Sequence[Collection[Demand]],
    ) -> None:
        self.stretch, self.weights, self.letter = stretch, weights, letter
        self.ring = [int(seconds * 1_000_000) for seconds in weights.ring_seconds]
        self.horizon = int(weights.comfortable_seconds * weights.two_notches * 1_000_000)
        self.steps = steps_of(stretch)
        self.layers: list[list[Memory]] = []
        self.links: list[SlotMoves | Strikes] = []
        layer = [Memory(position) for position in (-1, 0, 1)]
        for number, step in enumerate(self.steps):
            self.layers.append(layer)
            found: dict[Memory, int] = {}
            after = min((one.time for one in self.steps[number + 1 :]), default=FAR)
            if step.later == NEVER:
                self.links.append(self.strikes(layer, step, demands[step.place], found, after))
            else:
                self.links.append(self.slot(layer, step, found, after))
            layer = list(found)
        self.layers.append(layer)

    @cached_property
    def hastes(self) -> list[np.ndarray]:
        """For each step what a foot pays that moves one pedal in it, by one notch or by two.

        Rows: one notch, two; columns: the step of the move before, the last one for none.
        """
        found = []
        for number, step in enumerate(self.steps):
            table = np.zeros((2, len(self.steps) + 1), dtype=np.int64)
            for before in reversed(range(number)):
                gap = step.time - self.steps[before].time
                if gap >= self.horizon:
                    continue
                table[:, before] = [haste(self.weights, gap, two) for two in (False, True)]
            found.append(table)
        return found

    def forget(self, last: np.ndarray, number: int) -> np.ndarray:
        """The steps of last moves, without those that no move to come can be too near to."""
        after = [step.time for step in self.steps[number + 1 :] if step.later != NEVER]
        following = min(after, default=FAR)
        times = np.array([step.time for step in self.steps])
        return np.where(following - times[last] >= self.horizon, NEVER, last)

    def number(self, memory: Memory, found: dict[Memory, int], after: int, place: int) -> int:
        """The number of a memory, without what cannot matter ``after`` a place any more."""
        need, until = memory.need, memory.until
        plucked = tuple(
            time if time != NEVER and after - time < ring else NEVER
            for time, ring in zip(memory.plucked, self.ring, strict=True)
        )
        memory = memory._replace(
            need=need if need != NEVER and after - need < self.horizon else NEVER,
            until=until if until > after else NEVER,
            plucked=plucked,
            hold=memory.hold if memory.hold > place else NEVER,
        )
        return found.setdefault(memory, len(found))

    def near(self, place: int, goal: int) -> int:
        """What a move at a place costs for being near before a note that needs it at ``goal``."""
        if self.stretch.places[place].shown:
            return 0
        near = int(self.weights.near_seconds * 1_000_000)
        left = near - (goal - self.stretch.places[place].time)
        return max(0, self.weights.on_need * left // near)

    def early(self, place: int, goal: int) -> int:
        """What a move at a place costs that nothing needs before the time ``goal``."""
        wait = max(0, goal - self.stretch.places[place].counted)
        slope = self.weights.very_early
        squared = slope.numerator * wait * wait
        price = self.weights.early * wait // 1_000_000 + squared // (slope.denominator * 10**12)
        shown = self.stretch.places[place].shown
        return price // self.weights.early_at_diagram if shown else price

    def slot(
        self, layer: list[Memory], step: Step, found: dict[Memory, int], after: int
    ) -> SlotMoves:
        """What may happen to the letter in a slot."""
        stay = np.array([self.number(memory, found, after, step.place - 1) for memory in layer])
        moves = []
        for position in (-1, 0, 1):
            to, prices, twos = [], [], []
            for memory in layer:
                two = abs(position - memory.position) == 2
                held = memory.hold >= step.place
                if position == memory.position or memory.moved != NEVER or held:
                    to.append(NEVER)
                    prices.append(0)
                else:
                    moved = memory._replace(position=position, need=NEVER, moved=step.place)
                    to.append(self.number(moved, found, after, step.place - 1))
                    prices.append(self.price(memory, step, two))
                twos.append(two)
            moves.append((np.array(to), np.array(prices, dtype=np.int64), np.array(twos)))
        return SlotMoves(stay, moves)

    def price(self, memory: Memory, step: Step, two: bool) -> int:
        """A move without what the foot and the next need add to it."""
        weights, place = self.weights, self.stretch.places[step.place]
        price = place.move + place.price
        now = place.slots[0] if place.spread else step.time
        price += weights.second_notch * two
        if memory.need != NEVER:
            price += haste(weights, now - memory.need, two)
        if now < memory.until:
            price += weights.under_note
        ringing = [
            weights.resonance * (ring - now + time) // ring
            for time, ring in zip(memory.plucked, self.ring, strict=True)
            if time != NEVER and now - time < ring
        ]
        return price + max(ringing, default=0)

    def strikes(
        self,
        layer: list[Memory],
        step: Step,
        demands: Collection[Demand],
        found: dict[Memory, int],
        after: int,
    ) -> Strikes:
        """What a place asks of the letter."""
        places = self.stretch.places
        here = places[step.place].time
        last = step.place + 1 == len(places)
        following = self.stretch.end if last else places[step.place + 1].time
        links: dict[Demand | None, tuple[np.ndarray, np.ndarray]] = {}
        for demand in (None, *demands):
            to, prices = [], []
            for memory in layer:
                if demand is None:
                    to.append(self.number(memory, found, after, step.place))
                    place, pending = memory.moved, memory.moved != NEVER
                    later = self.early(place, following) - self.early(place, here) if pending else 0
                    prices.append(later)
                elif demand.position != memory.position:
                    to.append(NEVER)
                    prices.append(0)
                else:
                    struck = Memory(
                        memory.position,
                        max(here, demand.stroke, memory.need),
                        max(memory.until, demand.until),
                        tuple(
                            max(here, demand.stroke, time) if register in demand.registers else time
                            for register, time in enumerate(memory.plucked)
                        ),
                        hold=max(memory.hold, demand.hold),
                    )
                    to.append(self.number(struck, found, after, step.place))
                    near = self.near(memory.moved, here) if memory.moved != NEVER else 0
                    prices.append(near)
            links[demand] = (np.array(to), np.array(prices, dtype=np.int64))
        return Strikes(links)

    def bounds(
        self, asked: Sequence[dict[Demand | None, int]], leave: int | None
    ) -> list[np.ndarray]:
        """What each memory of each step still costs at least, were this letter alone in the world.

        ``asked`` tells for each place what the letter may be asked for and what share of the price
        of the notes it then bears; ``leave`` is where it must stand at the end.
        """
        ends = np.array(
            [0 if leave in (None, memory.position) else FAR for memory in self.layers[-1]],
            dtype=np.int64,
        )
        found = [ends]
        for step, link in zip(reversed(self.steps), reversed(self.links), strict=True):
            after = found[-1]
            if isinstance(link, SlotMoves):
                best = after[link.stay]
                for to, prices, _ in link.moves:
                    best = np.minimum(best, np.where(to == NEVER, FAR, after[to] + prices))
            else:
                best = np.full(len(next(iter(link.to.values()))[0]), FAR, dtype=np.int64)
                for demand, share in asked[step.place].items():
                    to, prices = link.to[demand]
                    ways = np.where(to == NEVER, FAR, after[to] + prices + share)
                    best = np.minimum(best, ways)
            found.append(np.minimum(best, FAR))
        return found[::-1]
