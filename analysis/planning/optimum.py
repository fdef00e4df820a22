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

from pedalsetter.analysis.planning.clusters import Cluster, Group, Job, alone, meeting, solve
from pedalsetter.analysis.planning.feet import Schedule, place_quickly
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
        self._jobs: dict[tuple[object, ...], Job] = {}
        self._solved: dict[frozenset[int], Cluster | None] = {}
        self._base: list[Cluster] = []
        self._home: dict[int, Cluster] = {}
        self._places: list[int] = []
        self._owners: list[Cluster] = []
        self._last: tuple[dict[int, Cluster], list[Cluster]] = ({}, [])

    def schedule(self, windows: Sequence[Window]) -> Schedule:
        """The cheapest schedule of these changes."""
        clusters = self._clusters(windows)
        if clusters is None:
            return place_quickly(windows, self._prices)
        # A job may have been priced for another variant, with other notes to name.
        named = {essence(window): window for window in windows}
        groups = [group for cluster in clusters for group in cluster.groups]
        groups.sort(key=lambda group: group.place)
        return Schedule(
            tuple(
                (group.place, tuple(named[essence(job.window)] for job in group.jobs))
                for group in groups
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
            (group.place, number)
            for number, cluster in enumerate(clusters)
            for group in cluster.groups
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
            alone(job, self._prices)
            for cluster in opened.values()
            for job in cluster.jobs
            if id(job) not in gone
        ] + [alone(job, self._prices) for job in new]
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
        kept += [(group.place, cluster) for cluster in pool for group in cluster.groups]
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

    def _met_by(self, one: Cluster) -> Iterator[Cluster]:
        """Clusters of the base whose nearest moves share a place with ``one`` or are hurried."""
        prices, places = self._prices, self._places
        for group in one.groups:
            after = bisect_left(places, group.place)
            if after < len(places):
                other = self._owners[after]
                near = _group_at(other, places[after])
                gap = near.start - group.end
                if near.place == group.place or prices.haste(gap, near.jobs[0].notches):
                    yield other
            if after:
                other = self._owners[after - 1]
                gap = group.start - _group_at(other, places[after - 1]).end
                if prices.haste(gap, group.jobs[0].notches):
                    yield other

    def _clusters(self, windows: Sequence[Window]) -> list[Cluster] | None:
        jobs = [self._job(window) for window in windows]
        if any(job.best is None for job in jobs):
            return None
        clusters = [alone(job, self._prices) for job in jobs]
        while True:
            merged = self._merge(clusters)
            if merged is None or len(merged) == len(clusters):
                return merged
            clusters = merged

    def _job(self, window: Window) -> Job:
        key = essence(window)
        known = self._jobs.get(key)
        if known is None:
            known = self._jobs[key] = Job(window, self._prices)
        return known

    def _merge(self, clusters: Sequence[Cluster]) -> list[Cluster] | None:
        """Merge the clusters that hurry each other, each union solved anew; None if one fails."""
        found: list[Cluster] = []
        for members in meeting(clusters, self._prices):
            if len(members) == 1:
                found.append(members[0])
                continue
            key = frozenset(id(job) for cluster in members for job in cluster.jobs)
            if key not in self._solved:
                self._solved[key] = solve(members, self._prices)
            solved = self._solved[key]
            if solved is None:
                return None
            found.append(solved)
        return found


def _group_at(cluster: Cluster, place: int) -> Group:
    return next(group for group in cluster.groups if group.place == place)


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
        window.goal,
        window.last_stroke,
        window.pinned,
        window.crossed,
    )


_MOST_TOGETHER = 24
"""Changes that :meth:`Solver.difference` solves together at most."""
