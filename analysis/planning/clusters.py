"""Changes of one foot that hurry each other, solved together by a dynamic programme."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations
from typing import NamedTuple

from pedalsetter.analysis.planning.feet import place_quickly, price_of
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Window, distance

__all__ = ["Cluster", "Group", "Job", "alone", "meeting", "solve"]


class Job:
    """One change with its local prices, found as far back as they can matter."""

    __slots__ = ("_next", "_prices", "_seen", "best", "least", "notches", "place", "window")

    def __init__(self, window: Window, prices: Prices) -> None:
        self.window = window
        self.notches = window.notches
        self._prices = prices
        self._seen: list[tuple[int, int]] = []
        self._next = window.last
        self.best: tuple[int, int] | None = None
        self._look_back(None)
        self.least, place = self.best or (0, 0)
        self.place = -place

    def _look_back(self, limit: int | None) -> None:
        """Price places from the need backwards until being early alone costs too much.

        ``limit`` None stops where nothing earlier can be better than the best so far.
        """
        prices, window = self._prices, self.window
        while self._next >= window.first:
            place = self._next
            bound = limit if limit is not None else (self.best[0] if self.best else None)
            if bound is not None and prices.early(window, place) > bound:
                return
            self._next -= 1
            if not prices.capacities[place]:
                continue
            price = prices.local(window, place)
            self._seen.append((place, price))
            if self.best is None or (price, -place) < self.best:
                self.best = (price, -place)

    def places(self, excess: int) -> list[tuple[int, int]]:
        """Every (place, price above the least) with a price above it by ``excess`` at most."""
        self._look_back(self.least + excess)
        return [
            (place, price - self.least)
            for place, price in self._seen
            if price - self.least <= excess
        ]


class Group(NamedTuple):
    """Changes of one foot at one place, in their order."""

    place: int
    jobs: tuple[Job, ...]
    start: int
    """When the foot must be free for the first."""
    end: int
    """When it is free after the last."""


@dataclass(frozen=True, slots=True)
class Cluster:
    """Changes solved together."""

    jobs: tuple[Job, ...]
    groups: tuple[Group, ...]
    price: int
    """The optimum of these changes alone."""


def alone(job: Job, prices: Prices) -> Cluster:
    """A change by itself, where it costs least."""
    return Cluster((job,), (_by_itself(job, prices, job.place),), job.least)


def _by_itself(job: Job, prices: Prices, place: int) -> Group:
    time = prices.time(place)
    travel = prices.travel if job.window.crossed else 0
    return Group(place, (job,), time - travel, time + travel)


def meeting(clusters: Sequence[Cluster], prices: Prices) -> list[list[Cluster]]:
    """The clusters, those together that share a place or hurry each other."""
    owner = [(group, number) for number, cluster in enumerate(clusters) for group in cluster.groups]
    owner.sort(key=lambda one: (one[0].place, one[1]))
    parent = list(range(len(clusters)))

    def root(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number

    for (before, number), (after, next_number) in pairwise(owner):
        one, other = root(number), root(next_number)
        if one == other:
            continue
        gap = after.start - before.end
        if before.place == after.place or prices.haste(gap, after.jobs[0].notches):
            parent[max(one, other)] = min(one, other)
    together: dict[int, list[Cluster]] = {}
    for number, cluster in enumerate(clusters):
        together.setdefault(root(number), []).append(cluster)
    return list(together.values())


def solve(members: Sequence[Cluster], prices: Prices) -> Cluster | None:
    """The optimum of several clusters together."""
    jobs = tuple(job for cluster in members for job in cluster.jobs)
    quick = place_quickly([job.window for job in jobs], prices)
    if quick.failed:
        return None
    upper = price_of(quick, prices)
    least = sum(job.least for job in jobs)
    known = sum(cluster.price for cluster in members)
    excess: dict[int, int] = {}
    for cluster in members:
        own = sum(job.least for job in cluster.jobs)
        for job in cluster.jobs:
            # The other clusters cost their optimum at least, whatever this change does.
            excess[id(job)] = upper - (known - cluster.price) - own
    result = _Programme(jobs, excess, upper - least, prices).best()
    if result is None:
        return None
    groups, above = result
    return Cluster(jobs, groups, least + above)


class _Node(NamedTuple):
    """The changes made at one place, and the way there."""

    before: _Node | None
    group: Group


_States = dict[tuple[int, int], tuple[int, _Node | None]]
"""(changes made, time of the last move or −1) → (points, the way)."""

_TIE = 1 << 40
"""Points are counted in this unit; below it the places are summed, so that later ones win ties."""


class _Programme:
    """Dynamic programme over the places of one cluster.

    State: which of the open changes are made, and when the foot last moved. Prices are counted
    above the sum of the least local prices.
    """

    def __init__(
        self, jobs: Sequence[Job], excess: dict[int, int], most: int, prices: Prices
    ) -> None:
        self._prices = prices
        self._most = most
        self._at: dict[int, list[tuple[int, Job, int]]] = {}
        self._due: dict[int, int] = {}
        for number, job in enumerate(jobs):
            bit = 1 << number
            places = job.places(excess[id(job)])
            for place, price in places:
                self._at.setdefault(place, []).append((bit, job, price))
            last = max(place for place, _ in places)
            self._due[last] = self._due.get(last, 0) | bit

    def best(self) -> tuple[tuple[Group, ...], int] | None:
        """The cheapest way: (changes by place, points above the least)."""
        most = (self._most + 1) * _TIE
        reach = self._prices.reach
        states: _States = {(0, -1): (0, None)}
        for place in sorted(self._at):
            here, due = self._at[place], self._due.get(place, 0)
            first = self._prices.time(place, 3) - self._prices.travel
            groups = self._groups(place, here)
            after: _States = {}
            for (made, last), (price, node) in states.items():
                moved = last if last >= 0 and first - last < reach else -1
                if made & due == due:
                    _keep(after, (made & ~due, moved), price, node)
                for bits, group, own in groups:
                    if made & bits or (made | bits) & due != due:
                        continue
                    total = price + own
                    if moved >= 0:
                        gap = group.start - moved
                        total += self._prices.haste(gap, group.jobs[0].notches) * _TIE
                    if total <= most:
                        key = ((made | bits) & ~due, group.end)
                        _keep(after, key, total, _Node(node, group))
            states = _undominated(after)
            if not states:
                return None
        price, node = min(states.values(), key=lambda state: state[0])
        groups_found: list[Group] = []
        while node is not None:
            groups_found.append(node.group)
            node = node.before
        return tuple(reversed(groups_found)), -(-price // _TIE)

    def _groups(
        self, place: int, here: Sequence[tuple[int, Job, int]]
    ) -> list[tuple[int, Group, int]]:
        """Every way to make changes at a place: (bits, the changes in their order, points)."""
        prices = self._prices
        found: list[tuple[int, Group, int]] = [
            (bit, _by_itself(job, prices, place), price * _TIE - place) for bit, job, price in here
        ]
        floors = prices.least_sharing(place)
        for count in range(2, min(prices.room(place), len(here)) + 1):
            cheapest = sum(sorted(price for _, _, price in here)[:count])
            if cheapest + floors[count] > self._most:
                break
            for order in permutations(here, count):
                own = sum(price for _, _, price in order)
                if own + floors[count] > self._most:
                    continue
                jobs = tuple(job for _, job, _ in order)
                windows = [job.window for job in jobs]
                bits = sum(bit for bit, _, _ in order)
                for turns in prices.orders(list(map(distance, windows)), place):
                    total = own + prices.sharing(windows, place, turns)
                    if total > self._most:
                        continue
                    start, end = prices.start(windows, place, turns), prices.end(windows, place)
                    group = Group(place, jobs, start, end)
                    found.append((bits, group, total * _TIE - place * count))
        return found


def _keep(
    states: _States,
    key: tuple[int, int],
    price: int,
    node: _Node | None,
) -> None:
    known = states.get(key)
    if known is None or price < known[0]:
        states[key] = (price, node)


def _undominated(
    states: _States,
) -> _States:
    """Drop a state if another has made the same changes, is no dearer, and moved no later."""
    by_made: dict[int, list[tuple[int, int, _Node | None]]] = {}
    for (made, last), (price, node) in states.items():
        by_made.setdefault(made, []).append((last, price, node))
    kept: _States = {}
    for made, entries in by_made.items():
        entries.sort(key=lambda entry: (entry[0], entry[1]))
        best: int | None = None
        for last, price, node in entries:
            if best is None or price < best:
                best = price
                kept[made, last] = (price, node)
    return kept
