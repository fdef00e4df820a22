"""The best moments for one foot's changes, exactly.

Each change alone has a best place. Where those places do not hurry each other, they are the
optimum, for every price but haste belongs to one change alone. Where they do, the changes that
meet form a cluster, and the cluster is solved exactly by a dynamic programme over its places. A
cluster's optimum never falls when another change is added (a move between two moves only shortens
the time of the later one), so the sum over clusters is a lower bound, and it is reached as soon as
no two clusters hurry each other. Clusters that do are merged and solved again.

Ties are broken for the later place, that is, the one nearer to the need.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations
from typing import NamedTuple

from pedalsetter.analysis.planning.feet import Schedule, place_quickly, price_of
from pedalsetter.analysis.planning.prices import Prices
from pedalsetter.analysis.planning.windows import Window

__all__ = ["Solver", "essence", "place_best"]


def place_best(windows: Sequence[Window], prices: Prices) -> Schedule:
    """Return the cheapest schedule of one foot's changes along one line.

    Changes for which no moment is left are in ``failed``; then the schedule is only a quick one.
    """
    return Solver(prices).schedule(windows)


class Solver:
    """Solves many variants of one foot's changes along one line, and remembers their clusters."""

    def __init__(self, prices: Prices) -> None:
        self._prices = prices
        self._jobs: dict[tuple[object, ...], _Job] = {}
        self._solved: dict[frozenset[int], _Cluster | None] = {}
        self._base: list[_Cluster] = []
        self._home: dict[int, _Cluster] = {}
        self._places: list[int] = []
        self._owners: list[_Cluster] = []
        self._last: tuple[dict[int, _Cluster], list[_Cluster]] = ({}, [])

    def schedule(self, windows: Sequence[Window]) -> Schedule:
        """The cheapest schedule of these changes."""
        clusters = self._clusters(windows)
        if clusters is None:
            return place_quickly(windows, self._prices)
        # A job may have been priced for another variant, with other notes to name.
        named = {essence(window): window for window in windows}
        groups = [group for cluster in clusters for group in cluster.groups]
        groups.sort(key=lambda group: group[0])
        return Schedule(
            tuple(
                (place, tuple(named[essence(job.window)] for job in sharing))
                for place, sharing in groups
            )
        )

    def points(self, windows: Sequence[Window]) -> int | None:
        """The price of the cheapest schedule; None if a change has no moment."""
        clusters = self._clusters(windows)
        if clusters is None:
            return None
        fixed = sum(self._prices.fixed(window) for window in windows)
        return fixed + sum(cluster.price for cluster in clusters)

    def settle(self, windows: Sequence[Window]) -> bool:
        """Make these changes the ones that :meth:`difference` starts from; False if one fails."""
        clusters = self._clusters(windows)
        if clusters is None:
            return False
        self._base = clusters
        self._home = {id(job): cluster for cluster in clusters for job in cluster.jobs}
        owners = sorted(
            (place, number)
            for number, cluster in enumerate(clusters)
            for place, _ in cluster.groups
        )
        self._places = [place for place, _ in owners]
        self._owners = [clusters[number] for _, number in owners]
        return True

    def difference(self, removed: Sequence[Window], added: Sequence[Window]) -> int | None:
        """By how much the price rises if changes give way to others; None if one cannot be made.

        Only the clusters that meet the difference are solved again; None also if they are many,
        for then the answer would cost more time than it is worth.
        """
        gone = {id(self._job(window)) for window in removed}
        opened = {id(self._home[job]): self._home[job] for job in gone}
        new = [self._job(window) for window in added]
        if any(job.best is None for job in new):
            return None
        pool = [
            _alone(job)
            for cluster in opened.values()
            for job in cluster.jobs
            if id(job) not in gone
        ] + [_alone(job) for job in new]
        while True:
            if sum(len(one.jobs) for one in pool) > _MOST_TOGETHER:
                return None
            merged = self._merge(pool)
            while merged is not None and len(merged) < len(pool):
                pool, merged = merged, self._merge(merged)
            if merged is None:
                return None
            met = {
                id(cluster): cluster
                for one in pool
                for cluster in self._met_by(one)
                if id(cluster) not in opened
            }
            if not met:
                break
            opened |= met
            pool = [*pool, *met.values()]
        self._last = (opened, pool)
        before = sum(cluster.price for cluster in opened.values())
        fixed = sum(map(self._prices.fixed, added)) - sum(map(self._prices.fixed, removed))
        return sum(cluster.price for cluster in pool) - before + fixed

    def replace(
        self, removed: Sequence[Window], added: Sequence[Window], every: Sequence[Window]
    ) -> None:
        """Make a difference lasting; ``every`` are all changes after it."""
        if self.difference(removed, added) is None:
            self.settle(every)
            return
        opened, pool = self._last
        kept = [
            (place, owner)
            for place, owner in zip(self._places, self._owners, strict=True)
            if id(owner) not in opened
        ]
        kept += [(place, cluster) for cluster in pool for place, _ in cluster.groups]
        kept.sort(key=lambda one: one[0])
        self._places = [place for place, _ in kept]
        self._owners = [owner for _, owner in kept]
        for home in opened.values():
            for job in home.jobs:
                del self._home[id(job)]
        for cluster in pool:
            for job in cluster.jobs:
                self._home[id(job)] = cluster
        self._base = [one for one in self._base if id(one) not in opened] + pool

    def shares(self) -> list[tuple[Window, int, int]]:
        """For each change its least price, and what its cluster costs beyond the least prices."""
        return [
            (job.window, job.least, cluster.price - sum(one.least for one in cluster.jobs))
            for cluster in self._base
            for job in cluster.jobs
        ]

    def around(self, window: Window) -> int:
        """What a change costs together with the changes that it is solved with."""
        home = self._home[id(self._job(window))]
        return home.price + sum(self._prices.fixed(job.window) for job in home.jobs)

    def headroom(self, removed: Sequence[Window], added: Sequence[Window]) -> int:
        """What could be saved at most if some changes gave way to others."""
        gone = {id(self._job(window)) for window in removed}
        homes = {id(self._home[job]): self._home[job] for job in gone}
        most = sum(map(self._prices.fixed, removed)) - sum(map(self._prices.fixed, added))
        most -= sum(self._job(window).least for window in added)
        for home in homes.values():
            most += home.price - sum(job.least for job in home.jobs if id(job) not in gone)
        return most

    def _met_by(self, one: _Cluster) -> Iterator[_Cluster]:
        """Clusters of the base whose nearest moves share a place with ``one`` or are hurried."""
        prices, places = self._prices, self._places
        for place, sharing in one.groups:
            after = bisect_left(places, place)
            if after < len(places):
                other = self._owners[after]
                near, group = places[after], dict(other.groups)[places[after]]
                gap = prices.time(near, len(group) - 1) - prices.time(place)
                if near == place or prices.haste(gap, group[0].notches):
                    yield other
            if after:
                gap = prices.time(place, len(sharing) - 1) - prices.time(places[after - 1])
                if prices.haste(gap, sharing[0].notches):
                    yield self._owners[after - 1]

    def _clusters(self, windows: Sequence[Window]) -> list[_Cluster] | None:
        jobs = [self._job(window) for window in windows]
        if any(job.best is None for job in jobs):
            return None
        clusters = [_alone(job) for job in jobs]
        while True:
            merged = self._merge(clusters)
            if merged is None or len(merged) == len(clusters):
                return merged
            clusters = merged

    def _job(self, window: Window) -> _Job:
        key = essence(window)
        known = self._jobs.get(key)
        if known is None:
            known = self._jobs[key] = _Job(window, self._prices)
        return known

    def _merge(self, clusters: Sequence[_Cluster]) -> list[_Cluster] | None:
        """Merge the clusters that hurry each other, each union solved anew; None if one fails."""
        found: list[_Cluster] = []
        for members in _meeting(clusters, self._prices):
            if len(members) == 1:
                found.append(members[0])
                continue
            key = frozenset(id(job) for cluster in members for job in cluster.jobs)
            if key not in self._solved:
                self._solved[key] = _solve(members, self._prices)
            solved = self._solved[key]
            if solved is None:
                return None
            found.append(solved)
        return found


def essence(window: Window) -> tuple[object, ...]:
    """All of a window that its prices depend on."""
    return (
        window.letter.index,
        window.old,
        window.new,
        window.first,
        window.last,
        window.need is None,
        window.before is None,
        window.held,
        window.plucked,
    )


class _Job:
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


@dataclass(frozen=True, slots=True)
class _Cluster:
    """Changes solved together."""

    jobs: tuple[_Job, ...]
    groups: tuple[tuple[int, tuple[_Job, ...]], ...]
    price: int
    """The optimum of these changes alone."""


def _alone(job: _Job) -> _Cluster:
    return _Cluster((job,), ((job.place, (job,)),), job.least)


def _meeting(clusters: Sequence[_Cluster], prices: Prices) -> list[list[_Cluster]]:
    """The clusters, those together that share a place or hurry each other."""
    owner = [
        (place, sharing, number)
        for number, cluster in enumerate(clusters)
        for place, sharing in cluster.groups
    ]
    owner.sort(key=lambda one: (one[0], one[2]))
    parent = list(range(len(clusters)))

    def root(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number

    for before, after in pairwise(owner):
        one, other = root(before[2]), root(after[2])
        if one == other:
            continue
        gap = prices.time(after[0], len(after[1]) - 1) - prices.time(before[0])
        if before[0] == after[0] or prices.haste(gap, after[1][0].notches):
            parent[max(one, other)] = min(one, other)
    together: dict[int, list[_Cluster]] = {}
    for number, cluster in enumerate(clusters):
        together.setdefault(root(number), []).append(cluster)
    return list(together.values())


def _solve(members: Sequence[_Cluster], prices: Prices) -> _Cluster | None:
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
    return _Cluster(jobs, groups, least + above)


_MOST_TOGETHER = 24
"""Changes that :meth:`Solver.difference` solves together at most."""

_Groups = tuple[tuple[int, tuple[_Job, ...]], ...]


class _Node(NamedTuple):
    """The changes made at one place, and the way there."""

    before: _Node | None
    place: int
    order: tuple[_Job, ...]


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
        self, jobs: Sequence[_Job], excess: dict[int, int], most: int, prices: Prices
    ) -> None:
        self._prices = prices
        self._most = most
        self._at: dict[int, list[tuple[int, _Job, int]]] = {}
        self._due: dict[int, int] = {}
        for number, job in enumerate(jobs):
            bit = 1 << number
            places = job.places(excess[id(job)])
            for place, price in places:
                self._at.setdefault(place, []).append((bit, job, price))
            last = max(place for place, _ in places)
            self._due[last] = self._due.get(last, 0) | bit

    def best(self) -> tuple[_Groups, int] | None:
        """The cheapest way: (changes by place, points above the least)."""
        most = (self._most + 1) * _TIE
        reach = self._prices.reach
        states: _States = {(0, -1): (0, None)}
        for place in sorted(self._at):
            here, due = self._at[place], self._due.get(place, 0)
            time = self._prices.time(place)
            first = self._prices.time(place, 3)
            groups = self._groups(place, here)
            after: _States = {}
            for (made, last), (price, node) in states.items():
                moved = last if last >= 0 and first - last < reach else -1
                if made & due == due:
                    _keep(after, (made & ~due, moved), price, node)
                for bits, order, start, own in groups:
                    if made & bits or (made | bits) & due != due:
                        continue
                    total = price + own
                    if moved >= 0:
                        total += self._prices.haste(start - moved, order[0].notches) * _TIE
                    if total <= most:
                        key = ((made | bits) & ~due, time)
                        _keep(after, key, total, _Node(node, place, order))
            states = _undominated(after)
            if not states:
                return None
        price, node = min(states.values(), key=lambda state: state[0])
        groups_found: list[tuple[int, tuple[_Job, ...]]] = []
        while node is not None:
            groups_found.append((node.place, node.order))
            node = node.before
        return tuple(reversed(groups_found)), -(-price // _TIE)

    def _groups(
        self, place: int, here: Sequence[tuple[int, _Job, int]]
    ) -> list[tuple[int, tuple[_Job, ...], int, int]]:
        """Every way to make changes at a place: (bits, order, time of the first, points)."""
        prices = self._prices
        found: list[tuple[int, tuple[_Job, ...], int, int]] = [
            (bit, (job,), prices.time(place), price * _TIE - place) for bit, job, price in here
        ]
        floors = prices.least_sharing(place)
        for count in range(2, min(prices.capacities[place], len(here)) + 1):
            start = prices.time(place, count - 1)
            cheapest = sum(sorted(price for _, _, price in here)[:count])
            if cheapest + floors[count] > self._most:
                break
            for order in permutations(here, count):
                own = sum(price for _, _, price in order)
                if own + floors[count] > self._most:
                    continue
                jobs = tuple(job for _, job, _ in order)
                own += prices.sharing([job.window for job in jobs], place)
                if own > self._most:
                    continue
                bits = sum(bit for bit, _, _ in order)
                found.append((bits, jobs, start, own * _TIE - place * count))
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
