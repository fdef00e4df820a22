"""The least cost of one foot through all stretches of a part: a plain programme over its states.

A state is the memory of each of its letters (``exact_letters``) and the slot of its last move.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from exact_letters import FAR, NEVER, Demand, LetterSteps, SlotMoves, demand_of
from exact_places import Option, Stretch

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter
from pedalsetter.analysis.planning.weights import Weights

Key = tuple[int, int, int]
"""Stretch, place and number of a group."""
Ways = tuple[tuple[Option | None, int], ...]
"""How one foot may deal with a group, and what each way costs it; None leaves it out."""
Positions = tuple[int, ...] | None
"""Where the letters of a foot stand at a node; None if anywhere."""


class TooManyStatesError(Exception):
    """The search would need more states than it was granted."""


@dataclass
class _Leg:
    """A stretch from given positions to given ones: what is known of its cost."""

    stretch: int
    entry: Positions
    leave: Positions
    least: int
    slack: int = 0
    """Points beyond the bound within which it is tried next: at first none, then ever more."""
    told: bool = False
    """Whether ``least`` is the cost and not only a bound."""


class OneFoot:
    """Answers what one foot costs at least, by how it deals with the notes that both can play."""

    def __init__(
        self,
        foot: Foot,
        own: dict[Key, Ways],
        found: list[Stretch],
        weights: Weights,
        most_states: int,
    ) -> None:
        self.own, self.stretches, self.weights = own, found, weights
        self.most_states = most_states
        self.letters = [letter for letter in LETTERS if letter.foot is foot]
        self.pedals = [
            [_pedal(stretch, weights, letter) for letter in self.letters] for stretch in found
        ]
        self.programmes: dict[object, _Programme] = {}
        self.ways: dict[object, _WaysThrough] = {}
        used = Counter(one.entry for one in found)
        used.update(one.leave for one in found if one.leave is not None)
        self.nodes = sorted(node for node, times in used.items() if times > 1)

    def least(self, shared: dict[Key, Ways], most: int) -> int:
        """The least cost where these are the ways to deal with the notes shared with the other.

        If it is beyond ``most``, a bound beyond ``most``.
        """
        key = tuple(shared.items())
        if key not in self.ways:
            ways = {**self.own, **shared}
            programmes = [self.programme(number, ways) for number in range(len(self.stretches))]
            self.ways[key] = _WaysThrough(self.stretches, programmes, self.nodes)
        return self.ways[key].least(most)

    def programme(self, number: int, ways: dict[Key, Ways]) -> _Programme:
        """The programme of one stretch; one for all questions that are alike in it."""
        here = {key[1:]: way for key, way in ways.items() if key[0] == number}
        key = (number, tuple(sorted(here.items(), key=lambda item: item[0])))
        if key not in self.programmes:
            asked = [
                [way for (at, _), way in here.items() if at == place]
                for place in range(len(self.stretches[number].places))
            ]
            self.programmes[key] = _Programme(
                self.pedals[number], asked, self.weights, self.most_states
            )
        return self.programmes[key]


class _WaysThrough:
    """Where the foot stands at nodes that are passed more than once: best bound first."""

    def __init__(
        self, found: list[Stretch], programmes: list[_Programme], nodes: list[int]
    ) -> None:
        self.programmes = programmes
        everywhere = list(product((-1, 0, 1), repeat=len(programmes[0].pedals)))
        legs: dict[tuple[int, Positions, Positions], _Leg] = {}
        self.waiting = []
        for number, standing in enumerate(product(everywhere, repeat=len(nodes))):
            at: dict[int | None, Positions] = dict(zip(nodes, standing, strict=True))
            way = []
            for index, stretch in enumerate(found):
                key = (index, at.get(stretch.entry), at.get(stretch.leave))
                if key not in legs:
                    legs[key] = _Leg(*key, programmes[index].bound(*key[1:]))
                way.append(legs[key])
            self.waiting.append((sum(leg.least for leg in way), number, way))
        heapq.heapify(self.waiting)

    def least(self, most: int) -> int:
        """The least cost, or a bound for it that is beyond ``most``."""
        while True:
            bound, number, way = self.waiting[0]
            now = sum(leg.least for leg in way)
            if now == bound:
                leg = next((leg for leg in way if not leg.told), None)
                if leg is None or bound > most:
                    return bound
                self.programmes[leg.stretch].improve(leg, most - bound)
                now = sum(leg.least for leg in way)
            heapq.heapreplace(self.waiting, (now, number, way))


class _Programme:
    """One foot through one stretch, with the ways to deal with each group given."""

    def __init__(
        self,
        pedals: list[LetterSteps],
        asked: list[list[Ways]],
        weights: Weights,
        most_states: int,
    ) -> None:
        self.pedals, self.weights, self.most_states = pedals, weights, most_states
        letters = [pedal.letter for pedal in pedals]
        self.choices = [_choices(letters, ways) for ways in asked]
        self.shares = [[_shares(letter, ways) for letter in letters] for ways in asked]
        self.steps = self.pedals[0].steps
        self.bounds: dict[tuple[int, int | None], list[np.ndarray]] = {}

    def letter_bounds(self, leave: Positions) -> list[list[np.ndarray]]:
        found = []
        for index, pedal in enumerate(self.pedals):
            key = (index, leave[index] if leave is not None else None)
            if key not in self.bounds:
                self.bounds[key] = pedal.bounds([share[index] for share in self.shares], key[1])
            found.append(self.bounds[key])
        return found

    def bound(self, entry: Positions, leave: Positions) -> int:
        """What the letters cost at least, each alone in the world."""
        return sum(
            int(bounds[0].min() if entry is None else bounds[0][entry[index] + 1])
            for index, bounds in enumerate(self.letter_bounds(leave))
        )

    def improve(self, leg: _Leg, slack: int) -> None:
        """Finds the cost of a leg, or raises its bound; more ``slack`` than this is of no use."""
        most = leg.least + min(leg.slack, slack)
        cost = self.run(leg.entry, self.letter_bounds(leg.leave), most)
        if cost is None:
            leg.least, leg.slack = most + 1, max(60, 2 * leg.slack)
        else:
            leg.least, leg.told = cost, True

    def run(self, entry: Positions, bounds: list[list[np.ndarray]], most: int) -> int | None:
        """The least cost from the entry, None if it is more than ``most``."""
        starts = list(product((-1, 0, 1), repeat=len(self.pedals))) if entry is None else [entry]
        states = _States(
            [np.array([start[i] + 1 for start in starts]) for i in range(len(self.pedals))],
            np.full(len(starts), NEVER),
            np.zeros(len(starts), dtype=np.int64),
        )
        for number, step in enumerate(self.steps):
            ways = self.strikes if step.later == NEVER else self.moves
            after = [bound[number + 1] for bound in bounds]
            kept = [way for way in ways(states, number, after, most) if len(way)]
            if not kept:
                return None
            states = _States.merged(kept, [len(pedal.layers[number + 1]) for pedal in self.pedals])
            if len(states) > self.most_states:
                raise TooManyStatesError(f"{len(states)} states at step {number}")
        return int(states.cost.min())

    def strikes(
        self, states: _States, number: int, after: list[np.ndarray], most: int
    ) -> Iterator[_States]:
        """The letters are asked for in each way that serves the notes, or loses some."""
        for demands, price in self.choices[self.steps[number].place].items():
            ids, cost = [], states.cost + price
            possible = np.ones(len(states), dtype=bool)
            for pedal, demand, memory in zip(self.pedals, demands, states.ids, strict=True):
                to, prices = pedal.links[number].to[demand]
                ids.append(to[memory])
                possible &= ids[-1] != NEVER
                cost = cost + prices[memory]
            least = cost + sum(bound[memory] for bound, memory in zip(after, ids, strict=True))
            yield _States(ids, states.last, cost).only(possible & (least <= most))

    def moves(
        self, states: _States, number: int, after: list[np.ndarray], most: int
    ) -> Iterator[_States]:
        """The foot stays or moves one pedal; slots of one place are filled from the last one."""
        step, before = self.steps[number], self.steps[max(number - 1, 0)]
        links: list[SlotMoves] = [pedal.links[number] for pedal in self.pedals]
        stay = [link.stay[memory] for link, memory in zip(links, states.ids, strict=True)]
        bounds = [bound[memory] for bound, memory in zip(after, stay, strict=True)]
        least = states.cost + sum(bounds)
        staying = least <= most
        if before.place == step.place and before.later > step.later:
            staying &= states.last != number - 1
        last = self.pedals[0].forget(states.last, number)
        yield _States(stay, last, states.cost).only(staying)
        hastes = self.pedals[0].hastes[number]
        at_ease = self.pedals[0].stretch.places[step.place].spread
        between = self.weights.between if step.later and not at_ease else 0
        for index, (link, memory) in enumerate(zip(links, states.ids, strict=True)):
            for to, prices, twos in link.moves:
                reached = to[memory]
                rows = np.flatnonzero(reached != NEVER)
                if not len(rows):
                    continue
                reached, was = reached[rows], memory[rows]
                foot = hastes[twos[was].astype(np.int64), states.last[rows]]
                price = prices[was] + foot + between
                fits = least[rows] - bounds[index][rows] + after[index][reached] + price <= most
                rows = rows[fits]
                ids = [one[rows] for one in stay]
                ids[index] = reached[fits]
                cost = states.cost[rows] + price[fits]
                yield _States(ids, np.full(len(rows), number), cost)


@dataclass
class _States:
    """States of a foot, one a row.

    The number of each letter's memory, the step of the last move, the least cost so far.
    """

    ids: list[np.ndarray]
    last: np.ndarray
    cost: np.ndarray

    def __len__(self) -> int:
        return len(self.cost)

    def only(self, kept: np.ndarray) -> _States:
        """Some of the rows."""
        return _States([one[kept] for one in self.ids], self.last[kept], self.cost[kept])

    @staticmethod
    def merged(parts: list[_States], sizes: list[int]) -> _States:
        """All of them, the cheapest of each state."""
        ids = [np.concatenate(columns) for columns in zip(*(p.ids for p in parts), strict=True)]
        last = np.concatenate([part.last for part in parts])
        cost = np.concatenate([part.cost for part in parts])
        key = last + 1
        for column, size in zip(ids, sizes, strict=True):
            key = key * size + column
        order = np.lexsort((cost, key))
        key = key[order]
        first = np.ones(len(key), dtype=bool)
        first[1:] = key[1:] != key[:-1]
        return _States(ids, last, cost).only(order[first])


def _pedal(stretch: Stretch, weights: Weights, letter: Letter) -> LetterSteps:
    """The memories of a letter, whatever it is asked for by the notes that it can play."""
    demands = []
    for place in stretch.places:
        options = [one for group in place.groups for one in group.options if one.letter is letter]
        taken = [one for size in range(len(options)) for one in combinations(options, size + 1)]
        demands.append(
            {
                demand_of(one, letter)
                for one in taken
                if len({option.position for option in one}) == 1
            }
        )
    return LetterSteps(stretch, weights, letter, demands)


def _choices(letters: list[Letter], asked: list[Ways]) -> dict[tuple[Demand | None, ...], int]:
    """What the letters may be asked for together at a place, and at what price."""
    found: dict[tuple[Demand | None, ...], int] = {}
    for taken in product(*asked):
        options = [option for option, _ in taken if option is not None]
        try:
            demands = tuple(demand_of(options, letter) for letter in letters)
        except ValueError:
            continue  # one letter in two positions
        price = sum(price for _, price in taken)
        found[demands] = min(price, found.get(demands, FAR))
    return found


def _shares(letter: Letter, asked: list[Ways]) -> dict[Demand | None, int]:
    """What a letter may be asked for at a place, and the share of the price that it bears.

    Of each group the cheapest letter bears its own price, or the least of the other ways if it
    does not take it; another bears nothing. So all shares together never exceed the price.
    """
    mine = []
    for way in asked:
        first = min(way, key=lambda one: one[1])[0]
        option = next((one for one, _ in way if one is not None and one.letter is letter), None)
        if option is None:
            continue
        others = min((price for one, price in way if one is not option), default=FAR)
        own = dict(way)[option]
        mine.append((option, own, others) if option is first else (option, 0, 0))
    found: dict[Demand | None, int] = {}
    for size in range(len(mine) + 1):
        for taken in combinations(mine, size):
            try:
                demand = demand_of([option for option, _, _ in taken], letter)
            except ValueError:
                continue
            left = [one for one in mine if one not in taken]
            price = sum(own for _, own, _ in taken) + sum(others for _, _, others in left)
            found[demand] = min(price, found.get(demand, FAR))
    return {demand: price for demand, price in found.items() if price < FAR}
